"""Boards: can each be cut into what the plan takes from it, and how many are there?"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from baywalk.planning.check.scene import Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

RULE = "board.kerf"


def strips(board: Json) -> list[list[str]]:
    """Return a board's strips from near to far, each its pieces' ids from left to right."""
    return board["strips"] if "strips" in board else [board.get("cuts", [])]


def check_boards(scene: Scene, out: Verdicts) -> None:
    """Check that every piece comes out of one board, and every board holds its pieces."""
    # Counted from the boards, so that a piece cut twice and one never cut both show.
    used = Counter(name for b in scene.deck["boards"] for row in strips(b) for name in row)
    for name in scene.pieces:
        out.must("board.cuts", used[name] == 1, name, f"it is cut {used[name]} times, not once")
    for name in used:
        out.must("board.cuts", name in scene.pieces, name, "it is cut and not laid")
    ids = Counter(board["id"] for board in scene.deck["boards"])
    out.must("board.cuts", max(ids.values(), default=1) == 1, "the boards", "two have one id")
    doubled = len(scene.pieces) == len(scene.deck["pieces"])
    out.must("board.cuts", doubled, "the pieces", "two have one id")
    for board in scene.deck["boards"]:
        _board(scene, board, out)


def _board(scene: Scene, board: Json, out: Verdicts) -> None:
    rows = [[scene.pieces[n] for n in row if n in scene.pieces] for row in strips(board)]
    where = board["id"]
    one_way = ("strips" in board) != ("cuts" in board)
    out.must("board.cuts", one_way, where, "it has both cuts and strips, or neither")
    out.must("board.cuts", rows and all(rows), where, "nothing is cut from it, or not from a strip")
    for piece in (p for row in rows for p in row):
        out.must("board.cuts", piece["board"] == where, piece["id"], f"it is cut from {where}")
    free = [_row(scene, row, where, out) for row in rows]
    if len(rows) > 1:
        _ripped(scene, rows, where, out)
    if all(rows) and rows:
        out.same("board.offcut", board["offcut"], max(free), where, "what is left over", 0.6)


def _row(scene: Scene, row: list[Json], where: str, out: Verdicts) -> float:
    """Check one strip from end to end; return the longest part of it that is left [mm]."""
    kerf = scene.pack[RULE]
    reached, left = 0.0, 0.0
    for index, piece in enumerate(row):
        free = piece["at"] - reached
        if index:
            both = {piece["id"], row[index - 1]["id"]} <= scene.laid_pieces
            least = kerf - (scene.off([piece["id"]]) if both else 0)
            out.at_least(RULE, free, least, f"{where}, {piece['id']}", "The room for the saw")
        # A cut on either side of what is left takes its kerf from it, at the board's end only one.
        left = max(left, free - kerf * (2 if index else 1))
        reached = piece["at"] + piece["length"]
    most = scene.board["length"] + scene.off(piece["id"] for piece in row)
    out.at_most("board.sizes", reached, most, where, "What is cut from it")
    return max(left, float(scene.board["length"] - reached - kerf), 0.0)


def _ripped(scene: Scene, rows: list[list[Json]], where: str, out: Verdicts) -> None:
    """Check a board ripped right through: widths, saw cuts and which strip keeps which edge."""
    kerf = scene.pack[RULE]
    total = sum(max((p["width"] for p in row), default=0.0) for row in rows)
    total += kerf * (len(rows) - 1)
    out.at_most("board.sizes", total, scene.board["width"], where, "Its strips and saw cuts")
    for index, row in enumerate(rows):
        for piece in row:
            # The saw has run along every strip but for the outer edges of the first and the last.
            kept = index == 0 or piece["near"] == "cut"
            kept = kept and (index == len(rows) - 1 or piece["far"] == "cut")
            out.must(RULE, kept, piece["id"], "a strip from inside the board has no whole edge")
