"""The proof: is the cost added up rightly, and does no bound stand above what is possible?"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

from baywalk.planning.check.joints import bearing
from baywalk.planning.check.strength import short
from baywalk.planning.check.verdicts import EXACT

if TYPE_CHECKING:
    from baywalk.planning.check.scene import Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

RULE = "plan.proof"
SHARE = 1e-4
"""The share of a cost that no one would look for a better plan for [-]."""
CENT = 0.011
"""How far a cost may be from its bound and still have reached it."""
HALF_CENT = 0.0049
"""Less than half a cent is nothing, less what four decimals of cost and bound round away."""


def counts(scene: Scene) -> dict[str, int]:
    """Return what a deck's cost is added up from, counted in the plan."""
    deck = scene.deck
    return {
        "short": len(short(scene)),
        "boards": sum(not board["had"] for board in deck["boards"]),
        "had": sum(board["had"] for board in deck["boards"]),
        "frames": len(deck["frames"]),
        # A cleat that something crosses is in parts, and is one cleat all the same.
        "cleats": len({cleat["joint"] for cleat in deck["cleats"]}),
        "cuts": sum((p["left"] == "cut") + (p["right"] == "cut") for p in deck["pieces"]),
        "butted": sum(joint["butted"] for joint in deck["joints"]),
    }


def check_proof(scene: Scene, out: Verdicts) -> None:
    """Check counts, cost, bounds and what is claimed of them."""
    proof, own = scene.deck["proof"], counts(scene)
    # Counts are taken from the plan's own lists, never from its totals.
    for name, value in own.items():
        out.same(
            RULE, proof["counts"].get(name, value), value, "the proof", f"the number of {name}", 0
        )
    boards = len(scene.deck["boards"])
    out.same(RULE, proof["boards"], boards, "the proof", "the number of boards", 0)
    weights = proof["weights"]
    cost = sum(
        own[name] * weights.get(weight, 0)
        for name, weight in (
            ("boards", "board"),
            ("had", "had"),
            ("frames", "frame"),
            ("cleats", "cleat"),
            ("cuts", "cut"),
            ("short", "short"),
        )
    )
    out.same(RULE, proof["cost"], cost, "the proof", "the cost", 0.02)
    _weights(scene, out)
    out.at_most(RULE, proof["boards_lower_bound"], boards, "the proof", "The bound on boards")
    out.at_most(RULE, proof["cost_lower_bound"], proof["cost"], "the proof", "The bound on cost")
    gap = (proof["cost"] - proof["cost_lower_bound"]) / proof["cost"] if proof["cost"] else 0.0
    out.same(RULE, proof["gap"], gap, "the proof", "the gap", 0.001)
    apart = proof["cost"] - proof["cost_lower_bound"]
    # From half a cent to a ten-thousandth of the cost either may be said.
    near = apart <= CENT + SHARE * proof["cost"] if proof["optimal"] else apart > HALF_CENT
    out.must(RULE, near, "the proof", "it is said to be closed, or not to be")
    # Boards cover area: fewer than that many would prove too little, so the bound is at least so.
    off = scene.off(scene.pieces)
    area = (scene.board["length"] + off) * (scene.board["width"] + off)
    least = math.ceil(scene.area.area / area - 1e-6)
    out.at_least(RULE, proof["boards"], least, "the proof", "The number of boards")
    out.at_least(RULE, proof["boards_lower_bound"], least, "the proof", "The bound on boards")
    names = [other["name"] for other in scene.deck["alternatives"]]
    out.must(RULE, len(names) == len(set(names)), "the other plans", "one is given twice")
    for other in scene.deck["alternatives"]:
        _alternative(other, proof, out)
        _joints(scene, other, out)


def _weights(scene: Scene, out: Verdicts) -> None:
    """Check the weight of each thing by the prices of the pack, or those asked for."""
    weights, board = scene.deck["proof"]["weights"], scene.board
    prices = scene.plan["choices"]["prices"]

    def value(rule: str) -> float:
        return float(prices.get(rule.removeprefix("price."), scene.pack[rule]))

    by_thickness = scene.pack["price.board"]
    known = by_thickness.get(f"{board['thickness']:g}")
    # The person's own price is of a board, the pack's of a square metre.
    own = prices.get("board")
    if own is None and known is not None:
        own = known * board["length"] * board["width"] / 1e6
    if own is not None:
        out.same(RULE, weights["board"], own, "the proof", "the weight of a board", 0.02)
    out.same(RULE, weights["had"], weights["board"], "the proof", "the weight of a board had")
    minute, metre = value("price.minute"), value("price.timber")
    for name in ("frame", "cleat", "short"):
        own = value(f"price.minutes.{name}") * minute + value(f"price.metres.{name}") * metre
        out.same(RULE, weights[name], own, "the proof", f"the weight of a {name}", 0.02)
    own = value("price.minutes.cut") * minute
    out.same(RULE, weights["cut"], own, "the proof", "the weight of a cut", 0.02)


def _alternative(other: Json, proof: Json, out: Verdicts) -> None:
    where = other["name"].replace("_", " ")
    weights = proof["weights"]
    out.at_least(RULE, other["cost"], proof["cost_lower_bound"], where, "Its cost")
    if not proof["counts"]["had"]:
        cost = (
            other["boards"] * weights["board"]
            + other["frames"] * weights["frame"]
            + other["cleats"] * weights["cleat"]
            + other["cuts"] * weights["cut"]
            + other.get("short", 0) * weights.get("short", 0)
        )
        out.same(RULE, other["cost"], cost, where, "its cost", 0.02)
    name = other["name"].removeprefix("fewest_")
    own = proof["boards"] if name == "boards" else proof["counts"]["frames"]
    out.at_most(RULE, other[name], own, where, f"Its number of {name}")
    bound = other.get(f"{name}_lower_bound")
    if bound is not None:
        out.at_most(RULE, bound, other[name], where, f"Its bound on {name}")


def _joints(scene: Scene, other: Json, out: Verdicts) -> None:
    """Check where another plan has its joints: their supports, their stagger."""
    where = other["name"].replace("_", " ")
    limit, off = scene.pack["joint.bearing"] - EXACT, 0
    rows: dict[int, list[float]] = {}
    for joint in other["joints"]:
        course = scene.courses.get(joint["course"])
        if not out.must(RULE, course, where, "a joint lies in no course") or course is None:
            return
        rows.setdefault(joint["course"], []).append(joint["x"])
        spot = {"x": joint["x"], "y0": course["y0"], "y1": course["y1"]}
        off += not any(min(bearing(line, spot)) >= limit for line in scene.joists)
    held = other["frames"] + other["cleats"]
    out.same(RULE, held, off, where, "the number of frames and cleats", 0)
    _reach(scene, rows, where, out)
    for index, row in rows.items():
        for a in row:
            for b in rows.get(index + 1, ()):
                apart = scene.pack["joint.stagger"]
                out.at_least(RULE, abs(a - b), apart, where, "The distance of its joints [mm]")


def _reach(scene: Scene, rows: dict[int, list[float]], where: str, out: Verdicts) -> None:
    """Check that no piece of another plan would be longer than a board, or be none."""
    most = scene.board["length"] + scene.off(scene.pieces)
    for index, course in scene.courses.items():
        for start, stop in course["segments"]:
            inside = sorted(x for x in rows.get(index, ()) if start < x < stop)
            places = [start, *inside, stop]
            for a, b in pairwise(places):
                out.at_most(RULE, b - a, most, where, "A piece of it")
                out.must(RULE, b - a > 1, where, "two of its joints are one")
