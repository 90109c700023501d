"""Every public thing says what it is; what takes or returns a length says its unit."""

from __future__ import annotations

import ast
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

SERVICE = Path(__file__).parents[2] / "service" / "baywalk"
MODULES = sorted(SERVICE.rglob("*.py"))

UNIT = re.compile(r"\bmm\b|\bunit\b|\[[^\]]+\]|\bdegrees\b|\bmetres\b|\bseconds\b|\bbytes\b")
"""How a unit is written in a docstring."""

QUANTITIES = re.compile(
    r"^(.*_)?(angle|breadth|centres|computed|depth|distance|gap|height|length|lengths|limit"
    r"|offset|read|residuals?|sd|sigmas?|slip|spacing|span|spread|width|would_read)$"
)
"""Names of parameters, fields and functions that hold a quantity with a unit."""

NUMBERS = re.compile(r"\b(float|Floats|Figure|Point|Polygon)\b")
"""Annotations of what carries figures."""

Function = ast.FunctionDef | ast.AsyncFunctionDef


def _name(path: Path) -> str:
    return str(path.relative_to(SERVICE))


def _public(body: list[ast.stmt]) -> Iterator[ast.ClassDef | Function]:
    for node in body:
        if isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            if node.name.startswith("_"):
                continue
            yield node
            if isinstance(node, ast.ClassDef):
                yield from _public(node.body)


def _overridden(node: ast.ClassDef | Function) -> bool:
    return any("override" in ast.unparse(d) for d in node.decorator_list)


@pytest.mark.parametrize("path", MODULES, ids=_name)
def test_everything_public_has_a_docstring(path: Path) -> None:
    """Module, classes, functions and methods."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    missing = [] if ast.get_docstring(tree) else ["the module"]
    missing += [
        node.name
        for node in _public(tree.body)
        if not ast.get_docstring(node) and not _overridden(node)
    ]
    assert missing == []


def _quantities(node: Function) -> list[str]:
    """Return the names of the figures with a unit that a function takes or returns."""
    arguments = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
    taken = [
        argument.arg
        for argument in arguments
        if QUANTITIES.match(argument.arg)
        and argument.annotation is not None
        and NUMBERS.search(ast.unparse(argument.annotation))
    ]
    returned = ast.unparse(node.returns) if node.returns else ""
    if QUANTITIES.match(node.name) and NUMBERS.search(returned):
        taken.append(f"{node.name}()")
    return taken


@pytest.mark.parametrize("path", MODULES, ids=_name)
def test_what_holds_a_length_says_its_unit(path: Path) -> None:
    """A function with a figure, or a class with one among its fields, names a unit."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    silent = []
    for node in _public(tree.body):
        words = ast.get_docstring(node) or ""
        if isinstance(node, ast.ClassDef):
            fields = [
                field.target.id
                for field in node.body
                if isinstance(field, ast.AnnAssign)
                and isinstance(field.target, ast.Name)
                and QUANTITIES.match(field.target.id)
                and NUMBERS.search(ast.unparse(field.annotation))
            ]
        else:
            fields = _quantities(node)
        if fields and not UNIT.search(words):
            silent.append(f"{node.name}: {', '.join(fields)}")
    assert silent == []


def test_the_check_can_fail() -> None:
    """A function on a length without a unit is caught; one with it is not."""
    bare = ast.parse('def widen(gap: float) -> float:\n    """Return it."""').body[0]
    assert isinstance(bare, ast.FunctionDef)
    assert _quantities(bare) == ["gap"]
    assert not UNIT.search(ast.get_docstring(bare) or "")
    assert UNIT.search("Return it [mm].")
