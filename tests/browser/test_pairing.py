"""A phone across the network, as two origins on loopback: trusted, paired, offline, killed, synced.

The laptop's page is at 127.0.0.1, the phone's at 127.0.0.2 over HTTPS, under the authority that the
service made. Chromium is told the service's key instead of having the authority put into the
machine's own store; that the certificate is right in every other way, ``tests/unit/http`` shows.
"""

from __future__ import annotations

import base64
import hashlib
import io
import json
import re
import socket
import sqlite3
import urllib.error
import urllib.request
from contextlib import closing
from typing import TYPE_CHECKING, Any

import pytest
import zxingcpp
from cryptography import x509
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from PIL import Image
from playwright.sync_api import expect

from tests.browser.driving import LAN, letting_phones_in, until, wait_for
from tests.browser.test_offline import ready
from tests.browser.test_whole import _make_survey, _photo, _picture, _read, _walk_page
from tests.browser.walking import Walker
from tests.support.heard import MINTED

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from playwright.sync_api import Page

    from tests.browser.driving import Phone, Service

pytestmark = pytest.mark.browser


class Home:
    """A service for phones, its owner's browser, and what starts phones."""

    def __init__(self, service: Service, port: int, make_phone: Callable[..., Phone]) -> None:
        self.service, self.port, self._make = service, port, make_phone
        self.laptop = make_phone(service.url, is_mobile=False, has_touch=False)
        self.wait()

    @property
    def url(self) -> str:
        return f"https://{LAN}:{self.port}"

    def wait(self) -> None:
        """Wait until phones are answered too."""

        def answers() -> bool:
            with socket.socket() as line:
                line.settimeout(2)
                return line.connect_ex((LAN, self.port)) == 0

        wait_for(answers, 30)

    def phone(self) -> Phone:
        """Give a phone that trusts the service, not paired."""
        pem = (self.service.data / "certificates" / "service.pem").read_bytes()
        key = x509.load_pem_x509_certificate(pem).public_key()
        spki = key.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
        mark = base64.b64encode(hashlib.sha256(spki).digest()).decode()
        flags = (f"--ignore-certificate-errors-spki-list={mark}",)
        return self._make(self.url, flags=flags)

    def told(self) -> dict[str, Any]:
        """Return what the owner is told of phones."""
        found: dict[str, Any] = self.service.get("/api/phones")
        return found

    def offered(self) -> tuple[str, str]:
        """Have a code shown on the laptop; return what a camera reads of it, and the typed one."""
        page = self.laptop.page
        page.goto("about:blank")
        page.goto(self.service.url + "/#/phones")
        page.get_by_role("button", name="Show a code").click()
        drawn = page.locator("svg.qr").first
        drawn.wait_for()
        picture = Image.open(io.BytesIO(drawn.screenshot()))
        (read,) = zxingcpp.read_barcodes(picture)
        return read.text, page.locator(".code").inner_text()


@pytest.fixture
def home(make_service: Callable[..., Service], make_phone: Callable[..., Phone]) -> Home:
    words = letting_phones_in()
    return Home(make_service(*words), int(words[-1]), make_phone)


def scan(phone: Phone, address: str) -> Page:
    """Open what the camera read, and touch the one button."""
    page = phone.page
    page.goto(address)
    page.get_by_role("button", name="Pair this phone").tap()
    page.get_by_text("This phone is paired as").wait_for()
    return page


def test_from_the_code_on_the_laptop_to_a_walk_without_network(home: Home) -> None:
    address, _ = home.offered()
    assert re.fullmatch(rf"https://{LAN}:{home.port}/#pair=[A-Za-z0-9_-]{{22}}", address)
    secret = address.partition("#pair=")[2]
    phone = home.phone()
    page = phone.page
    page.goto(address)
    until(page, "location.hash === '#/pair'")
    assert secret not in page.url
    page.get_by_label("What this phone is called").fill("the one in the loft")
    page.get_by_role("button", name="Pair this phone").tap()
    page.get_by_text("This phone is paired as “the one in the loft”").wait_for()
    ready(page)
    # A browser writes its cookies down within half a minute, or when it ends in good order.
    phone.restart()

    # The network goes, and the browser is killed. It starts again from what the phone stored.
    home.service.kill()
    phone.context.set_offline(True)
    phone.kill()
    phone.restart()
    phone.context.set_offline(True)
    survey = _make_survey(phone)
    loft = _walk_page(phone, survey)
    for value in (353, 47, 356):
        _read(loft, value)
    phone.kill()
    phone.restart()

    # The network comes back; nobody touches anything.
    home.service.start()
    home.wait()
    phone.context.set_offline(False)
    phone.open()

    def values() -> list[int]:
        known = [one["id"] for one in home.service.get("/api/surveys")["surveys"]]
        entries = home.service.entries(survey) if survey in known else []
        return sorted(one["value"] for one in entries if one["kind"] in ("across", "breadth"))

    wait_for(lambda: values() == [47, 353, 356], 40)
    (known,) = home.told()["phones"]
    assert known["name"] == "the one in the loft"
    assert phone.errors == []


