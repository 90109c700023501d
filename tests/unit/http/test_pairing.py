"""Letting phones in: what is refused, each by a test, and what is told to whom."""

from __future__ import annotations

import hashlib
import io
import json
import logging
import sqlite3
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
import zxingcpp
from PIL import Image

from baywalk.http import Config, create_app
from baywalk.http.config import Lan
from baywalk.http.phones import commands, pairing, tokens, where
from baywalk.http.phones.routes import COOKIE
from tests.support.sample import entry, head

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from flask.testing import FlaskClient

LAN = Lan("192.168.7.7", "loft.local", 8766, 8765, "AA:BB", named=True)
HERE = "https://loft.local:8766"


class House:
    """The same service as its owner and as phones meet it, and a clock that both go by."""

    def __init__(self, data: Path) -> None:
        where.write(data, LAN)
        self.now = 1_800_000_000.0
        self.data = data
        config = Config(data, phones=True)
        self.inner = create_app(config, lambda: self.now)
        self.outer = create_app(replace(config, lan=LAN, guarded=True), lambda: self.now)
        self.owner = Asker(self.inner, "http://127.0.0.1:8765")

    def phone(self, base: str = HERE) -> Asker:
        """Give a new phone, not paired."""
        return Asker(self.outer, base)

    def offer(self, **body: Any) -> dict[str, Any]:
        """Have the owner make an offer; the secret is put beside it."""
        made = self.owner.send("POST", "/api/phones", body)
        assert made.status_code == 201, made.text
        told: dict[str, Any] = made.get_json()
        told["secret"] = told["ways"][0]["url"].partition("#pair=")[2]
        return told

    def paired(self, **body: Any) -> Asker:
        """Give a phone that is paired."""
        phone = self.phone()
        assert phone.pair(secret=self.offer(**body)["secret"]).status_code == 201
        return phone

    def close(self) -> None:
        for app in (self.inner, self.outer):
            app.extensions["baywalk.store"].close()


class Asker:
    """A browser with its own cookies."""

    def __init__(self, app: Any, base: str) -> None:
        self._client: FlaskClient = app.test_client()
        self._base = base

    def send(self, method: str, path: str, body: object = None, **headers: str) -> Any:
        """Ask; a body goes as JSON."""
        sent: dict[str, Any] = {"headers": {k.replace("_", "-"): v for k, v in headers.items()}}
        if body is not None:
            sent |= {"data": json.dumps(body), "content_type": "application/json"}
        return self._client.open(path, method=method, base_url=self._base, **sent)

    def pair(self, **body: Any) -> Any:
        return self.send("POST", "/api/pairing", {"name": "a phone", **body})

    def status(self, path: str = "/api/surveys", method: str = "GET") -> int:
        return int(self.send(method, path).status_code)

    def code(self, path: str = "/api/surveys") -> str:
        return str(self.send("GET", path).get_json()["type"].partition("#")[2])


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    made = House(tmp_path)
    yield made
    made.close()


def refused(answer: Any, code: str = "pairing-refused", status: int = 403) -> None:
    assert (answer.status_code, answer.get_json()["type"]) == (status, f"/api/problems#{code}")
    assert "Set-Cookie" not in answer.headers


def test_a_phone_is_paired_by_the_secret(house: House) -> None:
    phone = house.phone()
    assert phone.code() == "not-paired"
    answer = phone.pair(secret=house.offer()["secret"])
    assert answer.status_code == 201
    assert answer.get_json()["device"]["name"] == "a phone"
    assert phone.status() == 200
    assert phone.send("GET", "/api/pairing").get_json()["device"]["name"] == "a phone"


@pytest.mark.parametrize("typed", [str, str.lower, lambda code: f" {code[:4]}-{code[4:]} "])
def test_a_phone_is_paired_by_the_code(house: House, typed: Any) -> None:
    phone = house.phone()
    assert phone.pair(code=typed(house.offer()["code"])).status_code == 201
    assert phone.status() == 200


def test_a_phone_reads_the_code_that_the_terminal_shows(
    house: House, capsys: pytest.CaptureFixture[str]
) -> None:
    """Light blocks on the dark of a terminal, two rows of the code to a line."""
    house.now = time.time()
    assert commands.pair(house.data, None) == 0
    shown = capsys.readouterr().out
    lines = [line for line in shown.splitlines() if set(line) <= set(" █▀▄\u00a0") and line]
    halves = {"█": (255, 255), "▀": (255, 0), "▄": (0, 255)}
    dots = [[halves.get(sign, (0, 0))[half] for sign in line] for line in lines for half in (0, 1)]
    picture = Image.new("L", (len(dots[0]), len(dots)))
    picture.putdata([dot for row in dots for dot in row])
    (read,) = zxingcpp.read_barcodes(picture.resize([8 * side for side in picture.size]))
    address, _, secret = read.text.partition("#pair=")
    assert address == f"{HERE}/"
    assert house.phone().pair(secret=secret).status_code == 201


