"""What the screens do, by touch and by keyboard, against the real service."""

from __future__ import annotations

import json
import re
import uuid
from typing import TYPE_CHECKING, Any

import pytest
from playwright.sync_api import expect

from baywalk import places
from tests.browser.driving import NEUTRAL, Phone, Service, letting_phones_in, wait_for
from tests.browser.tour import DEMO, SCREENS, go_round, show

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Page

    from tests.browser.prepared import Prepared

TAKEN = len(json.loads((places.fixtures() / "demo-loft.json").read_text("utf-8"))["entries"])
"""How many entries the demo loft comes with."""


@pytest.fixture
def loft(made: Prepared, demo: Service, tmp_path: Path) -> Iterator[Phone]:
    """Give a phone that has the demo loft and its as-built."""
    phone = made.phone(tmp_path, demo)
    phone.open(SCREENS["as-built"]).locator("svg.plan").wait_for()
    yield phone
    phone.close()


def _id_of(page: Page) -> str:
    found = re.search(r"#/s/([0-9a-f-]{36})", page.url)
    assert found
    return found[1]


def _type(page: Page, digits: str) -> None:
    for digit in digits:
        page.get_by_role("button", name=digit, exact=True).tap()


def _newest(service: Service, survey: str, kind: str) -> dict[str, Any]:
    """Wait until the service has an entry of a kind, and return the newest."""

    def found() -> list[dict[str, Any]]:
        return [one for one in service.entries(survey) if one["kind"] == kind]

    return max(wait_for(found), key=lambda one: one.get("n", 0))


def test_a_survey_is_made_by_keyboard_alone(phone: Phone, service: Service) -> None:
    page = phone.open("/#/")
    expect(page.get_by_role("heading", name="Surveys")).to_be_visible()
    page.keyboard.press("Tab")
    expect(page.locator(".skip")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#main")).to_be_focused()
    _tab_to(page, "New survey")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="New survey")).to_be_focused()
    typed = {
        "Name of the survey": "Loft by keys (invented)",
        "The wall you start at": "the chimney wall",
        "Usual breadth": "47",
        "Usual depth": "147",
    }
    for label, text in typed.items():
        _tab_to(page, label)
        page.keyboard.type(text)
    _tab_to(page, "middle line")
    page.keyboard.press("Space")
    _tab_to(page, "Make the survey")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Loft by keys (invented)")).to_be_focused()
    survey = _id_of(page)
    wait_for(lambda: service.get("/api/surveys")["surveys"])
    head = service.get(f"/api/surveys/{survey}")
    assert head["title"] == "Loft by keys (invented)"
    [run] = head["runs"]
    assert run["lines"] == ["near", "middle", "far"]
    assert run["member"] == {"breadth": 47, "depth": 147}
    assert run["start"] == "the chimney wall"
    assert phone.errors == []


def _tab_to(page: Page, name: str) -> None:
    """Go on with the Tab key until what bears this name has the focus."""
    for _ in range(40):
        page.keyboard.press("Tab")
        focused = page.evaluate(
            "(() => { const it = document.activeElement;"
            " return it.labels?.[0]?.textContent || it.textContent; })()"
        )
        if focused.strip() == name:
            return
    pytest.fail(f"the Tab key never comes to {name!r}")


def test_what_is_wrong_is_said_at_its_own_field(phone: Phone) -> None:
    page = phone.open("/#/new")
    page.get_by_label("Usual breadth").fill("4.7")
    page.get_by_label("near line").uncheck()
    page.get_by_label("far line").uncheck()
    page.get_by_role("button", name="Make the survey").tap()
    name, breadth = page.get_by_label("Name of the survey"), page.get_by_label("Usual breadth")
    expect(name).to_be_focused()
    expect(name).to_have_accessible_description(re.compile("Give the survey a name"))
    expect(breadth).to_have_accessible_description(re.compile("whole millimetres"))
    expect(page.get_by_text("Choose at least one tape line.")).to_be_visible()
    assert page.url.endswith("#/new")