def test_a_code_is_typed_in_a_page_of_its_own(home: Home) -> None:
    _, code = home.offered()
    phone = home.phone()
    page = phone.open("/#/pair")
    page.get_by_label("The code on the laptop's screen").fill(code.lower())
    page.get_by_role("button", name="Pair this phone").tap()
    page.get_by_text("This phone is paired as").wait_for()
    cookies = phone.context.cookies()
    assert [one["name"] for one in cookies] == ["__Host-baywalk"]
    assert cookies[0]["httpOnly"]
    assert cookies[0]["secure"]
    assert cookies[0]["sameSite"] == "Strict"
    assert "__Host" not in page.evaluate("document.cookie")


def test_a_stranger_is_told_and_loses_nothing(home: Home) -> None:
    phone = home.phone()
    walker = Walker(phone).start().read(412).saved("412")
    page = phone.open()
    page.get_by_text("This phone is not paired with the laptop.").wait_for()
    assert home.service.get("/api/surveys")["surveys"] == []
    page.locator("#banners").get_by_role("link", name="Pair this phone").tap()
    page.get_by_label("The code on the laptop's screen").fill("00000000")
    page.get_by_role("button", name="Pair this phone").tap()
    expect(page.get_by_role("alert").first).to_contain_text("not a code that pairs now")
    address, _ = home.offered()
    scan(phone, address)
    wait_for(
        lambda: [s["id"] for s in home.service.get("/api/surveys")["surveys"]] == [walker.id], 40
    )


def test_a_phone_that_was_put_out_keeps_its_readings(home: Home) -> None:
    address, _ = home.offered()
    phone = home.phone()
    scan(phone, address)
    walker = Walker(phone).start().read(412).saved("412")
    wait_for(lambda: home.service.get("/api/surveys")["surveys"], 40)
    page = home.laptop.page
    page.get_by_role("button", name="Look again").click()
    page.get_by_text(re.compile("sees every survey, last seen .+")).wait_for()
    assert home.told()["fingerprint"] in page.locator("main").inner_text()
    page.get_by_role("button", name="Put My phone out").click()
    page.get_by_role("button", name="Put it out", exact=True).last.click()
    wait_for(lambda: home.told()["phones"] == [])
    walker.open().read(47).saved("47")
    told = phone.open()
    told.get_by_text("This phone is not paired with the laptop any more.").wait_for()
    assert {one["value"] for one in walker.entries("across", "breadth")} == {412, 47}
    # Paired again, what was kept goes over.
    scan(phone, home.offered()[0])

    def values() -> set[int]:
        return {one.get("value") for one in home.service.entries(walker.id)}

    wait_for(lambda: {412, 47} <= values(), 40)

    # It lies unused for longer than a working month. What is read now stays on it as well.
    _let_run_out(home.service)
    walker.open().read(356).saved("356")
    phone.page.goto("about:blank")
    phone.open("/#/pair").get_by_text("The pairing of this phone has run out.").wait_for()
    assert {one["value"] for one in walker.entries("across", "breadth")} == {412, 47, 356}
    assert 356 not in values()


def _let_run_out(service: Service) -> None:
    """Have the service take every phone for one that was last seen more than a month ago."""
    with closing(sqlite3.connect(service.data / "baywalk.sqlite", timeout=10)) as store, store:
        store.execute("UPDATE devices SET seen = seen - 32 * 24 * 3600")


def _there(home: Home) -> set[str]:
    """Return the ids of the surveys that the service has."""
    return {one["id"] for one in home.service.get("/api/surveys")["surveys"]}


