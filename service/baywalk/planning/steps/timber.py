"""The steps of the timber below the boards: strutting, edges, packers, battens, frames, cleats."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.planning.marks import mark
from baywalk.planning.steps.work import Work, edge_of, one_step

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from baywalk.planning.courses import Course
    from baywalk.planning.support.frames import Cleat
    from baywalk.planning.support.noggins import Noggin


_TOUCH = 0.5
"""What reaches no further than this into a course only touches it [mm]."""


def lies_under(noggin: Noggin, low: float, high: float) -> bool:
    """Say whether a noggin lies under a course from ``low`` to ``high`` [mm], or its end does."""
    a, b = noggin.band
    ends = noggin.section.breadth / 2 + 0.1 if noggin.x is not None else 0.0
    return a - ends < high and b + ends > low


def reaches(cleat: Cleat, low: float, high: float) -> bool:
    """Say whether a cleat lies under a course from ``low`` to ``high`` [mm]."""
    # One that ends where the course ends belongs to the next.
    half = cleat.length / 2 - _TOUCH
    return cleat.y - half < high and cleat.y + half > low


def from_wall(work: Work, noggin: Noggin) -> dict[str, Any]:
    """Return where a noggin goes, measured from the near wall along a joist that it meets."""
    side = noggin.measured
    x, y = noggin.ends[side]
    wall = edge_of(work.outline, x, near=True)
    to, along = f"{noggin.id}, centre", f"along {noggin.between[side]}"
    return mark("the near wall", to, noggin.id, (x, wall), (x, y), along)


def from_joist(noggin: Noggin) -> dict[str, Any]:
    """Return where a timber along the joists goes, measured from the joist on its left."""
    member, y = noggin.bay.left, noggin.y
    face = "the start wall" if member.wall else f"{member.name}, the face towards the end wall"
    start, end = (member.right(y), y), (noggin.x or 0.0, y)
    return mark(face, f"{noggin.id}, centre", noggin.id, start, end)


def strutting(work: Work) -> list[dict[str, Any]]:
    """Return the step of the strutting, none where there is none."""
    rows = [n for n in work.noggins if n.use == "strutting"]
    if not rows:
        return []
    say = "Fix the strutting between the joists, tops level, blocked to both walls."
    marks = [from_wall(work, n) for n in rows]
    return [one_step("strutting", say, noggins=[n.id for n in rows], marks=marks)]


def edge_noggins(work: Work) -> list[dict[str, Any]]:
    """Return the step of the noggins under the deck's edges."""
    edge = [n for n in work.noggins if n.use == "perimeter"]
    if not edge:
        return []
    say = (
        f"Fix the noggins under the deck's edges, tops level with {work.tops}. Each is cut for its"
        " own bay: go by its number."
    )
    marks = [from_wall(work, n) if n.x is None else from_joist(n) for n in edge]
    return [one_step("noggin", say, noggins=[n.id for n in edge], marks=marks)]


def raise_(work: Work, kind: str) -> list[dict[str, Any]]:
    """Return the step of the packers, or of the battens."""
    mine = [item for item in work.raised if item["kind"] == kind]
    if not mine:
        return []
    what = "packers on the low joists" if kind == "packer" else "battens on the joists"
    each = " ".join(dict.fromkeys(str(item["say"]) for item in mine))
    say = f"Fix the {what}, and check with a straightedge. {each}"
    marks = [_packer_mark(work, item) for item in mine if kind == "packer"]
    return [one_step("raise", say, noggins=[item["id"] for item in mine], marks=marks)]


def _packer_mark(work: Work, item: Mapping[str, Any]) -> dict[str, Any]:
    y = float(item["y"])
    member = next(m for m in work.ground.joists if m.index == item["joist"] and not m.added)
    x = member.centre(y)
    wall = edge_of(work.outline, x, near=True)
    to, along = f"{item['id']}, middle of the packer", f"along {member.name}"
    return mark("the near wall", to, item["id"], (x, wall), (x, y), along)


def from_the_side(work: Work, noggins: Sequence[Noggin]) -> list[dict[str, Any]]:
    """Return the step that puts in what reaches under a course that is laid."""
    if not noggins:
        return []
    marks = [from_wall(work, n) if n.x is None else from_joist(n) for n in noggins]
    say = f"Fix {listed(noggins, [])} from the open side, reaching under the edge of what is laid."
    return [one_step("noggin", say, noggins=[n.id for n in noggins], marks=marks)]


def put_right(work: Work, course: Course, cleats: Sequence[Cleat]) -> list[dict[str, Any]]:
    """Return the step that puts right what landed off its bearing."""
    if not cleats:
        return []
    say = (
        f"Course {course.index + 1} landed off its bearing: fix {listed([], cleats)} under its end"
        " joints, glued and screwed, before anything else is laid. Where they cannot be reached"
        " from the open side, take up what lies beyond first."
    )
    marks = [cleat_mark(work, c) for c in cleats]
    return [one_step("noggin", say, noggins=[c.id for c in cleats], marks=marks)]


def listed(noggins: Sequence[Noggin], cleats: Sequence[Cleat]) -> str:
    """Return noggins and cleats by their ids, as they are called in a sentence."""
    return ", ".join([*(n.id for n in noggins), *(c.id for c in cleats)])


def cleat_mark(work: Work, cleat: Cleat) -> dict[str, Any]:
    """Return where a cleat goes, measured from the near wall along its joist."""
    member = cleat.joint.zone.member
    name, x = (member.name if member else ""), cleat.joint.x
    wall = edge_of(work.outline, x, near=True)
    start, end = (x, wall), (x, cleat.y)
    return mark("the near wall", f"{cleat.id}, middle", cleat.id, start, end, f"along {name}")
