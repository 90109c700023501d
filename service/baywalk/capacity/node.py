"""A part of a parsed JSON document that knows where it lies, so that a fault can name its field."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NoReturn

from baywalk.capacity.errors import BadCapacityInput
from baywalk.capacity.model import Figure

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence


class Node:
    """One value of a document and its path, such as ``runs/0/joists/3/span``."""

    def __init__(self, value: Any, path: str = "") -> None:
        """Take a parsed value and the path to it."""
        self.value, self.path = value, path

    def fail(self, why: str) -> NoReturn:
        """Raise the fault of this value."""
        raise BadCapacityInput(self.path, why)

    def at(self, key: str) -> Node:
        """Return the member ``key``; its value is None where there is none or it is null."""
        if not isinstance(self.value, dict):
            self.fail("must be an object")
        return Node(self.value.get(key), f"{self.path}/{key}" if self.path else key)

    def __bool__(self) -> bool:
        """Say whether there is anything here: null counts as nothing."""
        return self.value is not None

    def each(self) -> Iterator[Node]:
        """Yield the items of a list; nothing where it is missing or null."""
        if self.value is None:
            return
        if not isinstance(self.value, list):
            self.fail("must be a list")
        for number, item in enumerate(self.value):
            yield Node(item, f"{self.path}/{number}")

    def members(self) -> Iterator[tuple[str, Node]]:
        """Yield the members of an object by name; nothing where it is missing or null."""
        if self.value is None:
            return
        if not isinstance(self.value, dict):
            self.fail("must be an object")
        for key in self.value:
            yield key, self.at(key)

    def number(self, limits: Sequence[float]) -> float:
        """Return a number within ``limits``, in whatever unit the field has."""
        value = self.value
        # True is 1 to Python; in a file of lengths it is a mistake.
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.fail("must be a number")
        least, most = limits
        # A whole number past any float would overflow in the comparison's arithmetic, not here.
        if not least <= value <= most or not math.isfinite(value):
            self.fail(f"must be from {least:g} to {most:g}")
        return float(value)

    def whole(self, limits: Sequence[int]) -> int:
        """Return a whole number within ``limits``."""
        value = self.number(limits)
        if value != int(value):
            self.fail("must be a whole number")
        return int(value)

    def figure(self, limits: Sequence[float], sds: Sequence[float]) -> Figure | None:
        """Return a length [mm] given as a number or as ``{value, sd}``; None where it is missing.

        A length without a standard deviation is taken as exact.
        """
        if self.value is None:
            return None
        if not isinstance(self.value, dict):
            return Figure(self.number(limits), 0.0)
        if not self.at("value"):
            self.at("value").fail("is missing")
        sd = self.at("sd")
        return Figure(self.at("value").number(limits), sd.number(sds) if sd else 0.0)

    def text(self) -> str:
        """Return a text; "" where it is missing."""
        if self.value is None:
            return ""
        if not isinstance(self.value, str):
            self.fail("must be a text")
        return str(self.value)
