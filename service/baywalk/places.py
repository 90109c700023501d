"""Where the files that travel with the package lie, in a checkout and in an installed wheel."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent
_CHECKOUT = _PACKAGE.parent.parent


def _place(name: str) -> Path:
    """Return the folder ``name`` shipped inside the wheel, else the one of the checkout."""
    shipped = _PACKAGE / f"_{name}"
    return shipped if shipped.is_dir() else _CHECKOUT / name


def web() -> Path:
    """Return the folder of the installable page."""
    return _place("web")


def shared() -> Path:
    """Return the folder of what Python and JavaScript both obey."""
    return _place("shared")


def fixtures() -> Path:
    """Return the folder of the invented demo loft."""
    return _place("fixtures")
