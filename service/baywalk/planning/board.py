"""Board choice: the thickness that the widest bay calls for; joists added where none will do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from baywalk.planning.added import EPS, Things, joists_added, meets, member_length, places
from baywalk.planning.choices import Board, board_price, price, size
from baywalk.planning.refused import Reason, Refused

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import Polygon

    from baywalk.planning.area import Area
    from baywalk.planning.choices import Choices
    from baywalk.planning.ground import Ground, Member
    from baywalk.rules import Pack


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
    solid = [shape for shape in standing if not any(meets(m, [shape]) for m in ground.joists)]
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
    fits = [thickness for most, thickness in table if centres <= most + EPS]
    return float(min(fits) if fits else max(thickness for _, thickness in table))


def widest(area: Area, ground: Ground) -> Widest:
    """Return the widest centres under a deck, bays beside walls left out."""
    best = Widest(0.0, 0, area.polygon.bounds[1])
    for bay in ground.bays:
        if bay.beside_wall:
            continue
        for y in places(area.polygon, bay):
            if bay.centres(y) > best.centres:
                best = Widest(bay.centres(y), bay.number, y)
    return best


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
        for member in joists_added(bay, areas, most, pack, things)
    ]
    of = price(choices, pack)
    metres = sum(member_length(member, areas) for member in added) / 1000
    area = sum(a.polygon.area for a in areas) / 1e6
    cost = area / board.area * board_price(choices, pack, board)
    cost += metres * of("price.timber") + len(added) * of("price.minutes.joist") * of(
        "price.minute"
    )
    stuck, stopped = (next((m for m in added if meets(m, what)), None) for what in things[:2])
    return Option(board, tuple(added), round(cost, 2), stuck, stopped)


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
