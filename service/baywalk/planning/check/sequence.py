"""The order of work: everything once, and nothing under a board after the board."""

from __future__ import annotations

import math
from collections import Counter
from typing import TYPE_CHECKING

from shapely.geometry import LineString
from shapely.ops import unary_union

from baywalk.planning.check.area import thin
from baywalk.planning.check.boards import strips

if TYPE_CHECKING:
    from baywalk.planning.check.scene import Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

RULE = "plan.sequence"


def check_sequence(scene: Scene, out: Verdicts) -> None:
    """Check the steps: numbered, whole, each thing before what hides it."""
    steps = scene.deck["sequence"]
    numbers = [step["step"] for step in steps]
    out.must(RULE, numbers == list(range(1, len(steps) + 1)), "the steps", "they are misnumbered")
    laid = _placed(steps, "pieces", scene.pieces, out)
    timber = {item["id"]: item for kind in ("noggins", "cleats") for item in scene.deck[kind]}
    fixed = _placed(steps, "noggins", timber, out)
    cut = _placed(steps, "boards", {b["id"]: b for b in scene.deck["boards"]}, out)
    _order(scene, steps, out)
    for board in scene.deck["boards"]:
        for name in (n for row in strips(board) for n in row):
            # Pieces of one board are laid in several courses; it is cut for the first of them.
            ready = cut.get(board["id"], math.inf) <= laid.get(name, math.inf)
            out.must(RULE, ready, name, f"it is laid before {board['id']} is cut")
    _hidden(scene, timber, fixed, laid, out)
    _packed(scene, steps, laid, out)
    _reached(scene, out)


def _placed(steps: list[Json], kind: str, known: dict[str, Json], out: Verdicts) -> dict[str, int]:
    """Return at which step each thing comes; everything must come once."""
    times = Counter(name for step in steps for name in step[kind] if name in known)
    for name in known:
        out.must(RULE, times[name] == 1, name, f"it comes {times[name]} times in the steps")
    return {name: step["step"] for step in steps for name in step[kind]}


def _order(scene: Scene, steps: list[Json], out: Verdicts) -> None:
    """Check that courses follow each other, and pieces each other within a course."""
    names = [n for step in steps for n in step["pieces"] if n in scene.pieces]
    courses = [scene.pieces[n]["course"] for n in names]
    out.must(RULE, courses == sorted(courses), "the steps", "courses are out of order")


def _reached(scene: Scene, out: Verdicts) -> None:
    """Check that no timber is still to be fixed wholly under what is laid."""
    laid = unary_union([scene.shapes[n] for n in scene.laid_pieces if n in scene.shapes])
    least = float(scene.pack["laid.reach"])
    for name, noggin in scene.noggins.items():
        if name in scene.fixed or laid.is_empty or noggin["use"] == "strutting":
            continue
        half = noggin["section"]["breadth"] / 2
        room = LineString(noggin["ends"]).buffer(half, cap_style="flat")
        open_ = thin(room.intersection(laid)) or not thin(room.difference(laid), least)
        out.must(RULE, open_, name, "it is to be fixed where boards are laid over it already")


def _packed(scene: Scene, steps: list[Json], laid: dict[str, int], out: Verdicts) -> None:
    """Check that every packer and batten is in place before what is set by it or lies on it."""
    own = {item["id"]: item for item in scene.deck["raise"]}
    added = {item["id"]: item for item in scene.deck["added_joists"]}
    placed = _placed(steps, "noggins", {**own, **added}, out)
    when = {name: step["step"] for step in steps for name in step["noggins"]}
    for name, item in own.items():
        joist = (item["joist"], item.get("added"))
        strip = (item["y"] - item["length"] / 2, item["y"] + item["length"] / 2)
        after = [*_set_by(scene, item, joist), *(p for p in laid if _over(scene, p, joist, strip))]
        for other in after:
            first = placed.get(name, math.inf) < laid.get(other, when.get(other, math.inf))
            out.must(RULE, first, name, f"{other} comes before it and stands on it or by it")
        if joist[1] is not None:
            there = when.get(scene.added_name(*joist), math.inf) < placed.get(name, math.inf)
            out.must(RULE, there, name, "the joist that it lies on is not there yet")


def _set_by(scene: Scene, item: Json, joist: tuple[int, int | None]) -> list[str]:
    """Return what has its top set by a packer or batten on a joist."""
    name = f"J{joist[0]}" if joist[1] is None else scene.added_name(joist[0], joist[1])
    packer = item["kind"] == "packer"
    # Strutting that nothing lies on stands between the joists, below any batten.
    fixed = [n for n in scene.deck["noggins"] if packer or n.get("raised")]
    out = [n["id"] for n in fixed if name in n["between"]]
    out += [c["id"] for c in scene.deck["cleats"] if (c["joist"], c.get("added")) == joist]
    if packer:
        battens = [b for b in scene.deck["raise"] if b["kind"] == "batten"]
        out += [b["id"] for b in battens if (b["joist"], b.get("added")) == joist]
        beside = (joist[0] - 1, joist[0])
        out += [a["id"] for a in scene.deck["added_joists"] if a["bay"] in beside]
    return out


def _over(
    scene: Scene, piece: str, joist: tuple[int, int | None], strip: tuple[float, float]
) -> bool:
    """Say whether a piece lies over a stretch of a joist."""
    number, added = joist
    line = scene.ground.joists[number] if added is None else scene.added[number, added]
    return not thin(line.strip(*strip).intersection(scene.shapes[piece]))


def _hidden(
    scene: Scene,
    timber: dict[str, Json],
    fixed: dict[str, int],
    laid: dict[str, int],
    out: Verdicts,
) -> None:
    """Check that what lies under a piece is fixed before the piece is laid."""
    for name, item in timber.items():
        ends = item.get("ends")
        if not ends:
            continue
        for other in item.get("between", ()):
            held = other not in timber or fixed.get(other, math.inf) <= fixed.get(name, math.inf)
            out.must(RULE, held, name, f"it is fixed to {other}, which is not there yet")
        ys = sorted((ends[0][1], ends[1][1]))
        half = item["section"]["breadth"] / 2
        low, high = ys[0] - half, ys[1] + half
        x0, x1 = sorted((ends[0][0], ends[1][0]))
        for piece, shape in scene.shapes.items():
            px0, py0, px1, py1 = shape.bounds
            # What is laid was there first: from its open side only its edge is reached under.
            if piece in scene.laid_pieces and name not in scene.fixed:
                continue
            if px0 < x1 + half and x0 - half < px1 and py0 < high and low < py1:
                before = fixed.get(name, math.inf) < laid.get(piece, math.inf)
                out.must(RULE, before, name, f"{piece} is laid over it before it is fixed")
    for joint in scene.deck["joints"]:
        held = joint["support"].get("cleat")
        if held:
            pair = {joint["left"], joint["right"]}
            # Under a joint that landed off its joist a cleat comes after its boards.
            if pair <= scene.laid_pieces:
                continue
            first = min(laid.get(name, math.inf) for name in pair)
            before = fixed.get(held, math.inf) < first
            out.must(RULE, before, held, "a board is laid over it before it is fixed")
