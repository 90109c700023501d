"""The laying order: numbered steps, every mark and cut measured from something a tape hooks on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from baywalk.planning.courses import sections
from baywalk.planning.marks import cuts, mark

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from shapely import Polygon

    from baywalk.planning.choices import Board
    from baywalk.planning.courses import Course
    from baywalk.planning.ground import Ground, Member
    from baywalk.planning.pieces import BoardUse, Piece
    from baywalk.planning.support.frames import Cleat, Frame, Joint
    from baywalk.planning.support.noggins import Noggin
    from baywalk.planning.tails import Tail

_TOUCH = 0.5
"""What reaches no further than this into a course only touches it [mm]."""
_ENDS = ("at the near edge", "at the far edge")
_LAP_ENDS = ("just before the lap", "just past the lap")


@dataclass(frozen=True)
class Work:
    """All that is done to one deck; lengths in mm. ``outline`` is the loft's own limit.

    ``tails`` are the parts of the joists ``added`` that are cut at openings, by their names.
    ``fixed`` are the ids of the timbers that are fixed already, ``earlier`` the deck as it was
    planned before, None where it was not.
    """

    outline: Polygon
    ground: Ground
    board: Board
    courses: Sequence[Course]
    pieces: Sequence[Piece]
    boards: Sequence[BoardUse]
    joints: Sequence[Joint]
    noggins: Sequence[Noggin]
    frames: Sequence[Frame]
    cleats: Sequence[Cleat]
    added: Sequence[Member]
    tails: Mapping[str, Sequence[Tail]]
    raised: Sequence[dict[str, Any]]
    openings: Sequence[dict[str, Any]]
    near: bool
    gap: float
    fixed: frozenset[str] = frozenset()
    earlier: Mapping[str, Any] | None = None

    @property
    def tops(self) -> str:
        """Return what the tops of timbers under the boards are level with."""
        kinds = {item["kind"] for item in self.raised}
        if "batten" in kinds:
            return "the battens"
        return "the joists as packed" if kinds else "the joists"

    def cures(self, cleat: Cleat) -> bool:
        """Say whether a cleat goes under a joint whose boards are laid already."""
        laid = {piece.id for piece in self.pieces if piece.laid}
        return cleat.id not in self.fixed and {cleat.joint.left, cleat.joint.right} <= laid


def sequence(work: Work) -> list[dict[str, Any]]:
    """Return the steps in order."""
    steps = [_ready()]
    steps += [_opening(opening) for opening in work.openings]
    # The tops are packed first, for all that follows is set level with them.
    steps += _raise(work, "packer")
    if work.added:
        steps.append(_added(work))
    steps += _strutting(work)
    # Noggins under a raised deck are set level with its battens, and reach above the joists.
    steps += _raise(work, "batten")
    steps += _edge_noggins(work)
    done: set[str] = set()
    for course in work.courses:
        steps += _course(work, course, done)
    steps.append(_finish())
    for number, step in enumerate(steps, start=1):
        step["step"] = number
    _tick(work, steps)
    return steps


def _tick(work: Work, steps: Sequence[dict[str, Any]]) -> None:
    """Mark the steps that are done, where pieces are laid or timbers fixed.

    What is neither, an opening or a packer, was done before them where it was planned so before.
    """
    there = {piece.id for piece in work.pieces if piece.laid} | work.fixed
    known = {thing.id for things in (work.pieces, work.noggins, work.cleats) for thing in things}
    last = max((s["step"] for s in steps if there & {*s["noggins"], *s["pieces"]}), default=0)
    earlier = work.earlier or {"sequence": [], "openings": []}
    before = _told(earlier["sequence"], earlier["openings"])
    for step, now in zip(steps[:last], _told(steps, work.openings), strict=False):
        things = {*step["noggins"], *step["pieces"]} & known
        if things <= there if things else now in before:
            step["done"] = True


def _told(
    steps: Sequence[Mapping[str, Any]], openings: Sequence[Mapping[str, Any]]
) -> list[tuple[Any, ...]]:
    """Return all that each step tells: what to do, to which lengths, and where its opening is."""
    where = iter([opening["polygon"] for opening in openings])
    return [
        (
            step["kind"],
            step["say"],
            [mark["value"] for mark in step["marks"]],
            next(where, None) if step["kind"] == "opening" else None,
        )
        for step in steps
    ]


def _step(
    kind: str,
    say: str,
    *,
    noggins: Sequence[str] = (),
    pieces: Sequence[str] = (),
    boards: Sequence[str] = (),
    marks: Sequence[dict[str, Any]] = (),
) -> dict[str, Any]:
    return {
        "step": 0,
        "kind": kind,
        "say": say,
        "noggins": list(noggins),
        "pieces": list(pieces),
        "boards": list(boards),
        "marks": list(marks),
    }


def _ready() -> dict[str, Any]:
    return _step(
        "ready",
        "Lay the boards flat in the loft for a couple of days. Find cables and pipes and keep them"
        " clear. Walk on planks across the joists, never on the ceiling. Set out everything below"
        " the boards first: it cannot be reached later.",
    )


def _opening(opening: dict[str, Any]) -> dict[str, Any]:
    return _step("opening", opening["say"])


_LAPPED = (
    " Where those lap, each is two timbers that lap as well, and bear on what their neighbours lap"
    " over."
)


def _added(work: Work) -> dict[str, Any]:
    whole = [member for member in work.added if not work.tails[member.name]]
    cut = [member for member in work.added if work.tails[member.name]]
    said = []
    if whole:
        names = ", ".join(member.name for member in whole)
        said.append(
            f"Put in {names}, tops level with the joists beside them, borne at both ends as they"
            f" are.{_LAPPED if any(member.laps for member in whole) else ''}"
        )
    for member in cut:
        parts = enumerate(work.tails[member.name], start=1)
        names = ", ".join(f"{member.name}.{n} {_between(tail)}" for n, tail in parts)
        said.append(f"Cut {member.name} at the opening: {names}, tops level with the joists.")
    if cut:
        said.append("At a trimmer each end hangs in a hanger, nailed full.")
    return _step(
        "joist",
        " ".join(said),
        noggins=[member.name for member in work.added],
        marks=[mark for member in work.added for mark in _joist_marks(work, member)],
    )


def _between(tail: Tail) -> str:
    """Return from where to where a part of an added joist goes, in words."""
    near, far = tail.hangs
    if near and far:
        return f"between {near.id} and {far.id}"
    return f"from {near.id} to the far edge" if near else f"from the near edge to {far and far.id}"


def _joist_marks(work: Work, member: Member) -> list[dict[str, Any]]:
    """Return where an added joist goes, measured from the face of the one on its left."""
    left = next(m for m in work.ground.members if m.index == member.index and not m.added)
    face = "the start wall" if left.wall else f"{left.name}, the face towards the end wall"
    # Just outside a lap, where its neighbour is one timber alone.
    beside = [
        place for a, b in member.laps for place in zip((a - 1, b + 1), _LAP_ENDS, strict=True)
    ]
    near, far = zip((member.points[0][1], member.points[-1][1]), _ENDS, strict=True)
    spots = [near, *beside, far]
    # Between two trimmers it stands in line with its own tails, and its neighbour may be gone.
    tails = [tail for tail in work.tails[member.name] if not all(tail.hangs)]
    if tails:
        spots = [spot for tail in tails for spot in _ends_of(tail)]
    marks = []
    for y, where in spots:
        start, end = (left.right(y), y), (member.centre(y), y)
        marks.append(mark(face, f"{member.name}, centre", member.name, start, end, where))
    return marks


def _ends_of(tail: Tail) -> list[tuple[float, str]]:
    """Return where both ends of a part of an added joist lie [mm], and what they are called."""
    ends = zip((tail.low, tail.high), tail.hangs, _ENDS, strict=True)
    return [(y, f"where it meets {trimmer.id}" if trimmer else edge) for y, trimmer, edge in ends]


def _edge_of(outline: Polygon, x: float, *, near: bool) -> float:
    stretches = sections(outline, x)
    if not stretches:
        return float(outline.bounds[1] if near else outline.bounds[3])
    return stretches[0][0] if near else stretches[-1][1]


def _under(noggin: Noggin, low: float, high: float) -> bool:
    """Say whether a noggin lies under a course from ``low`` to ``high`` [mm], or its end does."""
    a, b = noggin.band
    ends = noggin.section.breadth / 2 + 0.1 if noggin.x is not None else 0.0
    return a - ends < high and b + ends > low


def _reaches(cleat: Cleat, low: float, high: float) -> bool:
    # One that ends where the course ends belongs to the next.
    half = cleat.length / 2 - _TOUCH
    return cleat.y - half < high and cleat.y + half > low


def _from_wall(work: Work, noggin: Noggin) -> dict[str, Any]:
    """Return where a noggin goes, measured from the near wall along a joist that it meets."""
    side = noggin.measured
    x, y = noggin.ends[side]
    wall = _edge_of(work.outline, x, near=True)
    to, along = f"{noggin.id}, centre", f"along {noggin.between[side]}"
    return mark("the near wall", to, noggin.id, (x, wall), (x, y), along)


def _from_joist(noggin: Noggin) -> dict[str, Any]:
    """Return where a timber along the joists goes, measured from the joist on its left."""
    member, y = noggin.bay.left, noggin.y
    face = "the start wall" if member.wall else f"{member.name}, the face towards the end wall"
    start, end = (member.right(y), y), (noggin.x or 0.0, y)
    return mark(face, f"{noggin.id}, centre", noggin.id, start, end)


def _strutting(work: Work) -> list[dict[str, Any]]:
    rows = [n for n in work.noggins if n.use == "strutting"]
    if not rows:
        return []
    say = "Fix the strutting between the joists, tops level, blocked to both walls."
    marks = [_from_wall(work, n) for n in rows]
    return [_step("strutting", say, noggins=[n.id for n in rows], marks=marks)]


def _edge_noggins(work: Work) -> list[dict[str, Any]]:
    """Return the step of the noggins under the deck's edges."""
    edge = [n for n in work.noggins if n.use == "perimeter"]
    if not edge:
        return []
    say = (
        f"Fix the noggins under the deck's edges, tops level with {work.tops}. Each is cut for its"
        " own bay: go by its number."
    )
    marks = [_from_wall(work, n) if n.x is None else _from_joist(n) for n in edge]
    return [_step("noggin", say, noggins=[n.id for n in edge], marks=marks)]


