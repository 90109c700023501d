"""The proof: what the layout costs, and the bound that no plan within the rules goes below."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from baywalk.planning.layout.zones import CLEAT, FRAME

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.choices import Weights
    from baywalk.planning.layout.lay import Layout
    from baywalk.planning.pieces import BoardUse, Piece
    from baywalk.planning.support.frames import Joint

_CLOSE = 1e-6
_COIN = 0.01
_SCOPE = (
    "All plans with these courses and this board in which every end joint between the walls is"
    " tongue and groove, wherever its joints lie."
)
_PARTED = (
    "Courses are parted where sawn ends meet on a joist, for without that there is no plan; as few"
    " times as were found to do. The bounds count boards by their length alone."
)


def proof(
    layout: Layout,
    pieces: Sequence[Piece],
    joints: Sequence[Joint],
    boards: Sequence[BoardUse],
    weights: Weights,
    boards_bound: int,
) -> dict[str, Any]:
    """Return the proof of one deck's layout."""
    counts = _counts(pieces, joints, boards)
    cost = (
        weights.board * len(boards)
        + weights.frame * counts["frames"]
        + weights.cleat * counts["cleats"]
        + weights.cut * counts["cuts"]
        + weights.short * counts["short"]
    )
    butted = counts["butted"] > 0
    bound = weights.board * boards_bound
    if not butted:
        fixed = sum(float(row.stretch.ways.weight.min()) for row in layout.rows)
        bound = max(layout.found.bound, bound + fixed)
    # Solvers stop within a hair of the bound: less than half the smallest coin is nothing.
    bound = cost if cost - bound < _COIN / 2 else bound
    gap = (cost - bound) / cost if cost else 0.0
    return {
        "boards": len(boards),
        "boards_lower_bound": min(boards_bound, len(boards)),
        "cost": round(cost, 4),
        "cost_lower_bound": round(bound, 4),
        "optimal": gap <= _CLOSE,
        "gap": round(gap, 6),
        "seconds": round(layout.found.seconds, 3),
        "method": "walks through the courses with a price for every offcut, the prices found by"
        " cutting planes; plans from the walks, improved course by course",
        "scope": _PARTED if butted else _SCOPE,
        "weights": {**asdict(weights), "had": weights.board},
        "counts": counts,
    }


def _counts(
    pieces: Sequence[Piece], joints: Sequence[Joint], boards: Sequence[BoardUse]
) -> dict[str, int]:
    kinds = [joint.zone.kind for joint in joints]
    cuts = sum((p.edges["left"] == "cut") + (p.edges["right"] == "cut") for p in pieces)
    had = sum(use.had for use in boards)
    return {
        "boards": len(boards) - had,
        "had": had,
        "frames": kinds.count(FRAME),
        "cleats": kinds.count(CLEAT),
        "cuts": cuts,
        "short": sum(piece.short for piece in pieces),
        "butted": sum(joint.butted for joint in joints),
    }
