"""Photos: received piece by piece, checked against their hash, redrawn and kept on disk."""

from baywalk.fieldbook.photos.folder import (
    MAX_BYTES,
    Photos,
    TooManyParts,
    WrongHash,
    WrongStart,
)
from baywalk.fieldbook.photos.picture import NotAPicture, redraw

__all__ = [
    "MAX_BYTES",
    "NotAPicture",
    "Photos",
    "TooManyParts",
    "WrongHash",
    "WrongStart",
    "redraw",
]
