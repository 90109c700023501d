"""What the page may cost: bytes, touches, waits. ``python -m tests.bench.page`` prints the figures.

Bytes and touches are held to the letter. Times get three times their measure, for a test machine is
shared and the figures themselves come from a quiet one.
"""

from __future__ import annotations

import statistics
from typing import TYPE_CHECKING, Any

from baywalk.http import files
from baywalk.http.slim import packed
from tests.bench.line import Line
from tests.browser.driving import Phone, letting_phones_in, until
from tests.browser.tour import SCREENS, go_round
from tests.browser.walking import Walker

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from playwright.sync_api import Page, Playwright

    from tests.browser.driving import Service

WEIGHT = 100_000
"""The most that the whole page may take over the wire [bytes]; all three are our own aims."""

OFFLINE = 1_000
"""Start with no network, from the address to the first screen, slowed down four times [ms]."""

KEY = 50
"""From a key to its paint, slowed down four times [ms]; and the longest task at full speed."""

NOISE = 3
SLOWER = 4

FIRST_VISIT = (
    files.DOOR,
    "/door.js",
    "/sw.js",
    files.PACK,
    "/manifest.webmanifest",
    "/icons/icon-192.png",
)
"""What a first visit fetches; everything else of the page is in the pack."""

STANDS = """() => {
  const seen = () => document.querySelector("main h1")?.checkVisibility();
  const look = () => {
    if (!seen()) return requestAnimationFrame(look);
    requestAnimationFrame((at) => (window.stands = at));
  };
  requestAnimationFrame(look);
}"""

WATCH = """() => {
  window.waits = [];
  window.long = [];
  window.touches = 0;
  new PerformanceObserver((list) => list.getEntries()
    .filter(({ interactionId }) => interactionId)
    .forEach(({ duration }) => window.waits.push(duration)),
  ).observe({ type: "event", durationThreshold: 0 });
  new PerformanceObserver((list) => list.getEntries()
    .forEach(({ duration }) => window.long.push(duration)),
  ).observe({ type: "longtask" });
  document.addEventListener("pointerdown", () => (window.touches += 1), true);
}"""

LENGTHS = [353, 47, 361, 47, 365, 47, 353, 47]


def slow(phone: Phone, page: Page, rate: int) -> None:
    """Slow the page's own thread down."""
    phone.session(page).send("Emulation.setCPUThrottlingRate", {"rate": rate})


def test_what_a_first_visit_fetches_is_light() -> None:
    table = files.gather()
    weights = {path: len(packed(table[path].content, "br")) for path in FIRST_VISIT}
    assert sum(weights.values()) <= WEIGHT, weights


def test_the_whole_page_comes_over_the_wire_in_few_bytes(
    playwright: Playwright, service: Service, tmp_path: Path
) -> None:
    """All of it: headers, what the worker keeps, the first questions to the service."""
    with Line(service.port, delay=0, rate=1e9) as line:
        phone = Phone(playwright, tmp_path / "phone", service.url, proxy=line.proxy)
        page = phone.open()
        page.get_by_role("heading", name="Surveys", level=1).wait_for()
        until(page, "navigator.serviceWorker.controller")
        page.wait_for_timeout(1_000)
        kept = page.evaluate("caches.keys().then((names) => names.length)")
        phone.close()
    assert kept == 1
    assert 50_000 < line.bytes <= WEIGHT


def test_it_starts_soon_with_no_network(phone: Phone, service: Service) -> None:
    page = phone.open()
    until(page, "navigator.serviceWorker.controller")
    service.stop()
    times = []
    for _ in range(5):
        page = phone.restart()
        phone.context.set_offline(offline=True)
        page.add_init_script(f"({STANDS})()")
        slow(phone, page, SLOWER)
        phone.open()
        until(page, "window.stands")
        times.append(page.evaluate("window.stands"))
    assert statistics.median(times) <= OFFLINE * NOISE, times


def test_a_length_is_its_digits_and_one_touch_and_no_key_waits(phone: Phone) -> None:
    walker = Walker(phone).start().read(212, 47)
    walker.page.evaluate(WATCH)
    before = walker.asked()
    walker.read(*LENGTHS)
    walker.saved(str(LENGTHS[-1]))
    walker.page.wait_for_timeout(300)
    touches, long = walker.page.evaluate("[touches, long]")
    assert touches == sum(len(str(length)) + 1 for length in LENGTHS)
    assert walker.asked() != before
    assert [one["value"] for one in walker.entries("across", "breadth")][2:] == LENGTHS
    assert max(long, default=0) <= KEY * NOISE, long


def test_a_key_is_seen_at_once_on_a_slow_phone(phone: Phone) -> None:
    walker = Walker(phone).start().read(212, 47)
    slow(phone, walker.page, SLOWER)
    walker.page.evaluate(WATCH)
    for _ in range(8):
        walker.type(353).tap("Erase").tap("Erase").tap("Erase")
    walker.page.wait_for_timeout(300)
    waits = walker.page.evaluate("waits")
    assert len(waits) >= 40
    assert statistics.quantiles(waits, n=20)[-1] <= KEY * NOISE, sorted(waits)


def test_no_screen_asks_anything_of_another_origin(
    make_service: Callable[..., Service], make_phone: Callable[..., Phone]
) -> None:
    service = make_service("--demo", *letting_phones_in())
    phone = make_phone(service.url)
    asked: list[Any] = []
    phone.context.on("request", lambda request: asked.append(request.url))
    assert list(go_round(phone, service)) == list(SCREENS)
    assert len(asked) > 50
    assert [url for url in asked if not url.startswith((f"{service.url}/", "blob:"))] == []
