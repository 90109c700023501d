"""What a person may choose about a plan, and the figures that stand in where they do not."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from baywalk.planning.refused import BadChoice

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from baywalk.rules import Pack

STARTS = ("near", "far")
FACES = ("left", "centre", "right")
FIRSTS = ("auto", "full", "equal")
TIED, TRUSSED = "tied", "trussed"
ROOFS = ("unknown", "free", TIED, TRUSSED)
"""What is known of the roof: nothing, its joists tie no rafters, they do, or it is trussed."""


@dataclass(frozen=True)
class Zone:
    """Where a new opening may lie; lengths in mm.

    Without ``start``, ``figures`` are x and y of two corners of it in the as-built's coordinates.
    With it, a joist's number, its face and a tape line, they are across, along, width and length
    from there, as features are set out. ``run`` may be left out where there is only one.
    """

    figures: tuple[float, float, float, float]
    start: tuple[int, str, str] | None = None
    run: str | None = None

    @classmethod
    def of_plan(cls, told: dict[str, Any]) -> Zone:
        """Return the zone that a plan shows."""
        a, b, c, d = told["figures"]
        start = told["from"] and (told["from"]["joist"], told["from"]["face"], told["from"]["line"])
        return cls((a, b, c, d), start, told["run"])

    def json(self) -> dict[str, Any]:
        """Return it as the plan shows it."""
        number, face, line = self.start or (None, None, None)
        start = None if self.start is None else {"joist": number, "face": face, "line": line}
        return {"run": self.run, "from": start, "figures": list(self.figures)}


@dataclass(frozen=True)
class Choices:
    """What was chosen. Lengths in mm; None leaves it to the rules.

    ``deck`` is the board's thickness, ``board`` its cover length and width, ``gap`` the expansion
    gap, ``start_wall`` the edge that the first course lies along, ``first`` how wide that course
    is, ``stock`` the lengths that noggins are cut from, ``had`` how many boards are there already,
    ``roof`` what is known of it where joists would be cut, ``hatch`` a new opening's clear size
    across and along the joists, to be put in its best place within ``zone``, ``prices`` figures
    that stand in for those of the rules, by the words after ``price.``.
    """

    use: str = "occasional"
    deck: float | None = None
    board: tuple[float, float] | None = None
    gap: float | None = None
    start_wall: str = "near"
    first: str = "auto"
    stock: tuple[float, ...] = ()
    had: int = 0
    anyway: bool = False
    seconds: float | None = None
    roof: str = "unknown"
    hatch: tuple[float, float] | None = None
    zone: Zone | None = None
    prices: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Board:
    """A board's cover size and thickness [mm]."""

    length: float
    width: float
    thickness: float

    @property
    def area(self) -> float:
        """Return its cover area [m²]."""
        return self.length * self.width / 1e6


@dataclass(frozen=True)
class Weights:
    """What each thing weighs in the cost, in the money of the rules.

    ``short`` is a piece so short that noggins go under its long edges.
    """

    board: float
    frame: float
    cleat: float
    cut: float
    short: float = 0.0


def check(choices: Choices, pack: Pack) -> None:
    """Raise :class:`BadChoice` where a choice cannot be used."""
    _among("use", choices.use, pack["deck.uses"])
    _among("start_wall", choices.start_wall, STARTS)
    _among("first", choices.first, FIRSTS)
    _among("roof", choices.roof, ROOFS)
    known = [thickness for _, thickness in pack["deck.thickness"]]
    if choices.deck is not None and choices.deck not in known:
        raise BadChoice("deck", f"must be one of {', '.join(f'{t:g}' for t in known)} mm")
    bounds = pack["plan.plausible"]
    if choices.board:
        _within("board", choices.board[0], *bounds["length"])
        _within("board", choices.board[1], *bounds["width"])
    if choices.gap is not None:
        _within("gap", choices.gap, *bounds["gap"])
    for length in choices.stock:
        _within("stock", length, *bounds["stock"])
    if choices.had < 0:
        raise BadChoice("had", "must not be below 0")
    if choices.seconds is not None and not 0 < choices.seconds <= 600:
        raise BadChoice("time", "must be above 0 and at most 600")
    for length in choices.hatch or ():
        _within("hatch", length, *bounds["hatch"])
    if choices.zone:
        _zone(choices)
    for name, value in choices.prices.items():
        if f"price.{name}" not in pack or name == "currency":
            raise BadChoice(f"price.{name}"[:60], "there is no such price")
        if not 0 <= value <= 1e6:
            raise BadChoice(f"price.{name}", "must be from 0 to 1000000")


