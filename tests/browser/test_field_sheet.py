"""The printed field sheet typed in: by the keyboard alone, in the paper's order."""

from __future__ import annotations

import json
import urllib.request
import uuid
from typing import TYPE_CHECKING, Any

import pytest
from playwright.sync_api import expect

from baywalk import fieldbook, places
from baywalk.sheets import field_sheet
from tests.browser.driving import until, wait_for

if TYPE_CHECKING:
    from collections.abc import Callable

    from playwright.sync_api import Page

    from tests.browser.driving import Phone, Service

DEMO = json.loads((places.fixtures() / "demo-loft.json").read_text("utf-8"))
FOCUSED = "document.activeElement.id"


def asked_for(entry: dict[str, Any]) -> str:
    """Return the paper's words for a reading; empty where the paper has no box for it."""
    kind, last = entry["kind"], DEMO["runs"][0]["joists"]
    if kind in ("breadth", "depth"):
        return f"{kind} J{entry['joist']}"
    if kind == "level":
        return f"level J{entry['joist']}, {entry['line']} line"
    if kind == "diagonal":
        (one, first), (other, second) = entry["from"], entry["to"]
        return f"diagonal J{one} {first} to J{other} {second}"
    if kind == "along":
        ends = {
            "near_edge": "near edge",
            "far_edge": "far edge",
            "near": "near line",
            "far": "far line",
        }
        spans = {"near_support", "far_support"} == {entry["from"], entry["to"]}
        words = "clear span, support to support"
        if not spans:
            words = f"{ends[entry['from']]} to {ends[entry['to']]}"
        return f"J{entry['joist']}, {words}"
    if kind != "across":
        return ""
    (left, _), (right, _) = entry["from"], entry["to"]
    if (left, right) == (0, last + 1):
        return f"{entry['line']} overall, wall to wall"
    if right - left != 1:
        return ""
    name = "wall" if left == 0 else f"J{left}"
    return f"{entry['line']} clear gap {name}–{'end wall' if right > last else f'J{right}'}"


def on_paper() -> tuple[list[int | None], list[dict[str, Any]]]:
    """Return what stands in each box of the demo's sheet, and the entries that have no box."""
    run = fieldbook.load_survey(json.dumps(DEMO)).runs[0]
    boxes = []
    for group, text in field_sheet.questions(run):
        walked = "clear gap" in text or "overall" in text
        boxes.append(f"{group.removesuffix(' line')} {text}" if walked else text)
    figures: dict[str, int] = {}
    rest = []
    for entry in DEMO["entries"]:
        words = asked_for(entry)
        if words in boxes and words not in figures:
            figures[words] = entry["value"]
        else:
            rest.append(entry)
    return [figures.get(words) for words in boxes], rest


def put(service: Service, entries: list[dict[str, Any]]) -> str:
    """Give the service a survey of the demo's head with these entries; return its id."""
    survey = str(uuid.uuid4())
    head = {name: DEMO[name] for name in DEMO if name != "entries"}
    asked = urllib.request.Request(  # noqa: S310 - our own
        f"{service.url}/api/surveys/{survey}",
        json.dumps(head | {"id": survey, "title": "From paper"}).encode(),
        {"Content-Type": "application/json"},
        method="PUT",
    )
    with urllib.request.urlopen(asked, timeout=10) as answer:  # noqa: S310 - our own
        assert answer.status == 201
    service.send(survey, [entry | {"id": str(uuid.uuid4())} for entry in entries])
    return survey


def outcome(service: Service, survey: str) -> Any:
    """Return a survey's as-built without what hangs on the entries' ids and clocks."""

    def plain(value: Any) -> Any:
        if isinstance(value, dict):
            drop = {"id", "reading", "readings", "survey", "title", "entries"}
            return {key: plain(one) for key, one in value.items() if key not in drop}
        return [plain(one) for one in value] if isinstance(value, list) else value

    run = service.get(f"/api/surveys/{survey}/as-built")["runs"][0]
    readings = sorted(
        json.dumps({key: one[key] for key in one if key != "id"}) for one in run["readings"]
    )
    return plain({key: run[key] for key in run if key != "next_readings"}), readings


def type_in(page: Page, figures: list[int | None], first: int) -> None:
    """Type boxes from ``first`` on, each left by Enter; one that is empty is passed over."""
    for number, figure in enumerate(figures[first - 1 :], start=first):
        assert page.evaluate(FOCUSED) == f"box{number}"
        page.keyboard.type("" if figure is None else str(figure))
        page.keyboard.press("Enter")
        if page.evaluate(FOCUSED) == f"box{number}":
            # The demo has a slip in it: the page asks, and the paper says so.
            expect(page.locator(f"#box{number}e")).to_contain_text("once more")
            page.keyboard.press("Enter")


