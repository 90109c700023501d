"""What to buy, how it is fixed, and the steps of the job."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.sheets import lengths, sentences
from baywalk.sheets.plan_parts import figure, listed, rule
from baywalk.sheets.table import Column, Table, Value, note, print_table

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from baywalk.sheets.paper import Book
    from baywalk.sheets.plan_parts import Deck

_ASK = (
    "Reckoned from the plan; prices are those it was given and no offer. Check the sizes at the "
    "counter: a board or timber of another size needs another plan."
)

_SOLD = "Sizes of goods are in millimetres, as they are sold."


def draw(book: Book, plan: Mapping[str, Any], decks: Sequence[Deck]) -> list[Table]:
    """Print the shopping list of a plan; return it."""
    table = quantities(plan, decks, book.units)
    page = book.page("What to buy")
    page = note(book, page, f"{_ASK} {_SOLD}" if book.units == "imperial" else _ASK)
    page = print_table(book, table, page)
    for text in dict.fromkeys([*_total(plan, table), *_fixed(plan, decks, book.units)]):
        page = note(book, page, text)
    return [table]


def quantities(plan: Mapping[str, Any], decks: Sequence[Deck], units: str) -> Table:
    """Return what to buy for all decks together."""
    money = str(rule(plan.get("rules"), "price.currency") or "")
    cost_in = f"cost, {money}" if money else "cost"
    names = ["what", "size", "plan uses", "spare", "buy", "unit", cost_in, "why"]
    words = ("what", "size", "unit", "why")
    table = Table(
        "shopping", [Column(n, right=n not in words, wrap=n in ("what", "why")) for n in names]
    )
    table.heads = ["what", "kind", "size", "net", "spare", "buy", "unit", "price", "cost", "rule"]
    listed = plan.get("quantities") or [q for deck in decks for q in deck.many("quantities")]
    for one in listed:
        figures = [one.get(k) for k in ("net", "spare", "buy")]
        shown = [_number(f) for f in figures]
        cost = one.get("cost")
        texts = [str(one.get(k) or "") for k in ("what", "size", "unit", "why")]
        if one.get("kind") == "packer":
            texts[1] = _packer(texts[1], decks, units)
        if one.get("kind") == "screw":
            texts[3] = "Where they go stands under the list."
        texts[3] = sentences.said(texts[3], units)
        price = "–" if cost is None else f"{cost:.2f}"
        table.add([texts[0], texts[1], *shown, texts[2], price, texts[3]], _filed(one))
    return table


def _filed(one: Mapping[str, Any]) -> list[Value]:
    names = ("what", "kind", "size", "net", "spare", "buy", "unit", "price", "cost", "rule")
    return [one.get(name) for name in names]


def _number(value: float | None) -> str:
    return "–" if value is None else f"{value:g}"


def _packer(thick: str, decks: Sequence[Deck], units: str) -> str:
    """Return a packer's size in full: its thickness, length and breadth."""
    alike = [
        one
        for deck in decks
        for one in deck.many("raise")
        if one.get("kind") == "packer"
        and all(isinstance(one.get(k), int | float) for k in ("thickness", "length", "breadth"))
        and f"{one['thickness']:g}" == thick
    ]
    sizes = {" × ".join(lengths.say(one[k], units) for k in ("length", "breadth")) for one in alike}
    high = f"{thick} mm thick" if units == "mm" else f"{sentences.twice(float(thick), units)} thick"
    return f"{high}, {' or '.join(sorted(sizes))}" if sizes else high


def _total(plan: Mapping[str, Any], table: Table) -> list[str]:
    """Say what all that has a price costs together."""
    at = table.heads.index("cost")
    costs = [row[at] for row in table.file]
    known = [float(cost) for cost in costs if isinstance(cost, int | float)]
    if not known:
        return []
    money = str(rule(plan.get("rules"), "price.currency") or "")
    without = ", without what has a dash for its cost" if len(known) < len(costs) else ""
    return [f"Total: {sum(known):.2f} {money}".rstrip() + f"{without}."]


