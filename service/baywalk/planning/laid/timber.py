"""Timber that is fixed below a deck already: it stays where it is, under the number it has."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from shapely import LineString
from shapely.ops import unary_union

from baywalk.planning.refused import Reason, Refused
from baywalk.planning.support.noggins import PERIMETER, STRUTTING, Noggin, Section, across

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from baywalk.planning.ground import Bay, Ground
    from baywalk.planning.laid.place import HeldDeck
    from baywalk.planning.pieces import Piece
    from baywalk.planning.support.build import Support
    from baywalk.planning.support.frames import Cleat
    from baywalk.rules import Pack

_SAME = 1.0
"""Timber nearer to its earlier place than this is in it [mm]."""
_SAFE = 1.0
"""How much more of a timber than the rule asks for must stand out [mm], for rounding."""
_GIVEN = "="
"""Stands before the name of a timber that has it from the earlier plan."""


def fixed_ids(held: HeldDeck) -> set[str]:
    """Return the noggins and cleats that are fixed: those told, or those of the steps so far."""
    if held.laid.fixed is not None:
        return set(held.laid.fixed)
    steps = held.earlier["sequence"]
    laid = held.pieces
    last = max((s["step"] for s in steps if any(p in laid for p in s["pieces"])), default=0)
    return {name for step in steps if step["step"] < last for name in step["noggins"]}


def fixed_noggins(held: HeldDeck, ground: Ground, pack: Pack) -> list[Noggin]:
    """Return the noggins that are fixed across whole bays or along an edge; lengths in mm.

    They serve nothing yet. What stands elsewhere follows from these, and is found by its place.
    """
    fixed, out = fixed_ids(held), []
    holding: set[str] = set()
    bays = {(bay.left.name, bay.right.name): bay for bay in ground.bays}
    for told in held.earlier["noggins"]:
        mine = told["id"] in fixed and told.get("along") and told["use"] == PERIMETER
        bay = next((b for b in ground.bays if mine and _holds(b, told)), None)
        if bay:
            out.append(_along(told, bay))
            holding |= set(told["between"])
    for told in held.earlier["noggins"]:
        bay = bays.get((told["between"][0], told["between"][1]))
        if told["id"] not in fixed or told.get("along") or bay is None:
            continue
        size = Section(told["section"]["breadth"], told["section"]["depth"])
        found = across(ground, bay, told["y"], told["use"], size, pack, told["slope"])
        if found and abs(found.length - told["length"]) <= _SAME:
            # What holds a timber along an edge is needed as long as that stands.
            kept = ("row", "edge") if told["id"] in holding else ("row",)
            serves = tuple(name for name in told["serves"] if name in kept)
            out.append(replace(found, serves=serves))
    return out


def _holds(bay: Bay, told: dict[str, Any]) -> bool:
    """Say whether a timber along the joists stands in a bay."""
    x, y = float(told["x"]), float(told["y"])
    return bay.number == told["bay"] and bay.left.right(y) < x < bay.right.left(y)


def _along(told: dict[str, Any], bay: Bay) -> Noggin:
    """Return a timber along the joists just as the earlier plan has it."""
    (xa, ya), (xb, yb) = told["ends"]
    one, other = told["between"]
    return Noggin(
        bay=bay,
        y=told["y"],
        use=told["use"],
        section=Section(told["section"]["breadth"], told["section"]["depth"]),
        length=told["length"],
        sd=told["sd"],
        ends=((xa, ya), (xb, yb)),
        # What it stands between has its name already.
        between=(_GIVEN + one, _GIVEN + other),
        x=told["x"],
    )


def reachable(under: Support, pieces: Sequence[Piece], fixed: set[str], pack: Pack) -> None:
    """Raise ``Refused`` where a noggin is still to be fixed under boards that are laid."""
    laid = [piece for piece in pieces if piece.laid]
    over = unary_union([piece.polygon for piece in laid])
    least = pack["laid.reach"] + _SAFE
    for noggin in under.noggins:
        if noggin.id in fixed or not laid or noggin.use == STRUTTING:
            continue
        room = LineString(noggin.ends).buffer(noggin.section.breadth / 2, cap_style="flat")
        covered = room.intersection(over)
        open_ = room.difference(over).buffer(-least / 2, join_style="mitre")
        if covered.area > least and open_.is_empty:
            hiding = max(laid, key=lambda piece: piece.polygon.intersection(room).area)
            raise Refused(_hidden(noggin, hiding))


def _hidden(noggin: Noggin, piece: Piece) -> Reason:
    say = (
        f"With what is laid, a noggin is needed in bay {'–'.join(noggin.between)} at"
        f" {noggin.y:.0f}, where piece {piece.id} lies over it already. Take up {piece.id} and fix"
        " it, or lay the piece where it was planned."
    )
    return Reason("laid.hidden", say)


def named_as_before(under: Support, earlier: dict[str, Any]) -> Support:
    """Return what a deck rests on, each timber that the earlier plan has under its number there."""
    names = _noggin_names(under.noggins, earlier["noggins"])
    again = {noggin.id: name for noggin, name in zip(under.noggins, names, strict=True)}
    noggins = [
        replace(n, id=again[n.id], between=(_new(n, 0, again), _new(n, 1, again)))
        for n in under.noggins
    ]
    return replace(under, noggins=noggins, cleats=_cleats(under.cleats, earlier["cleats"]))


def _new(noggin: Noggin, side: int, again: dict[str, str]) -> str:
    name = noggin.between[side]
    return name.removeprefix(_GIVEN) if name.startswith(_GIVEN) else again.get(name, name)


def _noggin_names(noggins: Sequence[Noggin], earlier: Sequence[dict[str, Any]]) -> list[str]:
    """Return the names of noggins: those that the earlier plan has there, else new ones."""
    free = list(earlier)
    fresh = _fresh(one["id"] for one in earlier)
    out: list[str | None] = []
    for noggin in noggins:
        same = next((one for one in free if _stands_in(noggin, one)), None)
        out.append(same["id"] if same else None)
        if same:
            free.remove(same)
    return [name or fresh(f"N{n.bay.number}-") for name, n in zip(out, noggins, strict=True)]


class _Names:
    """New numbers, past all that were given."""

    def __init__(self, taken: set[str]) -> None:
        self.taken = taken

    def __call__(self, head: str) -> str:
        numbers = [int(t.removeprefix(head)) for t in self.taken if _numbered(t, head)]
        name = f"{head}{max(numbers, default=0) + 1}"
        self.taken.add(name)
        return name


def _numbered(name: str, head: str) -> bool:
    return name.startswith(head) and name.removeprefix(head).isdigit()


def _fresh(taken: Iterator[str]) -> _Names:
    return _Names(set(taken))


def _stands_in(noggin: Noggin, one: dict[str, Any]) -> bool:
    """Say whether a noggin stands where the earlier plan has one."""
    if noggin.bay.number != one["bay"] or (noggin.x is None) == bool(one.get("along")):
        return False
    if noggin.x is not None and abs(noggin.x - one["x"]) > _SAME:
        return False
    near = abs(noggin.y - one["y"]) <= _SAME and abs(noggin.length - one["length"]) <= _SAME
    return near and abs(noggin.slope - one["slope"]) < 1e-3 and _between(noggin, one)


def _between(noggin: Noggin, one: dict[str, Any]) -> bool:
    """Say whether both reach from the same place to the same place."""
    pairs = zip(noggin.ends, one["ends"], strict=True)
    return all(abs(x - u) <= _SAME and abs(y - v) <= _SAME for (x, y), (u, v) in pairs)


def _cleats(cleats: Sequence[Cleat], earlier: Sequence[dict[str, Any]]) -> list[Cleat]:
    free = list(earlier)
    fresh = _fresh(one["id"] for one in earlier)
    names: list[str | None] = []
    for cleat in cleats:
        mine = cleat.json()
        same = next((one for one in free if _same_cleat(mine, one)), None)
        names.append(same["id"] if same else None)
        if same:
            free.remove(same)
    pairs = zip(cleats, names, strict=True)
    return [replace(cleat, id=name or fresh("C")) for cleat, name in pairs]


def _same_cleat(mine: dict[str, Any], one: dict[str, Any]) -> bool:
    keys = ("joist", "added", "side")
    same = all(mine.get(key) == one.get(key) for key in keys)
    return same and all(abs(float(mine[k]) - float(one[k])) <= _SAME for k in ("y", "length"))
