"""Sending and fetching between a real browser and the real service, with everything going wrong."""

from __future__ import annotations

import hashlib
import http.client
import io
import json
import shutil
import socket
import time
from typing import TYPE_CHECKING, Any

from PIL import Image

from baywalk.http.bodies import PIECE
from tests.browser.cutting import CutLine
from tests.browser.driving import until, wait_for
from tests.browser.test_book import GAP, OPEN, add, add_photo, made, photo_file

if TYPE_CHECKING:
    from collections.abc import Callable

    from playwright.sync_api import Page, Route

    from tests.browser.driving import Phone, Service

ALL_SENT = "survey.entries.length && survey.sent.size === survey.entries.length"


def ids(page: Page) -> list[str]:
    """Return the ids of the open survey's entries, in order."""
    found: list[str] = page.evaluate("survey.entries.map(({ id }) => id)")
    return found


def ask(
    service: Service, method: str, path: str, body: bytes | None = None, kind: str = "image/jpeg"
) -> tuple[int, int]:
    """Ask the service past every phone; return the status and how much of a photo it has."""
    line = http.client.HTTPConnection("127.0.0.1", service.port, timeout=10)
    line.request(method, path, body, {"Content-Type": kind} if body else {})
    answer = line.getresponse()
    answer.read()
    line.close()
    return answer.status, int(answer.headers.get("Upload-Offset", 0))


def test_readings_go_over_by_themselves(phone: Phone, service: Service) -> None:
    survey = made(phone)
    sent = [add(phone.page, value) for value in (300, 301, 302)]
    until(phone.page, f"{ALL_SENT} && book.sync.state.there === 3")
    assert sorted(entry["id"] for entry in service.entries(survey)) == sorted(sent)
    state = phone.page.evaluate("book.sync.state")
    assert state["toGo"] == {"entries": 0, "photos": 0}
    assert (state["stored"], state["there"]) == (3, 3)


def test_they_wait_for_the_network_and_then_go(phone: Phone, service: Service) -> None:
    survey = made(phone)
    wait_for(lambda: service.get("/api/surveys")["surveys"])
    phone.context.set_offline(True)
    add(phone.page, 300)
    until(phone.page, "!book.sync.state.online && book.sync.state.oldestUnsent")
    assert phone.page.evaluate("[survey.sent.size, book.sync.state.toGo.entries]") == [0, 1]
    assert service.entries(survey) == []
    phone.context.set_offline(False)
    until(phone.page, ALL_SENT)
    assert len(service.entries(survey)) == 1


def test_an_answer_lost_after_the_commit(phone: Phone, service: Service) -> None:
    """The service has it, the phone does not know: it goes twice and is there once."""
    survey = made(phone)
    wait_for(lambda: service.get("/api/surveys")["surveys"])
    lost: list[int] = []

    def lose(route: Route) -> None:
        answer = route.fetch()
        lost.append(answer.status)
        route.abort()

    pattern = "**/api/surveys/*/entries"
    phone.page.route(pattern, lose)
    add(phone.page, 300)
    until(phone.page, "!book.sync.state.online")
    assert len(service.entries(survey)) == 1
    assert phone.page.evaluate("survey.sent.size") == 0
    phone.page.unroute(pattern)
    phone.page.evaluate("book.sync.now()")
    until(phone.page, ALL_SENT)
    assert lost[0] == 200
    assert len(service.entries(survey)) == 1


def test_a_strange_answer_loses_nothing(phone: Phone, service: Service) -> None:
    survey = made(phone)
    wait_for(lambda: service.get("/api/surveys")["surveys"])
    pattern = "**/api/surveys/*/entries"
    phone.page.route(pattern, lambda route: route.fulfill(json={"accepted": "all of them"}))
    add(phone.page, 300)
    until(phone.page, "book.sync.state.lastError")
    assert "not understood" in phone.page.evaluate("book.sync.state.lastError")
    assert phone.page.evaluate("survey.sent.size") == 0
    phone.page.unroute(pattern)
    phone.page.evaluate("book.sync.now()")
    until(phone.page, f"{ALL_SENT} && !book.sync.state.lastError")
    assert len(service.entries(survey)) == 1


