"""The page asks for typing in what the paper asks, box for box."""

from __future__ import annotations

import json
import shutil
import subprocess

import pytest

from baywalk import places
from baywalk.fieldbook import Run
from baywalk.sheets import field_sheet

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


def test_the_page_has_the_boxes_of_the_paper() -> None:
    node = shutil.which("node")
    if node is None:
        pytest.skip("Node is not installed here (apt-get install nodejs)")
    runs = [
        Run(id=name, title=name, joists=joists, lines=lines, member={})
        for name, joists, lines in RUNS
    ]
    given = json.dumps([{"joists": run.joists, "lines": run.lines} for run in runs])
    done = subprocess.run(
        [node, "--input-type=module", "--eval", PRINT, "--", given],
        capture_output=True,
        text=True,
        check=True,
        cwd=places.web(),
    )
    on_page = json.loads(done.stdout)
    on_paper = [[list(asked) for asked in field_sheet.questions(run)] for run in runs]
    assert len(on_paper[0]) == field_sheet.count(runs[:1]) == 56
    assert on_page == on_paper
