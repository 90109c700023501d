"""How the places of a new opening compare, in words and as the plan shows them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.planning.shapes import rings
from baywalk.planning.trimming import named

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.hatch.around import Around
    from baywalk.planning.hatch.places import Place, Size


def place_json(it: Around, place: Place) -> dict[str, Any]:
    """Return one place as the plan shows it."""
    low, high = place.opening.sides
    return {
        "polygon": rings(place.opening.polygon)[0],
        "joists_cut": list(place.opening.cut),
        "between": [low.index, high.index],
        "away": [round(away, 1) for away in place.away],
        "metres": place.metres,
        "minutes": place.minutes,
        "cost": round(place.cost, 2),
        "set_out": set_out(it, place),
        "say": told(it, place),
    }


def set_out(it: Around, place: Place) -> dict[str, Any]:
    """Return where its corner lies from the face of the joist beside it and the first tape line."""
    x0, y0, _, _ = place.opening.polygon.bounds
    low = place.opening.sides[0]
    return {
        "from": [low.index, "right"],
        "line": it.run["lines"][0],
        "across": round(x0 - low.right(y0), 1),
        "along": round(y0, 1),
    }


def told(it: Around, place: Place) -> str:
    """Return one place in words."""
    low, high = place.opening.sides
    where = set_out(it, place)
    face = "the start wall" if low.wall else f"{low.name}'s face"
    line, along = where["line"], where["along"]
    across = "against" if where["across"] == 0 else f"{where['across']:g} from"
    side = f"{abs(along):g} {'beyond' if along >= 0 else 'before'}"
    cut = f"{_cut(place)} between {_named(low, 'start')} and {_named(high, 'end')}"
    return (
        f"{cut}. Its near corner lies {across} {face} and {side} the tape line {line}."
        f"{_sides(it, place)} {_work(place)}"
    )


def _named(member: Any, wall: str) -> str:
    return f"the {wall} wall" if member.wall else str(member.name)


def _cut(place: Place) -> str:
    cut = place.opening.cut
    if not cut:
        return "No joist is cut,"
    return f"{named(cut)} {'is' if len(cut) == 1 else 'are'} cut,"


def _sides(it: Around, place: Place) -> str:
    off = [
        f"{away:.0f} from {_named(side, wall)}"
        for away, side, wall in zip(place.away, place.opening.sides, ("start", "end"), strict=True)
        if away > it.pack["noggin.cut_least"]
    ]
    if not off:
        return " Its sides need no timber of their own."
    sides = "One side stands" if len(off) == 1 else "Its sides stand"
    return f" {sides} {' and '.join(off)}: line it there with a timber of its own."


def _work(place: Place) -> str:
    if not place.opening.cut and not place.metres:
        return "No timber is needed but the noggins at its ends."
    walls = [
        _named(side, wall)
        for side, wall in zip(place.opening.sides, ("start", "end"), strict=True)
        if side.wall and place.opening.cut
    ]
    hung = f"Its trimmers hang on {' and '.join(walls)}. " if walls else ""
    return f"{hung}It takes about {place.metres:.1f} m of timber and {place.minutes:.0f} minutes."


def compared(
    it: Around, asked: Size, places: Sequence[Place], chosen: int, turned: Place | None, note: str
) -> str:
    """Return why the place is the best, and what the others would be, in words."""
    best = places[chosen]
    parts = [f"{asked[0]:g} across and {asked[1]:g} along the joists: {told(it, best)}"]
    for number, place in enumerate(places):
        if number != chosen:
            parts.append(_other(best, place, earlier=number < chosen))
    if turned:
        cut = named(turned.opening.cut) if turned.opening.cut else "no joist"
        parts.append(f"Turned, {asked[1]:g} across and {asked[0]:g} along, it would cut {cut}.")
    return " ".join([*parts, note] if note else parts)


def _other(best: Place, place: Place, *, earlier: bool) -> str:
    low, high = place.opening.sides
    what = f"cut {named(place.opening.cut)}" if place.opening.cut else "cut no joist"
    where = f"Between {_named(low, 'start')} and {_named(high, 'end')} it would {what}"
    if earlier:
        return f"{where}, but no sound deck was found round it there."
    more, longer = place.metres - best.metres, place.minutes - best.minutes
    if abs(more) < 0.05 and not longer:
        return f"{where}, and take as much timber and work."
    timber = f"{abs(more):.1f} m {'more' if more >= 0 else 'less'} timber"
    minutes = f"{abs(longer):.0f} {'more' if longer >= 0 else 'fewer'} minutes"
    return f"{where}, and take {timber} and {minutes}."
