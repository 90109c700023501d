"""All sheets of a loft, written into a folder."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from baywalk.fieldbook.text import plain, write
from baywalk.sheets import letters
from baywalk.sheets.catalogue import DRAWN, KINDS, Source, drawing, make, possible
from baywalk.sheets.paper import Head

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date
    from pathlib import Path

_MARK = 8
_UNWRITABLE = "Loft (its title is in letters that these sheets do not have)"


def head_of(source: Source, day: date, *, paper: str = "A4", units: str = "mm") -> Head:
    """Return what every page says: the loft, the day, and the mark of what it was made from."""
    built = source.as_built
    made_from = (built, source.plan, source.capacity)
    parts = [write(plain(part)) for part in made_from if part is not None]
    state = hashlib.sha256("\n".join(parts).encode()).hexdigest()[:_MARK]
    title, survey = str(built.get("title") or "Untitled"), str(built["survey"])
    title = title if letters.writable(title) else _UNWRITABLE
    return Head(title, survey, said(day), state, source.told(), paper, units)


_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def said(day: date) -> str:
    """Return a day in words that no country reads the other way round."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def write_all(source: Source, head: Head, folder: Path) -> Iterator[str]:
    """Write every sheet that a source is enough for; give each file's name once it is there."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in possible(source):
        sheet, kind = make(name, source, head), KINDS[name]
        files = {f"{name}.pdf": sheet.pdf()}
        for number in range(1, len(sheet.pages) + 1):
            files[f"{name}-{number}.svg"] = sheet.svg(number).encode()
        if kind.csv:
            # A spreadsheet takes a file for UTF-8 only where it begins with the mark for it.
            files[f"{name}.csv"] = ("\ufeff" + sheet.csv()).encode()
        if kind.drawn:
            files |= {f"{name}.{form}": drawing(name, source, form) for form in DRAWN}
        for file, content in files.items():
            (folder / file).write_bytes(content)
            yield file