def test_a_new_address_takes_everything_by_file(home: Home, tmp_path: Path) -> None:
    """The old address is gone with readings and a photo unsent: they come over, nothing doubled."""
    phone = home.phone()
    scan(phone, home.offered()[0])
    ready(phone.page)
    survey = _make_survey(phone)
    home.service.kill()
    phone.context.set_offline(True)
    loft = _walk_page(phone, survey)
    for value in (353, 47):
        _read(loft, value)
    _photo(loft, tmp_path)
    page = phone.open(f"/#/s/{survey}/stored")
    page.get_by_role("heading", name="If the laptop has a new address").wait_for()
    with page.expect_download() as downloading:
        page.get_by_role("button", name="Download it with photos").tap()
    file = tmp_path / "survey.json"
    downloading.value.save_as(file)

    # Another address of the same service stands for the new one; its store is empty.
    home.service.start()
    there = home.laptop.page
    for _ in range(2):
        there.goto("about:blank")
        there.goto(home.service.url)
        there.locator("#import").set_input_files(file)
        there.wait_for_url(re.compile(f"#/s/{survey}$"))
    wait_for(lambda: survey in _there(home) and len(home.service.entries(survey)) >= 3, 40)
    filed = {one["id"]: one for one in json.loads(file.read_text())["entries"]}
    assert {one["id"]: one for one in home.service.entries(survey)} == filed
    (shot,) = (one["sha256"] for one in filed.values() if one["kind"] == "photo")
    assert wait_for(lambda: _picture(home.service, shot), 20)
    assert json.loads(file.read_text())["photos"][shot]["type"] == "image/jpeg"


def test_the_plain_page_hands_out_the_authority_and_nothing_else(home: Home) -> None:
    there = home.told()["handout"]
    assert there == f"http://{LAN}:{home.service.port}/"

    def fetch(path: str, host: str | None = None, data: bytes | None = None) -> tuple[int, bytes]:
        asked = urllib.request.Request(there + path, data, {"Host": host} if host else {})  # noqa: S310 - our own
        try:
            with urllib.request.urlopen(asked, timeout=10) as answer:  # noqa: S310 - our own
                return answer.status, answer.read()
        except urllib.error.HTTPError as refusal:
            with refusal:
                return refusal.code, b""

    status, page = fetch("")
    assert status == 200
    assert home.told()["fingerprint"].encode() in page
    # At most eight steps for each kind of phone, and how to undo them.
    lists = [part.partition(b"</ol>")[0] for part in page.split(b"<ol>")[1:]]
    assert [part.count(b"<li>") for part in lists] == [8, 8]
    assert b"To undo it" in page
    certificate = x509.load_der_x509_certificate(fetch("baywalk-authority.crt")[1])
    assert certificate.fingerprint(SHA256()).hex(":").upper() == home.told()["fingerprint"]
    for path in (
        "api/surveys",
        "index.html",
        "authority.key",
        "../certificates/authority.key",
        "sw.js",
    ):
        assert fetch(path)[0] == 404
    assert fetch("", "evil.example")[0] == 403
    assert fetch("", data=b"x")[0] == 405


def test_no_secret_is_in_what_the_service_wrote(
    home: Home, capfd: pytest.CaptureFixture[str], heard: Path
) -> None:
    address, code = home.offered()
    phone = home.phone()
    page = phone.page
    requests: list[str] = []
    phone.context.on("request", lambda one: requests.append(f"{one.url} {json.dumps(one.headers)}"))
    scan(phone, address)
    token = phone.context.cookies()[0]["value"].partition(".")[2]
    secret = address.partition("#pair=")[2]
    page.goto(home.url + "/")
    home.service.stop()
    said = "".join(capfd.readouterr())
    wrote = [one.read_bytes() for one in home.service.data.rglob("*") if one.is_file()]
    for hidden in (secret, code.replace("-", ""), token):
        assert hidden not in said
        assert not any(hidden.encode() in part for part in wrote)
        addresses = [line.partition(" ")[0].partition("#")[0] for line in requests]
        assert not any(hidden in one for one in addresses)
    assert not any(secret in line.partition(" ")[2] for line in requests), "no Referer carries it"
    # What the whole suite wrote is searched for all of them when it ends.
    noted = "".join(file.read_text() for file in heard.glob(f"{MINTED}-*"))
    assert {secret, code.replace("-", ""), token} <= set(noted.split())
