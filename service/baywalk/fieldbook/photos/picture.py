"""Redrawing a photo: the pixels are kept, and nothing else that was in the file.

A file from a phone may carry where it was taken, a comment, a script behind the picture, or a
picture that unpacks into more than a machine holds. None of it survives here.
"""

from __future__ import annotations

import io
import warnings

from PIL import Image, ImageOps

MAX_PIXELS = 50_000_000
"""The most pixels of a photo [-], told from its header before it is unpacked."""

FORMATS = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}
"""The formats read, each with its media type."""

_QUALITY = {"JPEG": {"quality": 88}, "PNG": {}, "WEBP": {"quality": 88}}
_TOO_MANY = f"has more than {MAX_PIXELS // 1_000_000} million pixels"
_PLAIN = {"L", "RGB", "RGBA"}

# The library only warns up to twice its own limit. Here a warning is a refusal.
warnings.simplefilter("error", Image.DecompressionBombWarning)


class NotAPicture(ValueError):  # noqa: N818 - read as a sentence where it is raised
    """The bytes are no picture that is kept here; the text says why."""


def redraw(sent: bytes) -> tuple[bytes, str]:
    """Return a photo drawn anew and its media type, turned upright, with its pixels alone.

    Raises :class:`NotAPicture` for anything but a whole JPEG, PNG or WebP of at most
    :data:`MAX_PIXELS`.
    """
    try:
        with Image.open(io.BytesIO(sent), formats=tuple(FORMATS)) as picture:
            _measure(picture)
            form = picture.format if picture.format in FORMATS else "JPEG"
            return _drawn(picture, form), FORMATS[form]
    except NotAPicture:
        raise
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        raise NotAPicture(_TOO_MANY) from None
    except Exception as fault:
        # A decoder fed with hostile bytes raises errors of every kind. None is the service's own.
        raise NotAPicture("is not a whole JPEG, PNG or WebP picture") from fault


def _measure(picture: Image.Image) -> None:
    """Raise NotAPicture for a picture whose header says it has too many pixels."""
    if picture.width * picture.height > MAX_PIXELS:
        raise NotAPicture(_TOO_MANY)


def _drawn(picture: Image.Image, form: str) -> bytes:
    """Return the picture as a new file of the form, carrying pixels only."""
    # In its own place: a picture of the most pixels takes 150 MB, and so does every copy of it.
    ImageOps.exif_transpose(picture, in_place=True)
    upright = picture
    if upright.mode not in _PLAIN or (form == "JPEG" and upright.mode == "RGBA"):
        upright = upright.convert("RGBA" if _see_through(upright) and form != "JPEG" else "RGB")
    # Pasting onto an empty sheet leaves comments, profiles and every other note behind.
    sheet = Image.new(upright.mode, upright.size)
    sheet.paste(upright)
    out = io.BytesIO()
    sheet.save(out, form, **_QUALITY[form])
    return out.getvalue()


def _see_through(picture: Image.Image) -> bool:
    """Say whether some of the picture lets through what is behind it."""
    return "A" in picture.getbands() or "transparency" in picture.info
