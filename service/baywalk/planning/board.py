"""Board choice: the thickness that the widest bay calls for; joists added where none will do."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from shapely import Polygon

from baywalk.planning.choices import Board, board_price, price, size
from baywalk.planning.courses import sections
from baywalk.planning.ground import Bay, Ground, Member

if TYPE_CHECKING:
    from baywalk.planning.area import Area
    from baywalk.planning.choices import Choices
    from baywalk.rules import Pack

_STUB = 100.0
"""An added joist that reaches no further past a lap than this is of one piece [mm]."""
_EPS = 0.05
"""Centres within this of a limit meet it [mm]: the as-built is rounded."""


@dataclass(frozen=True)
class Widest:
    """The widest centres [mm] under a deck, the bay and the y [mm] where they are."""

    centres: float
    bay: int
    y: float


@dataclass(frozen=True)
class Option:
    """One board and the joists that it would need added."""

    board: Board
    added: tuple[Member, ...]
    cost: float


@dataclass(frozen=True)
class Choice:
    """The board chosen, and what was to be chosen from.

    ``found_on`` is the ground as it was found, ``ground`` the same with the joists added.
    """

    chosen: Option
    found_on: Ground
    ground: Ground
    choices: Choices


def choose(areas: list[Area], ground: Ground, choices: Choices, pack: Pack) -> Choice:
    """Return the board for the decks of one run, and the ground with the joists it needs added.

    A thickness asked for is kept. Otherwise the board that needs fewest joists added is taken, the
    cheaper of two alike.
    """
    options = [_option(areas, ground, choices, pack, row) for row in pack["deck.thickness"]]
    asked = [o for o in options if choices.deck in (None, o.board.thickness)]
    chosen = min(asked, key=lambda o: (len(o.added), o.cost))
    return Choice(chosen, ground, ground.with_added(chosen.added), choices)


def needed(centres: float, pack: Pack) -> float:
    """Return the thickness [mm] for such centres [mm]; the thickest known where none reaches."""
    table = pack["deck.thickness"]
    fits = [thickness for most, thickness in table if centres <= most + _EPS]
    return float(min(fits) if fits else max(thickness for _, thickness in table))


def widest(area: Area, ground: Ground) -> Widest:
    """Return the widest centres under a deck, bays beside walls left out."""
    best = Widest(0.0, 0, area.polygon.bounds[1])
    for bay in ground.bays:
        if bay.beside_wall:
            continue
        for y in _places(area.polygon, bay):
            if bay.centres(y) > best.centres:
                best = Widest(bay.centres(y), bay.number, y)
    return best


def _places(polygon: Polygon, bay: Bay) -> list[float]:
    """Return the ys [mm] at which a bay under the deck could be widest."""
    ys = bay.bends(polygon.bounds[1], polygon.bounds[3])
    strip = Polygon(
        [*((bay.left.centre(y), y) for y in ys), *((bay.right.centre(y), y) for y in ys[::-1])]
    )
    under = polygon.intersection(strip)
    if under.is_empty or under.area < 1:
        return []
    y0, y1 = under.bounds[1], under.bounds[3]
    return bay.bends(y0, y1)


def _option(
    areas: list[Area], ground: Ground, choices: Choices, pack: Pack, row: list[float]
) -> Option:
    most, thickness = row
    length, width = size(choices, pack)
    board = Board(length, width, float(thickness))
    added = [
        member
        for bay in ground.bays
        if not bay.beside_wall
        for member in _added(bay, areas, most, pack)
    ]
    of = price(choices, pack)
    metres = sum(member_length(member, areas) for member in added) / 1000
    area = sum(a.polygon.area for a in areas) / 1e6
    cost = area / board.area * board_price(choices, pack, board)
    cost += metres * of("price.timber") + len(added) * of("price.minutes.joist") * of(
        "price.minute"
    )
    return Option(board, tuple(added), round(cost, 2))


def _added(bay: Bay, areas: list[Area], most: float, pack: Pack) -> list[Member]:
    """Return the joists that a bay needs so that no centres in it pass ``most`` [mm]."""
    ys = [y for area in areas for y in _places(area.polygon, bay)]
    centres = max((bay.centres(y) for y in ys), default=0.0)
    count = math.ceil((centres - _EPS) / most) - 1
    while count > 0:
        added = [_between(bay, n, count + 1, min(ys), max(ys), pack) for n in range(1, count + 1)]
        sides = [bay.left, *added, bay.right]
        pairs = list(itertools.pairwise(sides))
        # Its neighbours may be bowed; a new joist is straight.
        if all(b.centre(y) - a.centre(y) <= most + _EPS for a, b in pairs for y in ys):
            return added
        count += 1
    return []


def _between(bay: Bay, n: int, parts: int, low: float, high: float, pack: Pack) -> Member:
    """Return the ``n``-th of the joists that divide a bay into ``parts``, straight throughout.

    Between joists that lap it laps as they do.
    """
    share = n / parts
    laps = tuple(
        lap
        for lap in (
            (a + share * (c - a), b + share * (d - b))
            for (a, b), (c, d) in zip(bay.left.laps, bay.right.laps, strict=False)
        )
        if low < lap[0] - _STUB and lap[1] + _STUB < high
    )
    points = tuple(
        (bay.left.centre(y) + share * (bay.right.centre(y) - bay.left.centre(y)), y)
        for y in (low, *(y for lap in laps for y in lap), high)
    )
    name = f"{bay.left.name}{'abcdefgh'[n - 1]}"
    # It stands no higher than its neighbours: a whole millimetre, and none above.
    depth = float(math.floor(max(bay.left.depth, bay.right.depth) + _EPS))
    breadth = float(pack["noggin.breadth"])
    return Member(name, bay.number, points, breadth, depth, added=n, laps=laps)


def member_length(member: Member, areas: list[Area]) -> float:
    """Return how long an added joist must be, from one limit of the loft to the other [mm].

    Of one that laps it is all of its timbers together.
    """
    return sum(member_timbers(member, areas))


def member_timbers(member: Member, areas: list[Area]) -> list[float]:
    """Return how long each timber of an added joist must be [mm]: each reaches past every lap."""
    low, high = member_ends(member, areas)
    starts = [low, *(a for a, _ in member.laps)]
    ends = [*(b for _, b in member.laps), high]
    return [b - a for a, b in zip(starts, ends, strict=True)] if high > low else [0.0]


def member_ends(member: Member, areas: list[Area]) -> tuple[float, float]:
    """Return the ys [mm] between which an added joist lies, expansion gaps included."""
    stretches = [
        (low - area.gap, high + area.gap)
        for area in areas
        for y in (sum(area.polygon.bounds[1::2]) / 2,)
        for low, high in sections(area.polygon, member.centre(y))
    ]
    if not stretches:
        return 0.0, 0.0
    return min(low for low, _ in stretches), max(high for _, high in stretches)


def thickness_json(choice: Choice, area: Area, pack: Pack) -> dict[str, Any]:
    """Return why a deck has this thickness, in figures and words."""
    board = choice.chosen.board
    left, found = widest(area, choice.ground), widest(area, choice.found_on)
    return {
        "centres": round(left.centres, 1),
        "bay": left.bay,
        "y": round(left.y, 1),
        "as_found": round(found.centres, 1),
        "needed": needed(found.centres, pack),
        "chosen": board.thickness,
        "rule": "deck.thickness",
        "others": _others(choice, area, pack),
        "say": _say(choice, found, pack),
    }


def _others(choice: Choice, area: Area, pack: Pack) -> list[dict[str, Any]]:
    """Return what the other boards would cost for this deck alone."""
    rows = pack["deck.thickness"]
    options = [_option([area], choice.found_on, choice.choices, pack, row) for row in rows]
    mine = next(o for o in options if o.board == choice.chosen.board)
    return [_other(o, mine, pack) for o in options if o is not mine]


def _other(option: Option, chosen: Option, pack: Pack) -> dict[str, Any]:
    added, more = len(option.added), option.cost - chosen.cost
    joists = f"{added} added joist{'s' if added != 1 else ''}" if added else "no added joist"
    money = pack["price.currency"]
    word = "more" if more >= 0 else "less"
    return {
        "thickness": option.board.thickness,
        "added": added,
        "cost": option.cost,
        "say": f"{option.board.thickness:g} mm boards need {joists} and cost about"
        f" {abs(more):.0f} {money} {word}.",
    }


def _say(choice: Choice, found: Widest, pack: Pack) -> str:
    board = choice.chosen.board
    limit = max(most for most, thickness in pack["deck.thickness"] if thickness <= board.thickness)
    where = f"J{found.bay}–J{found.bay + 1}"
    say = (
        f"The widest centres are {found.centres:.0f} mm, at {where}. {board.thickness:g} mm boards"
    )
    if not choice.chosen.added:
        return f"{say} carry up to {limit:g} mm."
    names = ", ".join(member.name for member in choice.chosen.added)
    are = "is" if len(choice.chosen.added) == 1 else "are"
    return f"{say} carry only up to {limit:g} mm, so {names} {are} added."
