"""Every sheet by its name: what it shows, what it needs, and its pages and schedules once made."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from baywalk.fieldbook.text import write
from baywalk.sheets import (
    as_built,
    bays,
    compare,
    courses,
    cut_list,
    field_sheet,
    labels,
    load_check,
    opening,
    pdf,
    record,
    set_out,
    shopping,
    svg,
)
from baywalk.sheets.paper import Book, Head
from baywalk.sheets.plan_parts import Deck

if TYPE_CHECKING:
    from baywalk.fieldbook import Survey
    from baywalk.sheets.ink import Page
    from baywalk.sheets.table import Table


@dataclass(frozen=True)
class Source:
    """What sheets are made from; all but the as-built may be absent.

    ``photo`` gives a photo by its SHA-256; ``base`` is the address of the page for labels;
    ``earlier`` an as-built that the present one is compared with.
    """

    as_built: Mapping[str, Any]
    plan: Mapping[str, Any] | None = None
    capacity: Mapping[str, Any] | None = None
    survey: Survey | None = None
    photo: Callable[[str], bytes | None] | None = None
    earlier: Mapping[str, Any] | None = None
    base: str = "http://127.0.0.1:8765"

    @property
    def decks(self) -> list[Deck]:
        """Return the plan's decks, each beside its run."""
        plan = self.plan or {}
        found, rules = plan.get("decks") or [], plan.get("rules")
        return [Deck(one, self.as_built, rules, several=len(found) > 1) for one in found]

    def told(self) -> tuple[str, ...]:
        """Return what was gone on with in spite of a doubt, for every sheet's head."""
        told = [str(text) for text in (self.plan or {}).get("told") or []]
        if self.as_built.get("settled") is False:
            told.append("This survey is not settled: a reading in it is in doubt.")
        return tuple(dict.fromkeys(told))


@dataclass
class Sheet:
    """A sheet that is made: its ``pages``, and its schedules for the file."""

    name: str
    title: str
    pages: list[Page]
    tables: list[Table] = field(default_factory=list)

    def svg(self, page: int = 1) -> str:
        """Return one page as SVG, counted from 1."""
        return svg.write(self.pages[page - 1], f"{self.title}, page {page}")

    def pdf(self) -> bytes:
        """Return all pages as one PDF."""
        return pdf.write(self.pages, self.title)

    def csv(self) -> str:
        """Return the schedules one under the other, a blank line between them."""
        return "\r\n".join(table.csv() for table in self.tables)


DRAWN = ("dxf", "json", "ifc")
"""The forms of a drawing for other tools."""

Maker = Callable[[Book, Source], "list[Table] | None"]


@dataclass(frozen=True)
class Kind:
    """A sheet that can be made: its title, and what it ``needs`` of a source.

    ``csv`` says whether it has schedules, ``drawn`` whether it is a drawing for other tools too;
    ``of`` names the list of a deck without which it shows nothing, and is not made unasked.
    """

    title: str
    needs: tuple[str, ...]
    make: Maker
    csv: bool = True
    drawn: bool = False
    of: str = ""

    @property
    def forms(self) -> tuple[str, ...]:
        """Return the forms that it comes in, as the end of a file's name."""
        return ("svg", "pdf", *(["csv"] if self.csv else []), *(DRAWN if self.drawn else ()))


def _with_decks(draw: Callable[[Book, list[Deck]], list[Table]]) -> Maker:
    return lambda book, source: draw(book, source.decks)


def _record(book: Book, source: Source) -> list[Table]:
    assert source.survey is not None  # noqa: S101 - what a kind needs is seen to before
    return record.draw(book, source.survey, source.as_built, source.photo)


def _labels(book: Book, source: Source) -> None:
    assert source.survey is not None  # noqa: S101 - what a kind needs is seen to before
    labels.draw(book, labels.of_survey(source.survey, source.base))


def _field(book: Book, source: Source) -> None:
    assert source.survey is not None  # noqa: S101 - what a kind needs is seen to before
    field_sheet.draw(book, source.survey)


KINDS: dict[str, Kind] = {
    "as-built": Kind(
        "As-built plan", (), lambda b, s: as_built.draw(b, s.as_built), csv=False, drawn=True
    ),
    "bays": Kind("Joists and bays", (), lambda b, s: bays.draw(b, s.as_built)),
    "record": Kind("Record of readings", ("survey",), _record),
    "load-check": Kind(
        "Load check", ("capacity",), lambda b, s: load_check.draw(b, s.capacity or {})
    ),
    "set-out": Kind("Set-out of noggins", ("plan",), _with_decks(set_out.draw), drawn=True),
    "courses": Kind("Boards, course by course", ("plan",), _with_decks(courses.draw), drawn=True),
    "cutting": Kind("Cutting", ("plan",), _with_decks(cut_list.draw)),
    "opening": Kind("Opening detail", ("plan",), _with_decks(opening.draw), of="openings"),
    "steps": Kind(
        "Steps of the job", ("plan",), lambda b, s: shopping.steps(b, s.plan or {}, s.decks)
    ),
    "shopping": Kind(
        "Shopping list", ("plan",), lambda b, s: shopping.draw(b, s.plan or {}, s.decks)
    ),
    "labels": Kind("Labels", ("survey",), _labels, csv=False),
    "field": Kind("Field sheet", ("survey",), _field, csv=False),
    "compare": Kind(
        "Two surveys", ("earlier",), lambda b, s: compare.draw(b, s.earlier or {}, s.as_built)
    ),
}
"""Every sheet by the name that its address carries, in the order of the job."""

FORMS = ("svg", "pdf", "csv", *DRAWN)
"""Every form that a sheet may come in."""


def drawing(name: str, source: Source, form: str) -> bytes:
    """Return a sheet's drawing for other tools: DXF, features in JSON, or a model as IFC."""
    from baywalk.sheets.exchange import dxf, features, ifc, things

    shown = replace(source, plan=None) if name == "as-built" else source
    found = things.things(shown)
    title = str(source.as_built.get("title") or "")
    if form == "dxf":
        return dxf.write(found, title)
    if form == "ifc":
        return ifc.write(found, shown.decks, source.as_built["survey"], title)
    return write(features.collection(found, source.as_built["survey"], title)).encode()


def possible(source: Source) -> list[str]:
    """Return the names of the sheets that a source is enough for, and has something to show on."""
    return [
        name
        for name, kind in KINDS.items()
        if all(getattr(source, need) is not None for need in kind.needs)
        and (not kind.of or any(deck.many(kind.of) for deck in source.decks))
    ]


def make(name: str, source: Source, head: Head) -> Sheet:
    """Return a sheet by its name; KeyError where there is no such one."""
    kind = KINDS[name]
    book = Book(head, kind.title)
    tables = kind.make(book, source) or []
    return Sheet(name, f"{head.title}: {kind.title}", book.finish(), tables)
