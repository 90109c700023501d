"""The layout's parts against searching through everything, on cases small enough for that."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest

from baywalk.planning.choices import Weights
from baywalk.planning.layout.bound import Prices, priced
from baywalk.planning.layout.cutting import LEFT, MIDDLE, RIGHT, WHOLE, Need, cut
from baywalk.planning.layout.exact import solve
from baywalk.planning.layout.offcuts import match, unmatched
from baywalk.planning.layout.patterns import Limits, places, ways
from baywalk.planning.layout.pieces_bound import pieces_bound
from baywalk.planning.layout.problem import NEVER, Problem, add_up, finer, grid, through, walk_all
from baywalk.planning.layout.search import search
from baywalk.planning.layout.stagger import clash
from baywalk.planning.layout.zones import FRAME, JOIST, Zone

WEIGHTS = Weights(board=15.0, frame=11.75, cleat=4.7, cut=1.2, short=17.0)
BOARD, KERF, APART = 2400.0, 3.0, 300.0


def course(seed: int, width: float):
    """Return the ways to lay a course over joists that stray, with frames between them."""
    draw = random.Random(seed)
    spots, x = [], draw.uniform(150, 400)
    while x < width - 100:
        step = draw.choice([400, 400, 400, 450, 520])
        spots.append(Zone(x - 5, x + 5, JOIST, 0.0))
        spots.append(Zone(x + 60, x + step - 60, FRAME, WEIGHTS.frame))
        x += step
    return ways(
        Limits(0, width, 800, width - 800, 300, (False, False)), spots, BOARD, WEIGHTS, short=False
    )


def problem(seed: int, courses: int, width: float = 5100) -> Problem:
    """Return a small problem: a chain of courses over the same joists."""
    wide = [course(seed, width) for _ in range(courses)]
    fine = [places(w, KERF) for w in wide]
    pairs = list(itertools.pairwise(range(courses)))
    return Problem(
        wide=grid(wide, pairs, APART, KERF),
        fine=grid(fine, pairs, APART, KERF),
        chains=(tuple(range(courses)),),
        board=WEIGHTS.board,
        kerf=KERF,
        apart=APART,
    )


def cost(problem: Problem, choice) -> float:
    """Return what a choice of the fine grid costs; endless where joints clash."""
    total = add_up(problem.fine, choice)
    return NEVER if total.clashes else total.fixed + problem.board * total.boards


def everything(problem: Problem) -> float:
    """Return the least cost of all choices of the fine grid."""
    ranges = [range(len(w)) for w in problem.fine.ways]
    return min(cost(problem, choice) for choice in itertools.product(*ranges))


@pytest.mark.parametrize("seed", range(6))
def test_the_search_finds_what_searching_through_everything_finds(seed: int) -> None:
    """Two courses of a few dozen ways each."""
    whole = problem(seed, 2)
    found = search(whole, 5)
    assert found.cost == pytest.approx(everything(whole))
    assert found.bound <= found.cost + 1e-9


@pytest.mark.parametrize("seed", range(4))
def test_no_bound_is_above_any_plan(seed: int) -> None:
    """Prices drawn at random: the walk never costs more than a real plan."""
    whole = problem(seed, 3)
    draw = np.random.default_rng(seed)
    best = search(whole, 3)
    for _ in range(20):
        lengths = np.sort(draw.uniform(0, BOARD, 6))
        steps = draw.dirichlet(np.ones(6)) * whole.board * draw.uniform(0, 1)
        prices = Prices(whole.board, lengths, steps)
        least, _ = walk_all(whole, whole.wide, lambda n, p=prices: priced(whole.wide, p, n))
        assert least <= best.cost + 1e-6
    assert pieces_bound(whole) <= best.cost + 1e-6


@pytest.mark.parametrize("seed", range(4))
def test_the_integer_program_agrees(seed: int) -> None:
    """The same ways, another method."""
    whole = problem(seed, 4)
    keep = [np.arange(len(w)) for w in whole.fine.ways]
    choice, bound = solve(whole, whole.fine, keep, 20)
    assert choice is not None
    found = search(whole, 5)
    assert cost(whole, choice) == pytest.approx(found.cost)
    assert bound <= found.cost + 1e-6


def test_sums_through_each_way_hold_the_least_of_all() -> None:
    """The least of them is the walk itself, at every node."""
    whole = problem(1, 4)
    least, _ = walk_all(whole, whole.wide, lambda n: whole.wide.fixed[n])
    for sums in through(whole, whole.wide, lambda n: whole.wide.fixed[n]):
        assert sums.min() == pytest.approx(least)


@pytest.mark.parametrize("parts", [1, 4])
def test_a_finer_grid_leaves_no_place_out(parts: int) -> None:
    """A bound from stretches holds only as long as they still cover every place."""
    whole = problem(2, 5)
    every = [np.arange(len(w)) for w in whole.wide.ways]
    fine = finer(whole, every, parts)
    for wide, cut_up in zip(whole.wide.ways, fine.ways, strict=True):
        length = (wide.high - wide.low).sum()
        assert (cut_up.high - cut_up.low).sum() == pytest.approx(length)
        assert length > 0
    _, bound = solve(whole, fine, [np.arange(len(w)) for w in fine.ways], 20)
    assert bound <= search(whole, 20).cost + 1e-6


@pytest.mark.parametrize("seed", range(4))
def test_the_last_bound_is_above_no_plan(seed: int) -> None:
    """The program of stretches, on widths where the walks leave a gap, beside that of places."""
    whole = problem(seed, 4, width=4300 + 130 * seed)
    every = [np.arange(len(w)) for w in whole.fine.ways]
    least, _ = solve(whole, whole.fine, every, 20)
    assert least is not None
    for seconds in (0.3, 2.0):
        assert search(whole, seconds).bound <= cost(whole, least) + 1e-6


def test_a_stretch_clashes_only_where_every_place_in_it_does() -> None:
    """Wide ways let in at least what their single places let in."""
    wide = course(3, 5100)
    fine = places(wide, KERF)
    home = [
        int(np.flatnonzero((wide.low <= x + 1e-9) & (wide.high >= x - 1e-9))[0]) for x in fine.low
    ]
    apart = ~clash(fine, fine, APART)
    for a, b in itertools.product(range(len(fine)), repeat=2):
        if apart[a, b]:
            joints = [
                abs(x - y)
                for x in fine.low[a] + BOARD * np.arange(fine.joints[a])
                for y in fine.low[b] + BOARD * np.arange(fine.joints[b])
            ]
            assert min(joints, default=APART) >= APART
            assert not clash(wide, wide, APART)[home[a], home[b]]


@pytest.mark.parametrize("seed", range(20))
def test_matching_is_as_large_as_can_be(seed: int) -> None:
    """Hall's count and the greedy matching, against trying every order."""
    draw = random.Random(seed)
    demands = [draw.uniform(300, 2000) for _ in range(draw.randint(0, 5))]
    rests = [draw.uniform(300, 2000) for _ in range(draw.randint(0, 5))]
    most = max(
        (
            sum(r >= d for d, r in zip(order, rests, strict=False))
            for order in itertools.permutations(
                [*demands, *[9999.0] * max(len(rests) - len(demands), 0)]
            )
        ),
        default=0,
    )
    pairs = match(demands, rests)
    assert sum(k >= 0 for k in pairs) == most
    assert unmatched(np.array(demands), np.array(rests))[0] == len(demands) - most
    taken = [k for k in pairs if k >= 0]
    assert len(taken) == len(set(taken))
    assert all(rests[k] >= d for d, k in zip(demands, pairs, strict=True) if k >= 0)


