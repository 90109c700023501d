"""What a plan does otherwise than the one before it, and what is to be put right or bought."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from shapely import Polygon
from shapely.affinity import translate

from baywalk.planning.laid.boards import reserved, spoilt_whole
from baywalk.planning.laid.timber import fixed_ids

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from baywalk.planning.laid.place import HeldDeck

_SAME = 1.0
"""Lengths nearer to each other than this are cut as one [mm]."""


def changes(held: HeldDeck, deck: Mapping[str, Any]) -> dict[str, Any]:
    """Return what changes for one deck; lengths in mm.

    ``deck`` is the deck as it is planned now, as JSON data.
    """
    old = held.earlier
    out: dict[str, Any] = {
        "pieces": _compared(old["pieces"], deck["pieces"]),
        "boards": _boards(held, deck),
        "timber": _compared([*old["noggins"], *old["cleats"]], [*deck["noggins"], *deck["cleats"]]),
        "cures": _cures(held, deck),
    }
    fixed = fixed_ids(held)
    out["timber"]["left"] = [name for name in out["timber"]["gone"] if name in fixed]
    out["timber"]["gone"] = [name for name in out["timber"]["gone"] if name not in fixed]
    out["timber"]["in_the_way"] = _in_the_way(out["timber"]["left"], old, deck)
    out["say"] = _say(out, len(held.pieces), moved=_moved(old["openings"], deck["openings"]))
    return out


def summed(earlier: Mapping[str, Any], out: Mapping[str, Any]) -> dict[str, Any]:
    """Return what changes over all decks: what is said of each, and the boards to buy more."""
    old, now = ({deck["id"] for deck in plan["decks"]} for plan in (earlier, out))
    decks = [deck for deck in out["decks"] if "changes" in deck]
    say = [f"{name} is a new deck." for name in sorted(now - old)]
    say += [f"{name} is not boarded any more." for name in sorted(old - now)]
    several = len(out["decks"]) > 1
    for deck in decks:
        head = f"{deck['id']}: " if several else ""
        say += [head + text for text in deck["changes"]["say"]]
    return {
        "laid": sum(bool(p.get("laid")) for deck in out["decks"] for p in deck["pieces"]),
        "buy_more": sum(deck["changes"]["boards"]["buy_more"] for deck in decks),
        "say": say,
    }


def _compared(old: Sequence[Mapping[str, Any]], now: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Return what is added, gone and of another size, by id."""
    was, new = ({one["id"]: one for one in things} for things in (old, now))
    return {
        "added": [name for name in new if name not in was],
        "gone": [name for name in was if name not in new],
        "changed": [
            {"id": name, "was": was[name]["length"], "length": one["length"]}
            for name, one in new.items()
            if name in was and not one.get("laid") and _other(was[name], one)
        ],
    }


