"""The table of security requirements: every line names a test that is there, or a decision."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
SECTION = TEXT.partition("## Security: ASVS 5.0")[2].partition("\n## ")[0]
ROWS = [line for line in SECTION.splitlines() if re.match(r"\| [0-9]", line)]
FOLDERS = ("", "tests/unit/http/", "tests/unit/fieldbook/")


def test_the_table_is_there() -> None:
    assert len(ROWS) > 80


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.split("|")[1].strip())
def test_a_line_names_what_shows_it(row: str) -> None:
    shown = row.split("|")[3]
    named = re.findall(r"`((?:tests/)?[\w/]*test_\w+\.py)(?:::(test_\w+))?`", shown)
    assert named or "Decision:" in shown
    for file, test in named:
        (found,) = (ROOT / folder / file for folder in FOLDERS if (ROOT / folder / file).is_file())
        assert f"def {test}(" in found.read_text(encoding="utf-8") if test else True
