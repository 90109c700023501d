"""Quantities: what to buy, what of it is spare, and what is wasted."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from typing import TYPE_CHECKING, Any

from shapely import LineString

from baywalk.planning.choices import board_price, price

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import Polygon

    from baywalk.planning.choices import Board, Choices
    from baywalk.planning.courses import Course
    from baywalk.planning.ground import Ground
    from baywalk.planning.pieces import BoardUse, Piece
    from baywalk.planning.support.frames import Cleat, Joint
    from baywalk.planning.support.noggins import Noggin
    from baywalk.planning.support.timber import Cutting
    from baywalk.rules import Pack

_TOUCH = 0.05
_HAIR = 1e-9
"""The share of a spacing that is rounding [-]."""


def fixings(
    pieces: Sequence[Piece],
    ground: Ground,
    noggins: Sequence[Noggin],
    cleats: Sequence[Cleat],
    board: Board,
    pack: Pack,
) -> list[dict[str, Any]]:
    """Return the screws of a deck, spare not counted."""
    screw, held, batten = pack["fixing.screw"], pack["fixing.noggin"], pack["fixing.cleat"]
    length = max(screw["length"], math.ceil(screw["thickness"] * board.thickness))
    rows = [
        {
            "what": "boards",
            "kind": "screw",
            "length": length,
            "gauge": screw["gauge"],
            "count": _board_screws(pieces, ground, noggins, pack),
            "rule": "fixing.screw",
            "say": _screw_rule(pack),
        }
    ]
    if noggins:
        rows.append(
            {
                "what": "noggins",
                "kind": "screw",
                "length": held["length"],
                "gauge": held["gauge"],
                "count": 2 * held["each_end"] * len(noggins),
                "rule": "fixing.noggin",
                "say": f"{held['each_end']} at each end of a noggin.",
            }
        )
    if cleats:
        count = sum(math.ceil(round(c.length, 1) / batten["apart"] - _HAIR) + 1 for c in cleats)
        rows.append(
            {
                "what": "cleats",
                "kind": "screw",
                "length": batten["length"],
                "gauge": batten["gauge"],
                "count": count,
                "rule": "fixing.cleat",
                "say": f"Every {batten['apart']:g} mm along a cleat, with glue.",
            }
        )
    return rows


def _screw_rule(pack: Pack) -> str:
    edge, field = pack["fixing.centres.edge"], pack["fixing.centres.field"]
    return (
        f"At both ends of a piece one for every {edge:g} mm of its width begun and one more; on"
        " each joist between (its centre more than its breadth inside both ends, at mid-width) one"
        f" for every {field:g} mm begun and one more; on each noggin under the deck's edge one for"
        f" every {edge:g} mm begun and one more. At least {pack['fixing.edge.long']:g} mm from long"
        f" edges, {pack['fixing.edge.short']:g} mm from short ones."
    )


def _board_screws(
    pieces: Sequence[Piece], ground: Ground, noggins: Sequence[Noggin], pack: Pack
) -> int:
    edge, field = pack["fixing.centres.edge"], pack["fixing.centres.field"]
    total = 0
    for piece in pieces:
        x0, y0, x1, y1 = piece.polygon.bounds
        wide = round(piece.width, 3)
        total += 2 * (math.ceil(wide / edge - _HAIR) + 1)
        between = [
            m for m in ground.joists if x0 + m.breadth < m.centre((y0 + y1) / 2) < x1 - m.breadth
        ]
        total += len(between) * (math.ceil(wide / field - _HAIR) + 1)
    under_edge = [n for n in noggins if "edge" in n.serves]
    return int(total + sum(math.ceil(n.length / edge) + 1 for n in under_edge))


def adhesive(
    polygon: Polygon,
    pieces: Sequence[Piece],
    joints: Sequence[Joint],
    courses: Sequence[Course],
    ground: Ground,
    noggins: Sequence[Noggin],
    pack: Pack,
) -> dict[str, Any]:
    """Return the glue of a deck, by the length of its joints and of what carries it [m]."""
    bead = pack["adhesive.bead"]
    long_edges = sum(_shared(pieces, course) for course in courses)
    ends = sum(joint.y1 - joint.y0 for joint in joints)
    _, y0, _, y1 = polygon.bounds
    lines = [
        LineString([(m.centre(y), y) for y in (y0, *_knees(m, y0, y1), y1)]) for m in ground.joists
    ]
    under = sum(line.intersection(polygon).length for line in lines)
    supports = (under + sum(n.length for n in noggins)) / 1000
    tongues = (long_edges + ends) / 1000
    volume = (tongues * bead["joint"] + supports * bead["support"]) / 1000
    return {
        "joints": round(tongues, 2),
        "supports": round(supports, 2),
        "volume": round(volume, 3),
        "bottles": math.ceil(volume / bead["bottle"] - 1e-9),
        "bottle": bead["bottle"],
        "rule": "adhesive.bead",
    }


def _knees(member: Any, y0: float, y1: float) -> list[float]:
    return [y for _, y in member.points if y0 < y < y1]


def _shared(pieces: Sequence[Piece], course: Course) -> float:
    """Return how long the pieces of a course meet those of the next along its edges [mm]."""
    mine = [p for p in pieces if p.course == course.index]
    others = [p for p in pieces if p.course == course.index + 1]
    return sum(
        _overlap(_runs(piece, y), _runs(other, y))
        for y in (course.y0, course.y1)
        for piece in mine
        for other in others
    )


def _runs(piece: Piece, y: float) -> list[tuple[float, float]]:
    """Return the stretches of x [mm] over which a piece's edge lies at ``y``."""
    coords = list(piece.polygon.exterior.coords)
    return [
        (min(xa, xb), max(xa, xb))
        for (xa, ya), (xb, yb) in itertools.pairwise(coords)
        if abs(ya - y) < _TOUCH and abs(yb - y) < _TOUCH
    ]


