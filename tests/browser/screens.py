"""Make a picture of every screen at two sizes in both themes: ``python -m tests.browser.screens``.

It starts the service with the demo in a folder of its own, brings the demo loft to a phone and goes
round. Pictures are PNG, named ``<screen>-<width>x<height>-<theme>.png``. With ``--readme`` it
makes only the few that README shows, in ``docs/pictures``.
"""

from __future__ import annotations

import argparse
import io
import tempfile
from collections.abc import Callable
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image
from playwright.sync_api import sync_playwright

from tests.browser.driving import Phone, Service, chromium, letting_phones_in
from tests.browser.tour import (
    PAPERS,
    SCREENS,
    SIZES,
    THEMES,
    bring_demo,
    bring_papers,
    settle,
    show,
)

if TYPE_CHECKING:
    from playwright.sync_api import Page

Scene = Callable[["Page", str], None]
Wanted = dict[tuple[tuple[int, int], str], dict[str, str]]
"""For each size and theme the screens to take, each with its file's name."""


def _as_built(page: Page, url: str) -> None:
    """Show the as-built once the service has answered."""
    show(page, url, "as-built")
    page.get_by_text("Worked out by the service").wait_for()


def _measuring(page: Page, url: str) -> None:
    """Show a cross-check that is being taken, with something typed."""
    show(page, url, "cross-checks")
    page.get_by_role("button", name="J6, near line to far line").tap()
    for digit in "2899":
        page.get_by_role("button", name=digit, exact=True).tap()


def _striking(page: Page, url: str) -> None:
    """Show the question before an entry is struck out."""
    show(page, url, "field-book")
    page.get_by_role("button", name="Strike out: near line, J4 right to J5 left").tap()


def _walking(page: Page, url: str) -> None:
    """Show the walk in the middle of a run: a new survey with its first bays read."""
    page.goto(f"{url}/#/new")
    page.get_by_label("Name of the survey").fill("Back loft (invented)")
    page.get_by_label("Usual breadth").fill("47")
    page.get_by_label("Usual depth").fill("147")
    page.get_by_role("button", name="Make the survey").tap()
    page.get_by_role("link", name="Walk run A").first.tap()
    for value in ("208", "46", "354", "47", "353", "46", "357", "47"):
        for digit in value:
            page.get_by_role("button", name=digit, exact=True).tap()
        page.locator(".key.save").tap()
    page.get_by_role("button", name="3", exact=True).tap()
    page.get_by_role("button", name="5", exact=True).tap()


def _code(page: Page, url: str) -> None:
    """Show the code that lets a phone in."""
    show(page, url, "phones")
    page.get_by_role("button", name="Show a code").tap()
    page.locator("svg.qr").first.wait_for()
    page.locator(".offer").scroll_into_view_if_needed()


def _piece(page: Page, url: str) -> None:
    """Show one board of the plan touched, with what it is cut to."""
    show(page, url, "plan")
    page.locator("svg.deck .touch").nth(3).click(force=True)
    page.locator("svg.deck").scroll_into_view_if_needed()


def _timber(page: Page, url: str) -> None:
    """Show the noggins below the boards, one bay touched."""
    show(page, url, "plan")
    page.get_by_role("button", name="Timber below").tap()
    page.locator("svg.deck .touch").nth(3).click(force=True)
    page.locator("svg.deck").scroll_into_view_if_needed()


def _one_joist(page: Page, url: str) -> None:
    """Show all that is said of one joist."""
    show(page, url, "loads")
    joist = page.locator("summary", has_text="J9:")
    joist.tap()
    joist.evaluate("node => node.scrollIntoView()")


def _cutting(page: Page, url: str) -> None:
    """Show the first step at which boards are cut."""
    show(page, url, "laying")
    while not page.get_by_role("heading", name="Board ").count():
        page.get_by_role("button", name="Done, next").tap()
        page.wait_for_timeout(50)


def _landing(page: Page, url: str) -> None:
    """Show what is asked of a course that landed elsewhere."""
    _cutting(page, url)
    page.get_by_text("It landed elsewhere").tap()
    page.get_by_text("It landed elsewhere").evaluate("node => node.scrollIntoView()")


