"""What is laid: is every piece kept where it was told to lie, under its id, from its board?

Read from the file of what is laid and the earlier plan themselves: nothing that the plan says of
itself counts.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from baywalk.planning.check.scene import Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

RULE = "laid.kept"
MOVED = 1.0
"""Timber that is within this of its place has not been moved [mm]."""


@dataclass(frozen=True)
class Laid:
    """What is told of one deck.

    Attributes:
        pieces: where the ends of each laid piece were told to lie, by its id [mm].
        edges: where the leading edges of courses were told to lie, by index [mm].
        spoilt: ids of the boards that are spoilt.
        cut: ids of the boards that are sawn already.
        in_hand: how many whole boards are there, None where not counted.
        deck: the deck as the earlier plan has it.
        timber: ids of the noggins and cleats told to be fixed, None where not told.
    """

    pieces: dict[str, Json]
    edges: dict[int, float]
    spoilt: tuple[str, ...]
    cut: tuple[str, ...]
    in_hand: int | None
    deck: Json
    timber: tuple[str, ...] | None = None

    def fixed(self) -> frozenset[str]:
        """Return the noggins and cleats that are fixed: as told, or by the steps so far."""
        if self.timber is not None:
            return frozenset(self.timber)
        steps = self.deck["sequence"]
        last = max((s["step"] for s in steps if set(s["pieces"]) & set(self.pieces)), default=0)
        return frozenset(n for step in steps if step["step"] < last for n in step["noggins"])

    @property
    def begun(self) -> set[str]:
        """The ids of the boards that pieces were sawn from, or that are of no more use."""
        return {p["board"] for p in self.was.values()} | set(self.spoilt) | set(self.cut)

    @property
    def was(self) -> dict[str, Json]:
        """The laid pieces as the earlier plan has them."""
        return {p["id"]: p for p in self.deck["pieces"] if p["id"] in self.pieces}

    @property
    def spoilt_whole(self) -> int:
        """How many spoilt boards have no piece laid."""
        return len(set(self.spoilt) - {p["board"] for p in self.was.values()})


def as_told(before: tuple[Json, Json | None] | None) -> dict[str, Laid]:
    """Return what is told of each deck of an earlier plan, by the deck's id."""
    if before is None:
        return {}
    earlier, file = before
    told = {deck["id"]: deck for deck in (file or {}).get("decks", ())}
    out = {}
    for deck in earlier["decks"]:
        mine: dict[str, Any] = told.get(deck["id"], {})
        out[deck["id"]] = Laid(
            {piece["id"]: piece for piece in mine.get("pieces") or ()},
            {row["course"] - 1: row["edge"] for row in mine.get("courses") or ()},
            tuple(mine.get("spoilt") or ()),
            tuple(mine.get("cut") or ()),
            mine.get("in_hand"),
            deck,
            None if mine.get("fixed") is None else tuple(mine["fixed"]),
        )
    return out


def check_laid(scene: Scene, out: Verdicts) -> None:
    """Check that what is laid is in the plan just as it lies, and nothing else is called laid."""
    out.looked(RULE)
    marked = {piece["id"] for piece in scene.deck["pieces"] if piece.get("laid")}
    for name in marked - scene.laid_pieces:
        out.must(RULE, None, name, "it is said to be laid, and is not")
    told = scene.told
    if told is None:
        return
    for name, ends in told.pieces.items():
        piece = scene.pieces.get(name)
        if out.must(RULE, piece and name in marked, name, "it is laid, and not kept") and piece:
            _kept(scene, piece, ends, told, out)
    near = scene.deck["laid_from"] == "near"
    for index, edge in told.edges.items():
        lead = scene.courses[index]["y1" if near else "y0"] if index in scene.courses else edge + 9
        out.same(RULE, lead, edge, f"course {index + 1}", "its leading edge")
    _boards(scene, told, out)
    _timber(scene, told, out)


def _kept(scene: Scene, piece: Json, ends: Json, told: Laid, out: Verdicts) -> None:
    name, was = piece["id"], told.was[piece["id"]]
    x0, y0, x1, y1 = scene.shapes[name].bounds
    for side, own in (("left", x0), ("right", x1)):
        if ends.get(side) is not None:
            out.same(RULE, own, ends[side], name, f"its {side} end")
    same = piece["board"] == was["board"] and piece["course"] == was["course"]
    out.must(RULE, same, name, "it is of another board or course than it was laid from")
    for side in ("left", "right", "near", "far"):
        # A whole end may have been sawn since, never the other way about.
        held = piece[side] in (was[side], "cut")
        out.must(RULE, held, name, f"its {side} side is not what it was")
    if not _moved(told, was["course"]):
        xs, ys = ([point[k] for point in was["polygon"]] for k in (0, 1))
        pairs = zip((x0, y0, x1, y1), (min(xs), min(ys), max(xs), max(ys)), strict=True)
        for own, old in pairs:
            out.same(RULE, own, old, name, "where it lies")


def _moved(told: Laid, course: int) -> bool:
    """Say whether anything of a course was told to lie elsewhere than planned."""
    mine = [told.pieces[name] for name, was in told.was.items() if was["course"] == course]
    shifted = bool(told.edges)
    return shifted or any(p.get(s) is not None for p in mine for s in ("left", "right"))


def _boards(scene: Scene, told: Laid, out: Verdicts) -> None:
    """Check that nothing more comes from a spoilt board, and what is to be bought more."""
    for board in scene.deck["boards"]:
        names = [n for row in board.get("strips") or [board["cuts"]] for n in row]
        fresh = [n for n in names if n not in told.pieces]
        spoilt = board["id"] in told.spoilt and fresh
        out.must(RULE, not spoilt, board["id"], "it is spoilt, and pieces are cut from it")
    changes = scene.deck.get("changes")
    if not out.must(RULE, changes, "the deck", "it does not say what changes") or not changes:
        return
    whole = sum(board["id"] not in told.begun for board in scene.deck["boards"])
    row = next(row for row in told.deck["quantities"] if row["kind"] == "board")
    there = row["net"] + row["spare"] - len(told.begun) if told.in_hand is None else told.in_hand
    more = max(whole - max(there, 0), 0)
    out.same(RULE, changes["boards"]["buy_more"], more, "the boards", "how many to buy more", 0)


def _timber(scene: Scene, told: Laid, out: Verdicts) -> None:
    """Check that timber under laid pieces is where it was: it cannot be reached any more."""
    old = {n["id"]: n for n in told.deck["noggins"]}
    for name, noggin in scene.noggins.items():
        if name in old and name in told.fixed():
            for here, there in zip(noggin["ends"], old[name]["ends"], strict=True):
                off = max(abs(here[0] - there[0]), abs(here[1] - there[1]))
                out.at_most(RULE, off, MOVED, name, "How far it would have to be moved")