def _fixed(plan: Mapping[str, Any], decks: Sequence[Deck], units: str) -> list[str]:
    """Return how things are fixed, as sentences."""
    out = []
    for deck in decks:
        for one in deck.many("fixings"):
            what, length = str(one.get("what", "")), _number(one.get("length"))
            head = f"{what.capitalize()}: {one.get('kind', '')} {one.get('gauge', '')} × {length}."
            own = _boards(plan, units) if what == "boards" else ""
            more = _ENDS if what == "noggins" else ""
            out.append(f"{head} {own or sentences.told(one, units)}{more}")
    return out


_ENDS = (
    " Straight through the joist or at a slant from the noggin is for who fixes them to say. As "
    "many are counted at an end against a wall; what holds in that wall is not on the list."
)


def _boards(plan: Mapping[str, Any], units: str) -> str:
    """Return in plain words where the boards' screws go; empty where the plan gives no rule."""
    names = ("centres.edge", "centres.field", "edge.long", "edge.short")
    figures = [figure(plan.get("rules"), f"fixing.{name}") for name in names]
    said = [sentences.twice(f, units) for f in figures if f is not None]
    if len(said) < len(names):
        return ""
    close, wide, long, short = said
    return (
        f"Along both ends of every piece, one at either corner and none further than {close} from "
        f"the next. On every joist between, one near either long edge and none further than {wide} "
        f"from the next. Into every noggin under the deck's edge, none further than {close} apart. "
        f"Keep {long} from a long edge and {short} from an end."
    )


def steps(book: Book, plan: Mapping[str, Any], decks: Sequence[Deck]) -> list[Table]:
    """Print the steps of the job in order, what is known before starting first; return them."""
    columns = [
        Column("step"),
        Column("what to do", right=False, wrap=True),
        Column("pieces, noggins", right=False, wrap=True),
        Column("marks: from, to, length", right=False, wrap=True),
        Column("done", right=False),
    ]
    table = Table("steps", columns)
    table.heads = ["step", "kind", "say", "items", "hook", "to", "value", "along"]

    def fill(deck: Deck) -> None:
        for step in deck.many("sequence"):
            _step(table, step, book.units)

    listed(table, decks, fill)
    page = book.page("The job, step by step")
    for caution in _before(plan, decks):
        page = note(book, page, book.said(caution))
    print_table(book, table, page)
    return [table]


def _before(plan: Mapping[str, Any], decks: Sequence[Deck]) -> list[str]:
    """Return what is to be known first: what changed since the plan before, then the cautions."""
    said = list((plan.get("changes") or {}).get("say") or [])
    said += [c["say"] for c in plan.get("cautions") or []]
    return list(dict.fromkeys(said + [c for deck in decks for c in deck.cautions()]))


def _hook(mark: Mapping[str, Any]) -> str:
    """Return what a tape hooks on, and along what it lies where that is not plain."""
    return ", ".join(str(mark[k]) for k in ("hook", "along") if mark.get(k))


def _step(table: Table, step: Mapping[str, Any], units: str) -> None:
    items = [*(step.get("noggins") or []), *(step.get("pieces") or [])]
    marks = step.get("marks") or []
    said = "; ".join(
        f"{_hook(m)} to {m.get('to', '')}: {lengths.say(m.get('value', 0.0), units)}" for m in marks
    )
    # Marks of noggins stand on the set-out sheet, joist by joist, cuts on the board they are of.
    if len(marks) > 8:
        said = f"see the {'cutting' if step.get('pieces') else 'set-out'} sheet"
    number = step.get("step", "")
    table.rows.append([str(number), sentences.told(step, units), ", ".join(items), said, "[  ]"])
    head: list[Value] = [number, step.get("kind"), step.get("say")]
    for mark in marks or [{}]:
        where = [mark.get(k) for k in ("hook", "to", "value", "along")]
        table.file.append([*head, " ".join(items), *where])
