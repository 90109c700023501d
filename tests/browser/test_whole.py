"""The whole job by touch alone: a survey made, the demo loft walked with no signal, synced, known.

The loft is the invented demo loft; what is typed is what its fixture says the tape said. On the way
the network is gone, the page is reloaded, and the browser is killed and started again.
"""

from __future__ import annotations

import io
import json
import re
import urllib.error
import urllib.request
from collections import Counter
from typing import TYPE_CHECKING, Any

import pytest
from PIL import Image

from baywalk import places
from tests.browser.driving import wait_for

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from playwright.sync_api import Page

    from tests.browser.driving import Phone, Service

pytestmark = pytest.mark.browser

DEMO = json.loads((places.fixtures() / "demo-loft.json").read_text())
TRUTH = json.loads((places.fixtures() / "demo-loft.truth.json").read_text())
JOISTS = DEMO["runs"][0]["joists"]
SLIP = next(e for e in DEMO["entries"] if e["id"] == TRUTH["slip"]["reading"])
RIGHT = 583


def _make_survey(phone: Phone) -> str:
    """Make the survey on the page's own form; return its id."""
    page = phone.open("/#/new")
    page.get_by_label("Name of the survey").fill("Invented loft, walked by a test")
    page.get_by_label("The wall you start at").fill("the gable by the door")
    page.get_by_label("Usual breadth").fill("47")
    page.get_by_label("Usual depth").fill("147")
    page.get_by_role("radio", name="II", exact=True).check()
    page.get_by_role("button", name="Make the survey").tap()
    page.wait_for_url(re.compile(r"#/s/[0-9a-f-]{36}$"))
    return page.url.rsplit("/", 1)[1]


def _stored_whole(page: Page) -> bool:
    """Say whether the worker holds the page, so that it starts with no network."""
    return bool(
        page.evaluate(
            """async () => Boolean(navigator.serviceWorker.controller)
              && (await caches.keys()).length > 0"""
        )
    )


def _open(phone: Phone, path: str, wait: str) -> Page:
    page = phone.page
    page.goto("about:blank")
    page.goto(phone.url + path)
    page.locator(wait).first.wait_for(state="attached")
    return page


def _walk_page(phone: Phone, survey: str) -> Page:
    return _open(phone, f"/#/s/{survey}/walk/A", ".walk .keypad")


def _type(page: Page, value: int) -> None:
    for digit in str(value):
        page.get_by_role("button", name=digit, exact=True).first.tap()
    page.get_by_role("button", name="Save", exact=True).tap()


def _read(page: Page, value: int) -> None:
    """Type a length, save it, and wait until the phone says that it is stored."""
    _type(page, value)
    sure = page.get_by_role("button", name=re.compile("^Yes"))
    if sure.count() and sure.first.is_visible():
        sure.first.tap()
    saved = page.locator(".walk-saved[data-state='saved']", has_text=str(value))
    saved.wait_for(timeout=8000)


def _walk(phone: Phone, survey: str, tmp_path: Path) -> Counter[str]:
    """Walk out along the near line and back along the far one; return what was read."""
    page = _walk_page(phone, survey)
    steps = [
        e
        for e in DEMO["entries"]
        if e["kind"] == "breadth" or (e["kind"] == "across" and abs(e["to"][0] - e["from"][0]) == 1)
    ]
    for number, entry in enumerate(steps):
        if entry["kind"] == "across" and entry["line"] == "near" and entry["from"][0] == JOISTS:
            page.get_by_role("button", name="End wall", exact=True).tap()
        _read(page, entry["value"])
        if number == 9:
            phone.kill()
            phone.restart()
            phone.context.set_offline(True)
            page = _walk_page(phone, survey)
        if number == 20:
            page.reload()
            page.locator(".walk .keypad").wait_for(state="attached")
            _photo(page, tmp_path)
    return Counter(_key(e) for e in steps)


def _photo(page: Page, tmp_path: Path) -> None:
    picture = tmp_path / "bay.jpg"
    exif = Image.Exif()
    exif[0x010E] = "where it was taken"
    Image.effect_noise((900, 700), 60).convert("RGB").save(picture, exif=exif)
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Photo", exact=True).tap()
    chooser.value.set_files(picture)
    page.locator(".walk-saved[data-state='saved']", has_text="Photo kept").wait_for(timeout=15000)


def _take_again(phone: Phone, survey: str) -> None:
    """Follow the notice to the swapped digits: take it again, strike the old one out."""
    page = _walk_page(phone, survey)
    page.get_by_role("button", name=re.compile(r"\d+ to check")).first.tap()
    again = f"Take again J4–J5, near line: {SLIP['value']}"
    page.get_by_role("button", name=again).first.tap()
    _type(page, RIGHT)
    page.get_by_role("button", name=f"Strike out {SLIP['value']}").tap()
    page.locator(".walk-saved[data-state='saved']", has_text="struck out").wait_for()