def _overlap(some: Sequence[tuple[float, float]], others: Sequence[tuple[float, float]]) -> float:
    return sum(max(min(b, d) - max(a, c), 0.0) for a, b in some for c, d in others)


def finish(polygon: Polygon, pack: Pack) -> dict[str, Any]:
    """Return the finish of a deck and the tins that waste least of it."""
    rule = pack["finish.coats"]
    area = polygon.area / 1e6
    volume = area * rule["coats"] / rule["cover"]
    return {
        "area": round(area, 3),
        "coats": rule["coats"],
        "volume": round(volume, 2),
        "tins": tins(volume, rule["tins"]),
        "rule": "finish.coats",
    }


def tins(volume: float, sizes: Sequence[float]) -> list[dict[str, Any]]:
    """Return the tins that hold ``volume`` [l] with least to spare, the fewest of those."""
    step = 0.5
    need = math.ceil(volume / step - 1e-9)
    most = need + round(max(sizes) / step)
    best: list[tuple[float, ...] | None] = [()] + [None] * most
    for total in range(1, most + 1):
        for size in sizes:
            before = total - round(size / step)
            held = best[before] if before >= 0 else None
            there = best[total]
            if held is not None and (there is None or len(held) + 1 < len(there)):
                best[total] = (*held, size)
    chosen = next((b for b in best[need:] if b is not None), ()) if need else ()
    return [{"size": size, "count": n} for size, n in sorted(Counter(chosen).items())]


def waste(pieces: Sequence[Piece], boards: Sequence[BoardUse], board: Board) -> dict[str, Any]:
    """Return how much of the boards cut is not laid, and why."""
    cut = len(boards) * board.area
    laid = sum(p.polygon.area for p in pieces) / 1e6
    share = max(1 - laid / cut, 0.0) if cut else 0.0
    ripped = sum((board.width - p.width) * p.length for p in pieces) / 1e6 / cut if cut else 0.0
    say = (
        f"{100 * share:.1f} % of the board area is left over: {100 * ripped:.1f} % is ripped off"
        " the edge courses, the rest are offcuts that start or finish no course, and saw cuts."
    )
    return {"share": round(share, 4), "say": say}


def to_buy(
    boards: int,
    had: int,
    board: Board,
    cuttings: Sequence[Cutting],
    screws: Sequence[dict[str, Any]],
    glue: dict[str, Any],
    coat: dict[str, Any],
    hangers: Sequence[dict[str, Any]],
    raised: Sequence[dict[str, Any]],
    choices: Choices,
    pack: Pack,
    *,
    spoilt: int = 0,
) -> list[dict[str, Any]]:
    """Return the lines of what to buy; boards ``spoilt`` are first made good from spare ones."""
    spare = pack["board.spare"]
    more = max(spare["least"], math.ceil(spare["share"] * boards - 1e-9), spoilt)
    rows = [
        _row(
            f"{pack['deck.grade']} boards, tongue and groove on four edges",
            "board",
            f"{board.length:g} × {board.width:g} × {board.thickness:g}",
            boards,
            more,
            "boards",
            "Boards of the layout, and spare ones for what is spoilt.",
            "board.spare",
            price=board_price(choices, pack, board),
            there=had,
        )
    ]
    rows += [
        row
        for cutting in cuttings
        for row in _timber(cutting, price(choices, pack)("price.timber"))
    ]
    rows += [_screws(row, pack) for row in screws]
    rows += _liquids(glue, coat)
    rows += [row for h in hangers for row in _hangers(h, pack)]
    return rows + _packers(raised)


