"""Board choice: the thickness that the widest bay calls for; joists added where none will do."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from shapely import LineString, Polygon

from baywalk.planning.choices import Board, board_price, price, size
from baywalk.planning.courses import sections
from baywalk.planning.ground import Bay, Ground, Member
from baywalk.planning.refused import Reason, Refused

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely.geometry.base import BaseGeometry

    from baywalk.planning.area import Area
    from baywalk.planning.choices import Choices
    from baywalk.rules import Pack

_STUB = 100.0
"""An added joist that reaches no further past a lap than this is of one piece [mm]."""
_TRIES = 200
"""Ways to move the joists added in one bay that are tried."""
_HAIR = 0.01
"""What stands in an opening by no more than this is rounding [mm]."""
_EPS = 0.05
"""Centres within this of a limit meet it [mm]: the as-built is rounded."""


Things = tuple["Sequence[Polygon]", "Sequence[Polygon]", "Sequence[Polygon]"]
"""Openings, obstacles that go down between the joists, and all obstacles."""


@dataclass(frozen=True)
class Widest:
    """The widest centres [mm] under a deck, the bay and the y [mm] where they are."""

    centres: float
    bay: int
    y: float


@dataclass(frozen=True)
class Option:
    """One board and the joists that it would need added.

    ``stuck`` is the first of them that would stand in an opening wherever it is set, ``stopped``
    the first that would run into an obstacle, if any.
    """

    board: Board
    added: tuple[Member, ...]
    cost: float
    stuck: Member | None = None
    stopped: Member | None = None


@dataclass(frozen=True)
class Choice:
    """The board chosen, and what was to be chosen from.

    ``found_on`` is the ground as it was found, ``ground`` the same with the joists added.
    """

    chosen: Option
    found_on: Ground
    ground: Ground
    choices: Choices


def choose(
    areas: list[Area],
    ground: Ground,
    choices: Choices,
    pack: Pack,
    holes: Sequence[Polygon] = (),
    standing: Sequence[Polygon] = (),
) -> Choice:
    """Return the board for the decks of one run, and the ground with the joists it needs added.

    A thickness asked for is kept. Otherwise the board that needs fewest joists added is taken, the
    cheaper of two alike; one for which no joist stands in one of the openings, ``holes``, or
    obstacles, ``standing``, before any other. An obstacle over a joist stands on it, and an added
    one goes under it. Raises :class:`Refused` where a joist can only run into an obstacle, and
    where nothing says how deep one is.
    """
    solid = [shape for shape in standing if not any(_meets(m, [shape]) for m in ground.joists)]
    things = holes, solid, standing
    options = [_option(areas, ground, choices, pack, row, things) for row in pack["deck.thickness"]]
    asked = [o for o in options if choices.deck in (None, o.board.thickness)]
    chosen = min(
        asked,
        key=lambda o: (o.stopped is not None, o.stuck is not None, len(o.added), o.cost),
    )
    if chosen.stopped:
        raise Refused(_stopped(chosen.stopped))
    for member in chosen.added:
        if member.depth <= 0:
            raise Refused(_no_depth(member))
    return Choice(chosen, ground, ground.with_added(chosen.added), choices)


def _stopped(member: Member) -> Reason:
    say = (
        f"J{member.index}–J{member.index + 1}: the joists stand so far apart that boards need"
        f" {member.name} added between them, and it would run into an obstacle, where nothing bears"
        " its end. Where nothing thicker is to be had, have a structural engineer say what carries"
        " the deck beside that obstacle."
    )
    return Reason("joist.at_obstacle", say)


def _no_depth(member: Member) -> Reason:
    bay = f"J{member.index}–J{member.index + 1}"
    say = (
        f"{bay}: a joist must be added there, and nothing says how deep its neighbours are. Read"
        f" the depth of J{member.index} or J{member.index + 1}."
    )
    return Reason("joist.no_depth", say)


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
    areas: list[Area],
    ground: Ground,
    choices: Choices,
    pack: Pack,
    row: list[float],
    things: Things = ((), (), ()),
) -> Option:
    most, thickness = row
    length, width = size(choices, pack)
    board = Board(length, width, float(thickness))
    added = [
        member
        for bay in ground.bays
        if not bay.beside_wall
        for member in _added(bay, areas, most, pack, things)
    ]
    of = price(choices, pack)
    metres = sum(member_length(member, areas) for member in added) / 1000
    area = sum(a.polygon.area for a in areas) / 1e6
    cost = area / board.area * board_price(choices, pack, board)
    cost += metres * of("price.timber") + len(added) * of("price.minutes.joist") * of(
        "price.minute"
    )
    stuck, stopped = (next((m for m in added if _meets(m, what)), None) for what in things[:2])
    return Option(board, tuple(added), round(cost, 2), stuck, stopped)


def _meets(member: Member, holes: Sequence[Polygon]) -> bool:
    """Say whether a joist would stand in one of some openings."""
    return any(_moved_clear(member, hole) for hole in holes)


def _moved_clear(member: Member, hole: Polygon) -> tuple[float, ...]:
    """Return by how much a joist must move to either side to clear an opening [mm], if at all."""
    low, high = hole.bounds[1], hole.bounds[3]
    corners = [(x, y) for x, y in hole.exterior.coords]
    ys = {low, high, *(y for _, y in member.points if low < y < high)}
    places = [*corners, *((x, y) for y in ys for x in _across(hole, y))]
    left = min(x - member.right(y) for x, y in places)
    right = max(x - member.left(y) for x, y in places)
    return (left, right) if left < -_HAIR and right > _HAIR else ()


def _across(hole: Polygon, y: float) -> list[float]:
    """Return where a line across at ``y`` crosses an opening's edges [mm]."""
    turned = Polygon([(v, u) for u, v in hole.exterior.coords])
    return [x for pair in sections(turned, y) for x in pair]


