"""How far the reconciling can be trusted, on simulated lofts: ``python -m tests.bench.trust``.

The simulation shares no formula with the engine: straight or skew joists in a plane, a tape whose
scale is drawn once, uniform graduation errors, a normal hand, whole millimetres, and slips drawn
with published shares (``tests/slips.py``). Prints a Markdown table. ``--lofts N`` for another
number than 5 000, ``--first-seed S`` to start elsewhere; every loft is its seed.
"""

from __future__ import annotations

import argparse
import json
import math
import random
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from typing import TYPE_CHECKING, Any

from baywalk import fieldbook
from baywalk.reconcile import reconcile
from tests.lofts import Loft, full_loft
from tests.slips import plant

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

Z95 = 1.959964


# --- reading plans ----------------------------------------------------------------------------


def _gaps(loft: Loft, lines: tuple[str, ...]) -> Loft:
    for line in lines:
        for bay in range(loft.n + 1):
            loft.gap(line, bay)
        loft.overall(line)
    for joist in range(1, loft.n + 1):
        loft.breadth_of(joist)
    return loft


def gaps_two(seed: int) -> Loft:
    """Gaps and overalls on two lines, each breadth once."""
    return _gaps(_loft(seed), ("near", "far"))


def gaps_one(seed: int) -> Loft:
    """Gaps and the overall on one line, each breadth once."""
    return _gaps(_loft(seed), ("near",))


def full(seed: int) -> Loft:
    """Gaps, running readings, overalls, breadths, two lengths along and two diagonals."""
    return full_loft(seed)


def walked(seed: int) -> Loft:
    """What a walk gives: gaps, overalls, breadths, a running reading every few joists, a cross."""
    loft = gaps_two(seed)
    for line in ("near", "far"):
        for joist in range(3, loft.n + 1, 3):
            loft.across(line, (0, "face"), (joist, "left"))
    return _cross(loft)


def running(seed: int) -> Loft:
    """Running readings to both faces of every joist, overalls, breadths, a cross."""
    loft = _loft(seed)
    for line in ("near", "far"):
        for joist in range(1, loft.n + 1):
            for face in ("left", "right"):
                loft.across(line, (0, "face"), (joist, face))
        loft.overall(line)
    for joist in range(1, loft.n + 1):
        loft.breadth_of(joist)
    return _cross(loft)


def _cross(loft: Loft) -> Loft:
    for joist in (1, loft.n):
        loft.along(joist)
    loft.diagonal((1, "near"), (loft.n, "far"))
    loft.diagonal((1, "far"), (loft.n, "near"))
    return loft


def _loft(seed: int) -> Loft:
    return Loft(seed, tape=random.Random(seed).choice(["I", "II", "III"]))


PLANS: dict[str, Callable[[int], Loft]] = {
    "gaps, running readings, overalls, two diagonals": full,
    "gaps and overalls, two lines": gaps_two,
    "gaps and overalls, one line": gaps_one,
    "a walk with a running reading every third joist": walked,
    "running readings to both faces": running,
}


# --- one loft ---------------------------------------------------------------------------------


def _survey(loft: Loft) -> dict[str, Any]:
    survey = loft.survey()
    if not any(e.get("line") == "far" for e in loft.entries):
        survey["runs"][0]["lines"] = ["near"]
    return survey


def _as_built(loft: Loft) -> dict[str, Any]:
    return reconcile(fieldbook.load_survey(json.dumps(_survey(loft))))["runs"][0]


def _holds(loft: Loft, run: dict[str, Any]) -> Iterator[bool]:
    """Say of each position whether its 95 % interval holds the truth."""
    for joist in run["joists"]:
        for line, at in joist["at"].items():
            if at["x"] is not None:
                true = (loft.near if line == "near" else loft.far)[joist["index"]]
                yield abs(at["x"] - true) <= Z95 * at["sd"]


def clean(plan: str, seed: int) -> Counter[str]:
    """Reconcile a sound survey: false suspects, coverage."""
    loft = PLANS[plan](seed)
    run = _as_built(loft)
    held = list(_holds(loft, run))
    return Counter(clean=1, false=bool(run["suspects"]), held=sum(held), positions=len(held))


def slipped(plan: str, seed: int, slips: int) -> Counter[str]:
    """Reconcile a survey with planted slips: found, first named, correction, calibration."""
    loft = PLANS[plan](seed)
    draw = random.Random(seed * 7919 + slips)
    planted: dict[str, dict[str, Any]] = {}
    while len(planted) < slips:
        untouched = [e for e in loft.entries if e["id"] not in planted]
        what = plant(untouched, draw)
        planted[what["id"]] = what
    run = _as_built(loft)
    out: Counter[str] = Counter({f"slips{slips}": 1})
    suspects = run["suspects"]
    out[f"found{slips}"] = bool(suspects)
    if suspects:
        first = suspects[0]
        right = first["reading"] in planted
        out[f"first{slips}"] = right
        # Nothing is said of what it would read where no other reading tells.
        if right and first["would_read"] is not None:
            off = abs(first["would_read"] - planted[first["reading"]]["right"])
            out[f"corrected{slips}"] = off <= 3
            out[f"exact{slips}"] = off < 0.5
    if slips == 1:
        # With more slips a name may be right for a slip other than the one it was given for.
        _weigh(out, suspects, planted)
    named = {s["reading"] for s in suspects}
    out[f"all{slips}"] = set(planted) <= named
    if slips == 1:
        out += _settled(loft, run, planted)
    return out