def test_what_looks_alike_is_read_alike() -> None:
    assert tokens.plain_code("oOiI lL-2") == "0011112"
    assert len(set(tokens.ALPHABET)) == 32
    assert not set("ILOU") & set(tokens.ALPHABET)


def test_the_cookie_is_bound_hidden_and_sent_to_this_place_alone(house: House) -> None:
    cookie = house.phone().pair(secret=house.offer()["secret"]).headers["Set-Cookie"]
    name, *rest = cookie.split("; ")
    assert name.startswith("__Host-baywalk=")
    assert {"Secure", "HttpOnly", "SameSite=Strict", "Path=/"} <= set(rest)
    assert not any(part.startswith("Domain") for part in rest)


def test_a_second_use_is_refused(house: House) -> None:
    told = house.offer()
    assert house.phone().pair(secret=told["secret"]).status_code == 201
    refused(house.phone().pair(secret=told["secret"]))
    refused(house.phone().pair(code=told["code"]))


@pytest.mark.parametrize("way", ["secret", "code"])
def test_late_use_is_refused(house: House, way: str) -> None:
    told = house.offer()
    house.now += pairing.OFFER_LASTS - 1
    other = house.phone()
    house.now += 1
    refused(other.pair(**{way: told[way]}))


def test_just_in_time_is_taken(house: House) -> None:
    told = house.offer()
    house.now += pairing.OFFER_LASTS - 1
    assert house.phone().pair(code=told["code"]).status_code == 201


def test_the_sixth_guess_is_refused_though_it_is_right(house: House) -> None:
    told = house.offer()
    for _ in range(5):
        refused(house.phone().pair(code="00000000"))
    refused(house.phone().pair(code=told["code"]))
    # Guessing at the code does not take the QR code from whoever sees the screen.
    assert house.phone().pair(secret=told["secret"]).status_code == 201


def test_the_fifth_guess_may_be_right(house: House) -> None:
    told = house.offer()
    for _ in range(4):
        refused(house.phone().pair(code="00000000"))
    assert house.phone().pair(code=told["code"]).status_code == 201


def test_a_new_offer_ends_the_one_before(house: House) -> None:
    first, second = house.offer(), house.offer()
    refused(house.phone().pair(secret=first["secret"]))
    assert house.phone().pair(secret=second["secret"]).status_code == 201


@pytest.mark.parametrize("host", ["https://evil.example", "https://192.168.7.8:8766"])
def test_a_foreign_host_is_refused(house: House, host: str) -> None:
    refused(house.phone(host).pair(secret=house.offer()["secret"]), "foreign-host")


@pytest.mark.parametrize(
    "origin", ["https://evil.example", "null", "http://loft.local:8766", "http://127.0.0.1:8765"]
)
def test_a_foreign_origin_is_refused(house: House, origin: str) -> None:
    body = {"name": "a phone", "secret": house.offer()["secret"]}
    answer = house.phone().send("POST", "/api/pairing", body, Origin=origin)
    refused(answer, "foreign-origin")
    assert house.paired().send("GET", "/api/surveys", Origin=HERE).status_code == 200


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", ""])
def test_a_wrong_content_type_is_refused(house: House, kind: str) -> None:
    body = json.dumps({"name": "a phone", "secret": house.offer()["secret"]})
    answer = house.phone()._client.post("/api/pairing", data=body, content_type=kind, base_url=HERE)
    refused(answer, "wrong-type", 415)


def test_every_route_but_pairing_needs_the_cookie(house: House) -> None:
    stranger = house.phone()
    asked = 0
    for rule in house.outer.url_map.iter_rules():
        path = str(rule)
        if not path.startswith("/api") or path == "/api/pairing":
            continue
        for part, value in (
            ("survey", head()["id"]),
            ("sha256", "a" * 64),
            ("phone", head()["id"]),
        ):
            path = path.replace(f"<{part}>", value)
        for method in (rule.methods or set()) - {"OPTIONS"}:
            asked += 1
            answer = stranger.send(method, path)
            assert answer.status_code == 401, (method, path)
    assert asked > 12
    told = stranger.send("GET", "/api/pairing").get_json()
    assert (told["needed"], told["main"]) == (True, "https://loft.local:8766/")