def _zone(choices: Choices) -> None:
    """Raise :class:`BadChoice` where a zone is none, or nothing is wanted in it."""
    zone = choices.zone
    if choices.hatch is None:
        raise BadChoice("zone", "say what opening is wanted in it, with hatch, as 600x900")
    if zone and zone.start:
        _among("zone", zone.start[1], FACES)
    a, b, c, d = zone.figures if zone else (0, 0, 0, 0)
    width, length = (c, d) if zone and zone.start else (c - a, d - b)
    if width <= 0 or length <= 0:
        raise BadChoice("zone", "must have some width and length: its greater x and y come last")


def _among(name: str, value: str, words: tuple[str, ...] | list[str]) -> None:
    if value not in words:
        raise BadChoice(name, f"must be one of {', '.join(words)}")


def _within(name: str, value: float, least: float, most: float) -> None:
    if not least <= value <= most:
        raise BadChoice(name, f"must be from {least:g} to {most:g} mm")


def size(choices: Choices, pack: Pack) -> tuple[float, float]:
    """Return the board's cover length and width [mm]."""
    if choices.board:
        return choices.board
    length, width = pack["board.sizes"][0]
    return float(length), float(width)


def seconds(choices: Choices, pack: Pack) -> float:
    """Return how long the layout may be improved [seconds]."""
    return float(choices.seconds if choices.seconds is not None else pack["plan.seconds"])


def price(choices: Choices, pack: Pack) -> Callable[[str], float]:
    """Return what gives a price or its minutes by the rule's id, the person's own where given."""

    def of(rule: str) -> float:
        given = choices.prices.get(rule.removeprefix("price."))
        return float(pack[rule] if given is None else given)

    return of


def board_price(choices: Choices, pack: Pack, board: Board) -> float:
    """Return the price of one board, the person's own where given."""
    given = choices.prices.get("board")
    if given is not None:
        return float(given)
    rates = pack["price.board"]
    # A board thicker than the table knows is priced as the thickest that it does know.
    rate = rates.get(f"{board.thickness:g}", max(rates.values()))
    return float(round(rate * board.area, 2))


def weights(choices: Choices, pack: Pack, board: Board) -> Weights:
    """Return what boards, frames, cleats and cuts weigh: their price and their minutes."""
    of = price(choices, pack)
    minute, timber = of("price.minute"), of("price.timber")
    return Weights(
        board=board_price(choices, pack, board),
        frame=of("price.minutes.frame") * minute + of("price.metres.frame") * timber,
        cleat=of("price.minutes.cleat") * minute + of("price.metres.cleat") * timber,
        cut=of("price.minutes.cut") * minute,
        short=of("price.minutes.short") * minute + of("price.metres.short") * timber,
    )


def of_plan(told: dict[str, Any]) -> Choices:
    """Return the choices that a plan says it was made with."""
    board, hatch, zone = told["board"], told.get("hatch"), told.get("zone")
    return Choices(
        use=told["use"],
        deck=board["thickness"] if board else None,
        board=(board["length"], board["width"]) if board else None,
        gap=told["gap"],
        start_wall=told["start_wall"],
        first=told["first"],
        stock=tuple(told["stock"]),
        had=told["had"],
        anyway=told["anyway"],
        seconds=told["seconds"],
        roof=told["roof"],
        prices=dict(told["prices"]),
        hatch=(hatch["across"], hatch["along"]) if hatch else None,
        zone=Zone.of_plan(zone) if zone else None,
    )


def as_json(choices: Choices, pack: Pack) -> dict[str, Any]:
    """Return the choices as the plan shows them."""
    board = None
    if choices.board or choices.deck is not None:
        length, width = size(choices, pack)
        board = {"length": length, "width": width, "thickness": choices.deck}
    return {
        "use": choices.use,
        "board": board,
        "gap": choices.gap,
        "start_wall": choices.start_wall,
        "first": choices.first,
        "stock": list(choices.stock or pack["timber.stock"]),
        "had": choices.had,
        "roof": choices.roof,
        "hatch": choices.hatch and {"across": choices.hatch[0], "along": choices.hatch[1]},
        "zone": choices.zone and choices.zone.json(),
        "anyway": choices.anyway,
        "seconds": seconds(choices, pack),
        "prices": dict(choices.prices),
    }
