"""What one deck takes: timber and how it is cut, screws, glue, finish, and what to buy of each."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.planning import quantities
from baywalk.planning.laid.boards import spoilt_whole
from baywalk.planning.support.noggins import Section
from baywalk.planning.support.timber import Cutting, Item, Saw, cut_stock

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from baywalk.planning.floor import Floor
    from baywalk.rules import Pack


def bought(floor: Floor) -> dict[str, Any]:
    """Return timber, screws, glue, finish and what to buy of each."""
    task, under, parts = floor.task, floor.under, floor.pieces
    pack, board, polygon, ground = task.pack, task.board, task.area.polygon, task.ground
    hangers = [hanger for hole in floor.openings for hanger in hole["hangers"]]
    cuttings = _cuttings(floor)
    screws = quantities.fixings(parts, ground, under.noggins, under.cleats, board, pack)
    glue = quantities.adhesive(
        polygon, parts, floor.joints, floor.courses, ground, under.noggins, pack
    )
    coat = quantities.finish(polygon, pack)
    return {
        "timbers": _timbers(cuttings, _saw(pack)),
        "cutting": [cutting.json() for cutting in cuttings],
        "fixings": screws,
        "adhesive": glue,
        "finish": coat,
        "waste": quantities.waste(parts, floor.boards, board),
        "quantities": quantities.to_buy(
            len(floor.boards),
            sum(use.had for use in floor.boards) if task.after else task.choices.had,
            board,
            cuttings,
            screws,
            glue,
            coat,
            hangers,
            floor.raised,
            task.choices,
            pack,
            spoilt=len(spoilt_whole(task.held)) if task.held else 0,
        ),
    }


def _cuttings(floor: Floor) -> list[Cutting]:
    """Return the cutting of every section from stock."""
    items: dict[Section, list[Item]] = {}
    for size, item in _items(floor):
        items.setdefault(size, []).append(item)
    pack = floor.task.pack
    lengths = floor.task.choices.stock or tuple(pack["timber.stock"])
    saw = _saw(pack)
    return [cut_stock(size, items[size], lengths, saw) for size in sorted(items, key=str)]


def _saw(pack: Pack) -> Saw:
    return Saw(pack["timber.kerf"], pack["timber.squaring"])


def _items(floor: Floor) -> Iterator[tuple[Section, Item]]:
    """Give every length of timber with its section: noggins first, an opening's timbers last."""
    for noggin in floor.under.noggins:
        yield noggin.section, Item(noggin.id, noggin.length)
    for cleat in floor.under.cleats:
        yield cleat.section, Item(cleat.id, cleat.length)
    for member in floor.task.added:
        for name, length in floor.task.timbers(member):
            yield Section(member.breadth, float(round(member.depth))), Item(name, length)
    for batten in floor.raised:
        if batten["kind"] == "batten":
            size = Section(float(batten["breadth"]), float(batten["thickness"]))
            yield size, Item(batten["id"], batten["length"])
    yield from _doublings(floor.openings)
    for hole in floor.openings:
        for timber in hole["trimmers"]:
            for _ in range(timber["plies"]):
                yield Section(**timber["section"]), Item(timber["id"], timber["length"])


def _doublings(openings: Sequence[dict[str, Any]]) -> Iterator[tuple[Section, Item]]:
    """Give what doubles the joists: one timber a side, however many openings lie along it."""
    longest: dict[tuple[int, str], dict[str, Any]] = {}
    for timber in (t for hole in openings for t in hole["trimming"]):
        key = timber["joist"], timber["side"]
        if key not in longest or longest[key]["length"] < timber["length"]:
            longest[key] = timber
    for (joist, side), timber in longest.items():
        yield Section(**timber["section"]), Item(f"J{joist} doubled, {side}", timber["length"])


def _timbers(cuttings: Sequence[Cutting], saw: Saw) -> list[dict[str, Any]]:
    rows = [(cutting.section, stock) for cutting in cuttings for stock in cutting.stock]
    return [
        {
            "id": f"T{number}",
            "section": size.json(),
            "stock": stock.length,
            "squaring": saw.squaring,
            "cuts": [{"item": item.id, "length": round(item.length, 1)} for item in stock.cuts],
            "offcut": round(max(stock.offcut(saw), 0.0), 1),
        }
        for number, (size, stock) in enumerate(rows, start=1)
    ]