def _raise(work: Work, kind: str) -> list[dict[str, Any]]:
    """Return the step of the packers, or of the battens."""
    mine = [item for item in work.raised if item["kind"] == kind]
    if not mine:
        return []
    what = "packers on the low joists" if kind == "packer" else "battens on the joists"
    each = " ".join(dict.fromkeys(str(item["say"]) for item in mine))
    say = f"Fix the {what}, and check with a straightedge. {each}"
    marks = [_packer_mark(work, item) for item in mine if kind == "packer"]
    return [_step("raise", say, noggins=[item["id"] for item in mine], marks=marks)]


def _packer_mark(work: Work, item: Mapping[str, Any]) -> dict[str, Any]:
    y = float(item["y"])
    member = next(m for m in work.ground.joists if m.index == item["joist"] and not m.added)
    x = member.centre(y)
    wall = _edge_of(work.outline, x, near=True)
    to, along = f"{item['id']}, middle of the packer", f"along {member.name}"
    return mark("the near wall", to, item["id"], (x, wall), (x, y), along)


def _course(work: Work, course: Course, done: set[str]) -> list[dict[str, Any]]:
    """Return the steps of one course: first what it hides, then its pieces."""
    steps = []
    # Under the first course's tail and the last one's head the deck's own limit stops the look.
    low, high = course.reach
    frames = [n for n in work.noggins if n.use == "frame" and n.id not in done]
    under = [n for n in frames if _under(n, low, high)]
    # A piece along the joists is fixed at both its ends, and neither waits for a later course.
    held = {name for n in under if n.x is not None for name in n.between}
    under = [n for n in frames if n in under or n.id in held]
    cleats = [c for c in work.cleats if c.id not in done and _reaches(c, low, high)]
    after = [c for c in cleats if work.cures(c) and c.joint.course == course.index]
    cleats = [c for c in cleats if not work.cures(c)]
    # Beside a course that is laid, what is not fixed yet goes in from the open side.
    laid = all(piece.laid for piece in work.pieces if piece.course == course.index)
    beside = [n for n in under if laid and n.id not in work.fixed]
    under = [n for n in under if n not in beside]
    done |= {n.id for n in (*under, *beside)} | {c.id for c in (*cleats, *after)}
    if under or cleats:
        marks = [_from_wall(work, n) if n.x is None else _from_joist(n) for n in under]
        marks += [_cleat_mark(work, c) for c in cleats]
        steps.append(
            _step(
                "noggin",
                f"Before course {course.index + 1}: fix {_names(under, cleats)} under end joints.",
                noggins=[*(n.id for n in under), *(c.id for c in cleats)],
                marks=marks,
            )
        )
    return [*steps, _boards(work, course), *_cures(work, course, after), *_beside(work, beside)]


