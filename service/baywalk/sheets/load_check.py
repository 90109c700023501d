"""The load check with its working: each joist, what decides, and how the figure was come by."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.sheets import lengths, sentences
from baywalk.sheets.table import Column, Table, Value, note, print_table

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from baywalk.sheets.paper import Book

_WORDS = {
    "holds": "within every limit checked; not an approval",
    "holds_if_deck_fixed": "within, only if the deck is glued and screwed as planned",
    "does_not_hold": "BEYOND a limit: do not load it so",
    "not_to_be_relied_on": "SPLIT OR DECAYED: not to be relied on",
    "refused": "NO RULE covers it: ask an engineer",
    "not_checked": "NOT CHECKED: something was not measured",
}
_UNSURE = "; NOT SURE within the survey's own doubt: measure again"
_READ = (
    "A share of 100 % is the limit itself. The share in brackets is at the far end of what the "
    "survey's own uncertainty allows (19 of 20 cases). A figure within its limit is no approval: "
    "a structural engineer and building control decide."
)
_STANDARDS = (
    "Standards reckon in millimetres, and a sag and a formula are left in them here; a length that "
    "one would go and measure stands in feet and inches beside."
)
_MEASURED = ("b", "h", "l", "span", "depth", "left", "cut", "h_ef", "x")
"""Signs of a working that stand for a length of the loft [mm]."""


def draw(book: Book, capacity: Mapping[str, Any]) -> list[Table]:
    """Print a load check; return the schedules of joists and of all checks."""
    runs = capacity.get("runs") or []
    joists, checks = overview(runs, book.units), working(runs, book.units)
    page = book.page("What the joists carry: joist by joist")
    for text in (*_assumed(capacity), *(capacity.get("cautions") or []), _READ):
        page = note(book, page, book.said(text))
    page = print_table(book, joists, page)
    for text in (*_beside(runs), *_apart_from_joists(capacity)):
        page = note(book, page, book.said(text))
    notes = [_READ, *([_STANDARDS] if book.units == "imperial" else [])]
    print_table(book, checks, book.page("What the joists carry: the working", notes=notes))
    return [joists, checks]


def _assumed(capacity: Mapping[str, Any]) -> list[str]:
    """Return what was loaded, in words."""
    use = capacity.get("use") or {}
    said = [str(use["say"])] if use.get("say") else []
    for run in capacity.get("runs") or []:
        dead = run.get("dead") or {}
        if "load" in dead:
            text = str(dead.get("say") or "")
            # The check's own words have the figure; a file from elsewhere may not.
            figure = "" if "kN/m²" in text else f" {dead['load']:.2f} kN/m²."
            said.append(f"Permanent load:{figure} {text}")
    return said


def _beside(runs: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """Give what is said of a run's deck, strutting and openings."""
    for run in runs:
        for name in ("deck", "strutting"):
            part = run.get(name) or {}
            if part.get("say"):
                yield " ".join([str(part["say"]), *(part.get("cautions") or [])])
        for opening in run.get("openings") or []:
            yield from _opening(opening)
        yield from map(str, run.get("cautions") or [])
        yield from _fixes(run)


def _opening(opening: Mapping[str, Any]) -> Iterator[str]:
    """Give what is said of an opening, and what its trimmers would hang on their hangers."""
    if opening.get("say"):
        yield str(opening["say"])
    for trimmer in opening.get("trimmers") or []:
        each, ends = (", ".join(f"{x:.2f}" for x in trimmer[k]) for k in ("hangers", "end_hangers"))
        yield (
            f"The trimmer at the {trimmer['end']} end, to talk about and not to build from: the "
            f"cut joists hang {each} kN on it, its ends {ends} kN. {_options(trimmer)}"
        )
    for joist in opening.get("trimming") or []:
        yield f"J{joist['joist']} beside it, the trimmers upon it: {_options(joist)}"


def _options(timber: Mapping[str, Any]) -> str:
    told = (
        f"{one['what']} {_share(one['utilisation'], None)} of its limit"
        for one in timber.get("options") or []
    )
    return f"{', '.join(told)}."


def _fixes(run: Mapping[str, Any]) -> Iterator[str]:
    """Give what would help each joist that does not hold."""
    for joist in run.get("joists") or []:
        yield from (f"J{joist['index']}: {fix['say']}" for fix in joist.get("fixes") or [])


def _apart_from_joists(capacity: Mapping[str, Any]) -> Iterator[str]:
    """Give what is said of a partition and of getting things up."""
    partition, lifting = (capacity.get(k) or {} for k in ("partition", "lifting"))
    if partition.get("say"):
        yield str(partition["say"])
    if lifting.get("board"):
        yield f"A deck board weighs about {lifting['board']['mass']:.1f} kg."
    for thing in lifting.get("things") or []:
        yield " ".join([str(thing["say"]), *(one["say"] for one in thing.get("hatches") or [])])
    yield from map(str, lifting.get("cautions") or [])


