"""The as-built plan: every joist from above, and a rod with running dimensions a tape line."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from shapely import LineString

from baywalk.sheets import dims, lengths, letters, plan_view, shape
from baywalk.sheets.dims import Mark
from baywalk.sheets.ink import CHAIN, NORMAL, SMALL, Box, Page, Words, leading
from baywalk.sheets.paper import short
from baywalk.sheets.table import Column, Table, note, print_table
from baywalk.sheets.view import View, scale_bar, start_mark

if TYPE_CHECKING:
    from collections.abc import Mapping

    from baywalk.sheets.paper import Book

_LEFT, _FOOT = 40.0, 8.0
_GAP_INK = 0.8


def draw(book: Book, as_built: Mapping[str, Any]) -> None:
    """Draw every run of an as-built, one or more pages each, and what was found under it."""
    for run in as_built["runs"]:
        _run(book, run)
        _found(book, run)


def title(run: Mapping[str, Any]) -> str:
    """Return the heading of a run's sheets."""
    return short(str(run.get("title") or ""), f"Run {run['id']}")


def _run(book: Book, run: Mapping[str, Any]) -> None:
    bounds = shape.bounds(run)
    if bounds is None or not run["lines"]:
        note(book, book.page(title(run)), _nowhere(run), NORMAL)
        return
    marks = {line: _figures(book, run, line) for line in run["lines"]}
    notes = _notes(book, run)
    page = book.page(title(run), notes=notes)
    room = _room(page, list(marks.values()))
    most = max(len(texts) for texts in marks.values())
    scale, windows = plan_view.windows(bounds, room, most)
    for number, window in enumerate(windows):
        if number:
            page = book.page(f"{title(run)}, continued", notes=notes)
            room = _room(page, list(marks.values()))
        seen = plan_view.view(window, room, scale)
        _plan(page, seen, book, run, window)


def _nowhere(run: Mapping[str, Any]) -> str:
    return (
        f"The readings do not yet say where any of the {len(run['joists'])} joists is. "
        "What to take next stands in the list of what was found."
    )


def _notes(book: Book, run: Mapping[str, Any]) -> list[str]:
    """Return what must be known beside the drawing: doubts first."""
    doubts = [
        f"{_finding(book, run, f)}{_used(run, f, book.units)}"
        for f in run.get("findings") or []
        if f.get("severity") == "settle"
    ]
    missing = [
        f"J{j['index']}"
        for j in run["joists"]
        if not any(shape.known(j["at"], line) is not None for line in run["lines"])
    ]
    if missing:
        doubts.append(f"Not drawn, for no reading says where they are: {_listed(missing)}.")
    return doubts


def _finding(book: Book, run: Mapping[str, Any], finding: Mapping[str, Any]) -> str:
    """Return what a finding says, its lengths told from the exact figures of its bay."""
    bay = (finding.get("where") or {}).get("bay")
    found = [one["at"] for one in run.get("bays") or [] if one["bay"] == bay]
    return book.told(finding, found)


def _used(run: Mapping[str, Any], finding: Mapping[str, Any], units: str) -> str:
    """Say which figure is drawn in place of a reading in doubt; empty where it is not one."""
    named = (finding.get("where") or {}).get("readings") or []
    computed = [r.get("computed") for r in run.get("readings") or [] if r.get("id") in named]
    if len(computed) != 1 or not isinstance(computed[0], int | float):
        return ""
    return f" Drawn here: {lengths.say(computed[0], units)}, not what was read."


def _listed(names: list[str]) -> str:
    return ", ".join(names[:12]) + (f" and {len(names) - 12} more" if len(names) > 12 else "")


def _figures(book: Book, run: Mapping[str, Any], line: str) -> list[str]:
    """Return the figures that stand along one rod."""
    return [mark.text for mark in _marks(book, run, line, None)]