def _beside(work: Work, noggins: Sequence[Noggin]) -> list[dict[str, Any]]:
    """Return the step that puts in what reaches under a course that is laid."""
    if not noggins:
        return []
    marks = [_from_wall(work, n) if n.x is None else _from_joist(n) for n in noggins]
    say = f"Fix {_names(noggins, [])} from the open side, reaching under the edge of what is laid."
    return [_step("noggin", say, noggins=[n.id for n in noggins], marks=marks)]


def _cures(work: Work, course: Course, cleats: Sequence[Cleat]) -> list[dict[str, Any]]:
    """Return the step that puts right what landed off its bearing."""
    if not cleats:
        return []
    say = (
        f"Course {course.index + 1} landed off its bearing: fix {_names([], cleats)} under its end"
        " joints, glued and screwed, before anything else is laid. Where they cannot be reached"
        " from the open side, take up what lies beyond first."
    )
    marks = [_cleat_mark(work, c) for c in cleats]
    return [_step("noggin", say, noggins=[c.id for c in cleats], marks=marks)]


def _names(noggins: Sequence[Noggin], cleats: Sequence[Cleat]) -> str:
    return ", ".join([*(n.id for n in noggins), *(c.id for c in cleats)])


def _cleat_mark(work: Work, cleat: Cleat) -> dict[str, Any]:
    member = cleat.joint.zone.member
    name, x = (member.name if member else ""), cleat.joint.x
    wall = _edge_of(work.outline, x, near=True)
    start, end = (x, wall), (x, cleat.y)
    return mark("the near wall", f"{cleat.id}, middle", cleat.id, start, end, f"along {name}")


