"""The nearest row of published span tables, as a second line of evidence beside the checks."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from baywalk import places
from baywalk.capacity.cuts import longest

if TYPE_CHECKING:
    from baywalk.capacity.model import Joist
    from baywalk.capacity.setting import Setting
    from baywalk.rules import Pack


_OLD = " It is an old table, for sound and whole timber: evidence, and no leave to load anything."


@dataclass(frozen=True)
class Row:
    """One cell of a span table: the clear ``span`` [mm] that it allows.

    ``size`` is breadth and depth [mm], ``centres`` [mm], ``dead`` the top of its band [kN/m²].
    """

    size: tuple[float, float]
    centres: float
    dead: float
    span: float
    read: bool


@dataclass(frozen=True)
class Table:
    """A published span table, for one strength class and one use."""

    id: str
    title: str
    source: str
    grade: str
    use: str
    rows: tuple[Row, ...]


@cache
def tables() -> tuple[Table, ...]:
    """Return the span tables of the fixtures that give spans in the units of this house."""
    folder = places.fixtures() / "span-tables"
    documents = [
        json.loads(path.read_text(encoding="utf-8")) for path in sorted(folder.glob("uk-*.json"))
    ]
    return tuple(_table(document) for document in documents)


def _table(document: dict[str, Any]) -> Table:
    rows = [
        Row((b, h), centres, band["dead"], span, f"{b}x{h}" in document.get("read", {}))
        for band in document["bands"]
        for (b, h), spans in ((tuple(map(int, k.split("x"))), v) for k, v in band["rows"].items())
        for centres, span in zip(document["centres"], spans, strict=True)
    ]
    named = {name: str(document[name]) for name in ("id", "title", "source", "grade", "use")}
    return Table(rows=tuple(rows), **named)


def evidence(joist: Joist, dead: float, setting: Setting, pack: Pack) -> dict[str, Any] | None:
    """Return what the nearest table row says of a joist; None where no table is near.

    ``dead`` is the permanent load without the joists [kN/m²], for the tables count it so.
    """
    if joist.breadth is None or joist.depth is None or joist.span is None or joist.plies > 1:
        return None
    # There are tables for ceilings and for dwellings; a room now and then is a dwelling to them.
    use = "storage" if setting.use == "storage" else "domestic"
    table = next((t for t in tables() if (t.grade, t.use) == (_class(joist.grade), use)), None)
    apart = max(joist.left or 0.0, joist.right or 0.0)
    if table is None or not apart:
        return None
    row = _nearest(table, joist.breadth.value, joist.depth.value, apart, dead)
    if row is None:
        return None
    return _told(table, row, joist, apart, dead, setting, pack)


def _class(grade: str) -> str:
    """Return the class whose table serves: a stronger timber is held to the next weaker table."""
    return "C24" if grade in ("C24", "C27", "C30") else "C16" if grade != "C14" else "C14"


def _nearest(table: Table, breadth: float, depth: float, apart: float, dead: float) -> Row | None:
    """Return the row nearest in section whose band and centres are no kinder than the floor's."""
    # A kinder load or closer centres would flatter the joist; such rows are not its row.
    fit = [r for r in table.rows if r.dead >= dead - 1e-9 and r.centres >= apart - 1e-9]
    # Beyond the table: the row that asks most of it, told as one that does not match.
    fit = fit or [r for r in table.rows if r.dead >= dead - 1e-9] or list(table.rows)
    if not fit:
        return None

    def off(row: Row) -> tuple[float, float, float]:
        size = abs(row.size[0] - breadth) / breadth + abs(row.size[1] - depth) / depth
        return size, abs(row.dead - dead), abs(row.centres - apart)

    return min(fit, key=off)


def _told(
    table: Table,
    row: Row,
    joist: Joist,
    apart: float,
    dead: float,
    setting: Setting,
    pack: Pack,
) -> dict[str, Any]:
    breadth = joist.breadth.value if joist.breadth else 0.0
    depth = joist.depth.value if joist.depth else 0.0
    span = longest(joist, pack)
    near = pack["span.table.near"]["size"]
    unlike = []
    if abs(row.size[0] - breadth) > near or abs(row.size[1] - depth) > near:
        unlike.append(f"its section is {row.size[0]:.0f} × {row.size[1]:.0f}, not this one")
    if row.size[0] > breadth + 1 or row.size[1] > depth + 1:
        unlike.append("its section is larger than this one, so it flatters")
    # What the tape cannot tell from the row's own spacing is no difference.
    if round(apart) > row.centres:
        unlike.append(f"its centres are {row.centres:.0f}, these are {apart:.0f}")
    if row.dead < dead:
        unlike.append(f"its permanent load ends at {row.dead:g} kN/m², this is {dead:.2f}")
    if table.use != setting.use and setting.use != "occasional":
        unlike.append("it is for another use")
    within = span <= row.span
    words = "within" if within else "beyond"
    say = (
        f"{table.title}: {row.size[0]:.0f} × {row.size[1]:.0f} {table.grade} at "
        f"{row.centres:.0f} mm spans at most {row.span:.0f} mm; J{joist.index} spans {span:.0f} "
        f"mm, {words} it." + (f" But {'; '.join(unlike)}." if unlike else "") + _OLD
    )
    return {
        "table": table.id,
        "section": [row.size[0], row.size[1]],
        "centres": row.centres,
        "dead": row.dead,
        "span": row.span,
        "within": within,
        "matches": not unlike,
        "read": row.read,
        "source": table.source,
        "say": say,
    }
