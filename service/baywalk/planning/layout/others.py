"""Other plans worth knowing: the one with fewest boards and the one with fewest frames."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from baywalk.planning.choices import Weights
from baywalk.planning.layout.bound import chosen
from baywalk.planning.layout.lay import boards as count_boards
from baywalk.planning.layout.lay import problem, rows
from baywalk.planning.layout.problem import Problem, add_up
from baywalk.planning.layout.search import Found, search

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.choices import Board
    from baywalk.planning.layout.cutting import Held
    from baywalk.planning.layout.lay import Stretch
    from baywalk.planning.layout.patterns import Ways
    from baywalk.rules import Pack

_MANY = 20_000.0
"""Outweighs every other thing where one thing alone is to be fewest [-]."""
_TINY = 1e-4
"""Weighs so little that it only decides between plans otherwise alike [-]."""
_SHARE = 0.15


@dataclass(frozen=True)
class Fewest:
    """The search for fewest boards and the number that no plan goes below.

    ``by_length`` is what no plan goes below however its courses are parted.
    """

    problem: Problem
    found: Found
    bound: int
    by_length: int


def boards_bound(
    stretches: Sequence[Stretch],
    board: Board,
    pack: Pack,
    seconds: float,
    held: Sequence[Held] = (),
) -> Fewest:
    """Return the search for fewest boards; what joints weigh decides between plans alike.

    ``held`` are boards that were begun.
    """

    def weigh(ways: Ways) -> Ways:
        return replace(ways, weight=ways.weight * _TINY)

    alone = problem(stretches, Weights(1.0, 0, 0, 0), pack, weigh, held)
    found = search(alone, max(seconds * _SHARE, 0.1))
    tiny = _TINY * sum(float(s.ways.weight.max()) for s in stretches)
    by_walk = math.ceil(found.bound - tiny - 1e-6)
    # However it is cut, a board holds no more than its own length of pieces.
    length = sum(s.segment.x1 - s.segment.x0 for s in stretches)
    # A board that is laid may be a hair longer than it should be.
    length -= sum(max(n.length - board.length, 0.0) for one in held for n, _ in one.pieces)
    by_length = math.ceil(length / board.length - 1e-6)
    return Fewest(alone, found, max(by_walk, by_length), by_length)


def alternatives(
    stretches: Sequence[Stretch],
    fewest: Fewest,
    weights: Weights,
    best: dict[str, Any],
    pack: Pack,
    seconds: float,
    held: Sequence[Held] = (),
) -> list[dict[str, Any]]:
    """Return the plans with fewest boards and fewest frames, where they differ from the best."""
    out = []
    if fewest.found.choice:
        row = _row("fewest_boards", stretches, fewest.problem, fewest.found, weights, held)
        if row["boards"] < best["boards"]:
            out.append(row | {"boards_lower_bound": fewest.bound})
    if best["counts"]["frames"]:
        other = _frames(stretches, weights, pack, seconds, held)
        if other and other["frames"] < best["counts"]["frames"]:
            out.append(other)
    return out


def _frames(
    stretches: Sequence[Stretch],
    weights: Weights,
    pack: Pack,
    seconds: float,
    held: Sequence[Held],
) -> dict[str, Any] | None:
    def weigh(ways: Ways) -> Ways:
        return replace(ways, weight=ways.weight + _MANY * ways.frames)

    alone = problem(stretches, weights, pack, weigh, held)
    found = search(alone, max(seconds * _SHARE, 0.1))
    if not found.choice:
        return None
    bound = max(math.floor(found.bound / _MANY + 1e-9), 0)
    row = _row("fewest_frames", stretches, alone, found, weights, held)
    return row | {"frames_lower_bound": bound}


def _row(
    name: str,
    stretches: Sequence[Stretch],
    whole: Problem,
    found: Found,
    weights: Weights,
    held: Sequence[Held],
) -> dict[str, Any]:
    grid = whole.fine
    laid = rows(stretches, whole, found.choice)
    boards = add_up(grid, found.choice).boards
    if held:
        # What is left of boards begun is only a bound in the sum: here it is cut from them.
        boards = count_boards(laid, stretches[0].ways.board, whole.kerf, held)
    counts = {key: chosen(grid, found.choice, key) for key in ("frames", "cleats", "cuts", "short")}
    cost = (
        weights.board * boards
        + weights.frame * counts["frames"]
        + weights.cleat * counts["cleats"]
        + weights.cut * counts["cuts"]
        + weights.short * counts["short"]
    )
    places = [{"course": r.stretch.course, "x": round(x, 3)} for r in laid for x, _ in r.joints]
    what = "boards" if name == "fewest_boards" else "frames"
    return {
        "name": name,
        "boards": boards,
        **counts,
        "cost": round(cost, 4),
        "joints": places,
        "say": f"With fewest {what}: {boards} boards, {counts['frames']} frames,"
        f" {counts['cleats']} cleats, {counts['cuts']} sawn ends.",
    }
