"""The schedule of noggins and cleats: what to cut, and where each is marked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.reconcile import words
from baywalk.sheets import lengths, sentences
from baywalk.sheets.plan_parts import figure, listed
from baywalk.sheets.table import Column, Table, Value

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from baywalk.sheets.plan_parts import Deck, Timber

FRAMES = (
    "A frame is noggins across the bay and one along it, under the end joint of two boards. "
    "The one along is fixed between two noggins; its centre line lies under the joint."
)
_USES = {"perimeter": "edge", "frame": "frame", "strutting": "strutting"}


def told(decks: Sequence[Deck], units: str) -> str:
    """Say how the schedule of noggins is to be read."""
    fits = {figure(deck.rules, "noggin.fit") for deck in decks} - {None}
    fit = " or ".join(lengths.say(f, units) for f in sorted(f for f in fits if f is not None))
    return (
        f"Lengths in {lengths.unit(units)}. Marks are from the near wall to the noggin's centre. "
        f"The length is the shorter of the two faces, less {fit or 'a little'} so that it goes in "
        "without force. ± holds in 19 of 20 cases. Edge: under the deck's edge. Frame: under an "
        "end joint. Numbers run from the near edge in each bay, bays from the start wall; what "
        "another plan added later has the last ones."
    )


def schedule(decks: Sequence[Deck], units: str) -> Table:
    """Return every noggin: what to cut, and where its centre is marked on either side."""
    names = [
        "no.",
        "bay",
        "for",
        "length",
        "±",
        "section",
        "mark on\nleft",
        "mark on\nright",
        "ends",
    ]
    texts = ("no.", "bay", "for", "section", "ends")
    table = Table("noggins", [Column(n, right=n not in texts, wrap=n == "ends") for n in names])
    table.by = 1
    table.heads = ["noggin", "bay", "between", "use", "length", "sd", "breadth", "depth"]
    table.heads += ["mark_left", "mark_right", "x", "longer_face", "frames"]

    def fill(deck: Deck) -> None:
        for noggin in deck.noggins:
            _row(table, deck, noggin, units)

    return listed(table, decks, fill)


def _row(table: Table, deck: Deck, noggin: Mapping[str, Any], units: str) -> None:
    between = deck.between(noggin)
    along = bool(noggin.get("along"))
    a, b = (None, None) if along else deck.marks(noggin)
    section = noggin.get("section") or {}
    size = " × ".join(lengths.say(section[k], units) for k in ("breadth", "depth") if k in section)
    skew = float(noggin.get("out_of_square") or 0.0)
    ends = f"far face {lengths.say(skew, units)} longer" if skew else "square"
    bay = "–".join(between)
    if along:
        left = next((t for t in reversed(deck.timbers) if _left_of(t, noggin)), None)
        off = (
            None if left is None else noggin["x"] - left.crossing(noggin["y"])[0] - left.breadth / 2
        )
        ends = f"along the joists between {between[0]} and {between[1]}"
        if left is not None and off is not None:
            side = "the face towards the end wall"
            ends += f"; its centre line {lengths.say(off, units)} off {left.name}, {side}"
        bay = words.bay(noggin["bay"], len(deck.run["joists"]))
    said = [lengths.say(v, units) if v is not None else "–" for v in (a, b)]
    spread = lengths.spread(noggin["sd"], units) if "sd" in noggin else "–"
    length = lengths.say(noggin["length"], units)
    filed: list[Value] = [
        noggin["id"],
        noggin["bay"],
        "–".join(between),
        noggin["use"],
        noggin["length"],
    ]
    filed += [noggin.get("sd"), section.get("breadth"), section.get("depth"), a, b]
    filed += [noggin.get("x") if along else None, skew]
    frame = _frames_of(deck, noggin)
    filed.append(" ".join(frame))
    table.add([noggin["id"], bay, _use(noggin, frame), length, spread, size, *said, ends], filed)


def _frames_of(deck: Deck, noggin: Mapping[str, Any]) -> list[str]:
    """Return the frames that a noggin is part of, or carries the piece along of."""
    return [str(f["id"]) for f in deck.many("frames") if noggin["id"] in f.get("noggins", ())]


def _use(noggin: Mapping[str, Any], frames: Sequence[str]) -> str:
    """Return what a noggin is for, its frames by their names."""
    use = _USES.get(noggin["use"], str(noggin["use"]))
    if not frames:
        return use
    named = f"frame {', '.join(frames)}"
    return named if use == "frame" else f"{use}, {named}"


def frames(decks: Sequence[Deck]) -> Table:
    """Return every noggin frame: its joint, its bay, and which noggins it is made of."""
    heads = ("frame", "under the joint of", "in bay", "noggins across", "noggin along")
    table = Table("noggin frames", [Column(n, right=False) for n in heads])
    table.heads = ["frame", "joint", "left", "right", "bay", "across", "along"]
    return listed(table, decks, lambda deck: _frames(table, deck))


def _frames(table: Table, deck: Deck) -> None:
    joints = {j.get("id"): j for j in deck.many("joints")}
    named = {n["id"]: n for n in deck.noggins}
    for frame in deck.many("frames"):
        joint = joints.get(frame.get("joint"), {})
        both = [str(joint.get(k) or "?") for k in ("left", "right")]
        parts = [named[name] for name in frame.get("noggins", ()) if name in named]
        across = sorted((n for n in parts if not n.get("along")), key=lambda n: n["y"])
        along = [n for n in parts if n.get("along")]
        bay = words.bay(frame["bay"], len(deck.run["joists"]))
        lies = [f"{n['id']}, between {' and '.join(deck.between(n))}" for n in along]
        first, second = (" and ".join(n["id"] for n in row) for row in (across, along))
        table.add(
            [str(frame["id"]), " and ".join(both), bay, first, "; ".join(lies) or "–"],
            [frame["id"], frame.get("joint"), *both, frame["bay"], first, second],
        )


def _left_of(timber: Timber, noggin: Mapping[str, Any]) -> bool:
    return noggin.get("x") is not None and bool(timber.crossing(noggin["y"])[0] <= noggin["x"])


_CLEAT = ("no.", "under the joint of", "on joist", "on its side", "section", "length", "middle at")


def cleats(decks: Sequence[Deck], units: str) -> Table:
    """Return every cleat: its joint, its joist and side, its size and the mark of its middle."""
    table = Table("cleats", [Column(n, right=n in ("length", "middle at")) for n in _CLEAT])
    table.heads = ["cleat", "joist", "side", "length", "mark", "left", "right", "breadth", "depth"]

    def fill(deck: Deck) -> None:
        joints = {j.get("id"): j for j in deck.many("joints")}
        for cleat in deck.many("cleats"):
            _cleat(table, deck, cleat, joints.get(cleat.get("joint"), {}), units)

    return listed(table, decks, fill)


def _cleat(
    table: Table, deck: Deck, cleat: Mapping[str, Any], joint: Mapping[str, Any], units: str
) -> None:
    middle, section = deck.cleat_mark(cleat), cleat.get("section") or {}
    side = f"towards the {'start' if cleat.get('side') == 'left' else 'end'} wall"
    said = "–" if middle is None else lengths.say(middle, units)
    joist, length = deck.cleat_joist(cleat), cleat["length"]
    size = [section.get(k) for k in ("breadth", "depth")]
    broad = " × ".join(lengths.say(v, units) for v in size if v is not None)
    both = [str(joint.get(k) or "?") for k in ("left", "right")]
    row = [str(cleat["id"]), " and ".join(both), joist, side, broad]
    table.add(
        [*row, lengths.say(length, units), said],
        [cleat["id"], joist, cleat.get("side"), length, middle, *both, *size],
    )


def cleat_notes(decks: Sequence[Deck], units: str) -> list[str]:
    """Return how a cleat lies and is fixed, as sentences."""
    screws = [
        f"Screws {f.get('gauge', '')} × {f['length']:g}. {sentences.told(f, units)}"
        for deck in decks
        for f in deck.many("fixings")
        if f.get("what") == "cleats" and f.get("length") is not None
    ]
    lies = (
        f"Lengths in {lengths.unit(units)}. A cleat is fixed along the joist's side and carries "
        "the boards as the joist does: its top is level with the joist's top. Of its section the "
        "first figure is its width under the boards, the second its height: it stands on edge. "
        "The mark of its middle is from the near wall."
    )
    return [lies, *dict.fromkeys(screws)]