def _cross_checks(phone: Phone, survey: str) -> Counter[str]:
    """Take the cross-checks that the fixture has and the page offers."""
    page = _open(phone, f"/#/s/{survey}/checks/A", "main h2")
    taken: Counter[str] = Counter()
    for entry in DEMO["entries"]:
        words = _check_words(entry)
        if "support" in words:
            page.get_by_text(f"Span, all {JOISTS}").tap()
        row = page.get_by_role("button", name=words) if words else None
        if row is None or not row.count():
            continue
        row.first.tap()
        page.locator("output.echo").wait_for()
        _type(page, entry["value"])
        page.get_by_text(f"{entry['value']} saved").wait_for(state="attached")
        back = page.get_by_role("button", name="Back to the list")
        if back.count():
            back.tap()
        page.get_by_role("heading", name="Elsewhere").wait_for()
        taken[_key(entry)] += 1
    return taken


def _check_words(entry: dict[str, Any]) -> str:
    """Return the words by which the page offers this reading as a cross-check."""
    kind = entry["kind"]
    if kind == "across" and entry["from"][0] == 0 and entry["to"][0] == JOISTS + 1:
        return f"{entry['line']} line, wall to end wall"
    if kind == "diagonal":
        (a, la), (b, lb) = sorted((entry["from"], entry["to"]))
        return f"J{a} at the {la} line to J{b} at the {lb} line"
    if kind == "along":
        ends = [f"{e} line" if e in ("near", "far") else e for e in (entry["from"], entry["to"])]
        return f"J{entry['joist']}, {' to '.join(ends).replace('_', ' ')}"
    return ""


def _key(entry: dict[str, Any]) -> str:
    """Return what a reading says, without who wrote it and when."""
    ends = [entry.get("from"), entry.get("to")]
    if isinstance(ends[0], list):
        ends = sorted([e[0], "wall" if e[0] in (0, JOISTS + 1) else e[1]] for e in ends)
    names = ("kind", "line", "joist", "value")
    return json.dumps([[entry.get(name) for name in names], ends])


def _holds_the_truth(as_built: dict[str, Any]) -> None:
    run = as_built["runs"][0]
    assert len(run["joists"]) == JOISTS
    for joist in run["joists"]:
        for line in ("near", "far"):
            at = joist["at"][line]
            true = TRUTH[line]["joists"][joist["index"] - 1]
            assert abs(at["x"] - true) < 3 * at["sd"], (joist["index"], line)
            assert at["sd"] < 4


def test_the_demo_loft_is_walked_by_touch_alone(
    make_phone: Callable[..., Phone], service: Service, tmp_path: Path
) -> None:
    phone = make_phone()
    survey = _make_survey(phone)
    wait_for(lambda: _stored_whole(phone.page))

    # The network goes: no service, no connection.
    service.kill()
    phone.context.set_offline(True)
    read = _walk(phone, survey, tmp_path)
    _take_again(phone, survey)
    read += _cross_checks(phone, survey)
    right = {**SLIP, "value": RIGHT}
    read[_key(right)] += 1
    assert sum(read.values()) > 50

    # The network comes back: nobody touches anything.
    service.start()
    phone.context.set_offline(False)
    page = _open(phone, f"/#/s/{survey}", "main h1")

    def arrived() -> bool:
        kinds = ("across", "along", "diagonal", "breadth")
        known = [s["id"] for s in service.get("/api/surveys")["surveys"]]
        if survey not in known:
            return False
        there = Counter(_key(e) for e in service.entries(survey) if e["kind"] in kinds)
        return there == read

    wait_for(arrived, 40)
    entries = service.entries(survey)
    assert len({e["id"] for e in entries}) == len(entries)
    [strike] = [e for e in entries if e["kind"] == "strike"]
    struck = next(e for e in entries if e["id"] == strike["target"])
    assert struck["value"] == SLIP["value"]

    # The photo is there once, whole, and without what the camera wrote into it.
    [photo] = [e for e in entries if e["kind"] == "photo"]
    picture = wait_for(lambda: _picture(service, photo["sha256"]), 20)
    assert "exif" not in picture.info

    as_built = service.get(f"/api/surveys/{survey}/as-built")
    assert as_built["settled"] is True
    _holds_the_truth(as_built)

    page = _open(phone, f"/#/s/{survey}/as-built", "svg.plan")
    assert page.get_by_text("400").count()
    assert phone.errors == []


def _picture(service: Service, sha256: str) -> Image.Image | None:
    """Return the photo as the service gives it, or None while it is not whole there."""
    url = f"{service.url}/api/photos/{sha256}"
    try:
        with urllib.request.urlopen(url, timeout=10) as answer:  # noqa: S310 - our own service
            body = answer.read()
    except urllib.error.HTTPError:
        return None
    with Image.open(io.BytesIO(body)) as picture:
        return picture.copy()
