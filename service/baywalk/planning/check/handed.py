"""Edges and ends: which side of a piece is tongue, groove or sawn, and does it mate?

A board printed face up can be turned end for end, not over. So once the deck's direction is
given, the groove is at one known side and one known end of every board.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from baywalk.planning.check.area import corners
from baywalk.planning.check.scene import touching
from baywalk.planning.check.verdicts import EXACT

if TYPE_CHECKING:
    from baywalk.planning.check.scene import Area, Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

RULE = "board.tongue"


def square_at(shape: Area, side: str) -> float:
    """Return how much of an area's side runs square to the board at its very edge [mm]."""
    x0, y0, x1, y1 = shape.bounds
    axis, place = {"left": (0, x0), "right": (0, x1), "near": (1, y0), "far": (1, y1)}[side]
    return float(
        sum(
            abs(b[1 - axis] - a[1 - axis])
            for a, b in corners(shape)
            if abs(a[axis] - place) <= EXACT and abs(b[axis] - place) <= EXACT
        )
    )


def check_handed(scene: Scene, out: Verdicts) -> None:
    """Check every side of every piece against the board, its place in it and its neighbours."""
    for piece in scene.deck["pieces"]:
        for side in ("left", "right", "near", "far"):
            _side(scene, piece, side, out)
        _place(scene, piece, out)
    _courses_mate(scene, out)


def _side(scene: Scene, piece: Json, side: str, out: Verdicts) -> None:
    if piece[side] == "cut":
        return
    where = f"{piece['id']}, {side}"
    own = scene.ends[side]
    out.must(RULE, piece[side] == own, where, f"a board lying so has its {own} there")
    # A tongue or groove runs along the board: what slants away from it has been sawn.
    edge = square_at(scene.shapes[piece["id"]], side)
    out.must(RULE, edge > EXACT, where, "an edge that is not square to the board is sawn")


def _place(scene: Scene, piece: Json, out: Verdicts) -> None:
    """Check that a whole end lies at the board's end, and a whole width between whole edges."""
    at, length, width = piece["at"], piece["length"], piece["width"]
    board, name = scene.board, piece["id"]
    off = scene.off([name])
    # A whole end can only be the end of its board.
    if piece["left"] != "cut":
        out.same(RULE, at, 0.0, name, "where it begins in its board, whole at the left,")
    if piece["right"] != "cut":
        stop = at + length
        what = "where it stops in its board, whole there,"
        out.same(RULE, stop, board["length"], name, what, EXACT + off)
    wide = EXACT + scene.off(scene.of_course(piece["course"]))
    if "cut" not in (piece["near"], piece["far"]):
        out.same(RULE, width, board["width"], name, "its width with both edges whole", wide)
    most = board["length"] + off
    out.at_most("board.sizes", at + length, most, name, "Where it stops in its board")
    out.at_most("board.sizes", width, board["width"] + wide, name, "Its width")


def _courses_mate(scene: Scene, out: Verdicts) -> None:
    """Check that where two courses touch, each piece shows a whole edge."""
    # The far neighbour of a course comes next, or came before, by the side laid from.
    step = 1 if scene.deck["laid_from"] == "near" else -1
    rows: dict[int, list[Json]] = {}
    for piece in scene.deck["pieces"]:
        rows.setdefault(piece["course"], []).append(piece)
    for index, row in rows.items():
        for below in row:
            for above in rows.get(index + step, ()):
                a, b = scene.shapes[below["id"]], scene.shapes[above["id"]]
                if touching(a, b, EXACT):
                    both = below["far"] != "cut" and above["near"] != "cut"
                    where = f"{below['id']} and {above['id']}"
                    out.must(RULE, both, where, "a sawn long edge meets a neighbour")