@pytest.mark.parametrize(
    "cookie", ["", "x", "0" * 36 + "." + "a" * 22, "{id}.", "{id}." + "A" * 22]
)
def test_a_made_up_cookie_is_refused(house: House, cookie: str) -> None:
    house.paired()
    (known,) = house.owner.send("GET", "/api/phones").get_json()["phones"]
    header = f"{COOKIE}={cookie.format(id=known['id'])}"
    refused(house.phone().send("GET", "/api/surveys", Cookie=header), "not-paired", 401)


def test_a_phone_that_was_put_out_is_refused(house: House) -> None:
    phone = house.paired()
    (known,) = house.owner.send("GET", "/api/phones").get_json()["phones"]
    assert house.owner.status(f"/api/phones/{known['id']}", "DELETE") == 204
    assert phone.code() == "put-out"
    assert house.owner.send("GET", "/api/phones").get_json()["phones"] == []
    assert house.owner.status(f"/api/phones/{known['id']}", "DELETE") == 404


def test_another_surveys_id_is_refused(house: House) -> None:
    own, other = head(), head()
    for one in (own, other):
        assert house.owner.send("PUT", f"/api/surveys/{one['id']}", one).status_code == 201
    phone = house.paired(survey=own["id"])
    assert [one["id"] for one in phone.send("GET", "/api/surveys").get_json()["surveys"]] == [
        own["id"]
    ]
    assert phone.status(f"/api/surveys/{own['id']}") == 200
    for there in (other["id"], head()["id"]):
        base = f"/api/surveys/{there}"
        refused(phone.send("GET", base), "not-for-this-phone")
        refused(phone.send("PUT", base, {**other, "id": there}), "not-for-this-phone")
        refused(phone.send("GET", f"{base}/entries"), "not-for-this-phone")
        refused(phone.send("POST", f"{base}/entries", {"entries": [entry()]}), "not-for-this-phone")
        refused(phone.send("GET", f"{base}/as-built"), "not-for-this-phone")
    answer = house.owner.send("GET", f"/api/surveys/{other['id']}/entries").get_json()
    assert answer["entries"] == []


def test_another_survey_is_not_compared_with_ones_own(house: House) -> None:
    own, other = head(), head()
    for one in (own, other):
        assert house.owner.send("PUT", f"/api/surveys/{one['id']}", one).status_code == 201
    phone = house.paired(survey=own["id"])
    sheet = f"/api/surveys/{own['id']}/sheets/compare.csv?earlier="
    refused(phone.send("GET", sheet + other["id"]), "not-for-this-phone")
    assert phone.send("GET", sheet + own["id"]).status_code == 200


def test_a_photo_of_another_survey_is_refused(house: House) -> None:
    drawn = io.BytesIO()
    Image.new("RGB", (8, 8)).save(drawn, "JPEG")
    own, other, shot = head(), head(), drawn.getvalue()
    sha256 = hashlib.sha256(shot).hexdigest()
    for one in (own, other):
        house.owner.send("PUT", f"/api/surveys/{one['id']}", one)
    house.owner._client.put(
        f"/api/photos/{sha256}",
        data=shot,
        content_type="image/jpeg",
        base_url="http://127.0.0.1:8765",
    )
    phone = house.paired(survey=own["id"])
    refused(phone.send("GET", f"/api/photos/{sha256}"), "not-for-this-phone")
    of = {"kind": "photo", "sha256": sha256, "width": 8, "height": 8, "bay": 1}
    sent = {
        key: part for key, part in entry().items() if key in ("id", "at", "by", "n", "run")
    } | of
    answer = house.owner.send("POST", f"/api/surveys/{own['id']}/entries", {"entries": [sent]})
    assert answer.get_json()["refused"] == []
    assert phone.status(f"/api/photos/{sha256}") == 200


def test_only_the_owner_lets_in_and_puts_out(house: House) -> None:
    phone = house.paired()
    (known,) = house.owner.send("GET", "/api/phones").get_json()["phones"]
    refused(phone.send("GET", "/api/phones"), "owner-only")
    refused(phone.send("POST", "/api/phones", {}), "owner-only")
    refused(phone.send("DELETE", f"/api/phones/{known['id']}"), "owner-only")


