"""A slimmer file means the same: the page's own tests are run again on what is served."""

from __future__ import annotations

import gzip
import json
import re
import shutil
import subprocess
from graphlib import TopologicalSorter
from pathlib import Path

import brotli
import pytest

from baywalk import places
from baywalk.http.files import gather
from baywalk.http.slim import ENCODINGS, packed, slim

ROOT = Path(__file__).parents[3]

SCRIPT = b"""/** why */
import { far } from "./far.js";
const twice = (length) => 2 * length;
export const wide = far;
export function addUp(first, second) { // how
  const both = twice(first) + second;
  return { both, "text // no comment": `a  ${both} /* none */` };
}
"""


def test_a_script_loses_its_comments_and_keeps_its_texts() -> None:
    given = slim(SCRIPT, ".js").decode()
    assert len(given) < 0.8 * len(SCRIPT)
    assert "why" not in given
    assert "how" not in given
    for kept in ('import{far}from"./far.js"', "both", '"text // no comment"', "/* none */"):
        assert kept in given
    # What it exports goes by its name, what nobody else sees by a short one.
    assert "export let[wide,addUp]=" in given
    assert "twice" not in given


@pytest.mark.parametrize(
    "other", [b"export default 1;", b"export let now = 1;", b"export { far };"]
)
def test_a_script_that_exports_in_another_way_is_no_function(other: bytes) -> None:
    given = slim(SCRIPT + other + b"\n", ".js").decode()
    assert "export function addUp" in given
    assert given.count("export") == 3


IMPORT = re.compile(r'^import [^;]*?"([^"]+)";', re.MULTILINE)


def test_no_module_of_the_page_is_imported_in_a_circle() -> None:
    """What a module exports is there once all of it has run, and not sooner."""
    app = places.web() / "app"
    imports = {
        file: {(file.parent / name).resolve() for name in IMPORT.findall(file.read_text("utf-8"))}
        for file in app.resolve().rglob("*.js")
    }
    order = list(TopologicalSorter(imports).static_order())
    assert len(order) == len(imports) > 100


@pytest.mark.parametrize("spoilt", [b"let a = ;", b"}{", b"let \xff;"])
def test_what_does_not_parse_stays_as_it_is(spoilt: bytes) -> None:
    assert slim(spoilt, ".js") == spoilt


def test_a_style_keeps_its_texts() -> None:
    given = slim(b'/* why */\n.a::before {\n  content: "/* kept */";\n}\n', ".css").decode()
    assert "why" not in given
    assert "/* kept */" in given


def test_data_say_the_same() -> None:
    for file in (places.web() / "manifest.webmanifest", places.shared() / "rules" / "uk.json"):
        content = file.read_bytes()
        assert json.loads(slim(content, file.suffix)) == json.loads(content)


def test_pages_and_pictures_are_left_alone() -> None:
    for name in ("index.html", "icons/icon-192.png"):
        file = places.web() / name
        assert slim(file.read_bytes(), file.suffix) == file.read_bytes()


def test_what_is_packed_comes_out_again() -> None:
    out = {"br": brotli.decompress, "gzip": gzip.decompress}
    for encoding in ENCODINGS:
        assert out[encoding](packed(SCRIPT, encoding)) == SCRIPT


def _node() -> str:
    node = shutil.which("node")
    if node is None:
        pytest.skip("Node is not installed here (apt-get install nodejs)")
    return node


ORDER = """export default [{
  files: ["**/*.js"],
  languageOptions: { ecmaVersion: 2024, sourceType: "module" },
  rules: { "no-use-before-define": ["error", { functions: false, classes: false }] },
}];
"""


def test_nothing_is_used_sooner_than_in_the_source(tmp_path: Path) -> None:
    """The library has been seen to put a name's use before the name; no script may show it."""
    node, linter = _node(), places.web() / "node_modules" / "eslint" / "bin" / "eslint.js"
    if not linter.is_file():
        pytest.skip("the page's own tools are not installed here (npm --prefix web ci)")
    (tmp_path / "order.config.js").write_text(ORDER)
    (tmp_path / "package.json").write_text('{"type": "module"}')
    for path, file in gather().items():
        if file.suffix == ".js":
            for name, content in (
                ("source", (places.web() / path[1:]).read_bytes()),
                ("served", file.content),
            ):
                copy = tmp_path / name / path[1:]
                copy.parent.mkdir(parents=True, exist_ok=True)
                copy.write_bytes(content)
    source, served = (_order_faults(node, linter, tmp_path, name) for name in ("source", "served"))
    assert len(source) > 100
    assert {"door.js", "sw.js", "repair.js"} <= set(source)
    assert {name: served[name] for name in served if served[name] != source[name]} == {}


def _order_faults(node: str, linter: Path, place: Path, name: str) -> dict[str, int]:
    """Return how many names each script uses before they are made; one not to be read counts."""
    done = subprocess.run(
        [node, linter, "--config", "order.config.js", "--format", "json", name],
        capture_output=True,
        text=True,
        check=False,
        cwd=place,
    )
    return {
        str(Path(one["filePath"]).relative_to(place / name)): sum(
            message["ruleId"] is not None or message.get("fatal", False)
            for message in one["messages"]
        )
        for one in json.loads(done.stdout)
    }


def test_the_tests_of_the_page_pass_on_what_is_served(tmp_path: Path) -> None:
    """What needs no browser; the browser tests have the page from the service as it is."""
    node = _node()
    for folder in ("tests/web", "shared", "fixtures", "web"):
        tools = shutil.ignore_patterns("node_modules")
        shutil.copytree(ROOT / folder, tmp_path / folder, ignore=tools)
    scripts = list((tmp_path / "web" / "app").rglob("*.js"))
    for script in scripts:
        script.write_bytes(slim(script.read_bytes(), ".js"))
    # One test reads the sources' own text, and those are of another form here.
    tests = sorted(
        str(file)
        for file in (tmp_path / "tests" / "web").glob("*.test.mjs")
        if file.name != "preload.test.mjs"
    )
    done = subprocess.run(
        [node, "--test", *tests], capture_output=True, text=True, check=False, cwd=tmp_path
    )
    assert done.returncode == 0, done.stdout[-2000:]
    assert len(scripts) > 100
