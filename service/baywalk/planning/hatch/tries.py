"""The as-built with the new opening put in at its best place, and at the next best after that."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from baywalk.planning.asbuilt import unready
from baywalk.planning.choices import TIED, TRUSSED
from baywalk.planning.hatch.around import around
from baywalk.planning.hatch.places import NAME, ranked
from baywalk.planning.hatch.words import compared, place_json
from baywalk.planning.hatch.zone import the_run, zone_of
from baywalk.planning.openings import may_cut
from baywalk.planning.placed import unplaced
from baywalk.planning.refused import Reason, Refused
from baywalk.planning.shapes import rings

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely import Polygon

    from baywalk.planning.choices import Choices
    from baywalk.planning.hatch.around import Around
    from baywalk.planning.hatch.places import Place, Size
    from baywalk.rules import Pack

_SHOWN = 4
"""How many places are compared."""
_TRIED = 3
"""How many places are planned, where no sound deck lies round the ones before."""


@dataclass(frozen=True)
class Try:
    """An as-built to plan, and what the plan says of the opening that was put in; None without."""

    data: dict[str, Any]
    hatch: dict[str, Any] | None


def tries(data: dict[str, Any], choices: Choices, pack: Pack) -> Iterator[Try]:
    """Give the as-built as it is; where an opening is wanted, with it in its places, best first.

    Raises ``BadChoice`` where the zone is none, :class:`Refused` where there is no place.
    """
    if choices.hatch is None:
        yield Try(data, None)
        return
    run = the_run(data["runs"], choices)
    reasons = unready(run) or unplaced(run, pack)
    if reasons:
        raise Refused(*reasons)
    it, zone = around(run, choices, pack), zone_of(run, choices)
    places, note = _allowed(it, zone, choices)
    turned = _turned(it, zone, choices)
    name = _name(run)
    for chosen, place in enumerate(places[:_TRIED]):
        shown = {
            "feature": name,
            "run": run["id"],
            "across": choices.hatch[0],
            "along": choices.hatch[1],
            "zone": rings(zone)[0],
            "places": [place_json(it, p) for p in places],
            "chosen": chosen,
            "turned": turned and place_json(it, turned),
            "say": compared(it, choices.hatch, places, chosen, turned, note),
        }
        yield Try(_with(data, run, name, place), shown)


def _allowed(it: Around, zone: Polygon, choices: Choices) -> tuple[list[Place], str]:
    """Return the places that may be, the best first, and what the roof has to do with them."""
    asked = choices.hatch or (0.0, 0.0)
    places = ranked(it, zone, asked, choices, 1)
    if not places:
        raise Refused(_nowhere(it, asked))
    free = [place for place in places if not place.opening.cut]
    if choices.roof not in (TIED, TRUSSED):
        return places[:_SHOWN], ""
    if free:
        roof = "The roof is trussed" if choices.roof == TRUSSED else "The joists tie the rafters"
        return free[:_SHOWN], f"{roof}, so only places between two joists were looked at."
    try:
        may_cut(it.run, places[0].opening, choices)
    except Refused as why:
        raise Refused(*why.reasons, _none_between(asked)) from None
    return [], ""


def _turned(it: Around, zone: Polygon, choices: Choices) -> Place | None:
    """Return the best place of the opening turned by a right angle, None where there is none."""
    across, along = choices.hatch or (0.0, 0.0)
    if across == along:
        return None
    return next(iter(ranked(it, zone, (along, across), choices, 0)), None)


def _name(run: dict[str, Any]) -> str:
    """Return an id that no feature of the run has."""
    known, name = {feature["id"] for feature in run["features"]}, NAME
    while name in known:
        name += "+"
    return name


def _with(data: dict[str, Any], run: dict[str, Any], name: str, place: Place) -> dict[str, Any]:
    feature = {"id": name, "feature": "opening", "polygon": rings(place.opening.polygon)[0]}
    more = {**run, "features": [*run["features"], feature]}
    return {**data, "runs": [more if one is run else one for one in data["runs"]]}


def _nowhere(it: Around, asked: Size) -> Reason:
    name = it.run["title"] or it.run["id"]
    say = (
        f"{name}: the zone has no place for an opening of {asked[0]:g} across by {asked[1]:g} along"
        " the joists that lies within the walls, clear of obstacles, decks already laid and other"
        " openings, with room for its trimmers and a whole joist or a wall on either side. Give it"
        " a larger zone, or make it smaller."
    )
    return Reason("hatch.no_place", say)


def _none_between(asked: Size) -> Reason:
    say = (
        f"No place in the zone lets an opening of {asked[0]:g} across by {asked[1]:g} along lie"
        " between two joists, where none would be cut. A narrower one may."
    )
    return Reason("hatch.none_between", say)
