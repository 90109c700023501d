"""How fast decks are laid out, beside one plain integer program of the same rules.

``python -m tests.bench.planning`` prints two tables: the layout of one deck beside the plain
program, given to the same open solver (HiGHS, through scipy) in the same run; and its growth from
10 to 1 000 m². Lofts are invented; movement gaps are left out, so that every deck is one problem.
"""

from __future__ import annotations

import argparse
import itertools
import random
import time
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from baywalk import rules
from baywalk.planning.area import areas
from baywalk.planning.asbuilt import sound
from baywalk.planning.board import choose
from baywalk.planning.choices import Choices, weights
from baywalk.planning.courses import courses
from baywalk.planning.ground import ground
from baywalk.planning.layout.lay import problem, stretches
from baywalk.planning.layout.problem import Problem, add_up
from baywalk.planning.layout.search import Found, search
from tests.unit.planning.loft import as_built

SIZES = (10, 30, 100, 300, 1000)
"""Areas of the growth table [m²]."""
BESIDE = (5, 10, 20, 30)
"""Areas laid out beside the plain program [m²]."""
PLAIN_SECONDS = 120.0
"""How long the plain program may take [seconds]."""


def loft(area: float, seed: int) -> dict[str, Any]:
    """Return an invented loft of about ``area`` [m²], a third wider than deep."""
    draw = random.Random(seed)
    depth = (area / 1.3) ** 0.5 * 1000
    width = 1.3 * depth
    spacing = draw.choice([400, 450])
    places, x = [], draw.uniform(100, 300)
    while x < width - 80:
        places.append(round(x + draw.gauss(0, 5), 1))
        # Now and then the spacing starts anew, as in a roof built in two parts.
        x += spacing + (draw.uniform(-100, 120) if draw.random() < 0.12 else 0)
    made = as_built(places, width, depth)
    made["runs"][0]["nominal"]["centres"] = spacing
    return made


def unbroken() -> rules.Pack:
    """Return the rules without a movement gap."""
    pack = rules.load()
    body = {name: vars(pack.rule(name)) for name in pack.ids()}
    body = {k: {f: v for f, v in b.items() if f != "id"} for k, b in body.items()}
    body["deck.movement.run"] = {**body["deck.movement.run"], "value": 1e9}
    return rules.Pack({"id": "bench", "rules": body})


def posed(area: float, seed: int) -> tuple[Problem, float, float]:
    """Return the layout of a loft as a problem, its real area [m²], and the seconds to pose it."""
    pack, choices = unbroken(), Choices()
    began = time.perf_counter()
    run = sound(loft(area, seed))["runs"][0]
    there = ground(run)
    (deck,) = areas(run, there, choices, pack, 600)
    chosen = choose([deck], there, choices, pack)
    weighed = weights(choices, pack, chosen.chosen.board)
    rows = courses(deck, chosen.ground, choices, pack, 600)
    shortest = 2 * run["nominal"]["centres"]
    found = stretches(
        rows, chosen.ground, chosen.chosen.board, weighed, pack, shortest=shortest, blocked=[]
    )
    whole = problem(found, weighed, pack, lambda ways: ways)
    return whole, deck.polygon.area / 1e6, time.perf_counter() - began


@dataclass(frozen=True)
class Plain:
    """What the plain program found: cost, bound and seconds."""

    cost: float
    bound: float
    seconds: float