def test_a_refused_entry_stays_and_holds_nothing_up(phone: Phone, service: Service) -> None:
    survey = made(phone)
    wait_for(lambda: service.get("/api/surveys")["surveys"])
    phone.context.set_offline(True)
    clash, well = add(phone.page, 300), add(phone.page, 301)
    entry = phone.page.evaluate("survey.entries[0]") | {"value": 999}
    body = json.dumps({"entries": [entry]}).encode()
    ask(service, "POST", f"/api/surveys/{survey}/entries", body, "application/json")
    phone.context.set_offline(False)
    # Taken in one look: what was refused is offered again now and then, and is open meanwhile.
    sent, refused = wait_for(
        lambda: phone.page.evaluate(
            """survey.refused.size === 1 && survey.sent.size === 1
              && [[...survey.sent], [...survey.refused]]"""
        )
    )
    assert sent == [well]
    [(name, why)] = refused
    assert name == clash
    assert "id" in why
    assert phone.page.evaluate("survey.entries[0].value") == 300
    phone.restart()
    phone.book().evaluate(OPEN, survey)
    until(phone.page, "survey.refused.size === 1")


def test_the_service_is_killed_in_the_middle(phone: Phone, service: Service) -> None:
    survey = made(phone)
    add(phone.page, 300)
    until(phone.page, ALL_SENT)
    service.kill()
    add(phone.page, 301)
    phone.page.evaluate("book.sync.now()")
    until(phone.page, "book.sync.state.online === false")
    service.start()
    phone.page.evaluate("book.sync.now()")
    until(phone.page, ALL_SENT)
    assert [entry["value"] for entry in service.entries(survey)] == [300, 301]


def test_a_service_that_has_lost_its_store_gets_everything_again(
    phone: Phone, service: Service
) -> None:
    survey = made(phone)
    photo = add_photo(phone.page, photo_file((320, 200)))
    before = [photo["id"], add(phone.page, 300)]
    until(phone.page, f"{ALL_SENT} && !book.sync.state.toGo.photos")
    service.stop()
    shutil.rmtree(service.data)
    service.start()
    phone.page.evaluate("book.sync.now()")
    # A round that was under way meanwhile found no service; the next one follows by itself.
    wait_for(lambda: service.get("/api/surveys")["surveys"])
    wait_for(lambda: [entry["id"] for entry in service.entries(survey)] == before)
    wait_for(lambda: ask(service, "GET", f"/api/photos/{photo['sha256']}")[0] == 200)


def test_two_phones_have_the_same_book(
    phone: Phone, make_phone: Callable[..., Phone], service: Service
) -> None:
    """A survey is brought to a second phone, and what either writes reaches the other."""
    survey = made(phone)
    add(phone.page, 300)
    phone.page.evaluate("async () => { await survey.set('/title', 'Renamed').saved; }")
    photo = add_photo(phone.page, photo_file((320, 200)))
    until(phone.page, ALL_SENT)
    other = make_phone()
    page = other.book()
    assert [one["id"] for one in page.evaluate("book.surveysThere()")] == [survey]
    page.evaluate("(id) => book.bring(id)", survey)
    page.evaluate(OPEN, survey)
    assert page.evaluate("book.surveysThere()") == []
    add(page, 301)
    page.evaluate("async () => { await survey.strike(survey.entries[0].id, 'wrong face').saved; }")
    page.evaluate("async () => { await survey.strike(survey.entries[1].id, 'no').saved; }")
    until(page, ALL_SENT)
    phone.page.evaluate("book.sync.now()")
    until(phone.page, "survey.entries.length === 6")
    until(page, "survey.entries.length === 6")
    wait_for(lambda: folded(page) == folded(phone.page))
    assert folded(page)["title"] == "Invented"
    assert ids(page) == ids(phone.page)
    until(phone.page, "book.sync.state.toGo.photos === 0")
    url = page.evaluate("(sum) => survey.photoUrl(sum)", photo["sha256"])
    assert url.startswith("blob:")
    assert len(service.entries(survey)) == 6