def test_pieces_sawn_at_both_ends_go_between() -> None:
    """700 + 600 + 1000 and two saw cuts fill 2306 of one board."""
    needs = [Need("a", 700, LEFT), Need("b", 600, RIGHT), Need("m", 1000, MIDDLE)]
    (only,) = cut(needs, BOARD, KERF)
    assert [(need.id, at) for need, at in only.pieces] == [("a", 0), ("m", 703), ("b", 1800)]
    # Free is what lies between the middle piece and the right one, less a cut at each side.
    assert only.offcut(BOARD, KERF) == pytest.approx(1800 - 1703 - 2 * KERF)


def test_a_whole_board_is_a_board() -> None:
    """And leaves nothing."""
    (only,) = cut([Need("w", BOARD, WHOLE)], BOARD, KERF)
    assert only.offcut(BOARD, KERF) == 0


def test_a_short_stretch_is_one_piece() -> None:
    """No joint, one saw cut, and noggins all round where it is under two bays."""
    single = ways(Limits(0, 700, 800, -100, 300, (False, False)), [], BOARD, WEIGHTS, short=False)
    assert (len(single), single.single, int(single.short[0])) == (1, 700, 1)
    assert single.weight[0] == pytest.approx(WEIGHTS.cut + WEIGHTS.short)


def test_nothing_to_rest_on_means_no_way() -> None:
    """A course longer than a board and no joist at all."""
    limits = Limits(0, 3000, 800, 2200, 300, (False, False))
    assert len(ways(limits, [], BOARD, WEIGHTS, short=False)) == 0