def test_a_session_lasts_a_working_month_of_staying_away(house: House) -> None:
    phone = house.paired()
    house.now += pairing.IDLE - 60
    assert phone.status() == 200
    house.now += pairing.IDLE - 60
    assert phone.status() == 200
    house.now += pairing.IDLE
    assert phone.code() == "session-ended"


def test_a_session_ends_after_three_months_whatever_happens(house: House) -> None:
    phone = house.paired()
    for _ in range(pairing.LONGEST // (20 * 24 * 3600)):
        house.now += 20 * 24 * 3600
        assert phone.status() == 200
    house.now += 20 * 24 * 3600
    assert phone.code() == "session-ended"


def test_a_phone_may_end_its_own_pairing(house: House) -> None:
    phone = house.paired()
    answer = phone.send("DELETE", "/api/pairing")
    assert answer.status_code == 204
    assert f"{COOKIE}=;" in answer.headers["Set-Cookie"]
    assert phone.code() == "not-paired"
    assert house.owner.send("GET", "/api/phones").get_json()["phones"] == []


def test_the_owner_sees_each_phone_and_when_it_was_there(house: House) -> None:
    phone = house.paired()
    house.now += 3600
    phone.status()
    told = house.owner.send("GET", "/api/phones").get_json()
    assert told["on"] is True
    assert told["urls"] == ["https://loft.local:8766/", "https://192.168.7.7:8766/"]
    assert told["fingerprint"] == "AA:BB"
    (known,) = told["phones"]
    assert known["name"] == "a phone"
    assert known["seen"] > known["paired"]


def test_without_phones_no_pairing_is_asked_or_offered(tmp_path: Path) -> None:
    app = create_app(Config(tmp_path))
    owner = Asker(app, "http://127.0.0.1:8765")
    assert owner.send("GET", "/api/pairing").get_json() == {"needed": False, "device": None}
    assert owner.send("GET", "/api/phones").get_json()["on"] is False
    refused(owner.send("POST", "/api/phones", {}), "no-phones", 409)
    refused(owner.pair(code="00000000"), "no-phones", 409)
    assert owner.status() == 200
    app.extensions["baywalk.store"].close()


@pytest.mark.parametrize(
    "body",
    [
        {},
        [],
        {"name": "a phone"},
        {"name": "a phone", "secret": "x", "code": "y"},
        {"name": "", "code": "00000000"},
        {"name": "x" * 61, "code": "00000000"},
        {"name": "a phone", "code": 12345678},
        {"name": "a phone", "code": "0" * 21},
        {"name": "a phone", "code": "00000000", "survey": None},
        {"name": "\ud800", "code": "00000000"},
        {"name": "nil\0", "code": "00000000"},
    ],
)
def test_a_body_of_another_shape_is_refused_and_is_no_try(house: House, body: Any) -> None:
    told = house.offer()
    for _ in range(6):
        refused(house.phone().send("POST", "/api/pairing", body), "not-the-shape", 422)
    assert house.phone().pair(code=told["code"]).status_code == 201


def test_no_secret_is_kept_or_told(house: House, caplog: pytest.LogCaptureFixture) -> None:
    """Not in the store, the folder, the log, or any answer but the one that is for it."""
    caplog.set_level(logging.DEBUG)
    told = house.offer()
    phone = house.phone()
    cookie = phone.pair(secret=told["secret"]).headers["Set-Cookie"]
    token = cookie.partition("=")[2].partition(";")[0].partition(".")[2]
    others = [
        phone.send("GET", "/api/pairing").data,
        house.owner.send("GET", "/api/phones").data,
        house.phone().pair(secret=told["secret"]).data,
        house.phone().pair(code=told["code"]).data,
    ]
    house.close()
    sqlite3.connect(house.data / "baywalk.sqlite").execute("VACUUM").connection.close()
    files = [file.read_bytes() for file in house.data.rglob("*") if file.is_file()]
    log = caplog.text.encode()
    assert b"paired: 'a phone'" in log
    for secret in (told["secret"], told["code"], token):
        for place in (*files, *others, log):
            assert secret.encode() not in place


def test_two_phones_at_once_get_in_once(house: House) -> None:
    told = house.offer()
    phones = [house.phone() for _ in range(8)]
    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda phone: phone.pair(secret=told["secret"]), phones))
    assert sorted(answer.status_code for answer in answers) == [201] + [403] * 7


def test_guesses_at_once_are_all_counted(house: House) -> None:
    told = house.offer()
    with ThreadPoolExecutor(8) as pool:
        list(pool.map(lambda _: house.phone().pair(code="00000000"), range(8)))
    refused(house.phone().pair(code=told["code"]))