def test_the_demo_typed_in_from_paper_gives_the_same_as_built(
    make_service: Callable[..., Service], make_phone: Callable[..., Phone]
) -> None:
    """On a laptop, by the keyboard alone, with the page loaded anew half way."""
    service = make_service("--demo")
    figures, rest = on_paper()
    taken = sum(figure is not None for figure in figures)
    assert (len(figures), taken) == (56, len(DEMO["entries"]) - len(rest))
    assert taken > 50
    survey = put(service, rest)
    phone = make_phone(
        service.url,
        size=(1280, 800),
        is_mobile=False,
        has_touch=False,
        device_scale_factor=1,
    )
    page = phone.open("/#/")
    page.get_by_role("button", name="Bring From paper").click()
    page.get_by_role("heading", name="From paper", level=1).wait_for()
    page.get_by_role("link", name="Type in the field sheet").press("Enter")
    page.get_by_role("heading", name="Field sheet, run A").wait_for()
    half = 17
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    type_in(page, figures[:half], 1)
    until(page, "document.getElementById('said').textContent.includes('saved')")
    page.reload()
    page.locator("#box1").wait_for()
    shown = page.locator(".boxes input").evaluate_all("all => all.map(({ value }) => value)")
    assert shown[:half] == ["" if figure is None else str(figure) for figure in figures[:half]]
    first = next(at for at, text in enumerate(shown, start=1) if not text)
    page.get_by_role("button", name="Go to the first empty box").press("Enter")
    type_in(page, figures, first)
    assert page.evaluate("document.activeElement.textContent") == "See what adds up"
    count = len(DEMO["entries"])
    wait_for(lambda: len(service.entries(survey)) == count)
    assert outcome(service, survey) == outcome(service, DEMO["id"])
    assert phone.errors == []


def begun(phone: Phone) -> Page:
    """Make a survey of five joists on the phone and come to its sheet."""
    page = phone.open("/#/new")
    page.get_by_label("Name of the survey").fill("Paper (invented)")
    page.get_by_label("Usual breadth").fill("47")
    page.get_by_label("How many joists").fill("5")
    page.get_by_role("button", name="Make the survey").tap()
    page.get_by_role("link", name="Type in the field sheet").tap()
    page.locator("#box1").wait_for()
    return page


def values(page: Page) -> list[str]:
    """Return what stands in the boxes, up to the last that is filled."""
    shown = page.locator(".boxes input").evaluate_all("all => all.map(({ value }) => value)")
    return str("|".join(shown)).rstrip("|").split("|")


def test_wrong_input_is_said_at_its_box_and_nothing_is_lost_with_no_network(
    phone: Phone, service: Service
) -> None:
    page = begun(phone)
    until(page, "navigator.serviceWorker.controller")
    service.stop()
    page.locator("#box1").focus()
    type_in(page, [208, 46, 353, 47], 1)
    page.keyboard.type("35x")
    page.keyboard.press("Enter")
    assert page.evaluate(FOCUSED) == "box5"
    expect(page.locator("#box5e")).to_contain_text('"35x" is not a length')
    assert page.locator("#box5").get_attribute("aria-invalid") == "true"
    # Ten times too long: asked about, and not taken by leaving the box.
    page.locator("#box5").fill("")
    page.keyboard.type("3530")
    page.keyboard.press("Tab")
    expect(page.locator("#box5e")).to_contain_text("3530 is far from the 353")
    assert values(page)[:4] == ["208", "46", "353", "47"]
    page.reload()
    page.locator("#box5").wait_for()
    # It is no reading, and is not lost either.
    assert values(page) == ["208", "46", "353", "47", "3530"]
    expect(page.locator("#box5e")).to_contain_text("Not kept yet")
    page.get_by_role("button", name="Go to the first empty box").tap()
    assert page.evaluate(FOCUSED) == "box5"
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    assert page.evaluate(FOCUSED) == "box6"
    assert values(page)[4] == "3530"
    # Another figure strikes the first out, as on paper; leaving by Tab keeps it too.
    page.locator("#box5").focus()
    page.keyboard.type("353")
    page.keyboard.press("Tab")
    # A box emptied afterwards takes nothing out by itself.
    page.locator("#box1").focus()
    page.keyboard.press("Delete")
    page.keyboard.press("Enter")
    expect(page.locator("#box1e")).to_contain_text("field book")
    until(page, "document.getElementById('said').textContent.includes('353 saved')")
    # Half typed in a box that nobody left: kept at every digit, by reload, kill and the way back.
    page.locator("#box6").focus()
    page.keyboard.type("4")
    page.reload()
    page.locator("#box6").press("End")
    page.keyboard.type("6")
    # Until the database has it, it is held where a killed page leaves it, a killed browser may not.
    until(page, "!Object.keys(localStorage).some((name) => name.startsWith('baywalk.kept.'))")
    address = page.url
    phone.kill()
    page = phone.restart()
    page.goto(address)
    page.locator("#box6").wait_for()
    assert values(page) == ["208", "46", "353", "47", "353", "46"]
    expect(page.locator(".boxes .tick").nth(5)).to_be_empty()
    page.locator("#box1").focus()
    page.keyboard.type("20")
    page.go_back()
    page.goto(address)
    page.locator("#box6").wait_for()
    assert values(page)[0] == "20"
    # The first stands until another figure is kept; what is cleared is a draft no more.
    page.locator("#box1").fill("")
    page.locator("#box6").fill("")
    page.reload()
    page.locator("#box5").wait_for()
    assert values(page) == ["208", "46", "353", "47", "353"]
    page.get_by_role("link", name="Paper (invented)").tap()
    page.get_by_role("link", name="Field book").tap()
    expect(page.locator(".fieldbook > li", has=page.locator("s"))).to_have_count(1)
    expect(page.locator(".fieldbook")).to_contain_text("typed in anew")
    assert phone.errors == []


@pytest.mark.parametrize("width", [390, 1280])
def test_the_boxes_stand_in_reach_at_every_width(
    make_phone: Callable[..., Phone], width: int
) -> None:
    page = begun(make_phone(size=(width, 800)))
    boxes = page.locator(".boxes input").evaluate_all(
        "all => all.map((one) => one.getBoundingClientRect().toJSON())"
    )
    assert len(boxes) == 35
    assert all(one["left"] >= 0 and one["right"] <= width for one in boxes)
    assert all(one["height"] >= 44 for one in boxes)
