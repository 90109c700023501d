"""A second engine: storing, sending and walking in WebKitGTK, the nearest here to the other phone.

It needs Debian's webkit2gtk-driver and xvfb. What it lacks: its sessions keep nothing on the disk
when they end, so nothing here starts the browser again; a window is never narrower than 447 px, so
sizes of a phone are not tried; there is no storage manager, so nothing is asked of room or keeping;
its pages get on only while the driver asks something of them; and it does not know the authority
that the service made, so that of HTTPS only the cookie and the pairing are tried.
"""

from __future__ import annotations

import io
import json
import os
import shutil
import socket
import subprocess
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from PIL import Image

from tests.browser.driving import Service, wait_for

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

BROWSER = next(Path("/usr/lib").glob("*/webkit2gtk-4.1/MiniBrowser"), None)
DRIVER, SCREEN = shutil.which("WebKitWebDriver"), shutil.which("Xvfb")

pytestmark = [
    pytest.mark.skipif(
        not (BROWSER and DRIVER and SCREEN),
        reason="no WebKitGTK is installed here (apt-get install webkit2gtk-driver xvfb)",
    ),
    # The library's own driver of this engine uses its own old way.
    pytest.mark.filterwarnings("ignore:setting remote_server_addr:DeprecationWarning"),
]

BOOK = """
  const { openBook } = await import("/app/book/book.js");
  const { newHead } = await import("/app/book/entry.js");
  window.book = await openBook();
  const run = { id: "A", title: "", joists: 5, lines: ["near"] };
  window.id = await book.createSurvey(newHead("Invented", { class: "II" }, [run]));
  window.survey = await book.openSurvey(window.id);
  return window.id;
"""

AT_REST = """
  await navigator.locks.request("baywalk.sync", () => new Promise((on) => setTimeout(on, 700)));
"""


class Engine:
    """WebKitGTK before a service."""

    def __init__(self, driver: Any, url: str) -> None:
        self.driver, self.url = driver, url

    def open(self, path: str) -> None:
        """Go to a page, but leave the one before only when its storage is at rest.

        A page that is left in the middle of a transaction may leave the whole database locked in
        this engine: every later transaction then waits for ever, whoever asks.
        """
        if self.driver.current_url.startswith("http"):
            self.run(AT_REST)
        self.driver.get("about:blank")
        self.driver.get(self.url + path)

    def run(self, body: str, *given: Any) -> Any:
        """Run the body of an asynchronous function on the page and return its outcome."""
        script = (
            "const [...all] = arguments; const done = all.pop();"
            f"(async (given) => {{ {body} }})(all).then("
            "(value) => done({ value }), (error) => done({ error: String(error) }))"
        )
        told = self.driver.execute_async_script(script, *given)
        assert "error" not in told, told["error"]
        return told.get("value")

    def touch(self, words: str) -> None:
        """Touch the button or link with these words."""
        from selenium.webdriver.common.by import By

        path = f"//*[self::button or self::a][normalize-space()='{words}']"
        wait_for(
            lambda: [one for one in self.driver.find_elements(By.XPATH, path) if one.is_displayed()]
        )
        self.driver.find_elements(By.XPATH, path)[0].click()

    def wait(self, what: Callable[[], Any]) -> None:
        """Wait until something is so; the page's own clock stands still between commands."""
        wait_for(lambda: self.driver.execute_script("return 1") and what(), 100)

    def says(self, words: str) -> None:
        """Wait until the page says something."""
        wait_for(
            lambda: words in str(self.driver.execute_script("return document.body.innerText")), 20
        )


@pytest.fixture(scope="module")
def screen() -> Iterator[str]:
    number = f":{70 + os.getpid() % 900}"
    assert SCREEN
    shown = subprocess.Popen(
        [SCREEN, number, "-screen", "0", "900x1100x24"], stderr=subprocess.DEVNULL
    )
    time.sleep(1)
    yield number
    shown.terminate()
    shown.wait(10)


@pytest.fixture
def engine(screen: str, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[], Engine]]:
    """Give what starts the engine; the service is its `service`."""
    from selenium import webdriver
    from selenium.webdriver.webkitgtk.options import Options
    from selenium.webdriver.webkitgtk.service import Service as Driver

    monkeypatch.setenv("DISPLAY", screen)
    # Its sandbox needs more of the machine than a container gives; the pages are our own.
    monkeypatch.setenv("WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS", "1")
    options = Options()
    options.binary_location = str(BROWSER)
    options.add_argument("--automation")
    # It does not know the authority that the service made; what is shown here is the pairing.
    options.accept_insecure_certs = True
    driver = webdriver.WebKitGTK(options=options, service=Driver(DRIVER))
    driver.set_script_timeout(60)
    made: list[Engine] = []

    def make(service: Service) -> Engine:
        made.append(Engine(driver, service.url))
        return made[-1]

    yield make
    driver.quit()


@pytest.fixture
def service(tmp_path: Path) -> Iterator[Service]:
    made = Service(tmp_path / "service")
    yield made
    made.stop()


