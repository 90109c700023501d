"""Plans random lofts, lets accidents happen while they are laid, and plans each again from there.

    python -m tests.bench.relaying [FIRST LAST] [SECONDS]

Not part of the suite: it takes some minutes. It ends with 1 where a plan breaks a rule, where a
laid piece is not kept, or where a refusal does not say what to do.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections import Counter

from baywalk.planning import Choices, Refused, failed, plan, plan_again
from tests.accidents import accident, strayed
from tests.planning_lofts import random_as_built


def main() -> int:
    """Plan the lofts anew and print one line for each that is not well, and the sums."""
    numbers = [float(word) for word in sys.argv[1:]]
    first, last = (int(n) for n in (numbers[:2] or (0, 200)))
    seconds = numbers[2] if len(numbers) > 2 else 1.0
    refused, told, times, wrong, planned, more = Counter[str](), Counter[str](), [], 0, 0, 0
    for seed in range(first, last):
        as_built = random_as_built(seed)
        try:
            made = plan(as_built, Choices(seconds=seconds))
        except Refused:
            told["loft refused at first"] += 1
            continue
        laid = accident(seed, made)
        began = time.monotonic()
        try:
            again = plan_again(as_built, made, laid)
        except Refused as error:
            refused[error.reasons[0].code] += 1
            print(f"{seed}: refused: {error}")
            continue
        times.append(time.monotonic() - began)
        faults = [*strayed(made, again, laid), *failed(again)]
        planned += not faults
        told["with a cleat as cure"] += any(d["changes"]["cures"] for d in again["decks"])
        more += bool(again["changes"]["buy_more"])
        for say in faults:
            wrong += 1
            print(f"{seed}: {say}")
    print(
        f"{planned} planned again, every laid piece kept; {sum(refused.values())} refused"
        f" ({', '.join(f'{code} {n}' for code, n in refused.most_common())}); {dict(told)};"
        f" boards to buy more in {more}; {wrong} breaches;"
        f" {statistics.median(times):.1f} s in the middle, {max(times):.1f} s at most"
    )
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
