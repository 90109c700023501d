"""A browser killed right after it said "saved", again and again: every reading is there.

    python -m tests.bench.kills [--kills 200]

There is no service and no network meanwhile: the page starts from what the phone stored, a length
is typed and saved by touch in the walk, and as soon as the page says that it is saved, every
process of the browser is killed (SIGKILL). Started again on the same profile, a fresh look into
the database must find each reading that was ever said to be saved, once and in its order. In the
end the service comes back, and must get the same.

Prints JSON: how many kills, how many readings were there after their kill, how many the service has
in the end, and the time from "saved" to the last process killed [ms]. Ends with 1 where one is
missing or there twice.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
import tempfile
import time
from itertools import cycle, islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from playwright.sync_api import sync_playwright

from tests.browser.driving import OPEN_BOOK, Phone, Service, until, wait_for
from tests.browser.walking import Walker, head

if TYPE_CHECKING:
    from playwright.sync_api import Playwright

LENGTHS = (353, 47, 361, 46, 349, 48, 356, 47, 352, 45)
"""What is typed, over and over [mm]: clear gaps and breadths in turn, as the walk asks for them."""
A_SURVEY = 20
"""How many readings a survey gets before the next one is made [-]."""


def measure(playwright: Playwright, place: Path, kills: int) -> dict[str, Any]:
    """Kill the browser so many times and return the figures."""
    service = Service(place / "service")
    phone = Phone(playwright, place / "phone", service.url)
    try:
        until(phone.open(), "navigator.serviceWorker.controller")
        service.kill()
        walkers, there, times = _kill_on(phone, kills)
        service.start()
        phone.open()
        arrived = sum(_arrived(service, one, values) for one, values in walkers.items())
    finally:
        phone.close()
        service.stop()
    return {
        "kills": kills,
        "there_after_the_kill": there,
        "at_the_service_in_the_end": arrived,
        "saved_to_killed_ms": {
            "median": round(statistics.median(times)),
            "most": round(max(times)),
        },
    }


def _kill_on(phone: Phone, kills: int) -> tuple[dict[str, list[int]], int, list[float]]:
    """Save, kill and look; return the readings by survey, how many stayed, and the times [ms]."""
    surveys: dict[str, list[int]] = {}
    there, times = 0, []
    for number, value in enumerate(islice(cycle(LENGTHS), kills)):
        if number % A_SURVEY == 0:
            surveys[_new_survey(phone)] = []
        survey, values = list(surveys.items())[-1]
        Walker(phone, survey).open().read(value).saved(str(value))
        said = time.perf_counter()
        phone.kill()
        times.append((time.perf_counter() - said) * 1000)
        values.append(value)
        phone.restart()
        there += _kept(phone, survey) == values
    return surveys, there, times


def _new_survey(phone: Phone) -> str:
    """Make a survey on the phone and return its id."""
    new = head()
    phone.open().evaluate(OPEN_BOOK)
    phone.page.evaluate("(head) => book.createSurvey(head)", new)
    return str(new["id"])


def _kept(phone: Phone, survey: str) -> list[int]:
    """Return the readings of a survey as a fresh look into the database finds them."""
    phone.open().evaluate(OPEN_BOOK)
    found: list[int] = phone.page.evaluate(
        """async (id) => (await book.openSurvey(id)).entries
          .filter(({ kind }) => ["across", "breadth"].includes(kind)).map(({ value }) => value)""",
        survey,
    )
    return found


def _arrived(service: Service, survey: str, values: list[int]) -> int:
    """Return how many of the readings the service has, each counted once, when it has got them."""

    def entries() -> list[dict[str, Any]]:
        known = [one["id"] for one in service.get("/api/surveys")["surveys"]]
        return service.entries(survey) if survey in known else []

    wait_for(lambda: len(entries()) >= len(values), 60)
    found = [one["value"] for one in entries() if one["kind"] in ("across", "breadth")]
    return len(found) if found == values else 0


def main() -> int:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--kills", type=int, default=200)
    kills = parser.parse_args().kills
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        figures = measure(playwright, Path(place), kills)
    print(json.dumps(figures, indent=2))
    whole = figures["there_after_the_kill"] == figures["at_the_service_in_the_end"] == kills
    return 0 if whole else 1


if __name__ == "__main__":
    sys.exit(main())