def test_two_runs_at_once_and_another_later(phone: Phone, service: Service) -> None:
    page = phone.open("/#/new")
    page.get_by_label("Name of the survey").fill("Two runs (invented)")
    page.get_by_role("button", name="Add another run").tap()
    page.get_by_label("What this run is called").nth(1).fill("beyond the spine wall")
    page.get_by_role("button", name="Make the survey").tap()
    expect(page.get_by_role("heading", name="Run B: beyond the spine wall")).to_be_visible()
    survey = _id_of(page)
    page.get_by_role("link", name="Runs and tape lines").tap()
    page.get_by_role("button", name="Add a tape line to run B").tap()
    page.get_by_label("Name of the tape line").fill("near")
    page.get_by_role("button", name="Add the line").tap()
    expect(page.get_by_text("This run has a line of that name.")).to_be_visible()
    page.get_by_label("Name of the tape line").fill("middle")
    page.get_by_role("button", name="Add the line").tap()
    expect(page.get_by_text("near, middle, far")).to_be_visible()
    page.get_by_text("Add another run").tap()
    page.get_by_label("How many joists").fill("9")
    page.get_by_role("button", name="Add this run").tap()
    expect(page.get_by_role("heading", name="Run C: Run C")).to_be_visible()

    def runs() -> dict[str, Any]:
        return {run["id"]: run for run in service.get(f"/api/surveys/{survey}")["runs"]}

    wait_for(lambda: "C" in runs())
    assert runs()["B"]["lines"] == ["near", "middle", "far"]
    assert runs()["C"]["joists"] == 9
    page.get_by_role("button", name="Change run B").tap()
    page.get_by_role("checkbox", name="middle and far line").check()
    page.get_by_role("button", name="Keep it").tap()
    expect(page.get_by_text("near, middle · lap · far")).to_be_visible()
    wait_for(lambda: runs()["B"].get("laps") == [["middle", "far"]])
    page.get_by_role("button", name="Change run B").tap()
    page.get_by_role("checkbox", name="middle and far line").uncheck()
    page.get_by_role("button", name="Keep it").tap()
    wait_for(lambda: runs()["B"].get("laps") == [])


def test_struck_out_is_told_in_words_and_can_be_taken_back(loft: Phone, demo: Service) -> None:
    page = loft.page
    show(page, loft.url, "field-book")
    entry = page.locator("li", has_text="near line, J4 right to J5 left")
    entry.get_by_role("button", name="Strike out").tap()
    page.get_by_role("radio", name="another reason").check()
    page.get_by_role("button", name="Strike it out").tap()
    expect(page.get_by_text("Say why, in a word or two.")).to_be_visible()
    page.get_by_label("The reason in your own words").fill("digits swapped")
    page.get_by_role("button", name="Strike it out").tap()
    expect(entry.get_by_text("Struck out: digits swapped.")).to_be_visible()
    expect(entry.locator("s").first).to_have_text("near line, J4 right to J5 left")
    expect(page.get_by_text(f"{TAKEN + 1} entries, 1 struck out")).to_be_visible()
    strike = _newest(demo, DEMO, "strike")
    assert strike["reason"] == "digits swapped"
    entry.get_by_role("button", name="Take it back in").tap()
    expect(page.get_by_text("Struck out: digits swapped.")).to_have_count(0)
    assert _newest(demo, DEMO, "restore")["target"] == strike["target"]
    expect(page.get_by_text(f"{TAKEN + 2} entries, 0 struck out")).to_be_visible()


def test_nothing_is_drawn_anew_under_a_finger(loft: Phone, demo: Service) -> None:
    """In gloves a touch lasts; what comes from another phone meanwhile must not take it away."""
    page = loft.page
    show(page, loft.url, "field-book")
    strike = page.get_by_role("button", name="Strike out: breadth of J1 45")
    strike.scroll_into_view_if_needed()
    strike.hover()
    page.evaluate("document.querySelectorAll('ol.fieldbook li').forEach((li) => (li.seen = true))")
    page.mouse.down()
    held = page.locator("ol.fieldbook li").count()
    remark = {
        "kind": "remark",
        "text": "from another phone",
        "by": "other",
        "at": "2026-01-01T12:00:00Z",
    }
    demo.post(f"/api/surveys/{DEMO}/entries", {"entries": [{"id": str(uuid.uuid4()), **remark}]})
    page.evaluate("dispatchEvent(new Event('online'))")
    page.wait_for_timeout(2500)
    assert page.locator("ol.fieldbook li").count() == held
    assert page.evaluate("[...document.querySelectorAll('ol.fieldbook li')].every((li) => li.seen)")
    page.mouse.up()
    expect(page.get_by_role("dialog")).to_be_visible()
    expect(page.locator("ol.fieldbook li")).to_have_count(held + 1)


