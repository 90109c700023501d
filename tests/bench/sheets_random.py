"""Makes every sheet of random lofts in every form, and says what is wrong with any.

    python -m tests.bench.sheets_random [FIRST LAST]

Small and huge lofts, skew ones, with openings, chimneys, laps, laid decks, packers, battens, one
bay, two runs, two decks, and titles in other scripts; on A4 and A3, in millimetres and in feet. Not
part of the suite: it takes some minutes. It ends with 1 where anything is found.
"""

from __future__ import annotations

import sys
import time
import traceback
from collections import Counter
from itertools import product
from typing import TYPE_CHECKING

from baywalk.sheets import PAPERS, UNITS, make, possible
from baywalk.sheets.catalogue import KINDS
from tests import sheet_checks, sheet_lofts, sheet_sources

if TYPE_CHECKING:
    from collections.abc import Iterator

    from baywalk.sheets import Source

_MANY = 400
"""A loft of more noggins is printed on A4 in millimetres and on A3 in feet alone."""


def found(source: Source) -> Iterator[str]:
    """Give what is wrong with any sheet of a loft, in any form."""
    both = list(product(PAPERS, UNITS))
    for name in possible(source):
        for paper, units in both[:: 3 if sum(len(d.noggins) for d in source.decks) > _MANY else 1]:
            sheet = make(name, source, sheet_sources.head(source, paper, units))
            rest = [*sheet_checks.pages(sheet), *sheet_checks.figures(sheet, source, units)]
            rest += [*sheet_checks.printed(sheet, units), *sheet_checks.filed(sheet)]
            yield from (f"{paper} {units}: {one}" for one in rest)
        if KINDS[name].drawn:
            yield from sheet_checks.dxf(source, name)
            yield from sheet_checks.features(source, name)
            yield from sheet_checks.ifc(source, name)


def main() -> int:
    """Make the sheets; print what is wrong, loft by loft, and the sums."""
    first, last = (int(word) for word in (sys.argv[1:3] or ("0", "60")))
    made, planned, wrong = Counter[str](), Counter[str](), Counter[str]()
    begun = time.process_time()
    for seed in range(first, last):
        kind, source = sheet_lofts.source(seed)
        made[kind] += 1
        planned[kind] += source.plan is not None
        try:
            bad = list(found(source))
        except Exception:  # what is raised is told, and the next loft made
            bad = [traceback.format_exc(limit=-3)]
        wrong[kind] += bool(bad)
        for one in bad:
            print(f"{seed} {kind}: {one}", flush=True)
    for kind, count in made.items():
        print(f"{kind:>10}: {count} lofts, {planned[kind]} planned, {wrong[kind]} with a fault")
    took = time.process_time() - begun
    sums = f"{made.total()} lofts, {planned.total()} planned, {wrong.total()} with a fault"
    print(f"{sums}; {took:.0f} s of one core")
    return int(bool(wrong.total()))


if __name__ == "__main__":
    sys.exit(main())
