"""The record: every reading with what became of it, strikes with their reasons, remarks, photos."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

from PIL import Image

from baywalk.reconcile import words
from baywalk.sheets import lengths, letters
from baywalk.sheets.ink import SMALL, Box, Picture
from baywalk.sheets.table import Column, Table, Value, note, print_table

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from baywalk.fieldbook import Survey
    from baywalk.sheets.paper import Book

Photos = "Callable[[str], bytes | None]"

_ACROSS, _DOWN = 3, 2
_DOTS = 700
_READINGS = ("across", "along", "diagonal", "breadth", "depth", "level", "bearing")
_VERDICTS = {"suspect": "in doubt", "unchecked": "not checked", "struck": "struck out"}


def draw(
    book: Book,
    survey: Survey,
    as_built: Mapping[str, Any],
    photo: Callable[[str], bytes | None] | None = None,
) -> list[Table]:
    """Print the record of a survey; return its tables. ``photo`` gives a photo by its SHA-256."""
    table = readings(survey, as_built, book.units)
    page = book.page("Readings, as they were taken")
    say = "Nothing is ever taken out of the field book. What was struck out stands here too."
    lies = "Readings are in mm as typed; the last column is the survey's own length."
    page = note(book, page, f"{say} {lies}")
    print_table(book, table, page)
    said = remarks(survey)
    if said.rows:
        page = book.page("Remarks, features and what could not be reached")
        print_table(book, said, note(book, page, "Lengths in mm, as typed."))
    if photo:
        _photos(book, survey, photo)
    return [table, said]


def readings(survey: Survey, as_built: Mapping[str, Any], units: str) -> Table:
    """Return every reading in the order of the field book, struck ones too."""
    columns = [
        Column("no."),
        Column("run", right=False),
        Column("reading", right=False),
        Column("read"),
        Column("what became of it", right=False, wrap=True),
        Column("as-built"),
    ]
    table = Table("readings", columns)
    table.heads = ["number", "id", "at", "by", "run", "kind", "reading", "value", "verdict"]
    table.heads += ["reason", "computed"]
    outcome = {r["id"]: r for run in as_built["runs"] for r in run.get("readings") or []}
    joists = {run.id: run.joists for run in survey.runs}
    for number, entry in enumerate((e for e in survey.entries if e["kind"] in _READINGS), start=1):
        _reading(table, number, entry, survey, outcome.get(entry["id"], {}), joists, units)
    return table


def _reading(
    table: Table,
    number: int,
    entry: Mapping[str, Any],
    survey: Survey,
    outcome: Mapping[str, Any],
    joists: Mapping[str, int],
    units: str,
) -> None:
    run = str(entry.get("run", ""))
    said = words.reading(entry, joists.get(run, 10_000))
    reason = survey.struck.get(entry["id"])
    verdict = "struck" if reason is not None else str(outcome.get("verdict", ""))
    became = _VERDICTS.get(verdict, verdict)
    if reason:
        became += f": {reason}"
    elif outcome.get("why"):
        became += f": {outcome['why']}"
    value, computed = float(entry["value"]), outcome.get("computed")
    lies = "–" if computed is None else lengths.say(computed, units)
    filed: list[Value] = [number, entry["id"], entry.get("at"), entry.get("by"), run]
    filed += [entry["kind"], said, value, verdict, reason, computed]
    table.add([str(number), run, said, f"{value:g}", became, lies], filed)


def remarks(survey: Survey) -> Table:
    """Return remarks, features, photos and unreached places, each with its place and its words."""
    columns = [
        Column("where", right=False),
        Column("what", right=False),
        Column("in words", right=False, wrap=True),
    ]
    table = Table("remarks", columns)
    table.heads = ["id", "where", "what", "words", "struck"]
    for entry in survey.entries:
        if entry["kind"] not in ("remark", "photo", "feature", "unreached"):
            continue
        where, what, said = _where(entry, survey), _what(entry), _words(entry)
        struck = survey.struck.get(entry["id"])
        if struck is not None:
            said = f"struck out: {struck}. {said}"
        table.add([where, what, said], [entry["id"], where, what, said, struck])
    return table


def _where(entry: Mapping[str, Any], survey: Survey) -> str:
    count = next((r.joists for r in survey.runs if r.id == entry.get("run")), 10_000)
    if isinstance(entry.get("bay"), int):
        return words.bay(entry["bay"], count)
    if isinstance(entry.get("joist"), int):
        return words.joist(entry["joist"], count)
    return str(entry.get("line") or entry.get("run") or "the whole")


def _what(entry: Mapping[str, Any]) -> str:
    return str(entry.get("feature") or entry["kind"])


_OWN = (
    "id",
    "at",
    "by",
    "n",
    "kind",
    "run",
    "feature",
    "bay",
    "joist",
    "text",
    "caption",
    "sha256",
)


def _words(entry: Mapping[str, Any]) -> str:
    """Return what an entry says: its own text, else its fields in plain."""
    own = entry.get("text") or entry.get("caption")
    rest = [f"{k.replace('_', ' ')} {_plain(v)}" for k, v in entry.items() if k not in _OWN]
    return ". ".join(part for part in (str(own or ""), ", ".join(rest)) if part)


def _plain(value: object) -> str:
    return " ".join(map(_plain, value)) if isinstance(value, list) else str(value)


def _photos(book: Book, survey: Survey, photo: Callable[[str], bytes | None]) -> None:
    """Print the photos that stand, six a page, each with its place and caption."""
    shown = [e for e in survey.entries if e["kind"] == "photo" and e["id"] in survey.standing]
    for start in range(0, len(shown), _ACROSS * _DOWN):
        page = book.page("Photos")
        wide, high = page.area.width / _ACROSS, page.area.height / _DOWN
        for k, entry in enumerate(shown[start : start + _ACROSS * _DOWN]):
            left = page.area.left + (k % _ACROSS) * wide
            top = page.area.top + (k // _ACROSS) * high
            room = Box(left + 1, top, left + wide - 1, top + high - 8)
            _one(page, room, _where(entry, survey), entry, photo)


def _one(
    page: Any,
    room: Box,
    where: str,
    entry: Mapping[str, Any],
    photo: Callable[[str], bytes | None],
) -> None:
    data = photo(str(entry["sha256"]))
    text = f"{where}: {entry.get('caption') or 'no caption'}"
    page.words((room.left, room.bottom + 3.5), letters.cut(text, room.width, SMALL), SMALL)
    if data is None:
        page.shape(room.corners())
        page.words((room.left + 2, room.top + 5), "not here yet", SMALL)
        return
    small, (width, height) = _small(data)
    share = min(room.width / width, room.height / height)
    x, y = room.left, room.bottom - height * share
    page.items.append(Picture(Box(x, y, x + width * share, room.bottom), small))


def _small(data: bytes) -> tuple[bytes, tuple[int, int]]:
    """Return a photo small enough for paper, in greys, and its size [dots]."""
    with Image.open(io.BytesIO(data)) as photo:
        photo.draft("L", (_DOTS, _DOTS))
        grey = photo.convert("L")
        grey.thumbnail((_DOTS, _DOTS))
        out = io.BytesIO()
        grey.save(out, "JPEG", quality=80)
        return out.getvalue(), grey.size
