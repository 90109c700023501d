"""The page's own figures in a real Chromium: what goes over the wire, how soon it starts.

    python -m tests.bench.page

Prints a small Markdown table, with the figures of ``tests.bench.walking`` beneath. The first start
is over a line of 9 Mbit/s with 100 ms there and back, the processor slowed down four times; the
start with no network is from the phone's own store, the service ended and the browser started
afresh. Let nothing else run meanwhile.
"""

from __future__ import annotations

import statistics
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from playwright.sync_api import sync_playwright

from tests.bench.line import Line
from tests.bench.walking import SLOWER, measure
from tests.browser.driving import Phone, Service, until

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Playwright

DELAY = 0.1
"""There and back [s]."""

RATE = 9_000_000 / 8
"""Towards the phone [bytes/s]."""

TIMES = 5

_WATCH = """() => {
  const seen = () => document.querySelector("h1")?.checkVisibility();
  new MutationObserver((_, watch) => {
    if (!seen()) return;
    watch.disconnect();
    requestAnimationFrame(() => requestAnimationFrame((at) => (window.stands = at)));
  }).observe(document, { childList: true, subtree: true });
}"""


def start(phone: Phone) -> float:
    """Start the page in a slowed-down tab; return when its first screen stands [ms]."""
    page = phone.context.new_page()
    page.add_init_script(f"({_WATCH})()")
    session = phone.session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    page.goto(phone.url)
    until(page, "window.stands", 60)
    stands: float = page.evaluate("window.stands")
    session.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    until(page, "navigator.serviceWorker.controller", 60)
    page.wait_for_timeout(1_000)
    page.close()
    return stands


def once(playwright: Playwright, place: Path) -> tuple[float, int, float]:
    """Return first start [ms], the bytes of it, and the start with no network [ms]."""
    service = Service(place / "data")
    with Line(service.port, delay=DELAY, rate=RATE) as line:
        phone = Phone(playwright, place / "phone", service.url, proxy=line.proxy)
        first, size = start(phone), line.bytes
        service.stop()
        phone.restart()
        offline = start(phone)
        phone.close()
    return first, size, offline


def starts() -> Iterator[tuple[float, int, float]]:
    """Yield what :func:`once` gives, several times, each on a fresh phone."""
    for _ in range(TIMES):
        with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
            yield once(playwright, Path(place))


def figures() -> list[tuple[str, str]]:
    """Measure, and return the rows of the table."""
    first, size, offline = zip(*starts(), strict=True)
    with tempfile.TemporaryDirectory() as place:
        walk = measure(Path(place))
    rows = [
        ("the whole page kept, over the wire", f"{statistics.median(size) / 1000:.1f} kB"),
        (f"first start, {SLOWER}× slower, 9 Mbit/s, 100 ms", f"{statistics.median(first):.0f} ms"),
        (f"start with no network, {SLOWER}× slower", f"{statistics.median(offline):.0f} ms"),
    ]
    return rows + [(name.replace("_", " "), str(value)) for name, value in walk.items()]


def main() -> None:
    """Print the table."""
    print("| what | measured |\n| --- | --- |")
    for what, value in figures():
        print(f"| {what} | {value} |")


if __name__ == "__main__":
    main()