def test_what_one_adds_the_other_sees_within_seconds(
    phone: Phone, make_phone: Callable[..., Phone]
) -> None:
    """Nobody touches the other phone, which only shows its page."""
    survey = made(phone)
    until(phone.page, "book.sync.state.lastOk")
    page = make_phone().book()
    page.evaluate("(id) => book.bring(id)", survey)
    page.evaluate(OPEN, survey)
    for number in range(1, 3):
        add(phone.page, 300 + number)
        began = time.monotonic()
        until(page, f"survey.entries.length === {number}", 30)
        # It asks every five seconds; this is a shared machine.
        assert time.monotonic() - began < 3 * 5


def folded(page: Page) -> dict[str, Any]:
    """Return what the open survey amounts to."""
    outcome: dict[str, Any] = page.evaluate(
        """({
          title: survey.head.title,
          entries: survey.entries.map(({ id }) => id),
          struck: [...survey.struck].sort(),
        })"""
    )
    return outcome


def test_a_photo_that_is_refused_stays_and_is_told(phone: Phone) -> None:
    survey = made(phone)
    add_photo(phone.page, b"no picture at all", "image/heic")
    settled = "book.sync.state.refusedPhotos === 1 && !book.sync.state.toGo.photos"
    until(phone.page, f"{ALL_SENT} && {settled} && !book.sync.state.toGo.entries")
    phone.restart()
    phone.book().evaluate(OPEN, survey)
    until(phone.page, "book.sync.state.refusedPhotos === 1")


def test_a_photo_that_was_cut_goes_on_where_it_was(phone: Phone, service: Service) -> None:
    made(phone)
    phone.context.set_offline(True)
    content = photo_file((1400, 1000), quality=95)
    page = phone.page
    # A photo of this size is kept as the browser encodes it, so its bytes are read back.
    sum_ = add_photo(page, content)["sha256"]
    kept = bytes(page.evaluate(PHOTO_BYTES, sum_))
    assert hashlib.sha256(kept).hexdigest() == sum_
    half = len(kept) // 2
    send_half(service, sum_, kept, half)
    wait_for(lambda: ask(service, "HEAD", f"/api/photos/{sum_}")[1])
    ranges: list[str | None] = []
    page.on(
        "request",
        lambda asked: (
            asked.method == "PUT"
            and "/api/photos/" in asked.url
            and ranges.append(asked.header_value("Content-Range"))
        ),
    )
    phone.context.set_offline(False)
    # What is to go may not be counted yet; and only a question to the page lets its events come.
    wait_for(lambda: page.evaluate("true") and ranges)
    until(page, "book.sync.state.toGo.photos === 0")
    started = int(str(ranges[0]).split()[1].split("-")[0])
    assert 0 < started <= half
    assert ask(service, "GET", f"/api/photos/{sum_}")[0] == 200


PHOTO_BYTES = """(sum) => new Promise((resolve) => {
  const asked = indexedDB.open("baywalk");
  asked.onsuccess = () => {
    const got = asked.result.transaction("photos").objectStore("photos").get(sum);
    got.onsuccess = () => resolve([...new Uint8Array(got.result.bytes)]);
  };
})"""


def send_half(service: Service, sum_: str, content: bytes, half: int) -> None:
    """Begin to send a photo and break off, as a phone does that goes to sleep."""
    head = (
        f"PUT /api/photos/{sum_} HTTP/1.1\r\nHost: 127.0.0.1:{service.port}\r\n"
        f"Content-Type: image/jpeg\r\nContent-Length: {len(content)}\r\n\r\n"
    )
    with socket.create_connection(("127.0.0.1", service.port), timeout=10) as line:
        line.sendall(head.encode() + content[:half])
        time.sleep(0.5)