def _marks(book: Book, run: Mapping[str, Any], line: str, seen: View | None) -> list[Mark]:
    """Return the marks of one rod, each joist's centre and the end wall, from the start wall."""
    out = []
    for joist in run["joists"]:
        x = shape.known(joist["at"], line)
        if x is not None:
            place = seen.x(x) if seen else 0.0
            out.append(Mark(place, f"J{joist['index']}: {lengths.say(x, book.units)}"))
    end = shape.known(run["walls"]["end"]["at"], line) if "end" in run["walls"] else None
    if end is not None:
        at = seen.x(end) if seen else 0.0
        out.append(Mark(at, f"wall: {lengths.say(end, book.units)}", bold=True))
    return out


def _room(page: Page, figures: list[list[str]]) -> Box:
    """Return the paper left for the joists, between the rods [mm]."""
    deep = [dims.rod_height(texts) + 3 for texts in figures]
    below = _below(len(deep))
    top = sum(deep[below:]) or 4.0
    return page.area.less(left=_LEFT, top=top, right=8, bottom=sum(deep[:below]) + _FOOT)


def _below(lines: int) -> int:
    """Return how many of so many tape lines have their rods below the joists; above the others."""
    return lines - lines // 2


def _plan(page: Page, seen: View, book: Book, run: Mapping[str, Any], window: Box) -> None:
    plan_view.outline(page, seen, run, window)
    plan_view.joists(page, seen, run, window)
    plan_view.features(page, seen, run, window)
    plan_view.names(page, seen, run, window)
    _rods(page, seen, book, run, window)
    told = [_gaps(page, seen, book, run, line, window) for line in run["lines"]]
    _upright(page, seen, book, run, window)
    start_mark(page, (seen.x(window.left) - 1.5, seen.y((window.top + window.bottom) / 2)))
    scale_bar(page, (page.area.left, page.area.bottom - 5), seen.scale, book.units)
    say = (
        f"Lengths in {lengths.unit(book.units)}. Running dimensions from the start wall's face to"
        " each joist's centre; between the joists the clear gap."
    )
    page.words((page.area.left + 72, page.area.bottom - 1), say, SMALL)
    if not all(told):
        more = "A gap that has no room here stands on the sheet of joists and bays."
        page.words((page.area.left + 72, page.area.bottom - 1 - leading(SMALL)), more, SMALL)


def _rods(page: Page, seen: View, book: Book, run: Mapping[str, Any], window: Box) -> None:
    """Draw each line's rod: the near half of them below, the first nearest; above the others."""
    lines = list(run["lines"])
    below = _below(len(lines))
    low, high = seen.y(window.top) + 4, seen.y(window.bottom) - 4
    for line in lines[:below]:
        marks = _rod(page, seen, book, run, line, low, window, above=False)
        low += dims.rod_height([m.text for m in marks]) + 3
    for line in reversed(lines[below:]):
        marks = _rod(page, seen, book, run, line, high, window, above=True)
        high -= dims.rod_height([m.text for m in marks]) + 3


def _rod(
    page: Page,
    seen: View,
    book: Book,
    run: Mapping[str, Any],
    line: str,
    y: float,
    window: Box,
    *,
    above: bool,
) -> list[Mark]:
    marks = _marks(book, run, line, seen)
    left, right = seen.x(window.left) - 0.05, seen.x(window.right) + 0.05
    # The rod's own zero is the start wall on that line, which may lie beside the near line's.
    shown = [m for m in marks if left - 1 <= m.at <= right + 8]
    end = max([seen.x(0.0), *(m.at for m in shown)]) if shown else right
    start = max(seen.x(0.0), left)
    named = letters.cut(f"{line} line", 24, SMALL)
    page.words((start - 2, y + SMALL / 2), named, SMALL, "end")
    span = (page.area.left + 26, page.area.right)
    dims.rod(page, y, start, min(end, right + 8), shown, above=above, room=span)
    return marks


