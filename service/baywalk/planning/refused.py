"""Why there is no plan, in words."""

from __future__ import annotations

from dataclasses import dataclass


class BadAsBuilt(ValueError):  # noqa: N818 - read as a sentence where it is raised
    """An as-built that cannot be read; its text is one line naming the field."""


class BadChoice(ValueError):  # noqa: N818 - read as a sentence where it is raised
    """A choice that cannot be used; ``field`` is its name, its text one line naming it."""

    def __init__(self, field: str, why: str) -> None:
        """Take the name and why."""
        super().__init__(f"{field}: {why}")
        self.field = field


class BadEarlier(ValueError):  # noqa: N818 - read as a sentence where it is raised
    """An earlier plan that cannot be gone on from; its text is one line naming the field."""


class BadAsLaid(ValueError):  # noqa: N818 - read as a sentence where it is raised
    """A file of what is laid that cannot be used; its text is one line naming the field."""


@dataclass(frozen=True)
class Reason:
    """One reason against planning: a ``code`` stable across versions, and what to ``say``."""

    code: str
    say: str


class Refused(Exception):  # noqa: N818 - read as a sentence where it is raised
    """Nothing can be planned from this as-built as it stands; ``reasons`` say why."""

    def __init__(self, *reasons: Reason) -> None:
        """Take the reasons, the gravest first."""
        super().__init__(" ".join(reason.say for reason in reasons))
        self.reasons = reasons
