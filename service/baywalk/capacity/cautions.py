"""What is said beside the figures, so that none of them is read for more than it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from baywalk.capacity import actions, cuts, doubt, practice
from baywalk.capacity.verdict import deciding

if TYPE_CHECKING:
    from baywalk.capacity.check import Check
    from baywalk.capacity.model import Joist, Loft, Run
    from baywalk.capacity.setting import Setting
    from baywalk.rules import Pack

CAUTIONS = (
    (
        "This screens; it approves nothing. A structural engineer and building control decide what "
        "a floor may carry, under the rules of your place."
    ),
    "Kneel on a board laid across the joists; never stand between them.",
    "Never cut, notch or drill a trussed rafter, and never cut a joist that ties rafters together.",
)
"""What is said of every load check, whatever it finds."""


TRUSSED = (
    "These are the bottom members of trussed rafters. A truss carries what it was designed for, a "
    "ceiling and very light storage as a rule, and no sum here can add to that. Do not board or "
    "load it before the truss designer or a structural engineer has said so."
)
"""Why no joist of a trussed rafter roof is passed here, whatever its figures."""

_UNSETTLED = "The survey is not settled: a reading stands in doubt. Settle it first."


def of_loft(loft: Loft, setting: Setting, pack: Pack) -> list[str]:
    """Return what is said of the whole load check, the weightiest first."""
    out = list(CAUTIONS)
    if loft.settled is None:
        out.insert(0, "The file does not say whether its survey is settled. Find out first.")
    elif not loft.settled:
        out.insert(0, _UNSETTLED)
    if any("trussed" not in {**run.roof, **setting.roof} for run in loft.runs):
        out.append(
            "If the roof is made of trussed rafters, thin timbers joined by metal plates, nothing "
            "here holds for it: ask the truss designer or a structural engineer."
        )
    if setting.use != "storage":
        out.append(
            "A room in a loft needs more than joists: stairs, escape, insulation, the roof. "
            "Building control must be asked before any of it."
        )
    person = pack["load.person"]
    if setting.point is not None and setting.point < person:
        out.append(
            f"One person is {person:g} kN. With less than that on one spot, these figures are for "
            "a floor that nobody steps on."
        )
    if setting.partition and setting.partition[0] == "along":
        out.append("The partition along the joists is in none of the joists' checks.")
    if setting.ceiling == "unknown":
        out.append("Nobody has said what the ceiling is; lath and plaster is taken.")
    return out


def of_joist(
    joist: Joist,
    checks: list[Check],
    setting: Setting,
    pack: Pack,
    *,
    cut: bool,
    settled: bool,
) -> list[str]:
    """Return what is said beside one joist's figures; ``cut`` where an opening cuts it."""
    out = [] if settled else [_UNSETTLED]
    if cut:
        out.append(
            f"An opening cuts J{joist.index}. The checks here are of a whole joist, which it is "
            "not: see the opening."
        )
    out += [*joist.cautions, *cuts.cautions(joist, pack), *practice.bearing_cautions(joist, pack)]
    if any(support.lap for support in joist.supports):
        out.append(
            f"J{joist.index} is two timbers that lap over its inner support, each with a span of"
            " its own; both are taken to be of one size and grade, and the worse of them counts."
        )
    if any(not (support.through or support.lap) for support in joist.supports):
        out.append(
            f"Nobody has said whether J{joist.index} runs over its inner support in one piece; "
            "the worse of both is taken."
        )
    feel = {check.rule for check in checks if check.line == "feel"}
    if feel and "ec5.vibration.velocity" not in feel:
        out.append(
            f"What a blow does to the floor at J{joist.index} is not checked: the width from wall "
            "to wall is not known, or there is no deck."
        )
    return [*out, *_things(joist, setting), *doubt.cautions(deciding(checks), joist)]


def light(run: Run, setting: Setting, pack: Pack) -> list[str]:
    """Say where the permanent load that was given is less than the joists alone weigh [kN/m²]."""
    own = [
        actions.own_weight(joist, pack) / joist.width.value * 1e3
        for joist in run.joists
        if joist.width is not None and joist.width.value > 0
    ]
    if setting.dead is None or setting.dead >= max(own, default=0.0):
        return []
    return [
        (
            f"The permanent load given, {setting.dead:g} kN/m², is less than the joists alone "
            f"weigh, up to {max(own):.2f}. It should hold joists, deck, ceiling and all that stays."
        )
    ]


def lifted(joist: Joist, supports: list[int], count: int) -> list[str]:
    """Say which of ``count`` supports, numbered from 0, load elsewhere may lift a joist off."""
    if not supports:
        return []
    names = {0: "its near end", count - 1: "its far end"}
    where = [names.get(k, f"its inner support {k}") for k in supports]
    return [
        (
            f"Load on other spans may lift J{joist.index} at {' and at '.join(where)}. The checks "
            "take it as held down there: see that it is nailed or strapped, and ask a structural "
            "engineer if you cannot tell."
        )
    ]


def _things(joist: Joist, setting: Setting) -> list[str]:
    """Say which things are taken to stand where nobody put them."""
    loose = [t.name for t in setting.things if not t.placed or joist.line is None]
    if not loose:
        return []
    return [
        (
            f"Where {', '.join(loose)} would stand over J{joist.index} is not known: the middle of "
            "this joist is taken, and no other joist's help."
        )
    ]
