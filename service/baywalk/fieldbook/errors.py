"""What can be wrong with a field book, in words that name the entry and the field."""

from __future__ import annotations

from dataclasses import dataclass


class BadSurvey(ValueError):  # noqa: N818 - read as a sentence where it is raised
    """A survey that cannot be read; its text is one line naming the entry and the field."""


class BadText(ValueError):  # noqa: N818 - read as a sentence where it is raised
    """A text that is not the JSON that is read here; its text says why."""


@dataclass(frozen=True)
class Fault:
    """One thing wrong: the ``field`` it is in ("" for the whole) and ``why``."""

    field: str
    why: str

    def __str__(self) -> str:
        """Return the fault as one sentence."""
        return f"field {self.field!r}: {self.why}" if self.field else self.why