def _boards(work: Work, course: Course) -> dict[str, Any]:
    mine = [p for p in work.pieces if p.course == course.index]
    first = {use.id for use in work.boards if _opened(use, mine, work)}
    marks = [mark for piece in mine for mark in cuts(piece, work.board)]
    marks += _line(work, course)
    return _step(
        "course",
        " ".join(
            [
                _lay(work, course, mine),
                *_tongues(marks),
                *_butted(work, course),
                *_last(work, course),
            ]
        ),
        pieces=[p.id for p in mine],
        boards=sorted(first, key=lambda name: int(name[1:])),
        marks=marks,
    )


def _tongues(marks: Sequence[dict[str, Any]]) -> list[str]:
    """Return the warning where a tape hooks on the end of a board that has its tongue."""
    if not any(str(mark["hook"]).startswith("the right-hand end") for mark in marks):
        return []
    return ["At a right-hand end measure from the board's own edge, not from its tongue."]


def _opened(use: BoardUse, mine: Sequence[Piece], work: Work) -> bool:
    order = {piece.id: k for k, piece in enumerate(work.pieces)}
    first = min((need.id for need, _ in use.cut.pieces), key=lambda name: order[name])
    return any(piece.id == first for piece in mine)


def _lay(work: Work, course: Course, mine: Sequence[Piece]) -> str:
    there = ", ".join(p.id for p in mine if p.laid)
    names = ", ".join(f"{p.id} from {p.board}" for p in mine if not p.laid)
    if there and not names:
        return f"Course {course.index + 1} is laid: {there}."
    if there:
        return (
            f"Course {course.index + 1} is begun with {there}. Go on with {names}. Glue tongue,"
            " groove and supports, knock it up with a block, screw it down."
        )
    if course.index == 0:
        edge = "near" if work.near else "far"
        return (
            f"Lay course 1 along the {edge} edge, face up, tongue to the room, wedged"
            f" {work.gap:g} mm off the walls: {names}. Check it with a string: all others follow"
            " it."
        )
    return (
        f"Lay course {course.index + 1} from the start wall: {names}. Glue tongue, groove and"
        " supports, knock it up with a block, screw it down."
    )


def _butted(work: Work, course: Course) -> list[str]:
    """Return what to know where two sawn ends, or one and a groove, meet on a joist."""
    return [
        f"{joint.left} and {joint.right} meet without a tongue on {joint.zone.member.name}:"
        " glue both down to it and screw each by itself."
        for joint in work.joints
        if joint.butted and joint.course == course.index and joint.zone.member
    ]


def _last(work: Work, course: Course) -> list[str]:
    if course.index == 0 or course.index != work.courses[-1].index:
        return []
    return [
        (
            "It is the last course: there is no room to swing. Set each piece in at an angle,"
            " slide it on its tongue, and clamp it up with a pull bar before the next."
        )
    ]


def _line(work: Work, course: Course) -> list[dict[str, Any]]:
    """Return where the first course's leading edge is struck, measured at its two ends."""
    if course.index != 0:
        return []
    lead = course.y1 if work.near else course.y0
    hook = "the near wall" if work.near else "the far wall"
    out = []
    for member in (work.ground.joists[0], work.ground.joists[-1]):
        x = member.centre(lead)
        wall = _edge_of(work.outline, x, near=work.near)
        to, along = "leading edge of course 1", f"along {member.name}"
        out.append(mark(hook, to, "course 1", (x, wall), (x, lead), along))
    return out


def _finish() -> dict[str, Any]:
    return _step(
        "finish",
        "Leave the glue to set for a day before loading the deck. Take the wedges out: the gap at"
        " the walls stays open.",
    )
