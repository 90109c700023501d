"""A second engine: storing, sending and walking in WebKitGTK, the nearest here to the other phone.

The suites of the first engine run here as they are (`test_storing`, `test_sending`,
`test_walking`); this file has what needs a way of its own. It takes Debian's webkit2gtk-driver and
xvfb. What the engine lacks here: its sessions keep nothing on the disk when they end, so nothing
starts the browser again; a window is never narrower than 447 px, so sizes of a phone are not tried;
there is no storage manager, so nothing is asked of room or keeping; it has no switch for the
network, so a page is cut from it by what it asks with; and it does not know the authority that the
service made, so that of HTTPS only the cookie and the pairing are tried.
"""

from __future__ import annotations

import io
import json
import socket
from typing import TYPE_CHECKING

from PIL import Image

from tests.browser.driving import LAN, Service, letting_phones_in, wait_for
from tests.browser.test_book import MAKE, add, add_photo, kept_photo, made
from tests.browser.walking import Walker, head

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.webkit.second import Second


def picture() -> bytes:
    """Return a photo as a large sensor takes it, lying on its side: dark to the right."""
    out, exif = io.BytesIO(), Image.Exif()
    exif[0x0112] = 6
    image = Image.linear_gradient("L").resize((5712, 4284)).transpose(Image.Transpose.ROTATE_180)
    image.convert("RGB").save(out, "JPEG", quality=20, exif=exif)
    return out.getvalue()


def test_a_large_photo_that_lies_on_its_side_is_kept_upright_and_not_blank(phone: Second) -> None:
    made(phone)
    entry = add_photo(phone.page, picture())
    _, content = kept_photo(phone.page, entry["sha256"])
    with Image.open(io.BytesIO(content)) as photo:
        assert photo.size == (1200, 1600)
        assert not photo.getexif()
        left, right = (photo.convert("L").getpixel((side, 800)) for side in (20, 1180))
    assert isinstance(left, int)
    assert isinstance(right, int)
    assert (left < 20, right > 235) == (True, True), (left, right)


LOSE_ONE = """async () => {
  const real = window.fetch;
  let lost = 0;
  window.fetch = async (...given) => {
    const answer = await real(...given);
    if (given[1]?.method !== "POST" || lost) return answer;
    lost += 1;
    throw new TypeError("the line was cut");
  };
  for (let n = 0; n < 20 && !lost; n += 1) await book.sync.now();
  window.fetch = real;
  await book.sync.now();
  return lost;
}"""
"""The first answer is lost after the service has kept what was sent."""


def test_a_service_that_comes_and_goes_loses_and_doubles_nothing(
    phone: Second, service: Service
) -> None:
    survey = made(phone)
    for turn in (300, 310, 320):
        service.kill()
        for value in range(turn, turn + 10):
            add(phone.page, value)
        phone.page.evaluate("book.sync.now()")
        service.start()
        assert phone.page.evaluate(LOSE_ONE) == 1
    wait_for(lambda: len(service.entries(survey)) == 30, 60)
    assert sorted(one["value"] for one in service.entries(survey)) == list(range(300, 330))


def test_a_phone_is_paired_by_the_typed_code_and_sends(
    make_phone: Callable[..., Second], tmp_path: Path
) -> None:
    """Over HTTPS at another address, with the cookie that only this place gets."""
    words = letting_phones_in()
    service = Service(tmp_path / "home", *words)
    try:
        wait_for(lambda: reached(LAN, int(words[-1])), 30)
        phone = make_phone(f"https://{LAN}:{words[-1]}")
        survey = phone.book().evaluate(MAKE)
        add(phone.page, 353)
        phone.page.evaluate("book.sync.now()")
        assert phone.page.evaluate("book.sync.state.unpaired") == "not-paired"
        assert not service.get("/api/surveys")["surveys"]
        code = service.post("/api/phones", {})["code"]
        answered = phone.page.evaluate(PAIR, code.lower())
        # What lets the phone in is out of the page's reach.
        assert answered == [201, ""]
        phone.page.evaluate("book.sync.now()")
        wait_for(lambda: [one["value"] for one in service.entries(survey)] == [353], 60)
    finally:
        service.stop()


PAIR = """async (code) => {
  const answer = await fetch("/api/pairing", {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ code, name: "Invented" }),
  });
  return [answer.status, document.cookie];
}"""


def reached(address: str, port: int) -> bool:
    """Say whether somebody answers at a port."""
    with socket.socket() as line:
        line.settimeout(2)
        return line.connect_ex((address, port)) == 0


def test_the_page_starts_with_no_service_and_is_walked(phone: Second, service: Service) -> None:
    survey = head(joists=5)
    page = phone.open()
    page.get_by_text("No survey is on this phone yet").wait_for()
    wait_for(lambda: page.evaluate("Boolean(navigator.serviceWorker.controller)"), 30)
    phone.book().evaluate("(head) => book.createSurvey(head)", survey)
    service.kill()
    walker = Walker(phone, survey["id"]).open()  # type: ignore[arg-type]
    walker.read(353).saved("353")
    walker.page.goto(f"{phone.url}/#/s/{survey['id']}/stored")
    walker.shows("Stored on this phone")
    service.start()
    walker.tap("Send now")
    wait_for(lambda: service.get("/api/surveys")["surveys"], 30)
    wait_for(lambda: "353" in json.dumps(service.entries(survey["id"])), 30)
    assert json.dumps(service.entries(survey["id"])).count('"value": 353') == 1
