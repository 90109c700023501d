"""Marks: every measure from something that a tape hooks on."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from baywalk.planning.choices import Board
    from baywalk.planning.pieces import Piece

Point = tuple[float, float]

_EVEN = 0.5
"""Two lengths nearer than this are marked as one [mm]."""


def mark(
    hook: str, to: str, item: str, start: Point, end: Point, along: str = ""
) -> dict[str, Any]:
    """Return a measure from one place in the plane to another [mm]."""
    mark: dict[str, Any] = {
        "item": item,
        "from": [round(start[0], 2), round(start[1], 2)],
        "at": [round(end[0], 2), round(end[1], 2)],
        "hook": hook,
        "to": to,
        "value": round(math.dist(start, end), 1),
    }
    return {**mark, "along": along} if along else mark


def cuts(piece: Piece, board: Board) -> list[dict[str, Any]]:
    """Return the cuts of one piece [mm]: across at its sawn ends, along where it is ripped."""
    marks = []
    if "cut" in (piece.edges["left"], piece.edges["right"]):
        marks += _cross(piece, board)
    if piece.edges["near"] == "cut" or piece.edges["far"] == "cut":
        marks += _rip(piece)
    return marks


def _cross(piece: Piece, board: Board) -> list[dict[str, Any]]:
    """Return where a piece is sawn across, from the end of its board that a tape hooks on.

    Where an end is not square, both its corners are marked.
    """
    # The end that it keeps, whichever of the two it was free to have: boards differ in length.
    right = piece.edges["left"] == "cut" and piece.edges["right"] != "cut"
    hook = f"the {'right' if right else 'left'}-hand end of {piece.board}"
    end = piece.polygon.bounds[0] - piece.at + (board.length if right else 0.0)
    out = []
    for side in ("left", "right"):
        if piece.edges[side] != "cut":
            continue
        near, far = (_corner(piece, side, edge) for edge in ("near", "far"))
        even = abs(near[0] - far[0]) < _EVEN
        for edge, at in (("near", near),) if even else (("near", near), ("far", far)):
            to = f"{piece.id}, {side}-hand cut" + ("" if even else f" at its {edge} edge")
            out.append(mark(hook, to, piece.id, (end, at[1]), at))
    return out


def _corner(piece: Piece, side: str, edge: str) -> Point:
    """Return the outermost corner of a piece at its left or right end, near or far edge [mm]."""
    across, up = (1 if side == "left" else -1), (1 if edge == "near" else -1)
    points = [(x, y) for x, y in piece.polygon.exterior.coords]
    return min(points, key=lambda p: across * p[0] + up * p[1])


def _rip(piece: Piece) -> list[dict[str, Any]]:
    """Return the widths of a piece at its two ends, from the edge that it keeps."""
    keep = next((s for s in ("near", "far") if piece.edges[s] != "cut"), "near")
    lost = "far" if keep == "near" else "near"
    _, y0, _, y1 = piece.polygon.bounds
    hook, edge = f"the {keep} edge of {piece.board}", (y0 if keep == "near" else y1)
    out = []
    for side in ("left", "right"):
        at = _corner(piece, side, lost)
        to = f"{piece.id}, rip at its {side}-hand end"
        out.append(mark(hook, to, piece.id, (at[0], edge), at))
    return out
