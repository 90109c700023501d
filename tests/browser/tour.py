"""Every screen of the page, and how to come to it with the demo loft on the phone."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Page

    from tests.browser.driving import Phone, Service

DEMO = "451d31b4-55fd-432a-a70a-29fc108630f1"
"""The demo loft's id, as its fixture has it."""

SIZES = ((390, 844), (360, 640))
THEMES = ("light", "dark")

OUTSIDE = {
    "surveys": "/",
    "new-survey": "/new",
    "ready": "/ready",
    "settings": "/settings",
    "pair": "/pair",
    "phones": "/phones",
}
OF_SURVEY = {
    "survey": "",
    "walk": "/walk/A",
    "walk-at-a-bay": "/walk/A/8",
    "cross-checks": "/checks/A",
    "field-sheet": "/sheet/A",
    "closure": "/closure/A",
    "features": "/features/A",
    "field-book": "/book",
    "as-built": "/as-built",
    "stored": "/stored",
    "runs": "/runs",
}
PAPERS = {"plan": "/plan", "loads": "/loads", "laying": "/laying"}
"""What the service works out: they come last, for then the survey is settled first."""

SCREENS = {name: f"/#{path}" for name, path in OUTSIDE.items()} | {
    name: f"/#/s/{DEMO}{path}" for name, path in (OF_SURVEY | PAPERS).items()
}
"""Every screen by its name, with its address."""

_ROUTES = {
    "new-survey": "new",
    "cross-checks": "checks",
    "field-book": "fieldbook",
    "field-sheet": "sheet",
    "walk-at-a-bay": "walk",
}
_STANDS = {
    "ready": ".test",
    "phones": "main ul, main button",
    "pair": "main div > p",
    "walk-at-a-bay": ".sheet h2",
    "plan": "svg.deck",
    "loads": "main .verdict",
    "laying": ".step-words",
}
"""What is there once a screen stands, where its heading alone does not say so."""


def show(page: Page, url: str, name: str) -> None:
    """Come to a screen and wait until it stands."""
    _come_to(page, url, name)
    if name in _STANDS:
        page.locator(_STANDS[name]).first.wait_for()


def _come_to(page: Page, url: str, name: str) -> None:
    page.goto(url + SCREENS[name])
    page.wait_for_function("name => document.body.dataset.screen === name", arg=screen_of(name))
    page.locator("main h1").first.wait_for(state="attached")


def screen_of(name: str) -> str:
    """Return the router's own name of a screen."""
    return _ROUTES.get(name, name.replace("-", ""))


def go_round(phone: Phone, service: Service) -> Iterator[str]:
    """Show one screen after the other on a phone without anything; give the name of each."""
    page = bring_demo(phone)
    for name in SCREENS:
        if name == next(iter(PAPERS)):
            settle(service)
            bring_papers(phone)
        show(page, phone.url, name)
        yield name


def bring_demo(phone: Phone) -> Page:
    """Bring the demo loft from the service to the phone, with its as-built."""
    page = phone.open("/#/")
    page.get_by_role("button", name="Bring Demo loft (invented) to this phone").tap()
    page.get_by_role("heading", name="Demo loft (invented)", level=1).wait_for()
    page.goto(phone.url + SCREENS["as-built"])
    page.locator("svg.plan").wait_for()
    return page


def settle(service: Service) -> None:
    """Strike out the reading that stands against the others, as from another phone."""
    as_built = service.get(f"/api/surveys/{DEMO}/as-built")
    wrong = as_built["runs"][0]["suspects"][0]["reading"]
    entry = {
        "id": str(uuid.uuid4()),
        "at": "2026-10-18T09:00:00+01:00",
        "by": str(uuid.uuid4()),
        "n": 1000,
        "kind": "strike",
        "target": wrong,
        "reason": "digits swapped",
    }
    service.send(DEMO, [entry])


def bring_papers(phone: Phone) -> None:
    """Have plan and load check of the settled demo worked out, and wait for them on the phone."""
    page = phone.page
    for name, key in (("plan", "Plan it"), ("loads", "Check the joists")):
        # What the screen before it shows must not be taken for its own.
        _come_to(page, phone.url, name)
        stands = page.locator(_STANDS[name]).first
        # It comes by itself as well, and may be there already.
        asks = page.get_by_role("button", name=key, exact=True)
        stands.or_(asks).first.wait_for()
        if asks.is_visible():
            asks.tap()
        stands.wait_for(timeout=60_000)
