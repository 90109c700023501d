"""How quick the walk is under the thumb, in a real Chromium slowed down four times.

    python -m tests.bench.walking

Prints JSON: touches for one length beyond its digits; from a key to the paint of it; the same for
Save, which brings the next dimension; from the touch on Save to "saved", which is said only once
the database has the entry on its disk. Times are in ms, the middle and the 95th percentile; the
browser rounds those to a paint to 8 ms. Let nothing else run meanwhile.
"""

from __future__ import annotations

import json
import statistics
import tempfile
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from tests.browser.walking import Walker, in_the_loft

SLOWER = 4
"""How many times the processor is slowed down: about a phone of the middle range."""

LENGTHS = [353, 47, 361, 47, 349, 47, 353, 47, 352, 47] * 3

_WATCH = """() => {
  window.paints = [];
  window.nexts = [];
  window.saves = [];
  window.touches = 0;
  new PerformanceObserver((list) => list.getEntries()
    .filter(({ interactionId, name }) => interactionId && name === "click")
    .forEach(({ duration, target }) => {
      const save = target?.textContent === "Save";
      (save ? window.nexts : window.paints).push(duration);
    }),
  ).observe({ type: "event", durationThreshold: 0 });
  let touched = null;
  document.addEventListener("click", (event) => {
    window.touches += 1;
    if (event.target.textContent === "Save") touched = performance.now();
  }, true);
  new MutationObserver(() => {
    if (touched === null || document.querySelector(".walk-saved").dataset.state !== "saved") return;
    window.saves.push(performance.now() - touched);
    touched = null;
  }).observe(document.querySelector(".walk-saved"), { attributes: true, childList: true });
}"""


def spread(times: list[float]) -> dict[str, float]:
    """Return how many, the middle and the 95th percentile [ms]."""
    cuts = statistics.quantiles(times, n=20)
    return {
        "count": len(times),
        "median": round(statistics.median(times), 1),
        "p95": round(cuts[-1], 1),
    }


def measure(place: Path) -> dict[str, Any]:
    """Walk thirty dimensions by touch and return the figures."""
    with sync_playwright() as playwright, in_the_loft(playwright, place) as phone:
        walker = Walker(phone).start().read(212, 47)
        phone.session(walker.page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        walker.page.evaluate(_WATCH)
        for length in LENGTHS:
            walker.read(length)
            walker.page.locator(".walk-saved[data-state='saved']").wait_for()
        walker.page.wait_for_timeout(300)
        paints, nexts, saves, touches = walker.page.evaluate("[paints, nexts, saves, touches]")
    digits = sum(len(str(length)) for length in LENGTHS)
    return {
        "slow_down": SLOWER,
        "touches_beyond_the_digits": (touches - digits) / len(LENGTHS),
        "key_to_paint_ms": spread(paints),
        "save_to_next_ms": spread(nexts),
        "save_to_saved_ms": spread(saves),
    }


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as place:
        print(json.dumps(measure(Path(place)), indent=2))


if __name__ == "__main__":
    main()