def picture() -> list[int]:
    """Return a photo as a large sensor takes it, lying on its side: dark to the right."""
    out, exif = io.BytesIO(), Image.Exif()
    exif[0x0112] = 6
    image = Image.linear_gradient("L").resize((5712, 4284)).transpose(Image.Transpose.ROTATE_180)
    image.convert("RGB").save(out, "JPEG", quality=20, exif=exif)
    return list(out.getvalue())


def check_picture(kept: bytes) -> None:
    """A photo is smaller, upright, and has what was in it: the canvas did not come out blank."""
    with Image.open(io.BytesIO(kept)) as photo:
        assert photo.size == (1200, 1600)
        assert not photo.getexif()
        left, right = (photo.getpixel((side, 800)) for side in (20, 1180))
    assert isinstance(left, tuple)
    assert isinstance(right, tuple)
    assert (left[0] < 20, right[0] > 235) == (True, True), (left, right)


def test_readings_and_a_photo_are_stored_and_sent(
    engine: Callable[[Service], Engine], service: Service
) -> None:
    page = engine(service)
    page.open("/repair.html")
    survey = page.run(BOOK)
    page.run(
        """
        for (const value of given[0]) await survey.add("across", {
          run: "A", line: "near", from: [1, "right"], to: [2, "left"], value,
        }).saved;
        const blob = new Blob([new Uint8Array(given[1])], { type: "image/jpeg" });
        await (await survey.addPhoto(blob, { run: "A", bay: 1 })).saved;
        """,
        list(range(300, 320)),
        picture(),
    )
    kept = page.run(
        """
        const [{ sha256 }] = survey.entries.filter(({ kind }) => kind === "photo");
        const asked = (request) => new Promise((on, off) => {
          request.onsuccess = () => on(request.result);
          request.onerror = off;
        });
        const photos = (await asked(indexedDB.open("baywalk"))).transaction("photos");
        const { bytes } = await asked(photos.objectStore("photos").get(sha256));
        return [...new Uint8Array(bytes)];
        """
    )
    check_picture(bytes(kept))
    # What was stored is read again by a fresh connection.
    kept = page.run(
        """
        const { openBook } = await import("/app/book/book.js");
        const again = await (await openBook()).openSurvey(given[0]);
        return again.entries.map((entry) => entry.value ?? entry.kind);
        """,
        survey,
    )
    assert kept == [*range(300, 320), "photo"]
    page.wait(lambda: service.get("/api/surveys")["surveys"])
    page.wait(lambda: len(service.entries(survey)) == 21)
    shot = next(one["sha256"] for one in service.entries(survey) if one["kind"] == "photo")
    page.wait(lambda: (service.data / "photos" / shot[:2]).exists())


def test_a_service_that_comes_and_goes_loses_and_doubles_nothing(
    engine: Callable[[Service], Engine], service: Service
) -> None:
    page = engine(service)
    page.open("/repair.html")
    survey = page.run(BOOK)
    for turn in range(3):
        service.kill()
        page.run(
            """
            for (let n = 0; n < 10; n += 1) await survey.add("across", {
              run: "A", line: "near", from: [1, "right"], to: [2, "left"], value: given[0] + n,
            }).saved;
            await book.sync.now();
            """,
            300 + 10 * turn,
        )
        service.start()
        # The first answer is lost after the service has kept what was sent.
        lost = page.run(
            """
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
            """
        )
        assert lost == 1
    page.wait(lambda: len(service.entries(survey)) == 30)
    assert sorted(one["value"] for one in service.entries(survey)) == list(range(300, 330))


def reached(address: str, port: int) -> bool:
    """Say whether somebody answers at a port."""
    with socket.socket() as line:
        line.settimeout(2)
        return line.connect_ex((address, port)) == 0


def test_the_page_starts_with_no_service_and_is_walked(
    engine: Callable[[Service], Engine], service: Service
) -> None:
    page = engine(service)
    page.open("/")
    page.says("No survey is on this phone yet")
    wait_for(lambda: page.run("return Boolean(navigator.serviceWorker.controller)"), 30)
    page.run(BOOK.replace('"near"]', '"near", "far"]'))
    survey = page.run("return window.id")
    service.kill()
    page.open(f"/#/s/{survey}/walk/A")
    echo = "return document.querySelector('output.echo')?.textContent ?? ''"
    page.says("Save")
    for count, digit in enumerate("353", start=1):
        page.touch(digit)
        page.wait(lambda so_far="353"[:count]: so_far in page.driver.execute_script(echo))
    page.touch("Save")
    said = "return document.querySelector(\".walk-saved[data-state='saved']\")?.textContent ?? ''"
    wait_for(lambda: "353" in page.driver.execute_script(said), 20)
    page.open(f"/#/s/{survey}/stored")
    page.says("Stored on this phone")
    service.start()
    page.touch("Send now")
    page.wait(lambda: service.get("/api/surveys")["surveys"])
    page.wait(lambda: [one["value"] for one in service.entries(survey) if "value" in one] == [353])
    assert json.dumps(service.entries(survey)).count('"value": 353') == 1
