"""The rule pack: every figure with its source, every figure used, no figure asked for in vain."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from baywalk import rules

ROOT = Path(__file__).parents[2]
PACK = rules.load()
MARKS = {"read", "memory", "practice"}


def _sources() -> str:
    files = [*(ROOT / "service" / "baywalk").rglob("*.py"), *(ROOT / "web" / "app").rglob("*.js")]
    return "\n".join(path.read_text(encoding="utf-8") for path in files)


@pytest.mark.parametrize("rule", PACK.ids())
def test_every_rule_says_where_it_comes_from(rule: str) -> None:
    """Unit, sentence, source and mark; a figure that was read names the edition too."""
    body = PACK.rule(rule)
    assert body.unit
    assert body.say.endswith(".")
    assert body.source
    assert body.mark in MARKS
    assert body.edition or body.mark == "practice"


def test_every_rule_asked_for_is_there() -> None:
    """Python asks by ``pack["…"]``."""
    asked = set(re.findall(r'pack\["([a-z0-9_.A-Z]+)"\]', _sources()))
    assert asked
    assert asked - set(PACK.ids()) == set()


def test_every_rule_is_used() -> None:
    """No figure stands in the pack that nothing reads; a family is read by its first words."""
    text = _sources()
    families = ("tape.class.", "timber.tolerance.", "timber.class.", "load.use.", "load.layer.")
    idle = [r for r in PACK.ids() if r not in text and not r.startswith(families)]
    assert idle == []


def test_an_unknown_rule_is_an_error() -> None:
    """A rule that is not there is never a silent nought."""
    assert "no.such.rule" not in PACK
    with pytest.raises(KeyError):
        PACK["no.such.rule"]
