"""The step of one course: its pieces from their boards, every cut marked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.planning.marks import cuts, mark
from baywalk.planning.steps.work import Work, edge_of, one_step

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.courses import Course
    from baywalk.planning.pieces import BoardUse, Piece


def boards(work: Work, course: Course) -> dict[str, Any]:
    """Return the step in which the pieces of a course are cut and laid."""
    mine = [p for p in work.pieces if p.course == course.index]
    first = {use.id for use in work.boards if _opened(use, mine, work)}
    marks = [mark for piece in mine for mark in cuts(piece, work.board)]
    marks += _line(work, course)
    return one_step(
        "course",
        " ".join(
            [
                _lay(work, course, mine),
                *_tongues(marks),
                *_butted(work, course),
                *_last(work, course),
            ]
        ),
        pieces=[p.id for p in mine],
        boards=sorted(first, key=lambda name: int(name[1:])),
        marks=marks,
    )


def _tongues(marks: Sequence[dict[str, Any]]) -> list[str]:
    """Return the warning where a tape hooks on the end of a board that has its tongue."""
    if not any(str(mark["hook"]).startswith("the right-hand end") for mark in marks):
        return []
    return ["At a right-hand end measure from the board's own edge, not from its tongue."]


def _opened(use: BoardUse, mine: Sequence[Piece], work: Work) -> bool:
    order = {piece.id: k for k, piece in enumerate(work.pieces)}
    first = min((need.id for need, _ in use.cut.pieces), key=lambda name: order[name])
    return any(piece.id == first for piece in mine)


def _lay(work: Work, course: Course, mine: Sequence[Piece]) -> str:
    there = ", ".join(p.id for p in mine if p.laid)
    names = ", ".join(f"{p.id} from {p.board}" for p in mine if not p.laid)
    if there and not names:
        return f"Course {course.index + 1} is laid: {there}."
    if there:
        return (
            f"Course {course.index + 1} is begun with {there}. Go on with {names}. Glue tongue,"
            " groove and supports, knock it up with a block, screw it down."
        )
    if course.index == 0:
        edge = "near" if work.near else "far"
        return (
            f"Lay course 1 along the {edge} edge, face up, tongue to the room, wedged"
            f" {work.gap:g} mm off the walls: {names}. Check it with a string: all others follow"
            " it."
        )
    return (
        f"Lay course {course.index + 1} from the start wall: {names}. Glue tongue, groove and"
        " supports, knock it up with a block, screw it down."
    )


def _butted(work: Work, course: Course) -> list[str]:
    """Return what to know where two sawn ends, or one and a groove, meet on a joist."""
    return [
        f"{joint.left} and {joint.right} meet without a tongue on {joint.zone.member.name}:"
        " glue both down to it and screw each by itself."
        for joint in work.joints
        if joint.butted and joint.course == course.index and joint.zone.member
    ]


def _last(work: Work, course: Course) -> list[str]:
    if course.index == 0 or course.index != work.courses[-1].index:
        return []
    return [
        (
            "It is the last course: there is no room to swing. Set each piece in at an angle,"
            " slide it on its tongue, and clamp it up with a pull bar before the next."
        )
    ]


def _line(work: Work, course: Course) -> list[dict[str, Any]]:
    """Return where the first course's leading edge is struck, measured at its two ends."""
    if course.index != 0:
        return []
    lead = course.y1 if work.near else course.y0
    hook = "the near wall" if work.near else "the far wall"
    out = []
    for member in (work.ground.joists[0], work.ground.joists[-1]):
        x = member.centre(lead)
        wall = edge_of(work.outline, x, near=work.near)
        to, along = "leading edge of course 1", f"along {member.name}"
        out.append(mark(hook, to, "course 1", (x, wall), (x, lead), along))
    return out
