"""How long reconciling takes: ``python -m tests.bench.reconcile`` prints a small table.

An ordinary loft (20 joists, two lines, gaps, running readings, overalls, alongs, diagonals) beside
scipy.optimize.least_squares on the same model in the same run, taking turns; then the growth from
20 to 2 000 joists, and with the slips in one long run. Times are of the processor, one thread of
linear algebra for everybody.
"""

from __future__ import annotations

import datetime as dt
import gc
import json
import random
import statistics
import time
from typing import TYPE_CHECKING

from threadpoolctl import threadpool_limits

from baywalk import fieldbook, rules
from baywalk.reconcile import reconcile
from baywalk.reconcile.solve import solve
from tests.lofts import full_loft
from tests.references.plain_model import PlainModel
from tests.references.vector_model import VectorModel
from tests.slips import plant

if TYPE_CHECKING:
    from collections.abc import Callable

    Middle = Callable[[list[float]], float]

JOISTS = 20
LONGER = (20, 200, 2000)
LONG = 627
SLIPS = (0, 1, 2, 5, 10, 20)

Times = dict[str, float]


def contenders(joists: int = JOISTS) -> dict[str, Callable[[], object]]:
    """Return what is timed on one loft, by name."""
    data = full_loft(3, joists).survey()
    survey = fieldbook.load_survey(json.dumps(data))
    pack = rules.load()
    plain, vector = PlainModel(data), VectorModel(data)
    return {
        "ours, adjusted and every reading tested": lambda: solve(survey, pack),
        "ours, the whole as-built": lambda: reconcile(survey),
        "scipy, whole arrays, its own differences": vector.solve,
        "scipy, whole arrays, exact derivatives": lambda: vector.solve(exact=True),
        "scipy, a plain loop over the readings": plain.solve,
    }


def _seconds(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def in_turns(
    works: dict[str, Callable[[], object]], rounds: int, middle: Middle = statistics.median
) -> Times:
    """Return the time [s] of each, all of them taking turns; of all rounds the middle one."""
    times: dict[str, list[float]] = {name: [] for name in works}
    with threadpool_limits(1, user_api="blas"):
        for work in works.values():
            work()
        for _ in range(rounds):
            gc.collect()
            for name, work in works.items():
                times[name].append(_seconds(work))
    return {name: middle(values) for name, values in times.items()}


def growth(
    sizes: tuple[int, ...] = LONGER, rounds: int = 3, middle: Middle = statistics.median
) -> dict[int, float]:
    """Return the time [s] of a whole as-built by the number of joists."""
    surveys = {n: fieldbook.load_survey(json.dumps(full_loft(3, n).survey())) for n in sizes}
    times: dict[int, list[float]] = {n: [] for n in sizes}
    for _ in range(rounds):
        for n, survey in surveys.items():
            times[n].append(_seconds(lambda survey=survey: reconcile(survey)))  # type: ignore[misc]
    return {n: middle(values) for n, values in times.items()}


def slipped(slips: int, joists: int = LONG) -> tuple[float, int, int]:
    """Return the time [s] of a long run with slips, how many it holds that are named, and names."""
    loft, draw, planted = full_loft(3, joists), random.Random(3), set[str]()
    while len(planted) < slips:
        untouched = [e for e in loft.entries if e["id"] not in planted]
        planted.add(plant(untouched, draw)["id"])
    survey = fieldbook.load_survey(json.dumps(loft.survey()))
    start = time.process_time()
    named = {suspect["reading"] for suspect in reconcile(survey)["runs"][0]["suspects"]}
    return time.process_time() - start, len(named & planted), len(named)


def main() -> None:
    """Print the table."""
    readings = len(full_loft(3, JOISTS).entries)
    print(f"{dt.datetime.now(tz=dt.UTC):%d %B %Y}, {JOISTS} joists, {readings} readings\n")
    times = in_turns(contenders(), rounds=15)
    print("| what | ms | beside ours, tested | beside ours, whole |\n|---|---|---|---|")
    tested, whole = list(times.values())[:2]
    for name, seconds in times.items():
        print(f"| {name} | {1000 * seconds:.1f} | {seconds / tested:.1f} | {seconds / whole:.1f} |")
    print("\n| joists | whole as-built, ms | times the one before |\n|---|---|---|")
    before = None
    for joists, seconds in growth().items():
        ratio = f"{seconds / before:.1f}" if before else "–"
        print(f"| {joists} | {1000 * seconds:.0f} | {ratio} |")
        before = seconds
    print(f"\n| slips in {LONG} joists | whole as-built, s | named | names |\n|---|---|---|---|")
    for slips in SLIPS:
        seconds, right, names = slipped(slips)
        print(f"| {slips} | {seconds:.2f} | {right} | {names} |")


if __name__ == "__main__":
    main()
