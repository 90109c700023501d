"""The schedule of noggins and cleats: what to cut, and where each is marked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.sheets import lengths
from baywalk.sheets.table import Column, Table, Value

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from baywalk.sheets.plan_parts import Deck, Timber


def schedule(decks: Sequence[Deck], units: str) -> Table:
    """Return every noggin: what to cut, and where its centre is marked on either side."""
    names = [
        "no.",
        "bay",
        "for",
        "length",
        "±",
        "section",
        "mark on\nleft",
        "mark on\nright",
        "ends",
    ]
    words = ("no.", "bay", "for", "section", "ends")
    table = Table("noggins", [Column(n, right=n not in words, wrap=n == "ends") for n in names])
    table.heads = ["noggin", "bay", "between", "use", "length", "sd", "breadth", "depth"]
    table.heads += ["mark_left", "mark_right", "x", "longer_face"]
    for deck in decks:
        for noggin in deck.noggins:
            _row(table, deck, noggin, units)
    return table


def _row(table: Table, deck: Deck, noggin: Mapping[str, Any], units: str) -> None:
    between = deck.between(noggin)
    along = bool(noggin.get("along"))
    a, b = (None, None) if along else deck.marks(noggin)
    section = noggin.get("section") or {}
    size = " × ".join(lengths.say(section[k], units) for k in ("breadth", "depth") if k in section)
    skew = float(noggin.get("out_of_square") or 0.0)
    ends = f"far face {lengths.say(skew, units)} longer" if skew else "square"
    if along:
        left = next((t for t in reversed(deck.timbers) if _left_of(t, noggin)), None)
        off = (
            None if left is None else noggin["x"] - left.crossing(noggin["y"])[0] - left.breadth / 2
        )
        ends = "along the joists"
        ends += f", {lengths.say(off, units)} off {left.name}" if left and off is not None else ""
    said = [lengths.say(v, units) if v is not None else "–" for v in (a, b)]
    spread = lengths.spread(noggin["sd"], units) if "sd" in noggin else "–"
    bay, length = "–".join(between), lengths.say(noggin["length"], units)
    filed: list[Value] = [noggin["id"], noggin["bay"], bay, noggin["use"], noggin["length"]]
    filed += [noggin.get("sd"), section.get("breadth"), section.get("depth"), a, b]
    filed += [noggin.get("x") if along else None, skew]
    table.add([noggin["id"], bay, noggin["use"], length, spread, size, *said, ends], filed)


def _left_of(timber: Timber, noggin: Mapping[str, Any]) -> bool:
    return noggin.get("x") is not None and bool(timber.crossing(noggin["y"])[0] <= noggin["x"])


_CLEAT = ("no.", "joist", "side", "length", "middle at")


def cleats(decks: Sequence[Deck], units: str) -> Table:
    """Return every cleat: its joist, its side, its length and the mark of its middle."""
    table = Table("cleats", [Column(n, right=n in ("length", "middle at")) for n in _CLEAT])
    table.heads = ["cleat", "joist", "side", "length", "mark"]
    for deck in decks:
        for cleat in deck.many("cleats"):
            middle = deck.cleat_mark(cleat)
            side = f"towards the {'start' if cleat.get('side') == 'left' else 'end'} wall"
            said = "–" if middle is None else lengths.say(middle, units)
            joist, length = deck.cleat_joist(cleat), cleat["length"]
            table.add(
                [cleat["id"], joist, side, lengths.say(length, units), said],
                [cleat["id"], joist, cleat.get("side"), length, middle],
            )
    return table
