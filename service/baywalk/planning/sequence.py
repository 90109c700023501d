"""The laying order: numbered steps, every mark and cut measured from something a tape hooks on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.planning.steps.boards import boards
from baywalk.planning.steps.joists import added
from baywalk.planning.steps.timber import (
    cleat_mark,
    edge_noggins,
    from_joist,
    from_the_side,
    from_wall,
    lies_under,
    listed,
    put_right,
    raise_,
    reaches,
    strutting,
)
from baywalk.planning.steps.work import Work, one_step

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from baywalk.planning.courses import Course


def sequence(work: Work) -> list[dict[str, Any]]:
    """Return the steps in order."""
    steps = [_ready()]
    steps += [_opening(opening) for opening in work.openings]
    # The tops are packed first, for all that follows is set level with them.
    steps += raise_(work, "packer")
    if work.added:
        steps.append(added(work))
    steps += strutting(work)
    # Noggins under a raised deck are set level with its battens, and reach above the joists.
    steps += raise_(work, "batten")
    steps += edge_noggins(work)
    done: set[str] = set()
    for course in work.courses:
        steps += _course(work, course, done)
    steps.append(_finish())
    for number, step in enumerate(steps, start=1):
        step["step"] = number
    _tick(work, steps)
    return steps


def _tick(work: Work, steps: Sequence[dict[str, Any]]) -> None:
    """Mark the steps that are done, where pieces are laid or timbers fixed.

    What is neither, an opening or a packer, was done before them where it was planned so before.
    """
    there = {piece.id for piece in work.pieces if piece.laid} | work.fixed
    known = {thing.id for things in (work.pieces, work.noggins, work.cleats) for thing in things}
    last = max((s["step"] for s in steps if there & {*s["noggins"], *s["pieces"]}), default=0)
    earlier = work.earlier or {"sequence": [], "openings": []}
    before = _told(earlier["sequence"], earlier["openings"])
    for step, now in zip(steps[:last], _told(steps, work.openings), strict=False):
        things = {*step["noggins"], *step["pieces"]} & known
        if things <= there if things else now in before:
            step["done"] = True


def _told(
    steps: Sequence[Mapping[str, Any]], openings: Sequence[Mapping[str, Any]]
) -> list[tuple[Any, ...]]:
    """Return all that each step tells: what to do, to which lengths, and where its opening is."""
    where = iter([opening["polygon"] for opening in openings])
    return [
        (
            step["kind"],
            step["say"],
            [mark["value"] for mark in step["marks"]],
            next(where, None) if step["kind"] == "opening" else None,
        )
        for step in steps
    ]


def _ready() -> dict[str, Any]:
    return one_step(
        "ready",
        "Lay the boards flat in the loft for a couple of days. Find cables and pipes and keep them"
        " clear. Walk on planks across the joists, never on the ceiling. Set out everything below"
        " the boards first: it cannot be reached later.",
    )


def _opening(opening: dict[str, Any]) -> dict[str, Any]:
    return one_step("opening", opening["say"])


def _course(work: Work, course: Course, done: set[str]) -> list[dict[str, Any]]:
    """Return the steps of one course: first what it hides, then its pieces."""
    steps = []
    # Under the first course's tail and the last one's head the deck's own limit stops the look.
    low, high = course.reach
    frames = [n for n in work.noggins if n.use == "frame" and n.id not in done]
    under = [n for n in frames if lies_under(n, low, high)]
    # A piece along the joists is fixed at both its ends, and neither waits for a later course.
    held = {name for n in under if n.x is not None for name in n.between}
    under = [n for n in frames if n in under or n.id in held]
    cleats = [c for c in work.cleats if c.id not in done and reaches(c, low, high)]
    after = [c for c in cleats if work.cures(c) and c.joint.course == course.index]
    cleats = [c for c in cleats if not work.cures(c)]
    # Beside a course that is laid, what is not fixed yet goes in from the open side.
    laid = all(piece.laid for piece in work.pieces if piece.course == course.index)
    beside = [n for n in under if laid and n.id not in work.fixed]
    under = [n for n in under if n not in beside]
    done |= {n.id for n in (*under, *beside)} | {c.id for c in (*cleats, *after)}
    if under or cleats:
        marks = [from_wall(work, n) if n.x is None else from_joist(n) for n in under]
        marks += [cleat_mark(work, c) for c in cleats]
        steps.append(
            one_step(
                "noggin",
                f"Before course {course.index + 1}: fix {listed(under, cleats)} under end joints.",
                noggins=[*(n.id for n in under), *(c.id for c in cleats)],
                marks=marks,
            )
        )
    return [
        *steps,
        boards(work, course),
        *put_right(work, course, after),
        *from_the_side(work, beside),
    ]


def _finish() -> dict[str, Any]:
    return one_step(
        "finish",
        "Leave the glue to set for a day before loading the deck. Take the wedges out: the gap at"
        " the walls stays open.",
    )
