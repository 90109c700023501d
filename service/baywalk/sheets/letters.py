"""Letters: how wide they are, and what is written for those that the face does not have.

The face travels with the library that writes PDF, and its widths are used for every form. So a
sheet is laid out alike on every machine, whatever faces that machine has.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from pathlib import Path

import reportlab
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

PLAIN, BOLD = "Vera", "VeraBd"

CAPITAL = 0.729
"""Height of a capital as a share of the size of the letters [-]; from the face itself."""
_NAMED = ("GREEK", "CYRILLIC")
_BREAK = re.compile(r"(?<![\d']) | (?!\d|mm\b)")
"""Where a line may end: never within a length in feet and inches, nor before its unit."""
BELOW = 0.236
"""How far a letter reaches below its line, as a share of the size [-]; from the face itself."""


@cache
def _face(bold: bool) -> TTFont:  # noqa: FBT001 - a cache's key
    folder = Path(reportlab.__file__).parent / "fonts"
    name = BOLD if bold else PLAIN
    face = TTFont(name, str(folder / f"{name}.ttf"))
    pdfmetrics.registerFont(face)
    return face


def name(*, bold: bool = False) -> str:
    """Return the face's name, once it is there to be written with."""
    return str(_face(bold).fontName)


@cache
def _known(bold: bool) -> frozenset[int]:  # noqa: FBT001 - a cache's key
    return frozenset(_face(bold).face.charWidths)


@cache
def _letter(sign: str) -> str:
    """Return what is written for one sign that the face lacks.

    Its base letter where it has one; for a Greek or Cyrillic letter its name, as engineers say
    gamma; else a question mark, so that nothing is left out unseen.
    """
    spoken = "".join(
        part for part in unicodedata.normalize("NFKD", sign) if ord(part) in _known(bold=False)
    )
    if spoken:
        return spoken
    named = unicodedata.name(sign, "").split()
    if len(named) > 3 and named[0] in _NAMED and named[2] == "LETTER":
        return named[3].lower() if named[1] == "SMALL" else named[3].capitalize()
    return "" if unicodedata.category(sign)[0] in "CM" else "?"


def clean(text: str) -> str:
    """Return a text in signs that the face has, on one line."""
    known = _known(bold=False)
    one = " ".join(text.split())
    return "".join(sign if ord(sign) in known else _letter(sign) for sign in one)


def writable(text: str) -> bool:
    """Say whether any letter or figure of a text is written as itself, or as its base letter."""
    return any(sign.isalnum() for sign in clean(text))


@cache
def width(text: str, cap: float, *, bold: bool = False) -> float:
    """Return how wide a text is [mm] whose capitals are ``cap`` [mm] high."""
    return float(_face(bold).stringWidth(text, cap / CAPITAL))


def cut(text: str, room: float, cap: float, *, bold: bool = False) -> str:
    """Return a text that fits into ``room`` [mm], its end left out where it must be."""
    text = clean(text)
    if width(text, cap, bold=bold) <= room:
        return text
    while text and width(text + "…", cap, bold=bold) > room:
        text = text[:-1]
    return text.rstrip() + "…"


def wrap(text: str, room: float, cap: float, *, bold: bool = False) -> list[str]:
    """Return the lines of a text, each at most ``room`` [mm] wide; a longer word is broken."""
    lines: list[str] = []
    line = ""
    for word in _BREAK.split(clean(text)):
        for part in _broken(word, room, cap, bold=bold):
            longer = f"{line} {part}".strip()
            if line and width(longer, cap, bold=bold) > room:
                lines.append(line)
                longer = part
            line = longer
    return [*lines, line] if line else lines


def _broken(word: str, room: float, cap: float, *, bold: bool) -> list[str]:
    """Return a word in parts that fit into the room each."""
    parts = []
    while width(word, cap, bold=bold) > room and len(word) > 1:
        end = len(word) - 1
        while end > 1 and width(word[:end], cap, bold=bold) > room:
            end -= 1
        parts.append(word[:end])
        word = word[end:]
    return [*parts, word]