def _gaps(
    page: Page, seen: View, book: Book, run: Mapping[str, Any], line: str, window: Box
) -> bool:
    """Write each bay's clear gap where the tape lay; say whether there was room for all of them."""
    members = [run["walls"].get("start"), *run["joists"], run["walls"].get("end")]
    tape = [p for m in members if m and (p := m["at"].get(line, {}).get("point"))]
    if len(tape) > 1:
        for part in plan_view.clipped(LineString(tape), window):
            page.line(*seen.ring(part), pen=0.1, dash=CHAIN)
    all_there = True
    for bay in run["bays"]:
        known = bay["at"].get(line) or {}
        k = bay["bay"]
        if known.get("gap") is None or k + 1 >= len(members):
            continue
        ends = [m["at"].get(line, {}).get("point") if m else None for m in members[k : k + 2]]
        if not ends[0] or not ends[1]:
            continue
        (xa, ya), (xb, yb) = seen.at(ends[0]), seen.at(ends[1])
        middle = (ends[0][0] + ends[1][0]) / 2
        if window.left <= middle <= window.right:
            at = ((xa + xb) / 2, (ya + yb) / 2)
            text = lengths.say(known["gap"], book.units)
            far = line == run["lines"][-1] and len(run["lines"]) > 1
            all_there &= _gap(page, at, text, known["gap"] / seen.scale, inwards=far)
    return all_there


def _gap(page: Page, at: tuple[float, float], text: str, free: float, *, inwards: bool) -> bool:
    """Write a clear gap over its tape line or under it; say whether it had room.

    A narrow bay's figure stands upright, on the far line rather ``inwards``: under it, off its rod.
    ``free`` is what there is between the joists [mm].
    """
    x, y = at
    wide = letters.width(text, SMALL)
    if wide + _GAP_INK <= free:
        tries = [Words((x, y + dy), text, SMALL, "middle") for dy in (-0.8, SMALL + 0.8)]
    elif free >= SMALL + _GAP_INK:
        foot = x + SMALL / 2
        offs = sorted((-0.8, wide + 0.8), reverse=inwards)
        tries = [Words((foot, y + dy), text, SMALL, up=True) for dy in offs]
    else:
        tries = []
    around = (-_GAP_INK, -_GAP_INK, -_GAP_INK, -_GAP_INK)
    one = next((one for one in tries if page.free(one.box.less(*around))), None)
    if one:
        page.words(one.at, text, SMALL, one.anchor, up=one.up, kind=dims.KIND, clear=True)
    return one is not None


def _upright(page: Page, seen: View, book: Book, run: Mapping[str, Any], window: Box) -> None:
    """Draw where the tape lines and the far edge lie, as running dimensions from the near edge."""
    limit = shape.outline(run)
    start = run["walls"].get("start")
    if limit is None or start is None:
        return
    way = shape.centre_line(run, start)
    if len(way) < 2:
        return
    zero = way[0][1]
    places = {
        f"{line} line": start["at"][line]["point"][1]
        for line in run["lines"]
        if start["at"].get(line, {}).get("point")
    }
    marks = [
        Mark(seen.y(y), f"{letters.cut(name, 20, SMALL)}: {lengths.say(y - zero, book.units)}")
        for name, y in {**places, "far edge": way[-1][1]}.items()
        if y - zero > 1
    ]
    dims.running_up(page, seen.x(window.left) - 8, seen.y(zero), marks)


def _found(book: Book, run: Mapping[str, Any]) -> None:
    """Print what was found in a run, and what to take next."""
    name = f"{title(run)}: what was found, and what to take next"
    columns = [Column("what", right=False), Column("in words", right=False, wrap=True)]
    table = Table(name, columns)
    names = {"settle": "settle first", "look": "look at", "note": "note"}
    for finding in run.get("findings") or []:
        severity = str(finding.get("severity") or "note")
        table.add([names.get(severity, severity), _finding(book, run, finding)])
    for reading in run.get("next_readings") or []:
        table.add(["take next", f"{reading['say']}. {reading.get('why', '')}"])
    if table.rows:
        print_table(book, table)
