"""Schedules of an as-built: the joists one by one, and the bays between them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.reconcile import words
from baywalk.sheets import lengths, shape
from baywalk.sheets.as_built import title
from baywalk.sheets.table import Column, Table, Value, note, print_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    from baywalk.sheets.paper import Book

_SURE = "A figure after ± holds the truth in 19 of 20 cases. A dash stands where no reading says."
_LEVEL = (
    " Faces and centre run from the start wall's face. Level is measured from a level line down to "
    "the joist's top: a larger figure is a lower joist. A star: the usual breadth, not measured."
)


def draw(book: Book, as_built: Mapping[str, Any]) -> list[Table]:
    """Print both schedules of every run; return them for the file."""
    both = [joists(as_built, book.units), bays(as_built, book.units)]
    for run in as_built["runs"]:
        for table in (joists({"runs": [run]}, book.units), bays({"runs": [run]}, book.units)):
            page = book.page(f"{title(run)}: {table.name}")
            more = _LEVEL if table.name == "joists" else ""
            page = note(book, page, f"Lengths in {lengths.unit(book.units)}. {_SURE}{more}")
            print_table(book, table, page)
    return both


def joists(as_built: Mapping[str, Any], units: str) -> Table:
    """Return the schedule of joists: size, and running dimensions of both faces and the centre."""
    heads = ["joist", "line", "left\nface", "centre", "±", "right\nface", "breadth", "depth"]
    table = Table("joists", [Column(h, right=h != "line") for h in [*heads, "level", "span"]])
    table.heads = ["run", "joist", "line", "left_face", "centre", "centre_sd", "right_face"]
    table.heads += ["breadth", "breadth_usual", "depth", "level", "span"]
    for run in as_built["runs"]:
        for joist in run["joists"]:
            for line in run["lines"]:
                _joist(table, run, joist, line, units)
    return table


def _joist(
    table: Table, run: Mapping[str, Any], joist: Mapping[str, Any], line: str, units: str
) -> None:
    place = joist["at"].get(line) or {}
    centre, sd = place.get("x"), place.get("sd")
    wide = shape.breadth(run, joist)
    faces = (
        [None, None] if centre is None or wide is None else [centre - wide / 2, centre + wide / 2]
    )
    usual = bool(joist.get("breadth") is None or (joist["breadth"] or {}).get("usual"))
    depth, span = _value(joist.get("depth")), _value(joist.get("span"))
    level = _value((joist.get("level") or {}).get(line))
    figures = [faces[0], centre, faces[1], wide, depth, level, span]
    left, middle, right, broad, *rest = [_said(f, units) for f in figures]
    broad += " *" if usual and wide is not None else ""
    spread = "–" if sd is None else lengths.spread(sd, units)
    table.add(
        [f"J{joist['index']}", line, left, middle, spread, right, broad, *rest],
        [
            run["id"],
            joist["index"],
            line,
            faces[0],
            centre,
            sd,
            faces[1],
            wide,
            int(usual),
            depth,
            level,
            span,
        ],
    )


def _value(figure: Mapping[str, Any] | None) -> float | None:
    return None if figure is None else figure["value"]


def _said(length: float | None, units: str) -> str:
    """Return a length [mm] as it is written, a dash for none."""
    return "–" if length is None else lengths.say(length, units)


def bays(as_built: Mapping[str, Any], units: str) -> Table:
    """Return the schedule of bays: clear gap and centres on each tape line."""
    heads = ["bay", "line", "clear gap", "±", "centres", "±"]
    table = Table("bays", [Column(h, right=h != "line") for h in heads])
    table.heads = ["run", "bay", "between", "line", "gap", "gap_sd", "centres", "centres_sd"]
    for run in as_built["runs"]:
        count = len(run["joists"])
        for bay in run["bays"]:
            for line in run["lines"]:
                known = bay["at"].get(line) or {}
                _bay(table, run, words.bay(bay["bay"], count), bay["bay"], line, known, units)
    return table


def _bay(
    table: Table,
    run: Mapping[str, Any],
    between: str,
    bay: int,
    line: str,
    known: Mapping[str, Any],
    units: str,
) -> None:
    names = ("gap", "sd", "centres", "centres_sd")
    gap, sd, centres, centres_sd = (known.get(name) for name in names)
    spreads = ["–" if s is None else lengths.spread(s, units) for s in (sd, centres_sd)]
    filed: list[Value] = [run["id"], bay, between, line, gap, sd, centres, centres_sd]
    table.add(
        [between, line, _said(gap, units), spreads[0], _said(centres, units), spreads[1]], filed
    )
