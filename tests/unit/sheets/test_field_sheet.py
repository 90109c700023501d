"""The page says what the paper says: the boxes of the field sheet, and feet and inches."""

from __future__ import annotations

import json
import shutil
import subprocess
from typing import Any

import pytest

from baywalk import places
from baywalk.fieldbook import Run
from baywalk.sheets import field_sheet, lengths

RUNS = [
    ("A", 12, ("near", "far")),
    ("B", 13, ("near", "middle", "far")),
    ("C", 1, ("near",)),
    ("D", 2, ("near", "far")),
    ("E", 5, ("middle",)),
]

PRINT = """
import { boxesOf } from "./app/field-sheet.js";
const asked = (run) => boxesOf(run).map(({ group, words }) => [group, words]);
console.log(JSON.stringify(JSON.parse(process.argv[1]).map(asked)));
"""


FEET = """
globalThis.localStorage = { getItem: () => '{"units": "imperial"}' };
const { length, measured } = await import("./app/lengths.js");
const given = JSON.parse(process.argv[1]);
const plain = (text) => text.replaceAll("\\u00a0", " ");
console.log(JSON.stringify(given.map((mm) => [length(mm), measured(mm)].map(plain))));
"""


def printed(script: str, given: str) -> Any:
    """Return what a script prints that is run beside the page's own, with one word given."""
    node = shutil.which("node")
    if node is None:
        pytest.skip("Node is not installed here (apt-get install nodejs)")
    done = subprocess.run(
        [node, "--input-type=module", "--eval", script, "--", given],
        capture_output=True,
        text=True,
        check=True,
        cwd=places.web(),
    )
    return json.loads(done.stdout)


def test_feet_and_inches_are_the_same_on_screen_and_on_paper() -> None:
    given = [*(n / 4 for n in range(-200, 4000)), *range(1000, 30_000, 37), 304.8, 25.4 * 11.97]
    on_paper = [[lengths.say(length, "imperial")] * 2 for length in given]
    assert printed(FEET, json.dumps(given)) == on_paper


def test_the_page_has_the_boxes_of_the_paper() -> None:
    runs = [
        Run(id=name, title=name, joists=joists, lines=lines, member={})
        for name, joists, lines in RUNS
    ]
    given = json.dumps([{"joists": run.joists, "lines": run.lines} for run in runs])
    on_page = printed(PRINT, given)
    on_paper = [[list(asked) for asked in field_sheet.questions(run)] for run in runs]
    assert len(on_paper[0]) == field_sheet.count(runs[:1]) == 56
    assert on_page == on_paper
