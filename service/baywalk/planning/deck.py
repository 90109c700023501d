"""One connected deck, from its area to its last screw: the steps of planning in their order."""

from __future__ import annotations

import statistics
from typing import TYPE_CHECKING, Any

from shapely import LineString, Polygon

from baywalk.planning import cautions
from baywalk.planning.board import thickness_json
from baywalk.planning.bought import bought
from baywalk.planning.choices import Weights, weights
from baywalk.planning.courses import Course, courses, go_on, start
from baywalk.planning.deck_json import outlined, supported
from baywalk.planning.floor import Floor
from baywalk.planning.laid.boards import held_boards, reserved
from baywalk.planning.laid.changes import changes
from baywalk.planning.laid.fit import draw_in
from baywalk.planning.laid.rows import as_before, as_laid, begun_rows
from baywalk.planning.laid.timber import fixed_ids, fixed_noggins, named_as_before, reachable
from baywalk.planning.layout.butted import Resort
from baywalk.planning.layout.lay import Layout, Stretch, cheaper, crowded, lay, stretches
from baywalk.planning.layout.others import alternatives, boards_bound
from baywalk.planning.layout.patterns import limits
from baywalk.planning.layout.zones import zones
from baywalk.planning.pieces import Piece, own_ends, pieces, saw
from baywalk.planning.proof import proof
from baywalk.planning.refused import Refused
from baywalk.planning.sequence import sequence
from baywalk.planning.steps.work import Work
from baywalk.planning.support.build import set_out
from baywalk.planning.support.frames import butted, joints

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.courses import Segment
    from baywalk.planning.layout.cutting import Held
    from baywalk.planning.layout.patterns import Limits
    from baywalk.planning.layout.zones import Zone
    from baywalk.planning.task import Task
    from baywalk.rules import Pack

_BESIDE = 10.0
"""Boards that share less of a laid deck's end than this do not lie beside it [mm]."""


def plan_deck(task: Task, name: str) -> dict[str, Any]:
    """Return the plan of one deck as JSON data; raise ``Refused`` where there is none."""
    pack, board = task.pack, task.board
    laid = _courses(task)
    weight = weights(task.choices, pack, board)
    held = held_boards(task.held, pack) if task.held else []
    found, layout = _layout(task, laid, weight, held)
    fewest = boards_bound(found, board, pack, task.seconds, held)
    parted = any(stretch.butted for stretch in found)
    if not parted:
        # In a short time the search for fewest boards may find what costs less as well.
        layout = cheaper(layout, found, fewest.found.choice, board, weight, pack, held)
    floor = _floor(task, laid, layout, held)
    out: dict[str, Any] = {"id": name, "run": task.run["id"]}
    out |= outlined(task)
    out |= {
        "thickness": thickness_json(task.choice, task.area, pack),
        "laid_from": "near" if floor.near else "far",
    }
    out |= supported(floor)
    out |= bought(floor)
    out["sequence"] = sequence(_work(floor))
    bound = fewest.by_length if parted else fewest.bound
    out["proof"] = proof(layout, floor.pieces, floor.joints, floor.boards, weight, bound)
    out["alternatives"] = []
    if not parted:
        # With courses parted elsewhere there may be others still: nothing is told of these.
        out["alternatives"] = alternatives(
            found, fewest, weight, out["proof"], pack, task.seconds, held
        )
    if task.held:
        out["changes"] = changes(task.held, out)
    out["checks"] = []
    out["cautions"] = cautions.of_deck(
        task.run,
        task.area,
        [member for member in task.added if not task.tails(member)],
        [member for member in task.added if task.tails(member)],
        floor.under.span_read,
        any(n.use == "strutting" for n in floor.under.noggins),
        task.openings,
        pack,
    )
    return out


def _courses(task: Task) -> list[Course]:
    """Return the courses, those of which something is laid where they lie."""
    pack, width, held = task.pack, task.board.width, task.held
    if held is None or not held.rows:
        return courses(task.area, task.ground, task.choices, pack, width)
    draw_in(task.area, held, pack)
    return go_on(task.area, task.ground, pack, width, (held.base, *held.leads))


def _floor(task: Task, laid: Sequence[Course], layout: Layout, begun: Sequence[Held]) -> Floor:
    """Return the deck that a layout makes: pieces sawn from boards, and the timber below them."""
    pack, board, held = task.pack, task.board, task.held
    near, turned = _near(task), _turned(task)
    parts = pieces(layout.rows, laid, pack, near=turned)
    if held:
        as_laid(parts, held)
    taken = reserved(held) if held else ()
    uses = saw(parts, board, pack, task.choices.had, begun, taken)
    own_ends([p for p in parts if not p.laid], board, _ends(pack, near=turned))
    joined = butted(joints(layout.rows, _names(layout, parts)), parts)
    fixed = fixed_noggins(held, task.ground, pack) if held else []
    under = set_out(
        task.run, task.area.polygon, task.ground, pack, laid, parts, joined, task.openings, fixed
    )
    if held:
        under = named_as_before(under, held.earlier)
        reachable(under, parts, fixed_ids(held), pack)
    return Floor(task, laid, parts, uses, joined, under, near)


