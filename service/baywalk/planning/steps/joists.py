"""The step of the joists that are added: whole ones, and those cut at openings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.planning.marks import mark
from baywalk.planning.steps.work import Work, one_step

if TYPE_CHECKING:
    from baywalk.planning.ground import Member
    from baywalk.planning.tails import Tail


_ENDS = ("at the near edge", "at the far edge")


_LAP_ENDS = ("just before the lap", "just past the lap")


_LAPPED = (
    " Where those lap, each is two timbers that lap as well, and bear on what their neighbours lap"
    " over."
)


def added(work: Work) -> dict[str, Any]:
    """Return the step in which the joists that are added are put in."""
    whole = [member for member in work.added if not work.tails[member.name]]
    cut = [member for member in work.added if work.tails[member.name]]
    said = []
    if whole:
        names = ", ".join(member.name for member in whole)
        said.append(
            f"Put in {names}, tops level with the joists beside them, borne at both ends as they"
            f" are.{_LAPPED if any(member.laps for member in whole) else ''}"
        )
    for member in cut:
        parts = enumerate(work.tails[member.name], start=1)
        names = ", ".join(f"{member.name}.{n} {_between(tail)}" for n, tail in parts)
        said.append(f"Cut {member.name} at the opening: {names}, tops level with the joists.")
    if cut:
        said.append("At a trimmer each end hangs in a hanger, nailed full.")
    return one_step(
        "joist",
        " ".join(said),
        noggins=[member.name for member in work.added],
        marks=[mark for member in work.added for mark in _joist_marks(work, member)],
    )


def _between(tail: Tail) -> str:
    """Return from where to where a part of an added joist goes, in words."""
    near, far = tail.hangs
    if near and far:
        return f"between {near.id} and {far.id}"
    return f"from {near.id} to the far edge" if near else f"from the near edge to {far and far.id}"


def _joist_marks(work: Work, member: Member) -> list[dict[str, Any]]:
    """Return where an added joist goes, measured from the face of the one on its left."""
    left = next(m for m in work.ground.members if m.index == member.index and not m.added)
    face = "the start wall" if left.wall else f"{left.name}, the face towards the end wall"
    # Just outside a lap, where its neighbour is one timber alone.
    beside = [
        place for a, b in member.laps for place in zip((a - 1, b + 1), _LAP_ENDS, strict=True)
    ]
    near, far = zip((member.points[0][1], member.points[-1][1]), _ENDS, strict=True)
    spots = [near, *beside, far]
    # Between two trimmers it stands in line with its own tails, and its neighbour may be gone.
    tails = [tail for tail in work.tails[member.name] if not all(tail.hangs)]
    if tails:
        spots = [spot for tail in tails for spot in _ends_of(tail)]
    marks = []
    for y, where in spots:
        start, end = (left.right(y), y), (member.centre(y), y)
        marks.append(mark(face, f"{member.name}, centre", member.name, start, end, where))
    return marks


def _ends_of(tail: Tail) -> list[tuple[float, str]]:
    """Return where both ends of a part of an added joist lie [mm], and what they are called."""
    ends = zip((tail.low, tail.high), tail.hangs, _ENDS, strict=True)
    return [(y, f"where it meets {trimmer.id}" if trimmer else edge) for y, trimmer, edge in ends]