def _beside_openings(
    added: Sequence[Member], holes: Sequence[Polygon]
) -> Iterator[tuple[Member, ...]]:
    """Give the joists as they are, then moved just clear of the openings that they stand in."""
    yield tuple(added)
    moves = [
        sorted({0.0, *(off for hole in holes for off in _moved_clear(member, hole))}, key=abs)
        for member in added
    ]
    for offs in itertools.islice(itertools.product(*moves), 1, _TRIES):
        yield tuple(_moved(m, off) for m, off in zip(added, offs, strict=True))


def _moved(member: Member, off: float) -> Member:
    return replace(member, points=tuple((x + off, y) for x, y in member.points))


def _fits(sides: Sequence[Member], ys: Sequence[float], most: float) -> bool:
    """Say whether joists stand side by side, their centres no more than ``most`` apart [mm]."""
    return all(
        b.centre(y) - a.centre(y) <= most + _EPS and b.left(y) >= a.right(y)
        for a, b in itertools.pairwise(sides)
        for y in ys
    )


def _added(
    bay: Bay,
    areas: list[Area],
    most: float,
    pack: Pack,
    things: Things,
) -> list[Member]:
    """Return the joists that a bay needs so that no centres in it pass ``most`` [mm].

    They stand evenly; where one would stand in an opening, they stand just beside it, one more of
    them if need be, and as far from an obstacle as the deck stays, or just clear of it. Where that
    helps nothing they are returned as they would stand.
    """
    holes, solid, standing = things
    kept = [shape.buffer(areas[0].gap, join_style="mitre") for shape in standing]
    ys = [y for area in areas for y in _places(area.polygon, bay)]
    centres = max((bay.centres(y) for y in ys), default=0.0)
    count = math.ceil((centres - _EPS) / most) - 1
    even: list[Member] = []
    while count > 0:
        added = [_between(bay, n, count + 1, min(ys), max(ys), pack) for n in range(1, count + 1)]
        # Its neighbours may be bowed; a new joist is straight.
        if _fits([bay.left, *added, bay.right], ys, most):
            clear = (
                tried
                for what in ([*holes, *kept], [*holes, *standing], [*holes, *solid], holes)
                for tried in _beside_openings(added, what)
                if not any(_meets(m, what) for m in tried)
                and _fits([bay.left, *tried, bay.right], ys, most)
            )
            found = next(clear, None)
            if found or even:
                return list(found or even)
            even = added
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
    if not member.laps and high > low:
        # One that leans is longer than what it crosses.
        return [round(math.hypot(high - low, member.centre(high) - member.centre(low)), 1)]
    starts = [low, *(a for a, _ in member.laps)]
    ends = [*(b for _, b in member.laps), high]
    return [b - a for a, b in zip(starts, ends, strict=True)] if high > low else [0.0]


def member_ends(member: Member, areas: list[Area]) -> tuple[float, float]:
    """Return the ys [mm] between which an added joist lies: from limit to limit of the loft.

    It bears where the joists beside it do, so it goes on under what is laid already.
    """
    stretches = [
        (low - area.gap, high + area.gap)
        for area in areas
        for a, b in _along(member, area.polygon)
        for low, high in _along(member, area.free)
        if low < b and a < high
    ]
    if not stretches:
        return 0.0, 0.0
    return min(low for low, _ in stretches), max(high for _, high in stretches)


def goes_under(member: Member, area: Area) -> bool:
    """Say whether an added joist reaches on under boards that are laid already."""
    low, high = member_ends(member, [area])
    deck = [y for stretch in _along(member, area.polygon) for y in stretch]
    beyond = min(deck, default=low) - low, high - max(deck, default=high)
    return area.laid is not None and max(beyond) > area.gap + _STUB


def stands_over(run: dict[str, Any], member: Member) -> bool:
    """Say whether an obstacle of a run stands over an added joist."""
    return any(_meets(member, [shape]) for shape in obstacles(run))


def obstacles(run: dict[str, Any]) -> list[Polygon]:
    """Return the places of a run's obstacles, without the gap that a deck keeps from them."""
    return [
        Polygon(feature["polygon"])
        for feature in run["features"]
        if feature["feature"] == "obstacle" and feature.get("polygon")
    ]


def _along(member: Member, shape: BaseGeometry) -> list[tuple[float, float]]:
    """Return from which y to which its own line lies in a shape [mm]: it may lean."""
    _, low, _, high = shape.bounds
    ys = sorted({low, high, *(y for _, y in member.points if low < y < high)})
    under = shape.intersection(LineString([(member.centre(y), y) for y in ys]))
    parts = [part for part in getattr(under, "geoms", [under]) if part.length > _HAIR]
    return [(part.bounds[1], part.bounds[3]) for part in parts]


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
    if not found.bay:
        return f"No two joists lie side by side under it; {board.thickness:g} mm boards are taken."
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