def _row(
    what: str,
    kind: str,
    size: str,
    net: float,
    spare: float,
    unit: str,
    why: str,
    rule: str | None,
    *,
    price: float | None = None,
    there: int = 0,
) -> dict[str, Any]:
    buy = max(net + spare - there, 0)
    return {
        "what": what,
        "kind": kind,
        "size": size,
        "net": net,
        "spare": spare,
        "buy": buy,
        "unit": unit,
        "price": price,
        "cost": None if price is None else round(buy * price, 2),
        "why": why + (f" {there} are there already." if there else ""),
        "rule": rule,
    }


def _timber(cutting: Cutting, per_metre: float) -> list[dict[str, Any]]:
    size = f"{cutting.section.breadth:g} × {cutting.section.depth:g}"
    counts = Counter(stock.length for stock in cutting.stock)
    return [
        _row(
            "timber",
            "timber",
            f"{size} × {length:g}",
            count,
            0,
            "lengths",
            "Cut as the cutting list says.",
            "timber.stock",
            price=round(per_metre * length / 1000, 2),
        )
        for length, count in sorted(counts.items())
    ]


def _screws(row: dict[str, Any], pack: Pack) -> dict[str, Any]:
    spare = math.ceil(pack["fixing.spare"] * row["count"] - 1e-9)
    size = f"{row['gauge']} × {row['length']:g}"
    return _row(
        f"screws for {row['what']}",
        "screw",
        size,
        row["count"],
        spare,
        "screws",
        row["say"],
        row["rule"],
    )


def _liquids(glue: dict[str, Any], coat: dict[str, Any]) -> list[dict[str, Any]]:
    rows = [
        _row(
            "wood glue, water-resistant",
            "adhesive",
            f"{glue['bottle']:g} l",
            glue["bottles"],
            0,
            "bottles",
            f"{glue['joints']:.0f} m of joints and {glue['supports']:.0f} m of supports.",
            glue["rule"],
        )
    ]
    rows += [
        _row(
            "floor finish",
            "finish",
            f"{tin['size']:g} l",
            tin["count"],
            0,
            "tins",
            f"{coat['area']:.1f} m² in {coat['coats']} coats.",
            coat["rule"],
        )
        for tin in coat["tins"]
    ]
    return rows


def _hangers(hanger: dict[str, Any], pack: Pack) -> list[dict[str, Any]]:
    nails = pack["opening.nails"]
    size = f"{hanger['breadth']:g} × {hanger['depth']:g}"
    why = f"For {hanger['for']}."
    count = hanger["count"]
    return [
        _row("joist hangers", "hanger", size, count, 0, "hangers", why, "opening.trim"),
        _row(
            "square-twist nails",
            "nail",
            f"{nails['gauge']} × {nails['length']:g}",
            count * nails["each"],
            0,
            "nails",
            f"{nails['each']} in each hanger.",
            "opening.nails",
        ),
    ]


def _packers(raised: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    counts = Counter(row["thickness"] for row in raised if row["kind"] == "packer")
    why = "Where joist tops lie below the highest. The size is the thickness in mm."
    return [
        _row("packers", "packer", f"{thick:g}", count, 0, "pieces", why, "raise.packer")
        for thick, count in sorted(counts.items())
    ]


def together(decks: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return what to buy for all decks together."""
    rows: dict[tuple[str, str], dict[str, Any]] = {}
    for deck in decks:
        for row in deck["quantities"]:
            key = (row["what"], row["size"])
            if key not in rows:
                rows[key] = dict(row)
                continue
            there = rows[key]
            for name in ("net", "spare", "buy"):
                there[name] += row[name]
            if there["cost"] is not None and row["cost"] is not None:
                there["cost"] = round(there["cost"] + row["cost"], 2)
    return list(rows.values())
