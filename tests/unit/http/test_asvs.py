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
# How many requirements of level 1 and 2 each section has: they are numbered first in it, those of
# level 3 after them. Source: OWASP Application Security Verification Standard 5.0.0, its list of
# requirements as a file (70 of level 1, 183 of level 2).
LEVELS_1_AND_2 = {
    1: {1: 2, 2: 9, 3: 11, 4: 3, 5: 2},
    2: {1: 3, 2: 3, 3: 4, 4: 1},
    3: {2: 2, 3: 4, 4: 6, 5: 5, 7: 2},
    4: {1: 3, 2: 1, 3: 2, 4: 4},
    5: {1: 1, 2: 3, 3: 2, 4: 3},
    6: {1: 3, 2: 12, 3: 4, 4: 4, 5: 5, 6: 3, 8: 4},
    7: {1: 3, 2: 4, 3: 2, 4: 5, 5: 2, 6: 2},
    8: {1: 2, 2: 3, 3: 1, 4: 1},
    9: {1: 3, 2: 4},
    10: {1: 2, 2: 2, 3: 4, 4: 11, 5: 5, 6: 2, 7: 3},
    11: {1: 2, 2: 3, 3: 3, 4: 4, 5: 1, 6: 1},
    12: {1: 3, 2: 2, 3: 4},
    13: {1: 1, 2: 5, 3: 2, 4: 5},
    14: {1: 2, 2: 4, 3: 3},
    15: {1: 3, 2: 3, 3: 7},
    16: {1: 1, 2: 5, 3: 4, 4: 3, 5: 3},
    17: {1: 1, 2: 4, 3: 2},
}
ASKED = [
    f"{chapter}.{section}.{number}"
    for chapter, sections in LEVELS_1_AND_2.items()
    for section, count in sections.items()
    for number in range(1, count + 1)
]


def _named(row: str) -> set[str]:
    """Return the requirements, sections and chapters that a line is for."""
    names = set()
    for part in re.split(r"[,;] *", row.split("|")[1].strip()):
        first, _, last = part.partition("–")
        head, _, start = first.rpartition(".")
        end = last.rpartition(".")[2] or start
        names |= {f"{head}.{number}".lstrip(".") for number in range(int(start), int(end) + 1)}
    return names


def test_there_are_as_many_as_the_standard_has() -> None:
    assert len(ASKED) == 70 + 183


def test_every_requirement_has_its_line() -> None:
    """By itself, or with its whole section or chapter where that has nothing to bear on here."""
    named = {name for row in ROWS for name in _named(row)}

    def has_line(asked: str) -> bool:
        chapter, section, _ = asked.split(".")
        return bool(named & {asked, f"{chapter}.{section}", chapter})

    assert [asked for asked in ASKED if not has_line(asked)] == []


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