def test_a_photo_cut_at_every_boundary_goes_on_there(
    make_phone: Callable[..., Phone], service: Service
) -> None:
    """Cut after any piece, and sent again by the browser of itself: the page goes on there."""
    with CutLine(service.port, PIECE) as line:
        phone = make_phone(service.url, proxy=line.proxy)
        made(phone)
        noise = io.BytesIO()
        Image.effect_noise((900, 650), 90).convert("RGB").save(noise, "JPEG")
        sum_ = add_photo(phone.page, noise.getvalue())["sha256"]
        size = len(phone.page.evaluate(PHOTO_BYTES, sum_))
        assert size > 3 * PIECE

        def over() -> bool:
            phone.page.evaluate("book.sync.now()")
            return bool(phone.page.evaluate("book.sync.state.toGo.photos === 0"))

        wait_for(over, 60)
    ends = [*range(PIECE, size, PIECE)]
    assert line.cut == list(zip([0, *ends[:-1]], ends, strict=True))
    # It is taken only where its hash is right.
    assert ask(service, "GET", f"/api/photos/{sum_}")[0] == 200


def test_a_clock_that_is_years_off_changes_no_order(
    phone: Phone, make_phone: Callable[..., Phone]
) -> None:
    survey = made(phone)
    add(phone.page, 300)
    until(phone.page, ALL_SENT)
    other = make_phone()
    other.page.clock.set_fixed_time("2031-01-01T00:00:00Z")
    page = other.book()
    page.evaluate("(id) => book.bring(id)", survey)
    page.evaluate(OPEN, survey)
    add(page, 301)
    until(page, ALL_SENT)
    phone.page.evaluate("book.sync.now()")
    until(phone.page, "survey.entries.length === 2")
    add(phone.page, 302)
    read = "survey.entries.map(({ value }) => value)"
    assert phone.page.evaluate(read) == [300, 301, 302]
    assert phone.page.evaluate("survey.entries[1].at").startswith("20")


def test_two_tabs_send_each_entry_once(phone: Phone, service: Service) -> None:
    survey = made(phone)
    other = phone.book(phone.context.new_page())
    other.evaluate(OPEN, survey)
    write = f"(from) => {{ for (let k = 0; k < 20; k += 1) ({GAP})(from + k); }}"
    phone.page.evaluate(write, 300)
    other.evaluate(write, 400)
    for page in (phone.page, other):
        until(page, f"survey.entries.length === 40 && {ALL_SENT}")
    assert len({entry["id"] for entry in service.entries(survey)}) == 40


def test_a_whole_day_goes_over_in_one_go(phone: Phone, service: Service) -> None:
    """Five hundred entries and some photos, without a touch, within half a minute."""
    survey = made(phone)
    wait_for(lambda: service.get("/api/surveys")["surveys"])
    phone.context.set_offline(True)
    page = phone.page
    page.evaluate(
        f"""async () => {{
          const write = {GAP};
          await Promise.all(Array.from({{ length: 500 }}, (_, k) => write(300 + k).saved));
        }}"""
    )
    for side in range(300, 310):
        add_photo(page, photo_file((side, 200)))
    phone.context.set_offline(False)
    began = time.monotonic()
    until(page, f"book.sync.state.toGo.photos === 0 && {ALL_SENT}", 60)
    assert time.monotonic() - began <= 30
    assert len(service.entries(survey)) == 510


def test_the_as_built_comes_with_the_sending(phone: Phone) -> None:
    survey = made(phone)
    assert phone.page.evaluate("survey.asBuilt") is None
    add(phone.page, 300)
    until(phone.page, "survey.asBuilt && !survey.asBuiltState.stale")
    phone.context.set_offline(True)
    add(phone.page, 301)
    assert phone.page.evaluate("survey.asBuiltState.stale")
    phone.restart()
    phone.book().evaluate(OPEN, survey)
    assert phone.page.evaluate("survey.asBuilt.format") == "baywalk.as-built"
    until(phone.page, "!survey.asBuiltState.stale")
