"""What is written short comes out again to the letter, whatever the text is."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywalk.http.shorthand import shorten


def written_out(words: list[str], short: str) -> str:
    """Return a text as the worker writes it out: a character, or the word at its own code."""
    return "".join((words[ord(char)] if ord(char) < len(words) else "") or char for char in short)


def test_common_words_become_one_character_each() -> None:
    words, short = shorten("let survey = survey.survey + surveys.survey; // survey " + "tally " * 3)
    assert [word for word in words if word] == ["survey"]
    assert len(short) == len("let @ = @.@ + surveys.@; // @ ") + 3 * len("tally ")


def test_a_character_of_the_text_is_not_taken_for_a_word() -> None:
    text = "\x80 × ½ é ー 😀 " + "width " * 9 + "height\t\n\r" * 9
    words, short = shorten(text)
    assert {"width", "height", "×", "½", "é", "\x80"} == {word for word in words if word}
    assert written_out(words, short) == text


def test_more_words_than_characters() -> None:
    letters = "abcdefghijklm"
    text = " ".join(
        f"{a}{b}{c}{d}" for a in letters for b in letters for c in "xyz" for d in letters
    )
    words, short = shorten(text * 8)
    assert sum(map(bool, words)) == 29 + 0x800 - 0x80
    assert written_out(words, short) == text * 8


def test_nothing_is_nothing() -> None:
    assert shorten("") == (("",), "")


@pytest.mark.parametrize("char", ["\x01", "\x1f", "\x7f"])
def test_what_is_no_text_is_refused(char: str) -> None:
    with pytest.raises(ValueError, match="control characters"):
        shorten(f"a{char}b")


PARTS = st.one_of(
    st.sampled_from(
        ["survey", "Joist", "line", " ", "\n", "\0", "\x85", "\xa0", "\u07ff", "\u0800"]
    ),
    st.text(st.characters(exclude_categories=["Cc", "Cs"]), max_size=3),
)


@settings(max_examples=200, deadline=None)
@given(st.lists(PARTS, max_size=60))
def test_it_comes_out_again(parts: list[str]) -> None:
    text = "".join(parts)
    assert written_out(*shorten(text)) == text
