"""Noggin frames under end joints between joists, and cleats beside joists."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from baywalk.planning.courses import sections
from baywalk.planning.layout.zones import CLEAT, FRAME, JOIST
from baywalk.planning.refused import Reason, Refused
from baywalk.planning.support.noggins import FRAME as FOR_FRAME
from baywalk.planning.support.noggins import Section, across, along

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.layout.lay import Row
    from baywalk.planning.layout.zones import Zone
    from baywalk.planning.pieces import Piece
    from baywalk.planning.support.builder import Builder

_INSIDE = 1e-6
"""So far within a stretch it is as wide as at its end [mm]."""


@dataclass(frozen=True)
class Joint:
    """An end joint: where it lies, from where to where it runs [mm], what carries it.

    It is ``butted`` where a sawn end meets another or a groove.
    """

    id: str
    course: int
    x: float
    y0: float
    y1: float
    zone: Zone
    left: str
    right: str
    butted: bool = False

    @property
    def seat(self) -> float:
        """Return where the piece along under it lies, were it on a frame [mm]."""
        return self.x if self.zone.seat is None else self.zone.seat


@dataclass(frozen=True)
class Frame:
    """A frame and the ids of its noggins once they have them."""

    id: str
    joint: Joint
    near: int
    far: int


@dataclass(frozen=True)
class Cleat:
    """A cleat; ``y`` and ``length`` [mm] are its middle and its length."""

    id: str
    joint: Joint
    y: float
    length: float
    section: Section

    def json(self) -> dict[str, Any]:
        """Return it as the plan shows it."""
        member = self.joint.zone.member
        return {
            "id": self.id,
            "joint": self.joint.id,
            **(member.label() if member else {}),
            "side": self.joint.zone.side,
            "y": round(self.y, 1),
            "length": round(self.length, 1),
            "section": self.section.json(),
        }


def joints(rows: Sequence[Row], names: dict[int, list[str]]) -> list[Joint]:
    """Return every end joint; ``names`` has the ids of the pieces of each row in order."""
    out = []
    counts: dict[int, int] = {}
    for place, row in enumerate(rows):
        ids, spots = names[place], list(row.joints)
        before = row.stretch.butted
        if before:
            # It goes on from the row before, which lies on the same joist.
            ids, spots = [names[place - 1][-1], *ids], [(row.stretch.segment.x0, before), *spots]
        for k, (x, zone) in enumerate(spots):
            course = row.stretch.course
            counts[course] = counts.get(course, 0) + 1
            # At the very end of a stretch there is nothing to cross: a hair within it.
            end = before is not None and k == 0
            low, high = sections(row.stretch.segment.polygon, x + _INSIDE * end)[0]
            name = f"E{course + 1}.{counts[course]}"
            out.append(Joint(name, course, x, low, high, zone, ids[k], ids[k + 1]))
    return out


def butted(joints: Sequence[Joint], pieces: Sequence[Piece]) -> list[Joint]:
    """Return joints, those marked as butted at which a sawn end lies, laid already or not."""
    ends = {piece.id: piece.edges for piece in pieces}
    return [
        replace(joint, butted="cut" in (ends[joint.left]["right"], ends[joint.right]["left"]))
        for joint in joints
    ]


def joint_json(
    joint: Joint, frames: dict[str, str], cleats: dict[str, str], breadth: float
) -> dict[str, Any]:
    """Return a joint as the plan shows it, with the least bearing of both boards [mm].

    ``frames`` and ``cleats`` give ids by joint; ``breadth`` [mm] is that of noggins and cleats.
    """
    left, right = _bearing(joint, breadth)
    return {
        "id": joint.id,
        "course": joint.course,
        "x": round(joint.x, 3),
        "y0": round(joint.y0, 3),
        "y1": round(joint.y1, 3),
        "support": _support(joint, frames, cleats),
        "left": joint.left,
        "right": joint.right,
        "butted": joint.butted,
        "bearing": {"left": round(left, 2), "right": round(right, 2)},
    }


def _support(joint: Joint, frames: dict[str, str], cleats: dict[str, str]) -> dict[str, Any]:
    if joint.zone.kind == JOIST and joint.zone.member:
        return dict(joint.zone.member.label())
    if joint.zone.kind == FRAME:
        return {"frame": frames[joint.id]}
    return {"cleat": cleats[joint.id]}


def _bearing(joint: Joint, breadth: float) -> tuple[float, float]:
    member = joint.zone.member
    if joint.zone.kind == FRAME or member is None:
        off = joint.x - joint.seat
        return breadth / 2 + off, breadth / 2 - off
    reach = member.reach(joint.y0, joint.y1)
    low, high = reach.left, reach.right
    if joint.zone.kind == CLEAT:
        low -= breadth if joint.zone.side == "left" else 0.0
        high += breadth if joint.zone.side == "right" else 0.0
    return joint.x - low, high - joint.x


def frames(found: Sequence[Joint], builder: Builder) -> list[Frame]:
    """Set the noggins across under all joints between joists; return the frames."""
    out: list[Frame] = []
    for joint in found:
        if joint.zone.kind != FRAME:
            continue
        name = f"F{len(out) + 1}"
        near = _under_end(joint, name, joint.y0, 1, builder)
        far = _under_end(joint, name, joint.y1, -1, builder)
        out.append(Frame(name, joint, near, far))
    return out


def _under_end(joint: Joint, frame: str, y: float, inward: int, builder: Builder) -> int:
    """Return the noggin under one end of a joint at ``y`` [mm], setting it where there is none.

    One that is set for it names the ``frame``. ``inward`` is the direction of y in which the joint
    lies. A noggin under the deck's edge there serves as well.
    """
    bay = builder.room(builder.ground.bays[joint.zone.bay], joint.x, y)
    found = across(builder.ground, bay, y, FOR_FRAME, builder.size, builder.pack)
    place = None
    if found:
        mine = replace(found.serving(joint.id), frame=frame)
        place = builder.under(bay, joint.x, y, inward, mine)
    if place is None:
        say = (
            f"End joint {joint.id}, at {joint.x:.0f} mm, needs a noggin frame, and what stands "
            "there leaves no room for its noggins. Plan with another length of board, or from the "
            "other edge."
        )
        raise Refused(Reason("frame.no_room", say))
    return place


def middles(found: Sequence[Frame], builder: Builder) -> dict[str, list[int]]:
    """Set the pieces along under the joints, parted by whatever crosses; return them by frame."""
    out: dict[str, list[int]] = {}
    for frame in found:
        stops = _crossing(frame, builder)
        out[frame.id] = []
        for one, other in itertools.pairwise(stops):
            near, far, x = builder.noggins[one], builder.noggins[other], frame.joint.seat
            piece = along(
                builder.ground.bays[frame.joint.zone.bay],
                x,
                near.face(x, 1),
                far.face(x, -1),
                FOR_FRAME,
                builder.size,
                builder.pack,
                (str(one), str(other)),
                far.slope - near.slope,
            )
            if piece:
                piece = replace(piece, frame=frame.id, serves=(frame.joint.id,))
                out[frame.id].append(builder.add(piece))
    return out


def _crossing(frame: Frame, builder: Builder) -> list[int]:
    """Return the places of the noggins that the pieces along stand between, the nearest first."""
    joint, stops = frame.joint, []
    for k in builder.crossing(joint.x):
        at = builder.noggins[k].at(joint.x)
        if k in (frame.near, frame.far) or joint.y0 < at < joint.y1:
            stops.append((at, k))
    return [k for _, k in sorted(stops)]


def cleats(found: Sequence[Joint], builder: Builder) -> list[Cleat]:
    """Return the cleats, each parted by what meets its joist beside the joint."""
    out: list[Cleat] = []
    for joint in found:
        if joint.zone.kind == CLEAT:
            for low, high in _beside(joint, builder):
                middle, name = (low + high) / 2, f"C{len(out) + 1}"
                out.append(Cleat(name, joint, middle, high - low, builder.size))
    return out


def _beside(joint: Joint, builder: Builder) -> list[tuple[float, float]]:
    """Return from where to where a cleat finds room at its joist's side [mm]."""
    parts = [(joint.y0, joint.y1)]
    for y in (joint.y0, joint.y1):
        xs = _room(joint, y, builder.size.breadth)
        middle = sum(xs) / 2
        for noggin in [builder.noggins[k] for k in builder.crossing(middle)]:
            ys = [noggin.at(x) + side * noggin.thick for x in xs for side in (-1, 1)]
            parts = [p for part in parts for p in _less(part, min(ys), max(ys))]
        for trimmer in builder.trimmers:
            if trimmer.x0 <= middle <= trimmer.x1:
                parts = [p for part in parts for p in _less(part, *trimmer.band)]
    least = builder.pack["noggin.cut_least"]
    longest = max(parts, key=lambda p: p[1] - p[0], default=(joint.y0, joint.y1))
    # Where little is left, the rest is borne by what stands there.
    return [(a, b) for a, b in parts if b - a >= least] or [longest]


def _room(joint: Joint, y: float, breadth: float) -> tuple[float, float]:
    """Return the xs between which a cleat ``breadth`` [mm] thick stands at its joist's side."""
    member = joint.zone.member
    if member is None:
        raise ValueError(f"no joist beside {joint.id}")
    face = member.left(y) if joint.zone.side == "left" else member.right(y)
    return (face - breadth, face) if joint.zone.side == "left" else (face, face + breadth)


def _less(part: tuple[float, float], low: float, high: float) -> list[tuple[float, float]]:
    """Return what is left of a stretch outside another [mm]."""
    a, b = part
    return [(p, q) for p, q in ((a, min(b, low)), (max(a, high), b)) if q > p]