def _layout(
    task: Task, laid: Sequence[Course], weight: Weights, held: Sequence[Held]
) -> tuple[list[Stretch], Layout]:
    """Return the layout without short pieces, or with some, or with butted ends as a last resort.

    Each only where there is no other. Once boards are laid, no course is parted any more.
    """
    why = Refused(crowded(task.pack))
    for short in (False, True):
        try:
            found = _stretches(task, laid, weight, short=short)
        except Refused as reason:
            why = reason
            break
        layout = lay(found, task.board, weight, task.pack, task.seconds, task.progress, held)
        if layout:
            return found, layout
    last = None if task.held else _resort(task, laid, weight).layout(task.seconds)
    if last is None:
        raise why
    return last


def _resort(task: Task, laid: Sequence[Course], weight: Weights) -> Resort:
    """Return the search for a layout in which courses are parted on joists."""
    beside = _laid_ends(task)

    def spots(segment: Segment) -> list[Zone]:
        blocked = _blocked(task)
        return zones(segment, task.ground, task.pack, weight, blocked, task.openings, beside)

    def bounds(segment: Segment) -> Limits:
        return limits(segment, task.ground, task.pack, shortest(task.run, task.pack))

    tongue = _ends(task.pack, near=_turned(task))[0] == "tongue"
    return Resort(laid, spots, bounds, task.board, weight, task.pack, tongue_left=tongue)


def _near(task: Task) -> bool:
    """Say whether the deck is laid from its near edge on."""
    held = task.held
    return held.near if held and held.rows else start(task.area, task.choices) == "near"


def _turned(task: Task) -> bool:
    """Say whether boards lie as they do from the near edge on, groove towards it."""
    return _near(task) != (task.area.laid is not None and task.area.laid.edge == "groove")


def _blocked(task: Task) -> list[Polygon]:
    """Return where no frame finds room: obstacles and trimmers."""
    features = {f["id"]: f["feature"] for f in task.run["features"]}
    blocked = [shape for name, shape in task.area.blocked if features[name] == "obstacle"]
    return blocked + task.trimmed()


def _stretches(
    task: Task, laid: Sequence[Course], weight: Weights, *, short: bool
) -> list[Stretch]:
    blocked, least = _blocked(task), shortest(task.run, task.pack)
    begun = begun_rows(task, laid, weight, least, blocked) if task.held else []
    there = {(one.course, one.segment): one.stretch for one in begun}
    found = stretches(
        laid,
        task.ground,
        task.board,
        weight,
        task.pack,
        shortest=least,
        blocked=blocked,
        openings=task.openings,
        ends=[*_laid_ends(task), *(end for one in begun for end in one.ends())],
        short=short,
        fixed=there,
    )
    return as_before(found, task.held) if task.held else found


def _laid_ends(task: Task) -> list[tuple[float, float, float]]:
    """Return x and both ys [mm] of each end of a deck already laid that boards will lie beside."""
    out = []
    reach = task.area.polygon.buffer(1)
    for feature in task.run["features"]:
        if feature["feature"] == "laid" and feature.get("polygon"):
            x0, y0, x1, y1 = Polygon(feature["polygon"]).bounds
            sides = ((x, LineString([(x, y0), (x, y1)])) for x in (x0, x1))
            out += [(x, y0, y1) for x, side in sides if reach.intersection(side).length > _BESIDE]
    return out


def shortest(run: dict[str, Any], pack: Pack) -> float:
    """Return the shortest piece [mm]: two bays of the usual centres, or of the middle ones."""
    usual = run["nominal"]["centres"]
    if usual is None:
        line = run["lines"][0]
        found = [bay["at"][line]["centres"] for bay in run["bays"] if line in bay["at"]]
        middle = [centres for centres in found if centres is not None]
        usual = statistics.median(middle) if middle else 0.0
    return float(pack["board.shortest.bays"] * usual)


def _ends(pack: Pack, *, near: bool) -> tuple[str, str]:
    right = (pack["board.tongue"] == "right") == near
    return ("groove", "tongue") if right else ("tongue", "groove")


def _names(layout: Layout, parts: Sequence[Piece]) -> dict[int, list[str]]:
    """Return the ids of the pieces of each row, in order."""
    names, at = {}, 0
    for place, row in enumerate(layout.rows):
        count = len(row.joints) + 1
        names[place] = [piece.id for piece in parts[at : at + count]]
        at += count
    return names


def _work(floor: Floor) -> Work:
    task = floor.task
    return Work(
        outline=Polygon(task.run["outline"]),
        ground=task.ground,
        board=task.board,
        courses=floor.courses,
        pieces=floor.pieces,
        boards=floor.boards,
        joints=floor.joints,
        noggins=sorted(floor.under.noggins, key=lambda noggin: noggin.number),
        frames=floor.under.frames,
        cleats=floor.under.cleats,
        added=task.added,
        tails={member.name: task.tails(member) for member in task.added},
        raised=floor.raised,
        openings=floor.openings,
        near=floor.near,
        gap=task.area.gap,
        fixed=frozenset(fixed_ids(task.held)) if task.held else frozenset(),
        earlier=task.held.earlier if task.held else None,
    )