def _other(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Say whether two things of one name are cut otherwise."""
    sizes = any(abs(one.get(k, 0.0) - other.get(k, 0.0)) > _SAME for k in ("length", "width"))
    sides = ("left", "right", "near", "far")
    if sizes or any(one.get(side) != other.get(side) for side in sides):
        return True
    return "polygon" in one and _cut_out_otherwise(one, other)


def _cut_out_otherwise(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Say whether two pieces of one size are of another shape."""
    shapes = []
    for piece in (one, other):
        shape = Polygon(piece["polygon"], piece.get("holes", ()))
        x0, y0, _, _ = shape.bounds
        shapes.append(translate(shape, -x0, -y0))
    apart = shapes[0].symmetric_difference(shapes[1]).area
    return bool(apart > 2 * _SAME * (one["length"] + one["width"]))


def _moved(old: Sequence[Mapping[str, Any]], now: Sequence[Mapping[str, Any]]) -> bool:
    """Say whether an opening lies elsewhere, is new or is gone."""
    was, new = ([Polygon(o["polygon"]) for o in openings] for openings in (old, now))
    same = all(any(a.hausdorff_distance(b) <= _SAME for b in was) for a in new)
    return not same or len(was) != len(new)


def _boards(held: HeldDeck, deck: Mapping[str, Any]) -> dict[str, Any]:
    """Return how many boards there were and are, and how many must be bought more [-]."""
    row = next(row for row in held.earlier["quantities"] if row["kind"] == "board")
    begun = reserved(held)
    in_hand = held.laid.in_hand
    if in_hand is None:
        in_hand = max(int(row["net"] + row["spare"]) - len(begun), 0)
    whole = sum(board["id"] not in begun for board in deck["boards"])
    return {
        "was": len(held.earlier["boards"]),
        "now": len(deck["boards"]),
        "spoilt": len(spoilt_whole(held)),
        "in_hand": in_hand,
        "to_open": whole,
        "buy_more": max(whole - in_hand, 0),
    }


def _cures(held: HeldDeck, deck: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return what puts right the joints of laid pieces that landed off their bearing."""
    laid, fixed = held.pieces, fixed_ids(held)
    joints = {joint["id"]: joint for joint in deck["joints"]}
    out = []
    for cleat in deck["cleats"]:
        joint = joints[cleat["joint"]]
        if cleat["id"] in fixed or not {joint["left"], joint["right"]} <= laid.keys():
            continue
        joist = f"J{cleat['joist']}" + ("" if "added" not in cleat else " added")
        say = (
            f"The joint between {joint['left']} and {joint['right']} landed off its bearing on"
            f" {joist}. Fix cleat {cleat['id']} to its {cleat['side']} side, under the joint,"
            " before anything else is laid; where it cannot be reached from the open side, take up"
            " what lies beyond it first."
        )
        out.append({"joint": joint["id"], "cleat": cleat["id"], "say": say})
    return out


def _in_the_way(left: Sequence[str], old: Mapping[str, Any], deck: Mapping[str, Any]) -> list[str]:
    """Return the timbers left in place where a new one is to stand."""
    there = {one["id"]: one for one in [*old["noggins"], *old["cleats"]]}
    was = {one["id"] for one in there.values()}
    fresh = [_room(n) for n in deck["noggins"] if n["id"] not in was]
    return [
        name
        for name in left
        if "ends" in there[name] and any(_meet(_room(there[name]), room) for room in fresh)
    ]


def _room(noggin: Mapping[str, Any]) -> tuple[float, float, float, float]:
    """Return the bounds of what a noggin takes up: x, y, x, y [mm]."""
    (xa, ya), (xb, yb) = noggin["ends"]
    half = noggin["section"]["breadth"] / 2 - 1
    dx, dy = (half, -1.0) if noggin.get("along") else (-1.0, half)
    return min(xa, xb) - dx, min(ya, yb) - dy, max(xa, xb) + dx, max(ya, yb) + dy


def _meet(a: Sequence[float], b: Sequence[float]) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _say(out: Mapping[str, Any], laid: int, *, moved: bool) -> list[str]:
    pieces, boards, timber = out["pieces"], out["boards"], out["timber"]
    stay = "1 piece is laid and stays." if laid == 1 else f"{laid} pieces are laid and stay."
    say = [stay] if laid else []
    say += [cure["say"] for cure in out["cures"]]
    if moved:
        say.append(
            "An opening lies elsewhere than it was planned, or is new or gone: what is cut and"
            " hung for it changes. Go by its step."
        )
    changed = [f"{p['id']} ({_otherwise(p)})" for p in pieces["changed"]]
    say += _list("Cut otherwise", changed)
    say += _list("New pieces", pieces["added"]) + _list("Pieces not cut", pieces["gone"])
    resized = [f"{t['id']} ({t['was']:.0f} → {t['length']:.0f})" for t in timber["changed"]]
    say += _list("Noggins and cleats of another length", resized)
    say += _list("New noggins and cleats", timber["added"])
    say += _list("Noggins and cleats not needed", timber["gone"])
    out_of_way = set(timber["in_the_way"])
    others = [name for name in timber["left"] if name not in out_of_way]
    say += _list("Fixed and no longer needed, left where they are", others)
    say += _list("Take out, another goes there", timber["in_the_way"])
    if boards["buy_more"]:
        say.append(
            f"{boards['to_open']} whole boards are still to be opened and {boards['in_hand']} are"
            f" there: buy {boards['buy_more']} more."
        )
    if not (pieces["changed"] or pieces["added"] or pieces["gone"] or out["cures"]):
        say.append("No piece still to be cut changes.")
    return say


def _otherwise(piece: Mapping[str, Any]) -> str:
    """Return how a piece is cut otherwise, in words."""
    was, now = piece["was"], piece["length"]
    return f"{was:.0f} → {now:.0f}" if abs(was - now) > _SAME else "its width or shape"


def _list(what: str, names: Sequence[str]) -> list[str]:
    return [f"{what}: {', '.join(names)}."] if names else []