def plain(whole: Problem, limit: float) -> Plain:
    """Lay a deck out by one plain integer program.

    One unknown for each course and place of its first joint, one for each pair of courses of which
    one may be started by what the other leaves, lengths held by a large constant, and one row for
    each two places of neighbouring courses whose joints come too near.
    """
    grid = whole.fine
    starts = np.concatenate([[0], np.cumsum([len(w) for w in grid.ways])])
    nodes, count = len(whole), int(starts[-1])
    pairs = list(itertools.product(range(nodes), repeat=2))
    rows: list[tuple[list[int], list[float], float, float]] = []
    for n in range(nodes):
        own = list(range(starts[n], starts[n + 1]))
        rows.append((own, [1.0] * len(own), 1.0, 1.0))
    for (a, b), clash in grid.clash.items():
        for i, j in zip(*np.nonzero(clash), strict=True):
            rows.append(([int(starts[a] + i), int(starts[b] + j)], [1.0, 1.0], -np.inf, 1.0))
    rows += _feeding(whole, starts, pairs)
    cost = np.concatenate(
        [
            *(
                grid.fixed[n] + whole.board * (grid.boards[n] + (grid.demand[n] > 0))
                for n in range(nodes)
            ),
            np.full(len(pairs), -whole.board),
        ]
    )
    row = [k for k, (columns, *_) in enumerate(rows) for _ in columns]
    column = [c for columns, *_ in rows for c in columns]
    value = [v for _, values, *_ in rows for v in values]
    matrix = coo_array((value, (row, column)), shape=(len(rows), count + len(pairs))).tocsc()
    low, high = (np.array([r[k] for r in rows]) for k in (2, 3))
    began = time.perf_counter()
    solved = milp(
        cost,
        constraints=LinearConstraint(matrix, low, high),
        integrality=np.ones(len(cost), np.int64),
        bounds=Bounds(0, 1),
        options={"time_limit": limit, "mip_rel_gap": 1e-9},
    )
    seconds = time.perf_counter() - began
    found = float(solved.fun) if solved.x is not None else float("inf")
    return Plain(found, float(solved.mip_dual_bound or 0), seconds)


def _feeding(
    whole: Problem, starts: np.ndarray, pairs: list[tuple[int, int]]
) -> list[tuple[list[int], list[float], float, float]]:
    """Return the rows of which course's rest may start which other."""
    grid, count = whole.fine, int(starts[-1])
    board = max(w.board for w in grid.ways)
    rows = []
    for k, (giver, taker) in enumerate(pairs):
        own = range(starts[taker], starts[taker + 1])
        other = range(starts[giver], starts[giver + 1])
        terms: dict[int, float] = dict(zip(own, grid.demand[taker], strict=True))
        for column, rest in zip(other, grid.rest[giver], strict=True):
            terms[column] = terms.get(column, 0.0) - float(rest)
        terms[count + k] = board
        rows.append((list(terms), list(terms.values()), -np.inf, board))
        # Only a course that is started by a part board takes a rest.
        fed = [c for c, d in zip(own, grid.demand[taker], strict=True) if d > 0]
        rows.append(([count + k, *fed], [1.0, *[-1.0] * len(fed)], -np.inf, 0.0))
    for node in range(int(len(pairs) ** 0.5)):
        for side in (0, 1):
            mine = [count + k for k, pair in enumerate(pairs) if pair[side] == node]
            rows.append((mine, [1.0] * len(mine), -np.inf, 1.0))
    return rows


def ours(whole: Problem, seconds: float) -> Found:
    """Lay a deck out by the planner."""
    return search(whole, seconds)


def beside() -> None:
    """Print the table beside the plain program."""
    print("| area m² | courses | planner s | cost | gap % | plain s | plain cost | times faster |")
    print("|---|---|---|---|---|---|---|---|")
    for k, area in enumerate(BESIDE):
        whole, real, _ = posed(area, k)
        mine = ours(whole, 10)
        other = plain(whole, PLAIN_SECONDS)
        proven = other.bound >= other.cost - 0.01
        print(
            f"| {real:.1f} | {len(whole)} | {mine.seconds:.2f} | {mine.cost:.2f}"
            f" | {100 * (mine.cost - mine.bound) / mine.cost:.2f}"
            f" | {other.seconds:.1f}{'' if proven else ' (not proven)'} | {other.cost:.2f}"
            f" | {other.seconds / mine.seconds:.0f} |",
            flush=True,
        )


def growth() -> None:
    """Print the growth from 10 to 1 000 m²."""
    print("| area m² | courses | boards | posing s | layout s | gap % |")
    print("|---|---|---|---|---|---|")
    for k, area in enumerate(SIZES):
        whole, real, posing = posed(area, 20 + k)
        mine = ours(whole, 10)
        boards = add_up(whole.fine, mine.choice).boards
        print(
            f"| {real:.0f} | {len(whole)} | {boards} | {posing:.2f} | {mine.seconds:.2f}"
            f" | {100 * (mine.cost - mine.bound) / mine.cost:.2f} |",
            flush=True,
        )


def main() -> None:
    """Print both tables, or the one asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("table", nargs="?", choices=["beside", "growth"])
    asked = parser.parse_args().table
    if asked != "growth":
        beside()
    if asked != "beside":
        growth()


if __name__ == "__main__":
    main()
