"""The rule pack: every figure of the trade, with its unit, source, edition and mark."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from typing import Any

from baywalk import places


@dataclass(frozen=True)
class Rule:
    """One rule of the pack: its ``value`` in ``unit``, and where the figure comes from.

    ``clause`` names the place in the source where that is known.
    """

    id: str
    value: Any
    unit: str
    say: str
    source: str
    edition: str
    mark: str
    clause: str = ""


class Pack:
    """A rule pack read from ``shared/rules/<id>.json``."""

    def __init__(self, document: dict[str, Any]) -> None:
        """Take the parsed pack; every rule must carry all fields of :class:`Rule`."""
        self.id: str = document["id"]
        self._rules = {key: Rule(id=key, **body) for key, body in document["rules"].items()}
        self._values: dict[str, Any] = {key: rule.value for key, rule in self._rules.items()}

    def __getitem__(self, rule: str) -> Any:
        """Return the value of ``rule``, in the unit that the pack names; KeyError if unknown."""
        return self._values[rule]

    def __contains__(self, rule: object) -> bool:
        """Say whether the pack has this rule."""
        return rule in self._values

    def rule(self, rule: str) -> Rule:
        """Return the whole rule, for printing its source beside a figure."""
        return self._rules[rule]

    def ids(self) -> list[str]:
        """Return the ids of all rules, sorted."""
        return sorted(self._rules)


@cache
def load(pack: str = "uk") -> Pack:
    """Read the pack once; the UK pack is the only one so far."""
    path = places.shared() / "rules" / f"{pack}.json"
    return Pack(json.loads(path.read_text(encoding="utf-8")))