def test_leaving_a_question_by_the_way_back_does_nothing(loft: Phone) -> None:
    page = loft.page
    show(page, loft.url, "survey")
    page.get_by_role("link", name="Field book").tap()
    page.get_by_role("button", name="Strike out: breadth of J1 45").tap()
    page.go_back()
    expect(page.get_by_role("heading", name="Demo loft (invented)", level=1)).to_be_focused()
    expect(page.get_by_role("dialog")).to_have_count(0)
    expect(page.get_by_text(f"{TAKEN} entries, 0 struck out")).to_be_visible()


def test_a_cross_check_takes_its_digits_and_one_touch(loft: Phone, demo: Service) -> None:
    page = loft.page
    show(page, loft.url, "cross-checks")
    page.get_by_role("button", name="J6, near line to far line not taken").tap()
    expect(page.get_by_role("heading", name="J6, near line to far line")).to_be_focused()
    _type(page, "2899")
    page.get_by_role("button", name="Save", exact=True).tap()
    reading = wait_for(
        lambda: [
            one for one in demo.entries(DEMO) if one.get("joist") == 6 and one.get("to") == "far"
        ]
    )[0]
    assert (reading["kind"], reading["from"], reading["value"]) == ("along", "near", 2899)


def test_a_slip_of_ten_is_asked_about_and_never_refused(loft: Phone, demo: Service) -> None:
    page = loft.page
    show(page, loft.url, "cross-checks")
    page.get_by_role("button", name="near line, wall to end wall").tap()
    _type(page, "51110")
    page.get_by_role("button", name="Save", exact=True).tap()
    page.get_by_role("button", name="Type it again").tap()
    assert len(demo.entries(DEMO)) == TAKEN
    page.get_by_role("button", name="Save", exact=True).tap()
    page.get_by_role("button", name="Yes, 51110 mm").tap()
    wait_for(lambda: [one for one in demo.entries(DEMO) if one.get("value") == 51110])
    # Another one stands there; which of them is wrong the person says.
    expect(page.get_by_role("heading", name="51110 now, 5111 before")).to_be_visible()
    page.get_by_role("button", name="Strike out 5111", exact=True).tap()
    assert wait_for(lambda: _newest(demo, DEMO, "strike"))["reason"] == "taken again"
    expect(page.locator(".measure .said, main .verdict").first).to_contain_text("✗")


def test_a_laser_types_a_cross_check_with_its_unit(loft: Phone, demo: Service) -> None:
    page = loft.page
    show(page, loft.url, "cross-checks")
    page.get_by_role("button", name="far line, wall to end wall").tap()
    page.keyboard.type("5,0761 m")
    page.keyboard.press("Enter")
    # The demo has one reading of 5076 there already.
    wait_for(lambda: sum(one.get("value") == 5076 for one in demo.entries(DEMO)) == 2)


def test_an_opening_is_set_out_and_comes_into_the_as_built(loft: Phone, demo: Service) -> None:
    page = loft.page
    show(page, loft.url, "features")
    expect(page.get_by_text("Joists are not to be cut on the word of this page.")).to_be_visible()
    # What was noted on the walk is there as well, and was counted where one came from.
    noted = page.get_by_role("listitem").filter(has_text="pipe, J3–J4: runs along the bay, 22 mm")
    expect(noted).to_be_visible()
    figures = {
        "From joist": "8",
        "Across, from that face": "60",
        "Along, from the tape line": "-200",
        "Its width": "300",
        "Its length": "700",
    }
    for label, text in figures.items():
        page.get_by_label(label).fill(text)
    page.get_by_role("button", name="Keep it").tap()
    expect(page.get_by_text("from J8 right and the near line")).to_be_visible()
    [feature] = wait_for(
        lambda: [one for one in demo.entries(DEMO) if one.get("feature") == "opening"]
    )
    assert {name: feature[name] for name in ("from", "across", "along", "width", "length")} == {
        "from": [8, "right"],
        "across": 60,
        "along": -200,
        "width": 300,
        "length": 700,
    }
    show(page, loft.url, "as-built")
    expect(page.locator("svg.plan text", has_text="opening")).to_be_attached()


def _as_built(service: Service) -> dict[str, Any]:
    return service.get(f"/api/surveys/{DEMO}/as-built")["runs"][0]


