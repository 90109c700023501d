"""Plans two hundred random lofts and says what the checker makes of each.

    python -m tests.bench.planning_random [lapped] [FIRST LAST] [SECONDS] [LENGTH, WIDTH OF BOARD]

Not part of the suite: it takes some minutes. It ends with 1 where a plan breaks a rule, or where a
loft is refused that can be boarded. With a board of one's own, short ones above all, some lofts
cannot be: those are only told. With ``lapped`` they are lofts whose joists lap over a beam, of
which some are refused for what lies over the lap.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections import Counter

from baywalk.planning import Choices, Refused, plan
from baywalk.rules import load
from tests.hanging import hanging_at_wall
from tests.planned import broken
from tests.planning_lofts import random_as_built, random_lapped


def main() -> int:
    """Plan the lofts and print one line for each that is not well, and the sums."""
    words = sys.argv[1:]
    on_beams = "lapped" in words
    loft = random_lapped if on_beams else random_as_built
    numbers = [float(word) for word in words if word != "lapped"]
    first, last = (int(n) for n in (numbers[:2] or (0, 200)))
    seconds = numbers[2] if len(numbers) > 2 else 1.0
    board = (numbers[3], numbers[4]) if len(numbers) > 4 else None
    times: list[float] = []
    gaps: list[float] = []
    wrong, refused = Counter[str](), Counter[str]()
    for seed in range(first, last):
        as_built = loft(seed)
        began = time.monotonic()
        try:
            made = plan(as_built, Choices(seconds=seconds, board=board))
        except Refused as error:
            refused[str(error)] += 1
            print(f"{seed}: refused: {error}")
            codes = [reason.code for reason in error.reasons]
            if on_beams or (board and codes in (["joint.crowded"], ["course.no_joint"])):
                continue
            at_wall = codes == ["opening.at_wall"] and hanging_at_wall(as_built, load())
            if not at_wall:
                wrong["refused"] += 1
                print(f"{seed}: a carpenter would board it")
            continue
        times.append(time.monotonic() - began)
        gaps += [deck["proof"]["gap"] for deck in made["decks"]]
        for rule, say in broken(made, as_built).items():
            wrong[rule] += 1
            print(f"{seed}: {rule}: {say}")
    closed = sum(gap <= 1e-4 for gap in gaps)
    print(
        f"{len(times)} planned, {sum(refused.values())} refused, {sum(wrong.values())} breaches;"
        f" {closed} of {len(gaps)} decks proven best, largest gap {max(gaps, default=0):.1%};"
        f" {statistics.median(times):.1f} s in the middle, {max(times):.1f} s at most"
    )
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
