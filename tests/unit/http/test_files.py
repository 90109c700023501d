"""The page's own files: all of them, each meaning what it did, and never of two versions."""

from __future__ import annotations

import gzip
import hashlib
import json
import re
from typing import TYPE_CHECKING, Any

import brotli

from baywalk import places
from baywalk.http import Config, create_app, files
from baywalk.http.slim import packed, slim
from tests.unit.http.conftest import Client
from tests.unit.http.test_shorthand import written_out

if TYPE_CHECKING:
    from pathlib import Path

    import pytest
    from flask.testing import FlaskClient

WEB = places.web()


def served(client: FlaskClient) -> dict[str, Any]:
    """Return the set of files that the service worker is given."""
    first = client.get("/sw.js").data.split(b"\n")[0]
    assert first.startswith(b"const SET = {")
    assert first.endswith(b"};")
    return _told(first.decode())


def _told(line: str) -> dict[str, Any]:
    """Return a set as the worker's first line tells it, with each file's whole path."""
    given: dict[str, Any] = json.loads(line.removeprefix("const SET = ").removesuffix(";"))
    given["files"] = [
        f"{at}{name}{end}" for at, names, end in given["files"] for name in names.split(" ")
    ]
    return given


def test_the_pack_holds_every_file_of_the_set_as_it_is_served(client: FlaskClient) -> None:
    given = served(client)
    assert given.keys() == {"version", "pack", "sha256", "types", "files"}
    some = {"/index.html", "/app/main.js", "/manifest.webmanifest", "/shared/rules/uk.json"}
    assert some <= set(given["files"])
    pack = unpacked(client.get(given["pack"]).data)
    assert hashlib.sha256(pack.encode()).hexdigest() == given["sha256"]
    for path, text in zip(given["files"], pack.split("\0"), strict=True):
        answer = client.get(path)
        assert answer.status_code == 200
        # Of the rules a phone keeps what it uses; a test of its own holds it to that.
        assert answer.text == text or path == "/shared/rules/uk.json"
        assert answer.content_type == given["types"]["." + path.rpartition(".")[2]]


def unpacked(pack: bytes) -> str:
    """Return the files of a pack as the worker keeps them."""
    words, _, short = pack.decode().partition("\0")
    return written_out(words.split(" "), short)


def test_every_schema_that_the_readme_names_is_served(client: FlaskClient) -> None:
    readme = (WEB.parent / "README.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`(shared/(?:schemas|rules)/[a-z.-]+)`", readme))
    parts = {"entry.schema.json", "problem.schema.json"}
    files = {file.name for file in (places.shared() / "schemas").iterdir()} - parts
    assert named == {f"shared/schemas/{name}" for name in files} | {"shared/rules/uk.json"}
    for path in named:
        answer = client.get(f"/{path}")
        assert (answer.status_code, answer.content_type) == (200, "application/json")
        assert json.loads(answer.data) == json.loads((WEB.parent / path).read_bytes())


def test_the_pack_weighs_less_than_its_files_one_after_the_other() -> None:
    """Measured 5.6 % less in the smaller packing, on 28 November 2026; held to half of that."""
    pack = files.gather()[files.PACK].content
    short, whole = packed(pack, "br"), packed(unpacked(pack).encode(), "br")
    assert len(short) < 0.97 * len(whole)


def test_the_first_visit_meets_the_door_which_is_not_in_the_set(client: FlaskClient) -> None:
    assert client.get("/").data == (WEB / "door.html").read_bytes()
    outside = ("/door.", "/repair.", "/sw.js", "/page.pack", "/api/")
    assert not [path for path in served(client)["files"] if path.startswith(outside)]


def test_door_and_page_have_the_same_head() -> None:
    """The door's stays where the page begins, so it must say all that the page's says."""
    door, page = (
        (WEB / name).read_text(encoding="utf-8").partition("<body>")[0].splitlines()
        for name in ("door.html", "index.html")
    )
    later = ("stylesheet", "modulepreload", "<script")
    left = [line for line in page if not any(word in line for word in later)]
    assert [line for line in left if line not in door] == []


def test_the_worker_is_the_file_behind_its_set(client: FlaskClient) -> None:
    rest = client.get("/sw.js").data.partition(b"\n")[2]
    assert rest == slim((WEB / "sw.js").read_bytes(), ".js")
    assert "/sw.js" not in served(client)["files"]


