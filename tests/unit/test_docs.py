"""The documents keep up with the code: every route, command, option and error code has its line.

A route's line in DEVELOPERS.md is a table row that names its methods and its path; an option's
names it in backquotes; an error code's is a table row with the code, its status and its title.
"""

from __future__ import annotations

import argparse
import re
from pathlib import Path

import pytest

from baywalk import cli
from baywalk.http.config import DEFAULT_PORT
from baywalk.http.paths import PATHS
from baywalk.http.problems import CODES

ROOT = Path(__file__).parents[2]
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
README = (ROOT / "README.md").read_text(encoding="utf-8")


def commands() -> dict[str, argparse.ArgumentParser]:
    """Return the parser of every command by its name."""
    parser = cli._parser()
    (group,) = (a for a in parser._actions if isinstance(a, argparse._SubParsersAction))
    return dict(group.choices)


def options() -> set[str]:
    """Return every option of every command."""
    found = {o for p in commands().values() for a in p._actions for o in a.option_strings}
    return found - {"-h", "--help"}


def rows(text: str) -> list[str]:
    """Return the rows of all tables."""
    return [line for line in text.splitlines() if line.startswith("|")]


@pytest.mark.parametrize(
    ("path", "method"), [(path, method.upper()) for path in PATHS for method in PATHS[path]]
)
def test_every_route_has_its_line(path: str, method: str) -> None:
    written = re.sub(r"\{survey\}", "{id}", path)
    # What follows the path may be a query; the path itself must end there.
    form = re.compile(rf"`?{re.escape(written)}(\?[^`]*)?`")
    lines = [row for row in rows(DEVELOPERS) if form.search(row.split("|")[1])]
    assert any(method in re.findall(r"[A-Z]+", row.split("|")[1]) for row in lines)


@pytest.mark.parametrize("code", CODES)
def test_every_error_code_has_its_line(code: str) -> None:
    status, title = CODES[code]
    assert any(
        [cell.strip() for cell in row.strip("|").split("|")] == [f"`{code}`", str(status), title]
        for row in rows(DEVELOPERS)
    )


@pytest.mark.parametrize("command", commands())
def test_every_command_is_in_the_readme(command: str) -> None:
    assert f"baywalk {command}" in README


@pytest.mark.parametrize("option", sorted(options()))
def test_every_option_is_written_down(option: str) -> None:
    assert f"`{option}`" in DEVELOPERS or f"`{option} " in DEVELOPERS


def test_the_port_is_written_down() -> None:
    assert f"`--port` ({DEFAULT_PORT};" in DEVELOPERS