def test_the_as_built_is_drawn_true_to_scale(loft: Phone, demo: Service) -> None:
    page, run = loft.page, _as_built(demo)
    paths = page.locator("svg.plan path.joist").evaluate_all(
        "nodes => nodes.map((node) => node.getAttribute('d'))"
    )
    corners = [[float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", path)] for path in paths]
    near = [joist["at"]["near"]["point"][0] for joist in run["joists"]]
    far = [joist["at"]["far"]["point"][0] for joist in run["joists"]]
    assert len(corners) == len(near) == 12
    # Each joist is drawn from edge to edge; half way up it is where the lines' mean puts it.
    drawn = [sum(one[0::2]) / 4 for one in corners]
    edges = [point[1] for point in run["outline"]]
    middle = (min(edges) + max(edges)) / 2
    true = [a + (b - a) * middle / 2900 for a, b in zip(near, far, strict=True)]
    scale = (drawn[-1] - drawn[0]) / (true[-1] - true[0])
    off = [abs((d - drawn[0]) / scale - (t - true[0])) for d, t in zip(drawn, true, strict=True)]
    assert max(off) < 1, "a joist is drawn more than 1 mm from where it is"
    ys = [y for one in corners for y in one[1::2]]
    assert (max(ys) - min(ys)) / scale == pytest.approx(max(edges) - min(edges), abs=2)


def test_what_is_irregular_or_doubtful_is_told_by_word_and_hatch(
    loft: Phone, demo: Service
) -> None:
    page, run = loft.page, _as_built(demo)
    odd = [one for one in run["findings"] if one["code"] == "centres.irregular"]
    words = page.locator("svg.plan text.fig").all_text_contents()
    # A bay that is off along both lines carries its word once, between its two figures.
    bays = {one["where"]["bay"] for one in odd}
    assert sum("wide" in one or "narrow" in one for one in words) == len(bays) > 0
    assert page.locator("svg.plan path[fill='url(#hatch-odd)']").count() == len(odd)
    assert [one for one in words if "?" in one] == ["[630 ?]"]
    for words in ("As-built to print", "Labels to print"):
        sheet = page.get_by_role("link", name=words).get_attribute("href")
        answer = page.request.get(f"{loft.url}{sheet}")
        assert (answer.status, answer.body()[:5]) == (200, b"%PDF-")
    # A figure and its unit are bound by a space that does not break.
    shown = page.locator("main").inner_text().replace("\u00a0", " ")
    assert all(one["say"] in shown for one in run["findings"])
    assert all(one["say"] in shown for one in run["next_readings"])


def test_the_tables_hold_the_figures_of_the_as_built(loft: Phone, demo: Service) -> None:
    page, run = loft.page, _as_built(demo)
    page.get_by_text("Each joist from the start wall, as a table").tap()
    row = page.get_by_role("row", name=re.compile("^J7 "))
    near = run["joists"][6]["at"]["near"]
    expect(row).to_contain_text(f"{round(near['x'])} ± {max(1, round(2 * near['sd']))}")


def test_the_survey_is_a_file_with_no_service_at_all(
    loft: Phone, demo: Service, tmp_path: Path
) -> None:
    before = demo.get(f"/api/surveys/{DEMO}")
    demo.stop()
    page = loft.page
    show(page, loft.url, "stored")
    with page.expect_download() as told:
        page.get_by_role("button", name="Download the survey").tap()
    told.value.save_as(tmp_path / "survey.json")
    file = json.loads((tmp_path / "survey.json").read_text())
    assert told.value.suggested_filename == "demo-loft-invented.json"
    by_id = lambda survey: {one["id"]: one for one in survey["entries"]}  # noqa: E731 - said once
    assert by_id(file) == by_id(before)
    assert (file["format"], file["version"]) == ("baywalk.survey", 1)


def test_a_file_comes_back_in_and_a_bad_one_is_told_why(
    loft: Phone, make_phone: Callable[..., Phone], tmp_path: Path
) -> None:
    show(loft.page, loft.url, "stored")
    with loft.page.expect_download() as told:
        loft.page.get_by_role("button", name="Download the survey").tap()
    file = tmp_path / "survey.json"
    told.value.save_as(file)
    other = make_phone()
    page = other.open("/#/")
    broken = tmp_path / "broken.json"
    survey = json.loads(file.read_text())
    survey["entries"][0]["value"] = "200"
    broken.write_text(json.dumps(survey))
    page.locator("#import").set_input_files(broken)
    expect(page.get_by_text("That file was not taken")).to_contain_text("value")
    page.locator("#import").set_input_files(file)
    expect(page.get_by_role("heading", name="Demo loft (invented)", level=1)).to_be_focused()


def test_settings_are_kept_and_take_hold_before_the_first_screen(phone: Phone) -> None:
    page = phone.open("/#/settings")
    page.get_by_role("radio", name="dark, for the loft").check()
    page.get_by_role("radio", name="left").check()
    page.reload()
    expect(page.get_by_role("radio", name="dark, for the loft")).to_be_checked()
    root = page.locator("html")
    expect(root).to_have_attribute("data-theme", "dark")
    expect(root).to_have_attribute("data-hand", "left")


def test_ready_for_the_loft_is_green_line_by_line(phone: Phone) -> None:
    page = phone.open("/#/ready")
    stored = page.locator("li.test", has_text="Page stored")
    wait_for(lambda: page.get_by_role("button", name="Look again").tap() or _is_yes(stored))
    for line in page.locator("li.test").all():
        sign = line.locator(".sign").inner_text()
        word = re.search(r": (yes|not yet|cannot tell)\.", line.inner_text())
        assert word
        assert {"yes": "✓", "not yet": "✗", "cannot tell": "?"}[word[1]] == sign
    verdict = page.locator(".verdict").inner_text()
    all_yes = all(one.startswith("✓") for one in page.locator("li.test").all_inner_texts())
    assert ("Ready for the loft." in verdict) == all_yes
    expect(page.get_by_text("Never step or lean between them")).to_be_visible()


def _is_yes(line: Any) -> bool:
    return "yes" in line.first.inner_text()


def test_a_write_that_fails_is_said_on_every_screen_until_it_holds(loft: Phone) -> None:
    page = loft.restart()
    page.goto(loft.url + NEUTRAL)
    loft.give_room(1)
    show(page, loft.url, "field-book")
    page.get_by_text("Write a remark").tap()
    page.get_by_label("A remark about the whole survey").fill("dry, no insulation")
    page.get_by_role("button", name="Keep the remark").tap()
    told = page.locator(".banner.stop")
    expect(told).to_contain_text("1 entry is not stored yet")
    page.goto(f"{loft.url}/#/settings")
    expect(told).to_be_visible()
    again = page.get_by_role("button", name="Try again now")
    button = again.element_handle()
    again.tap()
    page.wait_for_timeout(3000)
    # However often it tried by itself meanwhile, the button is where the finger was.
    assert button.evaluate("button => button.isConnected")
    loft.give_room(None)
    # By touch or by itself, whichever comes first.
    page.evaluate("button => button.click()", button)
    expect(told).to_have_count(0)
    page.reload()
    show(page, loft.url, "field-book")
    expect(page.get_by_text(f"{TAKEN + 1} entries")).to_be_visible()


def test_an_address_that_leads_nowhere_says_so(phone: Phone) -> None:
    page = phone.open("/#/nothing/here")
    expect(page.get_by_role("heading", name="There is nothing here")).to_be_visible()
    page.goto(f"{phone.url}/#/s/{DEMO}")
    expect(page.get_by_role("heading", name="This screen does not open")).to_be_focused()


PARTING = r"""() => document.querySelector("main").textContent
  .match(/.{0,20}\d (?:(?:mm|cm|m|k?N|kg|%|[kM]B)(?![a-z])|[×±]).{0,9}/g) ?? []"""
"""What a line's end may part: figures with a plain space before their unit."""


def test_nothing_is_wider_than_the_narrowest_phone(
    make_service: Callable[..., Service], make_phone: Callable[..., Phone]
) -> None:
    """With letters as they are and twice as large; and no line's end parts figure and unit."""
    service = make_service("--demo", *letting_phones_in())
    phone = make_phone(service.url, size=(320, 640))
    page = phone.page
    wide, parting = {}, {}
    for name in go_round(phone, service):
        parting[name] = page.evaluate(PARTING)
        page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
        for percent in (200, 100):
            page.evaluate(f"document.documentElement.style.fontSize = '{percent}%'")
            width = page.evaluate("document.documentElement.scrollWidth")
            if width > 320:
                wide[name, percent] = width
    assert wide == {}
    assert {name: some for name, some in parting.items() if some} == {}