def test_every_module_and_style_that_the_page_names_is_in_the_set(client: FlaskClient) -> None:
    given = served(client)["files"]
    for file in [*(WEB / "app").rglob("*.js"), *(WEB / "app").rglob("*.css")]:
        # Scripts of types alone are for whoever checks the page; nothing loads them.
        assert ("/" + file.relative_to(WEB).as_posix() in given) == (file.name != "types.js")


def test_the_tools_beside_the_page_are_not_served(client: FlaskClient) -> None:
    for name in ("package.json", "package-lock.json", "tsconfig.json", "eslint.config.js"):
        assert client.get(f"/{name}").status_code == 404
    assert not [path for path in served(client)["files"] if "node_modules" in path]


def test_a_file_goes_packed_to_those_who_take_it_so(client: FlaskClient) -> None:
    plain = client.get("/app/main.js")
    small = client.get("/app/main.js", headers={"Accept-Encoding": "gzip, deflate"})
    assert "Content-Encoding" not in plain.headers
    assert small.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(small.data) == plain.data
    assert len(small.data) < len(plain.data)
    assert plain.headers["Vary"] == small.headers["Vary"] == "Accept-Encoding"
    smaller = client.get("/app/main.js", headers={"Accept-Encoding": "gzip, deflate, br, zstd"})
    assert smaller.headers["Content-Encoding"] == "br"
    assert brotli.decompress(smaller.data) == plain.data
    assert len(smaller.data) < len(small.data)
    assert len({one.headers["ETag"] for one in (plain, small, smaller)}) == 3
    refused = client.get("/app/main.js", headers={"Accept-Encoding": "gzip;q=0, br;q=0"})
    assert "Content-Encoding" not in refused.headers


def test_who_has_a_file_is_not_sent_it_again(client: FlaskClient) -> None:
    for accept in ("gzip", "identity"):
        first = client.get("/", headers={"Accept-Encoding": accept})
        assert first.headers["Cache-Control"] == "no-cache"
        tag = {"If-None-Match": first.headers["ETag"], "Accept-Encoding": accept}
        assert client.get("/", headers=tag).status_code == 304


def test_head_is_answered_without_a_body(client: FlaskClient) -> None:
    answer = client.head("/")
    assert (answer.status_code, answer.data) == (200, b"")


def test_the_same_files_make_the_same_version() -> None:
    one, other = files.gather(), files.gather()
    assert one["/sw.js"] == other["/sw.js"]
    assert one[files.PACK] == other[files.PACK]


def test_a_phone_keeps_the_rules_that_its_scripts_name_and_no_texts_about_them() -> None:
    table = files.gather()
    whole = json.loads(table["/shared/rules/uk.json"].content)["rules"]
    kept = _rules_in_the_pack(table)
    scripts = "".join(
        file.content.decode() for path, file in table.items() if path.startswith("/app/")
    )
    for name, rule in whole.items():
        if f'"{name}"' in scripts or name.startswith("tape.class."):
            assert kept[name] == {"value": rule["value"]}
    assert len(kept) < len(whole) / 2
    assert "source" in whole["tape.class.II"]


def _rules_in_the_pack(table: dict[str, files.File]) -> dict[str, object]:
    """Return the rules as they lie in the pack, found as the worker finds them."""
    told = _told(table["/sw.js"].content.decode().splitlines()[0])
    texts = unpacked(table[files.PACK].content).split("\0")
    found = texts[told["files"].index("/shared/rules/uk.json")]
    return dict(json.loads(found)["rules"])


def test_a_changed_file_makes_another_version_and_the_running_set_stays_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    web = tmp_path / "web"
    (web / "app").mkdir(parents=True)
    texts = {"door.html": "<p>", "index.html": "<p>", "sw.js": "0", "app/a.js": "1"}
    for name, text in texts.items():
        (web / name).write_text(text)
    monkeypatch.setattr(places, "web", lambda: web)

    def client_of(folder: str) -> FlaskClient:
        app = create_app(Config(tmp_path / folder))
        app.test_client_class = Client
        return app.test_client()

    old = client_of("one")
    before = served(old)
    (web / "app/a.js").write_text("2")
    assert served(old) == before
    assert old.get("/app/a.js").data == b"1"
    assert served(client_of("two"))["version"] != before["version"]
