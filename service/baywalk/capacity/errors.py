"""What can be wrong with what the load check is given, in words that name the field."""

from __future__ import annotations


class BadCapacityInput(ValueError):  # noqa: N818 - read as a sentence where it is raised
    """An as-built or an option that cannot be checked; its text is one line naming the field."""

    def __init__(self, field: str, why: str, what: str = "The as-built") -> None:
        """Take the field at fault ("" for the whole), why, and what it is a field of."""
        where = f", field {field!r}" if field else ""
        super().__init__(f"{what}{where}: {why}.")
        self.field, self.why = field, why
