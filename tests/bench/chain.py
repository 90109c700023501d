"""Takes strange lofts down the whole chain and counts what became of each step.

    python -m tests.bench.chain [FIRST LAST] [SECONDS]

Not part of the suite, which takes a few of them: it takes some minutes. It ends with 1 where a plan
breaks a rule.
"""

from __future__ import annotations

import sys
from collections import Counter

from tests.chain import walked


def main() -> int:
    """Take the lofts and print how often each outcome came about."""
    numbers = [float(word) for word in sys.argv[1:]]
    first, last = (int(n) for n in (numbers[:2] or (0, 200)))
    seconds = numbers[2] if len(numbers) > 2 else 1.0
    counts: Counter[tuple[str, str]] = Counter()
    for seed in range(first, last):
        for step, outcome in walked(seed, seconds).items():
            counts[step, outcome] += 1
            if outcome.startswith("broken"):
                print(f"{seed}: {step}: {outcome}")
    for (step, outcome), count in sorted(counts.items()):
        print(f"{count:5d}  {step}: {outcome}")
    return int(any(outcome.startswith("broken") for _, outcome in counts))


if __name__ == "__main__":
    sys.exit(main())
