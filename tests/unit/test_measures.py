"""The code's own measures: short functions, short files, reasons beside suppressions."""

from __future__ import annotations

import ast
import re
import statistics
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PYTHON = sorted((ROOT / "service" / "baywalk").rglob("*.py"))
SCRIPTS = sorted((ROOT / "web" / "app").rglob("*.js"))

MOST_BODY = 60
MEDIAN_BODY = 10
P90_BODY = 25
MOST_PYTHON = 500
MOST_JS = 300
MEDIAN_FILE = 200


def _name(path: Path) -> str:
    return str(path.relative_to(ROOT))


def _lines(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


def _bodies(path: Path) -> dict[str, int]:
    """Return each function's name and the number of lines of its body, docstring left out."""
    out = {}
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            body = node.body[1:] if ast.get_docstring(node) else node.body
            if body:
                out[f"{node.name}:{node.lineno}"] = (
                    (body[-1].end_lineno or body[-1].lineno) - body[0].lineno + 1
                )
    return out


@pytest.mark.parametrize("path", PYTHON, ids=_name)
def test_no_function_is_long(path: Path) -> None:
    """At most sixty lines a body."""
    assert {n: c for n, c in _bodies(path).items() if c > MOST_BODY} == {}


def test_functions_are_short_as_a_rule() -> None:
    """Median at most ten lines, nine in ten at most twenty-five."""
    sizes = sorted(size for path in PYTHON for size in _bodies(path).values())
    assert statistics.median(sizes) <= MEDIAN_BODY
    assert sizes[int(0.9 * len(sizes))] <= P90_BODY


@pytest.mark.parametrize("path", [*PYTHON, *SCRIPTS], ids=_name)
def test_no_file_is_long(path: Path) -> None:
    """At most five hundred lines of Python, three hundred of JavaScript."""
    assert _lines(path) <= (MOST_PYTHON if path.suffix == ".py" else MOST_JS)


@pytest.mark.parametrize("files", [PYTHON, SCRIPTS], ids=["python", "javascript"])
def test_files_are_short_as_a_rule(files: list[Path]) -> None:
    """Median at most two hundred lines."""
    assert files
    assert statistics.median(map(_lines, files)) <= MEDIAN_FILE


SUPPRESSION = re.compile(
    r"#\s*(noqa|type:\s*ignore)(\S*|:\s*[A-Z0-9, ]+?)?(?P<reason>\s+[-–#].*)?$"
    r"|(//|/\*)\s*(eslint-disable|@ts-ignore|@ts-expect-error|prettier-ignore)\S*(?P<rest>.*)$"
)


@pytest.mark.parametrize("path", [*PYTHON, *SCRIPTS], ids=_name)
def test_suppressions_give_a_reason(path: Path) -> None:
    """A check that is switched off on a line says why on that line."""
    silent = []
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        match = SUPPRESSION.search(line)
        if match and not (match["reason"] or "--" in (match["rest"] or "")):
            silent.append(f"{number}: {line.strip()}")
    assert silent == []


def test_comments_are_few() -> None:
    """At most nine comment lines to a hundred, and some: why, not what."""
    comments = lines = 0
    for path in PYTHON:
        for line in path.read_text(encoding="utf-8").splitlines():
            lines += bool(line.strip())
            comments += "#" in line and not re.search(r"#\s*(noqa|type:)|[\"'][^\"']*#", line)
    assert 0 < 100 * comments / lines <= 9