def overview(runs: Sequence[Mapping[str, Any]], units: str) -> Table:
    """Return each joist: its span, the width that it carries, what decides, and its cautions."""
    names = ["joist", "span", "width\ncarried", "size", "grade"]
    columns = [Column(n, right=n not in ("size", "grade")) for n in names]
    columns += [Column(n, right=False, wrap=True) for n in ("what it comes to", "decided by")]
    columns += [Column("share of limit"), Column("caution", right=False, wrap=True)]
    table = Table("load check by joist", columns)
    table.heads = ["run", "joist", "span", "width_carried", "breadth", "depth", "grade", "verdict"]
    table.heads += ["decided_by", "utilisation", "utilisation_95", "cautions"]
    for run in runs:
        for joist in run.get("joists") or []:
            _joist(table, run, joist, units)
    return table


def _joist(table: Table, run: Mapping[str, Any], joist: Mapping[str, Any], units: str) -> None:
    decides = joist.get("governing") or {}
    size = [joist.get(k) for k in ("breadth", "depth")]
    spans = [joist.get(k) for k in ("span", "width_carried")]
    said = ["–" if s is None else lengths.say(s, units) for s in spans]
    broad = " × ".join("–" if s is None else lengths.say(s, units) for s in size)
    verdict = joist.get("verdict") or _bare(joist)
    given = joist.get("cautions") or []
    shares = (decides.get("utilisation"), decides.get("utilisation_95"))
    grade = joist.get("grade")
    word = _WORDS.get(verdict, verdict) + (_UNSURE if joist.get("sure") is False else "")
    name = decides.get("name")
    shown = [f"J{joist['index']}", *said, broad, str(grade or "–"), word, str(name or "–")]
    filed: list[Value] = [run.get("id"), joist["index"], *spans, *size, grade, verdict, name]
    told = " ".join(sentences.said(text, units, joist.values()) for text in given)
    table.add([*shown, _share(*shares), told], [*filed, *shares, " ".join(given)])


def _bare(joist: Mapping[str, Any]) -> str:
    """Return the word for a joist whose file gives its checks alone."""
    checks = joist.get("checks") or []
    if not checks:
        return "not_checked"
    return "holds" if all(check.get("holds") for check in checks) else "does_not_hold"


def _share(share: float | None, far: float | None) -> str:
    if share is None:
        return "–"
    end = f" ({100 * far:.0f} %)" if far is not None else ""
    return f"{100 * share:.0f} %{end}"


def working(runs: Sequence[Mapping[str, Any]], units: str) -> Table:
    """Return every check of every joist with its formula, its numbers and its source."""
    names = [
        "joist",
        "check",
        "comes to",
        "limit",
        "share of limit",
        "",
        "formula",
        "with",
        "source",
    ]
    columns = [Column(n, right=n in ("comes to", "limit", "share of limit")) for n in names[:6]]
    columns[1] = Column("check", right=False, wrap=True)
    columns += [Column(n, right=False, wrap=True) for n in names[6:]]
    table = Table("load check working", columns)
    table.heads = ["run", "joist", "rule", "name", "line", "demand", "capacity", "unit"]
    table.heads += ["utilisation", "utilisation_95", "holds", "formula", "numbers", "source"]
    for run in runs:
        for joist in run.get("joists") or []:
            for check in joist.get("checks") or []:
                _check(table, run, joist["index"], check, units)
    return table


def _check(
    table: Table, run: Mapping[str, Any], joist: int, check: Mapping[str, Any], units: str
) -> None:
    unit = str(check.get("unit") or "")
    names = ("demand", "capacity")
    said = [f"{check[n]:.3g} {unit}".strip() if check.get(n) is not None else "–" for n in names]
    shares = (check.get("utilisation"), check.get("utilisation_95"))
    word = "within" if check.get("holds") else "BEYOND"
    if check.get("holds") and check.get("sure") is False:
        word = "within, NOT SURE"
    given = check.get("numbers") or {}
    numbers = ", ".join(f"{k} {_short(v)}" for k, v in given.items())
    both = ", ".join(f"{k} {_short(v)}{_beside_it(k, v, units)}" for k, v in given.items())
    words = [str(check.get(k) or "") for k in ("formula", "source")]
    name = str(check.get("name") or check.get("rule"))
    shown = [f"J{joist}", name, *said, _share(*shares), word, words[0], both, words[1]]
    filed: list[Value] = [run.get("id"), joist, check.get("rule"), name, check.get("line")]
    filed += [*(check.get(n) for n in names), unit, *shares, int(bool(check.get("holds")))]
    table.add(shown, [*filed, words[0], numbers, words[1]])


def _beside_it(sign: str, value: object, units: str) -> str:
    """Return what is written behind a length that one would measure; nothing in millimetres."""
    if units != "imperial" or sign not in _MEASURED or not isinstance(value, int | float):
        return ""
    return f" ({lengths.say(value, units)})"


def _short(value: object) -> str:
    return f"{value:.4g}" if isinstance(value, int | float) else str(value)
