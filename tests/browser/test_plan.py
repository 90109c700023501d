"""The deck plan, the laying and the load check on the phone, there with no network."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest
from playwright.sync_api import expect

from baywalk.planning import Choices, plan
from tests.browser.driving import Phone, Service, wait_for
from tests.browser.prepared import Prepared
from tests.browser.tour import DEMO, SIZES, bring_demo, bring_papers, settle
from tests.planning_lofts import random_as_built
from tests.unit.planning.loft import regular

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Page, Playwright


@pytest.fixture(scope="module")
def made(playwright: Playwright, tmp_path_factory: pytest.TempPathFactory) -> Prepared:
    """Make a service with the demo loft, settled, and a phone with its plan and load check."""
    return Prepared(
        playwright,
        tmp_path_factory.mktemp("planned"),
        before=settle,
        after=bring_papers,
    )


@pytest.fixture
def make_loft(made: Prepared, demo: Service, tmp_path: Path) -> Iterator[Callable[..., Phone]]:
    """Give what starts a phone that has the plan and the load check of the demo loft."""
    phones: list[Phone] = []

    def make(**context: Any) -> Phone:
        phones.append(made.phone(tmp_path, demo, **context))
        return phones[-1]

    yield make
    for phone in phones:
        phone.close()


@pytest.fixture
def loft(make_loft: Callable[..., Phone]) -> Phone:
    """Give such a phone."""
    return make_loft()


def _go(phone: Phone, name: str) -> Page:
    phone.page.goto(f"{phone.url}/#/s/{DEMO}/{name}")
    return phone.page


STEPS = """async (key) => {
  const STAGE = "[aria-label='Drawing of the deck']";
  const box = (node) => node.getBoundingClientRect();
  const one = (name) => document.querySelector(name);
  const within = (inner, outer) => inner.bottom > outer.top && inner.top < outer.bottom
    && inner.right > outer.left && inner.left < outer.right;
  const faults = () => {
    // Only a step that has nothing to mark may be words alone.
    const drawn = one(STAGE) ?? (one(".large li") ? null : one("h1"));
    const [stage, keys] = [box(drawn), box(one(".step-keys"))];
    const done = [...document.querySelectorAll(".step-keys button")].at(-1);
    const mark = one(".large li") ?? one(".step-words");
    // Of words below a drawing, and without a mark, the first line at the size of the style.
    const first = one(STAGE) && !mark.matches("li");
    const low = first ? box(mark).top + 28 : box(mark).bottom;
    const now = [...document.querySelectorAll(`${STAGE} .now`)].map(box);
    const { x, y, width, height } = box(done);
    return Object.entries({
      drawing: stage.top >= 0 && stage.bottom <= keys.top && (stage.height > 150 || !one(STAGE)),
      shown: !now.length || now.some((shape) => within(shape, stage)),
      mark: box(mark).top >= stage.bottom && low <= keys.top,
      // Battens are told joist by joist, which may be long; other words are seen whole.
      whole: mark.matches("li") || /: packing$/.test(one("h1").textContent)
        || box(mark).bottom <= keys.top,
      touch: document.elementFromPoint(x + width / 2, y + height / 2) === done
        && y + height <= innerHeight && height >= 44,
      still: scrollY === 0,
    }).filter(([, good]) => !good).map(([name]) => name);
  };
  const seen = [];
  for (;;) {
    const title = one("h1").textContent;
    seen.push([title, faults()]);
    const keys = [...document.querySelectorAll(".step-keys button")];
    const touch = keys.find(({ textContent }) => textContent === key);
    if (!touch || /^Step (\\d+) of \\1(:|$)/.test(title) && key === "Done, next") return seen;
    touch.click();
    while (one("h1").textContent === title) await new Promise(requestAnimationFrame);
  }
}"""
"""Goes through all steps by one key, and tells of each what cannot be seen without scrolling."""


def _kinds(deck: dict[str, Any]) -> list[dict[str, Any]]:
    """Return of each kind of step the one that says and marks the most."""
    sizes = {id(step): len(step["say"]) + 30 * len(step["marks"]) for step in deck["sequence"]}
    kinds = dict.fromkeys(step["kind"] for step in deck["sequence"])
    return [
        max((s for s in deck["sequence"] if s["kind"] == kind), key=lambda s: sizes[id(s)])
        for kind in kinds
    ]


def test_a_step_is_seen_whole_without_scrolling(loft: Phone) -> None:
    """Drawing, mark and touch, of the demo, five random lofts and one raised on battens."""
    loft.book()
    made = loft.page.evaluate(f"book.sync.paper('{DEMO}', 'plan').then(({{ body }}) => body)")
    lofts = [*map(random_as_built, (0, 1, 3, 4, 8))]
    deep = {"id": "33333333-3333-4333-8333-333333333333", "feature": "insulation", "bay": 2}
    lofts.append(regular(8, features=[deep | {"depth": 200}]))
    made["decks"] += [deck for one in lofts for deck in plan(one, Choices(seconds=0.05))["decks"]]
    for number, deck in enumerate(made["decks"]):
        deck |= {"id": f"D{number}", "sequence": _kinds(deck)}
    kinds = [step["kind"] for deck in made["decks"] for step in deck["sequence"]]
    assert set(kinds) == {
        *("ready", "opening", "joist", "strutting", "noggin", "raise", "course", "finish")
    }
    page = _go(loft, "plan")
    page.route("**/plan*", lambda route: route.fulfill(json=made))
    page.get_by_role("button", name="Plan it again").tap()
    expect(page.get_by_role("status")).to_contain_text("The plan is here")
    for (width, height), key in zip(SIZES, ("Done, next", "Back one"), strict=True):
        page.set_viewport_size({"width": width, "height": height})
        _go(loft, "laying")
        # Drawn at this size.
        page.reload()
        page.locator(".step-words").wait_for()
        seen = page.evaluate(STEPS, key)
        assert len(seen) == len(kinds)
        assert [step for step in seen if step[1]] == [], (width, height)


def test_a_survey_that_is_not_settled_is_planned_only_when_told(
    make_service: Callable[..., Service], make_phone: Callable[..., Phone]
) -> None:
    phone = make_phone(make_service("--demo").url)
    bring_demo(phone)
    page = _go(phone, "plan")
    page.get_by_role("button", name="Plan it", exact=True).tap()
    expect(page.get_by_role("alert")).to_contain_text("not settled")
    expect(page.locator("svg.deck")).to_have_count(0)
    page.get_by_role("button", name="Plan it all the same").tap()
    expect(page.locator("svg.deck")).to_be_visible(timeout=60_000)
    expect(page.locator(".told").first).to_contain_text("not settled")


def test_the_plan_and_the_ticks_are_there_with_no_network(loft: Phone, demo: Service) -> None:
    demo.stop()
    page = _go(loft, "plan")
    piece = page.locator("svg.deck .touch").nth(3)
    piece.wait_for()
    name = (piece.get_attribute("aria-label") or "").split(",")[0]
    piece.click(force=True)
    expect(page.locator(".picked-words h3")).to_contain_text(name)
    page.get_by_role("button", name="Timber below").tap()
    page.locator("svg.deck .touch").nth(3).click(force=True)
    expect(page.locator(".picked-words h3")).to_contain_text("Bay J3–J4")
    page.get_by_role("link", name="Lay it, step by step").tap()
    for step in (1, 2):
        expect(page.get_by_role("heading", level=1)).to_contain_text(f"Step {step} of")
        page.get_by_role("button", name="Done, next").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Step 3 of")
    loft.kill()
    page = loft.restart()
    _go(loft, "laying")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Step 3 of")
    page.get_by_role("button", name="Back one").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Step 2 of")
    page.get_by_role("link", name="An opening lies elsewhere").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Openings and what is there")


def _to_first_course(page: Page) -> None:
    while not page.get_by_text("It landed elsewhere").count():
        page.get_by_role("button", name="Done, next").tap()
        page.wait_for_timeout(50)


def test_a_course_that_landed_elsewhere_is_planned_on_from(loft: Phone) -> None:
    """The course is kept as it landed; the steps go on after it and tell what changed."""
    page = _go(loft, "laying")
    _to_first_course(page)
    page.get_by_text("It landed elsewhere").tap()
    page.get_by_label("Its leading edge: off by").fill("4")
    page.get_by_label("Boards spoilt").fill("B99")
    page.get_by_role("button", name="Plan the rest from here").tap()
    expect(page.locator("form .wrong").last).to_contain_text("numbers of boards")
    page.get_by_label("Boards spoilt").fill("")
    page.get_by_role("button", name="Plan the rest from here").tap()
    expect(page.get_by_role("status")).to_contain_text("planned again", timeout=60_000)
    page.get_by_text("What changed").tap()
    expect(page.locator("main")).to_contain_text("laid and stay")
    expect(page.locator(".step-words")).not_to_contain_text("course 1")
    page.reload()
    expect(page.locator("main")).to_contain_text("What changed")


OPENING = {
    "id": "6d0b7c52-7f0e-4a53-9f0c-5f2f0b7f6a11",
    "at": "2026-10-18T10:00:00+01:00",
    "by": "0b8d6a0e-3c0f-4f0f-8a63-0d7a1c9b2e44",
    "n": 1001,
    "kind": "feature",
    "run": "A",
    "feature": "opening",
    "from": [8, "right"],
    "line": "near",
    "across": 40,
    "along": 1500,
    "width": 260,
    "length": 600,
}
"""Between two joists, beyond the first course; invented."""


def test_the_day_goes_on_with_no_network_and_is_planned_on_when_it_is_back(
    loft: Phone, demo: Service
) -> None:
    """Any joint, a piece off its size, an opening that turned up: what lies stays as it lies."""
    page = _go(loft, "laying")
    _to_first_course(page)
    demo.stop()
    page.get_by_text("It landed elsewhere").tap()
    page.get_by_label("Joint 1.2 to 1.3: off by").fill("3")
    page.get_by_label("Joint 1.2 to 1.3: which way").select_option("to the start wall")
    size = page.get_by_label("Piece 1.1")
    assert size.count() == 2
    size.first.fill("2")
    page.get_by_role("button", name="Plan the rest from here").tap()
    expect(page.get_by_role("status")).to_contain_text("What you noted is kept", timeout=60_000)
    page.get_by_role("button", name="Done, next").tap()
    expect(page.get_by_role("heading", level=1)).not_to_contain_text("course 1")
    step = page.get_by_role("heading", level=1).inner_text()
    loft.kill()
    page = loft.restart()
    _go(loft, "laying")
    expect(page.get_by_role("heading", level=1)).to_have_text(step)
    expect(page.get_by_role("status")).to_contain_text("not in the plan yet")
    demo.start()
    demo.send(DEMO, [OPENING])
    page.get_by_role("button", name="Plan in what you noted").tap()
    expect(page.get_by_role("status")).to_contain_text("planned again", timeout=60_000)
    # What turned up comes first; what was done before is not asked for again after it.
    expect(page.get_by_role("heading", level=1)).to_contain_text("opening")
    expect(page.locator("main")).not_to_contain_text("is not in the plan yet")
    page.get_by_text("What changed").tap()
    expect(page.locator("main")).to_contain_text("3 pieces are laid and stay")
    page.get_by_role("button", name="Done, next").tap()
    expect(page.get_by_role("heading", level=1)).not_to_contain_text("opening")
    expect(page.get_by_role("heading", level=1)).not_to_contain_text("course 1")
    loft.book()
    deck = loft.page.evaluate(
        f"book.sync.paper('{DEMO}', 'plan').then(({{ body }}) => body.decks[0])"
    )
    assert [piece["id"] for piece in deck["pieces"] if piece.get("laid")] == ["1.1", "1.2", "1.3"]
    assert len(deck["openings"]) == 1
    page = _go(loft, "plan")
    laid = page.get_by_role("button", name=re.compile(r"^Piece 1\.\d, .*, laid$"))
    expect(laid).to_have_count(3)
    expect(laid.first).to_contain_text("✓")
    expect(page.locator("main")).to_contain_text("Pieces laid 3 of")


def test_the_plan_comes_by_itself_once_the_survey_is_settled(
    make_service: Callable[..., Service], make_phone: Callable[..., Phone]
) -> None:
    service = make_service("--demo")
    phone = make_phone(service.url)
    page = bring_demo(phone)
    settle(service)
    phone.book()
    kept = f"""book.sync.now().then(() => book.sync.paper("{DEMO}", "plan"))
      .then((paper) => Boolean(paper?.body))"""
    # One round brings the strike and the as-built, the next ones the papers.
    wait_for(lambda: page.evaluate(kept), 90)
    page = _go(phone, "plan")
    expect(page.locator("svg.deck")).to_be_visible()
    # A refusal leaves the plan as it is, and as old as it is.
    page.get_by_text("Choose otherwise").tap()
    page.get_by_label("Price of a board").fill("cheap")
    page.get_by_role("button", name="Plan it so").tap()
    expect(page.get_by_text("Give a price such as 14 or 14.50.")).to_be_visible()
    page.get_by_label("Price of a board").fill("14,50")
    page.route("**/plan?*", lambda route: route.continue_(url=f"{route.request.url}&gap=900"))
    page.get_by_role("button", name="Plan it so").tap()
    expect(page.get_by_role("alert")).to_contain_text("gap")
    expect(page.locator("main")).to_contain_text("The plan below is the one before")
    expect(page.locator("main")).not_to_contain_text("Readings have come since")
    loft = phone.book(phone.context.new_page())
    paper = loft.evaluate(f"book.sync.paper('{DEMO}', 'plan')")
    assert paper["choices"]["price.board"] == "14.50"
    assert paper["made"]["of"] == paper["of"]


def test_the_joists_are_told_one_by_one_and_never_approved(loft: Phone, demo: Service) -> None:
    page = _go(loft, "loads")
    expect(page.locator("main")).to_contain_text("It approves nothing")
    page.locator("summary", has_text="J1:").tap()
    expect(page.get_by_role("region", name="Checks of J1")).to_be_visible()
    page.get_by_text("The rules and where they come from").tap()
    expect(page.get_by_text("EN 338, 2016, Table 1").first).to_be_visible()
    page.get_by_text("For another use").tap()
    page.get_by_role("radio", name="a room to live in").tap()
    page.get_by_role("button", name="Check it so").tap()
    expect(page.locator("main .verdict").first).to_contain_text("1.5", timeout=30_000)
    page.get_by_text("Something heavy on the floor").tap()
    page.get_by_role("button", name="Put it there").tap()
    expect(page.locator("main")).to_contain_text("Give it a name.")
    page.get_by_label("What it is").fill("bath = full")
    page.get_by_label("Its mass").fill("300")
    page.get_by_role("button", name="Put it there").tap()
    # The room asked for before is still asked for, and the bath beside it.
    expect(page.locator("main")).to_contain_text("bath full, 300 kg, is beyond", timeout=30_000)
    expect(page.locator("main .verdict").first).to_contain_text("1.5")
    page.get_by_role("button", name="Take it away").tap()
    expect(page.locator("main")).not_to_contain_text("300 kg", timeout=30_000)
    demo.stop()
    page.reload()
    expect(page.locator("main .verdict").first).to_contain_text("1.5")
