"""Texts with their common words as one character each.

To a packer a word that came before costs about as much as three letters, one character of its own
about half of that. So what is written short packs smaller, the page by a twentieth, and to write
it out again takes a line of script.
"""

from __future__ import annotations

import re
from collections import Counter
from functools import lru_cache

_WORD = re.compile("[A-Za-z][a-z]+")
_OFTEN, _SAVED = 4, 20
"""How often a word must come, and about how many characters it must save, to be worth a sign."""

_END = 0x800

_BREAKS = {0, *b"\t\n\r"}
_SHORT = [code for code in (*range(0x20), 0x7F) if code not in _BREAKS]
"""The characters of one byte that no text has; those from 0x80 up to ``_END`` take two."""


@lru_cache(maxsize=1)
def shorten(text: str) -> tuple[tuple[str, ...], str]:
    """Return a list of words and the text with each of them as one character.

    A character stands for the word at its own code in the list, and for itself where that is empty
    or the list has ended. Raises ValueError where the text has characters that a text has not.
    """
    signs = set(text)
    if unfit := {sign for sign in signs if ord(sign) in _SHORT}:
        raise ValueError(f"the text has control characters: {unfit}")
    counts = Counter(_WORD.findall(text))
    often = sorted(
        word
        for word, count in counts.items()
        if count >= _OFTEN and (len(word) - 1.5) * count >= _SAVED
    )
    first = sorted(often, key=lambda word: -counts[word] * min(len(word), 5))[: len(_SHORT)]
    # Side by side in the alphabet they are written alike, and pack smaller. What the text has of
    # these characters stands among the words, so that none of them means two things.
    others = [*sorted(sign for sign in signs if 0x80 <= ord(sign) < _END), *often]
    others = [word for word in others if word not in first][: _END - 0x80]
    code = dict(zip([*first, *others], [*_SHORT, *range(0x80, _END)], strict=False))
    words = [""] * (max(code.values(), default=0) + 1)
    for word, place in code.items():
        words[place] = word
    mark = re.compile(f"{_WORD.pattern}|[\x80-\u07ff]")
    return tuple(words), mark.sub(lambda found: _written(found[0], code), text)


def _written(word: str, code: dict[str, int]) -> str:
    return chr(code[word]) if word in code else word
