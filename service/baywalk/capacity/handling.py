"""Getting things up and over: weights against the published lifting filters, sizes and hatches."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from baywalk.capacity import deck as decks

if TYPE_CHECKING:
    from baywalk.capacity.model import Joist, Loft, Point, Run
    from baywalk.capacity.setting import Setting
    from baywalk.capacity.things import Thing
    from baywalk.rules import Pack

HOIST = (
    "No hoist, gantry or pulley is worked out here, and none may hang from a roof. A firm that "
    "lifts for a living, with an engineer for what holds the lift, decides that."
)
"""What is said wherever lifting comes up."""


def lifting(loft: Loft, setting: Setting, pack: Pack) -> dict[str, Any]:
    """Return what is to be said of lifting the boards and each thing; masses in kg."""
    holes = [one for run in loft.runs for one in run.openings]
    thick = max((decks.thickness(run, setting, pack) for run in loft.runs), default=0.0)
    mass = board_mass(thick, pack)
    return {
        "board": {"mass": round(mass, 1), "thickness": thick, **_filters(mass, pack)},
        "things": [_thing(thing, holes, pack) for thing in setting.things],
        "cautions": [
            HOIST,
            (
                "The figures are filters, not limits: above them look closer before anyone lifts. "
                "Passing a load up a ladder through a hatch is worse than any of them."
            ),
        ],
    }


def board_mass(thickness: float, pack: Pack) -> float:
    """Return the mass of one deck board of a thickness [mm], in kg."""
    length, width = pack["board.sizes"][0]
    return float(pack["load.layer.board"]) * float(length * width) * thickness * 1e-9


def _filters(mass: float, pack: Pack) -> dict[str, Any]:
    """Return what the filters say of a mass: how many people, and passing it overhead."""
    # The best figure there is, and the one for where a load through a hatch really ends.
    men, women = pack["lifting.best"]
    overhead_men, overhead_women = pack["lifting.overhead"]
    return {
        "rule": "lifting.best",
        "people": {"men": _people(mass, men, pack), "women": _people(mass, women, pack)},
        "overhead": {
            "rule": "lifting.overhead",
            "men": _people(mass, overhead_men, pack),
            "women": _people(mass, overhead_women, pack),
        },
    }


def _people(mass: float, each: float, pack: Pack) -> int | None:
    """Return how many people a mass wants by a filter [kg]; None where no team's figure serves."""
    if mass <= each:
        return 1
    for team, share in sorted(pack["lifting.team"].items()):
        if mass <= int(team) * each * share:
            return int(team)
    return None


def _thing(thing: Thing, holes: list[tuple[str, tuple[Point, ...]]], pack: Pack) -> dict[str, Any]:
    return {
        "name": thing.name,
        "mass": thing.mass,
        **_filters(thing.mass, pack),
        "hatches": [_passes(thing, name, hole, pack) for name, hole in holes if hole],
        "say": _say(thing, holes, pack),
    }


def _say(thing: Thing, holes: list[tuple[str, tuple[Point, ...]]], pack: Pack) -> str:
    few = _people(thing.mass, pack["lifting.overhead"][0], pack)
    if few is None:
        weight = (
            f"{thing.name}, {thing.mass:g} kg, is beyond what a team's published figure covers "
            "when passed overhead. Take it apart, or have a firm that lifts for a "
            "living bring it up."
        )
    else:
        weight = f"{thing.name}, {thing.mass:g} kg: at least {few} to pass it up, by the filter."
    return weight if holes else f"{weight} No opening is in the survey, so its way up is not known."


def _passes(thing: Thing, name: str, corners: tuple[Point, ...], pack: Pack) -> dict[str, Any]:
    """Return whether a thing goes through a hatch straight, and which way up."""
    clear = sides(corners)
    room = [side - 2 * pack["lifting.clearance"] for side in clear]
    sizes = {"width": thing.width, "length": thing.length, "height": thing.height}
    known = {key: size for key, size in sizes.items() if size is not None}
    out: dict[str, Any] = {"opening": name, "clear": [round(side, 1) for side in clear]}
    if len(known) < 3:
        lacks = ", ".join(key for key in sizes if key not in known)
        return {**out, "passes": None, "say": f"Its {lacks} must be known to say if it passes."}
    # A thing goes through a hatch along its longest side.
    up = max(known, key=lambda key: known[key])
    across = sorted(size for key, size in known.items() if key != up)
    passes = across[0] <= min(room) and across[1] <= max(room)
    how = (
        f"Passes with its {up} upright, if the room above and below is high enough for it."
        if passes
        else "Does not pass straight. Tilting is not worked out here."
    )
    return {**out, "passes": passes, "up": up if passes else None, "say": how}


def sides(corners: tuple[Point, ...]) -> tuple[float, float]:
    """Return the clear sides of an opening from its corners [mm]."""
    return math.dist(corners[0], corners[1]), math.dist(corners[1], corners[2])


def carried(run: Run, joist: Joist, setting: Setting, pack: Pack) -> float:
    """Return the heaviest porter with a share of a thing that crosses a joist [N]; 0 where none.

    A thing goes from the opening to its place and crosses every joist between. Where either is
    not known it may cross any.
    """
    # The porters walk apart: one joist has one of them on it, with a share of the thing.
    weights = [
        thing.mass * pack["load.gravity"] / pack["load.thing.porters"] + pack["load.person"] * 1000
        for thing in setting.things
        if _crosses(run, joist, thing)
    ]
    return max(weights, default=0.0)


def _crosses(run: Run, joist: Joist, thing: Thing) -> bool:
    if not run.openings or thing.x is None or joist.line is None:
        return True
    xs = [x for _, corners in run.openings for x, _ in corners]
    if not xs:
        return True
    own = [x for x, _ in joist.line]
    least, most = min(*xs, thing.x), max(*xs, thing.x)
    reach = max(joist.left or 0.0, joist.right or 0.0)
    return max(own) >= least - reach and min(own) <= most + reach
