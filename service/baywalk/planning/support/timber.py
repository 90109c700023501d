"""Timber cut from stock: which lengths to buy, and which cut comes from which.

One-dimensional cutting: every pattern that may be worth having is weighed by column generation,
whose bound proves the buying best, or says how far it may be from it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.optimize import LinearConstraint, linprog, milp

from baywalk.planning.refused import Reason, Refused

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from numpy.typing import NDArray

    from baywalk.planning.support.noggins import Section

    Floats = NDArray[np.float64]

Pattern = tuple[float, tuple[int, ...]]

_ROUNDS = 40
_SECONDS = 0.5


@dataclass(frozen=True)
class Saw:
    """What is lost of a length of stock [mm]: a ``kerf`` a cut, ``squaring`` at the end sawn first.

    Its other end is as rough as the first was, so the last piece has a cut after it as well.
    """

    kerf: float
    squaring: float = 0.0

    def takes(self, lengths: Iterable[float]) -> float:
        """Return how much of a length of stock pieces of such lengths take [mm]."""
        return self.squaring + sum(length + self.kerf for length in lengths)


@dataclass(frozen=True)
class Item:
    """Something to cut: the id of what it is for, and its ``length`` [mm]."""

    id: str
    length: float


@dataclass
class Stock:
    """One length of stock [mm] and what is cut from it."""

    length: float
    cuts: list[Item] = field(default_factory=list)

    def offcut(self, saw: Saw) -> float:
        """Return what is left [mm], saw cuts and the squaring of one end taken off."""
        return self.length - saw.takes(c.length for c in self.cuts)

    def holds(self, item: Item, saw: Saw) -> bool:
        """Say whether it has room for one more piece."""
        return self.offcut(saw) >= item.length + saw.kerf - 1e-6


@dataclass(frozen=True)
class Cutting:
    """All stock for one section, what is bought [mm] and the bound on it [mm]."""

    section: Section
    stock: tuple[Stock, ...]
    bound: float

    @property
    def bought(self) -> float:
        """Return what is bought [mm]."""
        return sum(s.length for s in self.stock)

    def json(self) -> dict[str, Any]:
        """Return how well it is cut."""
        longest = max((s.length for s in self.stock), default=1.0)
        bound = min(self.bound, self.bought)
        return {
            "section": self.section.json(),
            "lengths": len(self.stock),
            "lower_bound": int(np.ceil(bound / longest - 1e-9)),
            "bought": round(self.bought, 1),
            "bought_lower_bound": round(bound, 1),
            "optimal": bool(self.bought - bound < 1e-6),
        }


def cut_stock(
    section: Section, items: Sequence[Item], lengths: Sequence[float], saw: Saw
) -> Cutting:
    """Return how items are cut from stock of such lengths [mm], buying the least."""
    longest = max(lengths)
    for item in items:
        if saw.takes([item.length]) > longest:
            say = (
                f"{item.id} is {item.length:.0f} mm long, and the longest timber is {longest:g} mm,"
                f" of which {longest - saw.takes([0.0]):g} can be used."
            )
            raise Refused(Reason("timber.too_short", say))
    sizes = sorted({_cut(i) for i in items}, reverse=True)
    counts = np.array([sum(_cut(i) == s for i in items) for s in sizes], np.float64)
    greedy = _greedy(items, lengths, saw)
    # However it is cut, no length gives more of itself than the longest does.
    easy = sum((s + saw.kerf) * n for s, n in zip(sizes, counts, strict=True))
    easy = _rounded(easy * longest / (longest - saw.squaring), lengths)
    if sum(s.length for s in greedy) <= easy + 1e-6:
        return Cutting(section, tuple(greedy), easy)
    patterns = [_pattern(stock, sizes) for stock in greedy]
    bound, patterns = _generate(patterns, np.array(sizes), counts, lengths, saw)
    least = max(_rounded(bound, lengths), easy)
    best = greedy
    for found in _tries(patterns, counts, np.array(sizes), items, lengths, saw):
        if sum(s.length for s in best) <= least + 1e-6:
            break
        best = min(best, found, key=lambda stock: sum(s.length for s in stock))
    return Cutting(section, tuple(best), least)


def _tries(
    patterns: list[Pattern],
    counts: Floats,
    sizes: Floats,
    items: Sequence[Item],
    lengths: Sequence[float],
    saw: Saw,
) -> Iterator[list[Stock]]:
    """Give cuttings, the quick one first; the next is only made where that is not the best."""
    yield _rounded_down(patterns, counts, sizes, items, lengths, saw)
    exact = _whole(patterns, counts, sizes, items)
    if exact:
        yield exact


def _rounded(bound: float, lengths: Sequence[float]) -> float:
    """Return the least sum of whole stock lengths [mm] that is no less than the bound."""
    step = int(np.gcd.reduce([round(v) for v in lengths]))
    return float(np.ceil((bound - 1e-6) / step) * step) if step else bound


def _greedy(items: Sequence[Item], lengths: Sequence[float], saw: Saw) -> list[Stock]:
    """Return the best of cutting the longest first from each single length, ends trimmed down."""
    best: list[Stock] = []
    for length in sorted(lengths, reverse=True):
        if any(saw.takes([item.length]) > length for item in items):
            continue
        found = _first_fit(items, length, saw)
        for stock in found:
            used = saw.takes(c.length for c in stock.cuts)
            stock.length = min(v for v in lengths if v >= used - 1e-6)
        if not best or sum(s.length for s in found) < sum(s.length for s in best):
            best = found
    return best


def _first_fit(items: Sequence[Item], length: float, saw: Saw) -> list[Stock]:
    out: list[Stock] = []
    for item in sorted(items, key=lambda i: -i.length):
        home = next((s for s in out if s.holds(item, saw)), None)
        if home is None:
            home = Stock(length)
            out.append(home)
        home.cuts.append(item)
    return out


def _pattern(stock: Stock, sizes: Sequence[float]) -> Pattern:
    held = [_cut(c) for c in stock.cuts]
    return stock.length, tuple(held.count(s) for s in sizes)


def _generate(
    patterns: list[Pattern],
    sizes: Floats,
    counts: Floats,
    lengths: Sequence[float],
    saw: Saw,
) -> tuple[float, list[Pattern]]:
    """Return the bound [mm] of all cuttings, and the patterns found on the way to it."""
    patterns = list(dict.fromkeys(patterns))
    bound = float(np.dot(sizes, counts))
    for _ in range(_ROUNDS):
        cost = np.array([p[0] for p in patterns])
        use = np.array([p[1] for p in patterns], np.float64).T
        solved = linprog(cost, -use, -counts, method="highs")
        if not solved.success:
            return bound, patterns
        values = -solved.ineqlin.marginals
        fresh, ratio = _better(values, sizes, counts, lengths, saw)
        bound = max(bound, float(values @ counts) / max(ratio, 1.0))
        new = [p for p in fresh if p not in patterns]
        if ratio <= 1 + 1e-9 or not new:
            break
        patterns += new
    return bound, patterns


def _better(
    values: Floats, sizes: Floats, counts: Floats, lengths: Sequence[float], saw: Saw
) -> tuple[list[Pattern], float]:
    """Return patterns worth more than their stock, and the most that any is worth of its stock."""
    kerf = saw.kerf
    worth, took = _knapsack(values, sizes, counts, int(max(lengths) - saw.squaring), kerf)
    out, ratio = [], 1.0
    for length in lengths:
        room = int(worth[: int(length - saw.squaring) + 1].argmax())
        ratio = max(ratio, float(worth[room]) / length)
        if worth[room] > length * (1 + 1e-9):
            out.append((float(length), _trace(took, sizes, room, kerf)))
    return out, ratio


def _knapsack(
    values: Floats, sizes: Floats, counts: Floats, room: int, kerf: float
) -> tuple[Floats, list[tuple[int, int, NDArray[np.bool_]]]]:
    """Return the most value that each length [mm] of stock holds, and the bundles taken for it."""
    worth = np.zeros(room + 1)
    took = []
    for k, number in _bundles(counts):
        step = number * int(sizes[k] + kerf)
        if values[k] <= 0 or step > room:
            continue
        gain = worth[:-step] + number * values[k]
        better = np.zeros(room + 1, np.bool_)
        better[step:] = gain > worth[step:] + 1e-12
        worth[step:] = np.maximum(worth[step:], gain)
        took.append((k, number, better))
    return worth, took


def _bundles(counts: Floats) -> Iterator[tuple[int, int]]:
    """Give bundles of 1, 2, 4 … of each size that make up every number to its count."""
    for k, count in enumerate(counts):
        left, size = int(count), 1
        while left > 0:
            yield k, min(size, left)
            left -= size
            size *= 2


def _trace(
    took: list[tuple[int, int, NDArray[np.bool_]]], sizes: Floats, room: int, kerf: float
) -> tuple[int, ...]:
    pattern = [0] * len(sizes)
    for k, number, better in reversed(took):
        if better[room]:
            pattern[k] += number
            room -= number * int(sizes[k] + kerf)
    return tuple(pattern)


def _rounded_down(
    patterns: list[Pattern],
    counts: Floats,
    sizes: Floats,
    items: Sequence[Item],
    lengths: Sequence[float],
    saw: Saw,
) -> list[Stock]:
    """Return the whole part of the best mixture of patterns, and the rest cut greedily."""
    cost = np.array([p[0] for p in patterns])
    use = np.array([p[1] for p in patterns], np.float64).T
    solved = linprog(cost, -use, -counts, method="highs")
    times = (
        np.floor(solved.x + 1e-9)
        if solved.success and solved.x is not None
        else np.zeros(len(patterns))
    )
    stock = _filled(patterns, times, sizes, items)
    done = {id(item) for one in stock for item in one.cuts}
    rest = [item for item in items if id(item) not in done]
    return [*stock, *_greedy(rest, lengths, saw)]


def _whole(
    patterns: list[Pattern],
    counts: Floats,
    sizes: Floats,
    items: Sequence[Item],
) -> list[Stock] | None:
    """Return the least stock in whole numbers of the patterns known."""
    cost = np.array([p[0] for p in patterns])
    use = np.array([p[1] for p in patterns], np.float64).T
    solved = milp(
        cost,
        constraints=LinearConstraint(use, counts, np.inf),
        integrality=np.ones(len(patterns), np.int64),
        options={"time_limit": _SECONDS},
    )
    if solved.x is None:
        return None
    return _filled(patterns, np.round(solved.x), sizes, items)


def _filled(
    patterns: list[Pattern], times: Floats, sizes: Floats, items: Sequence[Item]
) -> list[Stock]:
    """Return stock cut by patterns so many times each, as long as there is something to cut."""
    left = {float(s): [i for i in items if _cut(i) == s] for s in sizes}
    out = []
    for pattern, count in zip(patterns, times, strict=True):
        for _ in range(int(count)):
            stock = Stock(pattern[0])
            for size, number in zip(sizes, pattern[1], strict=True):
                pool = left[float(size)]
                stock.cuts += [pool.pop(0) for _ in range(min(number, len(pool)))]
            out.append(stock)
    return [s for s in out if s.cuts]


def _cut(item: Item) -> float:
    """Return an item's length to the whole millimetre above, as it is planned [mm]."""
    return float(np.ceil(item.length - 1e-6))
