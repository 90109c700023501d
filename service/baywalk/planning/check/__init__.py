"""The independent checker: re-derives every hard rule and quantity from plan and as-built alone.

It shares nothing with the planner but the two formats and the rule pack. It reads a plan as a
doubter would: what the plan says of itself is never taken as true, only compared.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from shapely.errors import GEOSException

from baywalk.planning.check.area import check_area, check_cover, check_shapes, check_whole
from baywalk.planning.check.boards import check_boards
from baywalk.planning.check.clash import check_clash
from baywalk.planning.check.courses import check_courses
from baywalk.planning.check.edges import check_edges
from baywalk.planning.check.form import faults
from baywalk.planning.check.frames import check_frames
from baywalk.planning.check.given import given
from baywalk.planning.check.ground import ground
from baywalk.planning.check.handed import check_handed
from baywalk.planning.check.hatch import check_hatch, put_in
from baywalk.planning.check.joints import check_joints
from baywalk.planning.check.laid import Laid, as_told, check_laid
from baywalk.planning.check.laps import check_laps
from baywalk.planning.check.marks import check_marks
from baywalk.planning.check.noggins import check_noggins
from baywalk.planning.check.openings import check_openings
from baywalk.planning.check.proof import check_proof
from baywalk.planning.check.quantities import check_quantities
from baywalk.planning.check.raised import check_raised
from baywalk.planning.check.scene import Scene
from baywalk.planning.check.sequence import check_sequence
from baywalk.planning.check.shown import check_shown
from baywalk.planning.check.strength import check_shortest, check_strutting
from baywalk.planning.check.tails import check_tails
from baywalk.planning.check.thickness import check_thickness
from baywalk.planning.check.timbers import check_timbers
from baywalk.planning.check.told import check_told
from baywalk.planning.check.verdicts import Verdicts

if TYPE_CHECKING:
    from baywalk.rules import Pack

_OF_A_DECK = (
    check_area,
    check_cover,
    check_courses,
    check_laid,
    check_handed,
    check_boards,
    check_joints,
    check_noggins,
    check_frames,
    check_laps,
    check_clash,
    check_edges,
    check_thickness,
    check_shortest,
    check_strutting,
    check_shown,
    check_openings,
    check_tails,
    check_raised,
    check_timbers,
    check_quantities,
    check_proof,
    check_sequence,
    check_marks,
)


def check(
    plan: dict[str, Any],
    as_built: dict[str, Any],
    pack: Pack,
    before: tuple[dict[str, Any], dict[str, Any] | None] | None = None,
) -> list[dict[str, Any]]:
    """Check a plan against the as-built that it is for.

    Args:
        plan: the plan as JSON data, lengths in mm; it may be wrong in any way.
        as_built: the as-built as JSON data, sound by its schema.
        pack: the rules.
        before: the plan that was laid by and what is laid of it, where the plan goes on from them;
            what is laid is then judged as it lies.

    Returns:
        One row for each rule and deck: ``rule`` (its id), ``holds``, ``figure`` (the one nearest
        to its limit, in the rule's unit, or null), ``limit``, ``where``, ``deck`` (id, or null for
        the plan as a whole) and ``say``. A plan may be shown only if every row holds.
    """
    whole = Verdicts()
    wrong = faults(plan)
    whole.must("plan.form", not wrong, "the plan", "; ".join(wrong[:3]))
    if wrong:
        return whole.rows()
    loft = given(as_built)
    # A new opening is no part of the survey: what the plan says of it is put in, and judged below.
    put_in(plan, loft)
    rows = _runs(plan, loft, pack, whole, as_told(before))
    return whole.rows() + rows


def _runs(
    plan: dict[str, Any],
    as_built: dict[str, Any],
    pack: Pack,
    whole: Verdicts,
    laid: dict[str, Laid],
) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = []
    same = as_built["survey"] in (plan["survey"], None) and plan["pack"] == pack.id
    whole.must("plan.form", same, "the plan", "it is for another survey or by other rules")
    told = bool(plan["choices"]["anyway"] and plan["told"])
    settled = as_built["settled"] != told
    whole.must("plan.settled", settled, "the survey", "it is not settled, or is said not to be")
    check_told(plan, pack, whole)
    for run in as_built["runs"]:
        decks = [deck for deck in plan["decks"] if deck["run"] == run["id"]]
        if not decks:
            continue
        known = ground(run)
        if (
            whole.must("plan.ground", known, run["id"], "a joist or a wall has no known place")
            and known is not None
        ):
            scenes = [Scene(d, plan, known, pack, laid.get(d["id"])) for d in decks]
            if all(check_shapes(scene, whole) for scene in scenes):
                check_whole(decks, known, pack, whole)
            check_hatch(plan, scenes, whole)
            for scene in scenes:
                rows += _deck(scene)
    there = {deck["id"] for deck in plan["decks"]}
    for name, mine in laid.items():
        kept = name in there or not mine.pieces
        whole.must("laid.kept", kept, name, "pieces of it are laid, and it is not in the plan")
    runs = {run["id"] for run in as_built["runs"]}
    hatch = plan.get("hatch") or {"run": None}
    asked = plan["choices"].get("hatch") is not None
    said = asked == (hatch["run"] in runs) and (asked or plan["choices"].get("zone") is None)
    whole.must("opening.place", said, "the new opening", "it is asked for and not there, or not so")
    for deck in plan["decks"]:
        whole.must("plan.form", deck["run"] in runs, deck["id"], "its run is not in the survey")
    return rows


def _deck(scene: Scene) -> list[dict[str, Any]]:
    out = Verdicts(scene.deck["id"])
    if not check_shapes(scene, out):
        return out.rows()
    for step in _OF_A_DECK:
        try:
            step(scene, out)
        except (ArithmeticError, GEOSException) as error:
            # Figures may be so wrong that nothing can be worked out: that too fails the plan.
            out.must("plan.form", None, "the deck", f"it cannot be worked out ({error})")
    return out.rows()


__all__ = ["check"]