def _shower(name: str) -> Scene:
    return lambda page, url: show(page, url, name)


SCENES: dict[str, Scene] = (
    {name: _shower(name) for name in SCREENS if name not in PAPERS}
    | {
        "as-built": _as_built,
        "cross-check-taken": _measuring,
        "strike-out": _striking,
        "walk-under-way": _walking,
        "phones-code": _code,
    }
    | {name: _shower(name) for name in PAPERS}
)
"""Every screen, and what shows only after a touch or two; what needs the loft settled last."""

SETTLED = {
    "plan-piece": _piece,
    "plan-timber": _timber,
    "loads-joist": _one_joist,
    "laying-cut": _cutting,
    "laying-landed": _landing,
}
SCENES |= SETTLED


README = {
    "walk": ("walk-under-way", SIZES[0], "dark"),
    "as-built": ("as-built", SIZES[0], "light"),
    "plan": ("plan-piece", SIZES[0], "light"),
    "loads": ("loads", SIZES[0], "light"),
}
"""README's pictures: file name, then screen, size and theme."""

COLOURS = 28
"""Ink, paper, accent and the shades between them; more only makes the files larger."""


def main(words: list[str] | None = None) -> None:
    """Make all pictures in the folder given with ``--out``."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, default=Path("docs/screens"), help="the folder")
    parser.add_argument("--only", nargs="*", help="only these screens, by name")
    parser.add_argument("--readme", action="store_true", help="only README's pictures")
    given = parser.parse_args(words)
    if not chromium():
        parser.exit(2, "no Chromium is installed (set BAYWALK_CHROMIUM to its path)\n")
    if given.readme:
        given.out = Path("docs/pictures")
    wanted = _readme() if given.readme else _all(given.only)
    given.out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        for (size, theme), names in wanted.items():
            place = Path(folder) / f"{theme}{size[0]}"
            service = Service(place / "service", "--demo", *letting_phones_in())
            phone = Phone(playwright, place / "phone", service.url, size=size, color_scheme=theme)
            try:
                _round(phone, service, given.out, names)
            finally:
                phone.close()
                service.stop()


def _all(only: list[str] | None) -> Wanted:
    """Return every screen, or those asked for, at every size in every theme."""
    names = [name for name in SCENES if not only or name in only]
    return {
        (size, theme): {name: f"{name}-{size[0]}x{size[1]}-{theme}" for name in names}
        for size, theme in product(SIZES, THEMES)
    }


def _readme() -> Wanted:
    wanted: Wanted = {}
    for file, (name, size, theme) in README.items():
        wanted.setdefault((size, theme), {})[name] = file
    return wanted


def _round(phone: Phone, service: Service, out: Path, names: dict[str, str]) -> None:
    """Take the pictures of one phone; ``names`` gives each screen's file."""
    page = bring_demo(phone)
    settled = False
    for name in sorted(names, key=list(SCENES).index):
        file = names[name]
        if not settled and (name in PAPERS or name in SETTLED):
            settle(service)
            bring_papers(phone)
            settled = True
        SCENES[name](page, phone.url)
        page.wait_for_timeout(400)  # pictures of a screen at rest: sounds, signs and saving done
        path = out / f"{file}.png"
        with Image.open(io.BytesIO(page.screenshot())) as picture:
            in_few_colours(picture.convert("RGB")).save(path, optimize=True)
        print(path, flush=True)


def in_few_colours(picture: Image.Image) -> Image.Image:
    """Return a picture in a few of its own colours, the paper's to the shade."""
    # Other ways merge the little there is of the accent into its neighbours.
    small = picture.quantize(COLOURS, Image.Quantize.MAXCOVERAGE)
    dots, kinds = np.asarray(picture).reshape(-1, 3), np.asarray(small).ravel()
    palette = list(small.getpalette() or [])
    for kind in np.unique(kinds):
        # Of those that were put together, the one that most have, not their mean.
        shades, counts = np.unique(dots[kinds == kind], axis=0, return_counts=True)
        palette[3 * kind : 3 * kind + 3] = [int(part) for part in shades[counts.argmax()]]
    small.putpalette(palette)
    return small


if __name__ == "__main__":
    main()
