"""Pieces out of boards: which piece comes from which board, and where in it it lies.

A board gives at most one piece with its left-hand end, one with its right-hand end, and pieces
sawn at both ends between them, kerfs counted.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from baywalk.planning.layout.offcuts import SLACK, match

if TYPE_CHECKING:
    from collections.abc import Sequence

LEFT, RIGHT, WHOLE, MIDDLE = "left", "right", "whole", "middle"


@dataclass(frozen=True)
class Need:
    """A piece to be cut: its id, its ``length`` [mm], and which end of a board it must have."""

    id: str
    length: float
    kind: str


@dataclass
class Cut:
    """A board and its pieces from its left-hand end, each with its place in it [mm].

    ``board`` is the id of one that was begun, empty for one to come.
    """

    pieces: list[tuple[Need, float]] = field(default_factory=list)
    board: str = ""

    def offcut(self, board: float, kerf: float) -> float:
        """Return the longest length left in one piece, the kerfs taken off [mm]."""
        ends = sorted((at, at + need.length) for need, at in self.pieces)
        marks = [0.0, *(e for pair in ends for e in pair), board]
        gaps = zip(marks[::2], marks[1::2], strict=True)
        return max(0.0, *(_free(a, b, board, kerf) for a, b in gaps))


@dataclass(frozen=True)
class Held:
    """A board that was begun: what is laid of it, each with its place in it [mm].

    ``left`` and ``right`` are the lengths [mm] that its left-hand and right-hand end still give.
    """

    board: str
    pieces: tuple[tuple[Need, float], ...]
    left: float
    right: float


def _free(low: float, high: float, board: float, kerf: float) -> float:
    cuts = (low > SLACK) + (high < board - SLACK)
    return max(high - low - kerf * cuts, 0.0)


def cut(needs: list[Need], board: float, kerf: float, held: Sequence[Held] = ()) -> list[Cut]:
    """Return boards ``board`` [mm] long that hold all needs, a saw cut taking ``kerf`` [mm].

    What is left of boards ``held`` is used before others; those of them that nothing is laid of or
    cut from are left out.
    """
    begun, needs = _from_held(needs, board, held)
    return [*begun, *_fresh(needs, board, kerf)]


def _from_held(
    needs: list[Need], board: float, held: Sequence[Held]
) -> tuple[list[Cut], list[Need]]:
    """Return the boards begun with what more is cut from them, and what is still to be cut."""
    left = [need for need in needs if need.kind == LEFT]
    right = [need for need in needs if need.kind == RIGHT]
    lefts = match([n.length for n in left], [h.left for h in held])
    rights = match([n.length for n in right], [h.right for h in held])
    more: dict[int, list[tuple[Need, float]]] = {}
    for need, k in zip(left, lefts, strict=True):
        more.setdefault(k, []).append((need, 0.0))
    for need, k in zip(right, rights, strict=True):
        more.setdefault(k, []).append((need, board - need.length))
    open_ = {need.id for need, _ in more.pop(-1, [])}
    begun = [
        Cut(sorted([*one.pieces, *more.get(k, [])], key=lambda pair: pair[1]), one.board)
        for k, one in enumerate(held)
    ]
    rest = [need for need in needs if need.kind not in (LEFT, RIGHT) or need.id in open_]
    return [one for one in begun if one.pieces], rest


def _fresh(needs: list[Need], board: float, kerf: float) -> list[Cut]:
    whole = [Cut([(need, 0.0)]) for need in needs if need.kind == WHOLE]
    left = [need for need in needs if need.kind == LEFT]
    right = [need for need in needs if need.kind == RIGHT]
    pairs = match([n.length for n in right], [board - n.length - kerf for n in left])
    partner = {rest: right[k] for k, rest in enumerate(pairs) if rest >= 0}
    ends = [(need, partner.get(k)) for k, need in enumerate(left)]
    alone = [(None, need) for k, need in enumerate(right) if pairs[k] < 0]
    boards = [_Open(a, b, board, kerf) for a, b in [*ends, *alone]]
    middles = sorted((n for n in needs if n.kind == MIDDLE), key=lambda n: -n.length)
    for need in middles:
        _place(need, boards, board, kerf)
    return [*whole, *(opened.close() for opened in boards)]


class _Open:
    """A board with room left between its ends."""

    def __init__(self, left: Need | None, right: Need | None, board: float, kerf: float) -> None:
        self.left, self.right, self.board, self.kerf = left, right, board, kerf
        self.middles: list[Need] = []

    def room(self) -> float:
        """Return the longest piece sawn at both ends that still finds room [mm]."""
        held = [n for n in (self.left, self.right, *self.middles) if n]
        return self.board - sum(n.length + self.kerf for n in held)

    def close(self) -> Cut:
        """Return the pieces with their places."""
        out, at = [], 0.0
        for need in (self.left, *self.middles):
            if need:
                out.append((need, at))
                at += need.length + self.kerf
        if self.right:
            out.append((self.right, self.board - self.right.length))
        elif self.middles and len(out) > 1:
            # The last of them keeps the board's own right-hand end: one cut less.
            last = out[-1][0]
            out[-1] = (last, self.board - last.length)
        return Cut(out)


def _place(need: Need, boards: list[_Open], board: float, kerf: float) -> None:
    """Put a piece sawn at both ends where it leaves least room, or on a board of its own."""
    fits = [b for b in boards if b.room() >= need.length - SLACK]
    if fits:
        min(fits, key=lambda b: b.room()).middles.append(need)
        return
    opened = _Open(None, None, board, kerf)
    opened.middles.append(need)
    boards.append(opened)
