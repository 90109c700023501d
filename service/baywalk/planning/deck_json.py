"""One deck as the plan shows it: its limit, its pieces, and the timber that carries them."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Any

from shapely import Polygon

from baywalk.planning.added import goes_under, member_ends, member_timbers, stands_over
from baywalk.planning.raised import lift
from baywalk.planning.shapes import rings
from baywalk.planning.support.frames import joint_json

if TYPE_CHECKING:
    from baywalk.planning.area import Area
    from baywalk.planning.courses import Course
    from baywalk.planning.floor import Floor
    from baywalk.planning.ground import Member
    from baywalk.planning.support.build import Support
    from baywalk.planning.support.frames import Frame
    from baywalk.planning.task import Task


def outlined(task: Task) -> dict[str, Any]:
    """Return the deck's limit, its board, and the joists under it."""
    area, pack, board = task.area, task.pack, task.board
    outline, holes = rings(area.polygon)
    laid = area.laid
    continues = laid and {"feature": laid.feature, "edge": laid.edge, "y": round(laid.y, 3)}
    near = [
        strip.intersection(area.polygon.buffer(2 * pack["deck.movement.gap"]))
        for strip in area.movement
    ]
    return {
        "deck": {
            "outline": outline,
            "holes": holes,
            "board": {
                "length": board.length,
                "width": board.width,
                "thickness": board.thickness,
                "grade": pack["deck.grade"],
            },
            "gap": area.gap,
            "movement": [rings(p)[0] for p in near if isinstance(p, Polygon) and not p.is_empty],
            "area": round(area.polygon.area / 1e6, 4),
            "continues": continues or None,
        },
        "joists": [
            _under(member, area)
            for member in task.ground.joists
            if not member.added or member in task.added
        ],
    }


def _under(member: Member, area: Area) -> dict[str, Any]:
    _, y0, _, y1 = area.polygon.bounds
    low, high = y0 - area.gap, y1 + area.gap
    ys = [low, *(y for _, y in member.points if low < y < high), high]
    return {
        "name": member.name,
        **member.label(),
        "line": [[round(member.centre(y), 2), round(y, 2)] for y in ys],
        "breadth": round(member.breadth, 2),
    }


def supported(floor: Floor) -> dict[str, Any]:
    """Return courses, pieces, joints, boards and all that carries them."""
    task, under = floor.task, floor.under
    framed = {frame.joint.id: frame.id for frame in under.frames}
    # A cleat in parts goes by the name of its first.
    cleated = {cleat.joint.id: cleat.id for cleat in reversed(under.cleats)}
    high = lift(floor.raised)
    return {
        "courses": [_course(course) for course in floor.courses],
        "pieces": [piece.json() for piece in floor.pieces],
        "joints": [joint_json(j, framed, cleated, under.size.breadth) for j in floor.joints],
        "boards": [use.json(task.board, task.pack["board.kerf"]) for use in floor.boards],
        "noggins": [
            n.json() | {"run": task.run["id"]} | _raised(n.use, high)
            for n in sorted(under.noggins, key=lambda noggin: noggin.number)
        ],
        "frames": [_frame(frame, under) for frame in under.frames],
        "cleats": [cleat.json() | _raised("cleat", high) for cleat in under.cleats],
        "added_joists": [_added(member, task) for member in task.added],
        "raise": floor.raised,
        "openings": floor.openings,
    }


def _raised(use: str, high: float) -> dict[str, float]:
    """Return how far a timber stands above the joists; strutting stays between them."""
    return {} if high == 0 or use == "strutting" else {"raised": high}


def _course(course: Course) -> dict[str, Any]:
    low, high = course.reach
    return {
        "index": course.index,
        "y0": round(low, 3),
        "y1": round(high, 3),
        "segments": [[round(s.x0, 3), round(s.x1, 3)] for s in course.segments],
        "narrowest": round(course.narrowest, 3),
        "scribed": _scribed(course),
    }


def _scribed(course: Course) -> bool:
    """Say whether an edge of the course runs out of parallel with it."""
    for segment in course.segments:
        coords = list(segment.polygon.exterior.coords)
        for (xa, ya), (xb, yb) in itertools.pairwise(coords):
            if abs(xb - xa) > abs(yb - ya) > 0.05:
                return True
    return False


def _frame(frame: Frame, under: Support) -> dict[str, Any]:
    ids = [under.noggins[k].id for k in (frame.near, frame.far, *under.middles[frame.id])]
    bay = under.noggins[frame.near].bay.number
    return {
        "id": frame.id,
        "joint": frame.joint.id,
        "bay": bay,
        "x": round(frame.joint.x, 3),
        "noggins": ids,
    }


def _laps(member: Member, task: Task) -> dict[str, Any]:
    """Return where an added joist laps, from which place to which, and how long its timbers are."""
    laps = [[[round(member.centre(y), 2), round(y, 2)] for y in lap] for lap in member.laps]
    lengths = member_timbers(member, [task.area])
    return {"laps": laps, "lengths": [round(length, 1) for length in lengths]}


def _cut(member: Member, task: Task) -> dict[str, Any]:
    """Return the parts of an added joist that is cut at openings."""
    found = task.tails(member)
    return {"lengths": [t.length for t in found], "tails": [t.json() for t in found]}


def _added(member: Member, task: Task) -> dict[str, Any]:
    low, high = member_ends(member, [task.area])
    timbers = member_timbers(member, [task.area])
    trimmed = bool(task.tails(member))
    why = f"The bay is too wide for {task.board.thickness:g} mm boards."
    if trimmed:
        why += " It is cut at the opening and hangs from the trimmers."
    if goes_under(member, task.area):
        why += " It goes on under the boards that are laid already: lift them to set it."
    if stands_over(task.run, member):
        why += " Something stands over it: see that there is room, and nothing hot."
    return {
        "id": member.name,
        "bay": member.index,
        "n": member.added,
        "near": [round(member.centre(low), 2), round(low, 2)],
        "far": [round(member.centre(high), 2), round(high, 2)],
        "length": round(high - low, 1) if member.laps else timbers[0],
        **(_laps(member, task) if member.laps else {}),
        **(_cut(member, task) if trimmed else {}),
        "section": {"breadth": member.breadth, "depth": round(member.depth)},
        "why": why,
    }