def _weigh(out: Counter[str], suspects: list[dict[str, Any]], planted: dict[str, Any]) -> None:
    """Count how often a likelihood was said, and how often it was right: the first, and every."""
    for which, names in (("first", suspects[:1]), ("every", suspects)):
        for suspect in names:
            tenth = min(int(suspect["likelihood"] * 10), 9)
            out[f"{which} said{tenth}"] += 1
            out[f"{which} true{tenth}"] += suspect["reading"] in planted


def _settled(loft: Loft, run: dict[str, Any], planted: dict[str, Any]) -> Counter[str]:
    """Follow the first advice once and twice; strike what is then named surely."""
    out: Counter[str] = Counter()
    for turn in (1, 2):
        if not run["suspects"] or not run["next_readings"]:
            return out
        _take(loft, run["next_readings"][0]["take"])
        run = _as_built(loft)
        if run["suspects"] and run["suspects"][0]["likelihood"] > 0.95:
            sure = run["suspects"][0]["reading"]
            struck = [e for e in loft.entries if e["id"] == sure]
            loft.entries.remove(struck[0])
            after = _as_built(loft)
            good = sure in planted and after["settled"]
            for k in range(turn, 3):
                out[f"settled{k}"] = good
            return out
    return out


def _take(loft: Loft, take: dict[str, Any]) -> None:
    """Take a reading that was advised, soundly."""
    if take["kind"] == "across":
        a, b = (tuple(take[end]) for end in ("from", "to"))
        loft.across(take["line"], *sorted((a, b)))
    elif take["kind"] == "breadth":
        loft.breadth_of(take["joist"])
    elif take["kind"] == "along":
        loft.along(take["joist"])
    else:
        loft.diagonal(tuple(take["from"]), tuple(take["to"]))


# --- the whole --------------------------------------------------------------------------------


def _job(job: tuple[str, int, int]) -> tuple[str, Counter[str]]:
    plan, seed, slips = job
    return plan, clean(plan, seed) if slips == 0 else slipped(plan, seed, slips)


def simulate(lofts: int, first_seed: int) -> dict[str, Counter[str]]:
    """Return the counts of each plan over ``lofts`` lofts, 0 to 3 slips in turn."""
    names = list(PLANS)
    share = [0, 1, 1, 0, 1, 2, 3, 1]
    jobs = [
        (names[i % len(names)], first_seed + i, share[(i // len(names)) % len(share)])
        for i in range(lofts)
    ]
    totals: dict[str, Counter[str]] = {name: Counter() for name in names}
    with ProcessPoolExecutor() as pool:
        for plan, counts in pool.map(_job, jobs, chunksize=20):
            totals[plan].update(counts)
    return totals


def _share(count: float, of: float) -> str:
    return "–" if not of else f"{100 * count / of:.1f} %"


def table(totals: dict[str, Counter[str]]) -> str:
    """Return the figures as Markdown tables."""
    head = (
        "| plan | lofts | false suspects | 95 % held | found | right first | within 3 mm "
        "| exact | settled 1 | settled 2 | 2 slips: first | 3 slips: first |"
    )
    lines = [head, "|" + "---|" * 12]
    for plan, c in totals.items():
        one = c["slips1"]
        lofts = c["clean"] + sum(c[f"slips{k}"] for k in (1, 2, 3))
        cells = [
            plan,
            str(lofts),
            _share(c["false"], c["clean"]),
            _share(c["held"], c["positions"]),
            _share(c["found1"], one),
            _share(c["first1"], one),
            _share(c["corrected1"], one),
            _share(c["exact1"], one),
            _share(c["settled1"], c["found1"]),
            _share(c["settled2"], c["found1"]),
            _share(c["first2"], c["slips2"]),
            _share(c["first3"], c["slips3"]),
        ]
        lines.append("| " + " | ".join(cells) + " |")
    return "\n".join([*lines, "", *_calibration(totals)])


def _calibration(totals: dict[str, Counter[str]]) -> list[str]:
    whole: Counter[str] = Counter()
    for counts in totals.values():
        whole.update(counts)
    lines = [
        "| likelihood said | first named | right | every name | right |",
        "|---|---|---|---|---|",
    ]
    for tenth in range(10):
        cells = [f"{10 * tenth}–{10 * tenth + 10} %"]
        for which in ("first", "every"):
            said, true = whole[f"{which} said{tenth}"], whole[f"{which} true{tenth}"]
            share = true / said if said else 0.0
            spread = 200 * math.sqrt(max(share * (1 - share), 1e-9) / max(said, 1))
            cells += [str(said), f"{100 * share:.0f} ± {spread:.0f} %" if said else "–"]
        lines.append("| " + " | ".join(cells) + " |")
    return lines


def main() -> None:
    """Run the bench and print its tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--lofts", type=int, default=5000)
    parser.add_argument("--first-seed", type=int, default=1)
    options = parser.parse_args()
    started = time.perf_counter()
    totals = simulate(options.lofts, options.first_seed)
    print(table(totals))
    print(f"\n{options.lofts} lofts in {time.perf_counter() - started:.0f} s.")


if __name__ == "__main__":
    main()
