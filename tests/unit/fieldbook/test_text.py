"""JSON in and out: what is refused, and that nothing changes on the way through."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywalk.fieldbook.errors import BadText
from baywalk.fieldbook.text import MAX_NESTING, parse, same, unsound, write

VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=20,
)


@given(VALUES)
def test_a_value_comes_back_as_it_went(value: Any) -> None:
    text = write(value)
    assert text.isascii()
    assert same(parse(text), value)
    assert unsound(parse(text)) is None


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "nope",
        '{"a": NaN}',
        "[Infinity]",
        "[-Infinity]",
        "[" * 100_000,
        b'"\xff"',
        b"\xff\xfe[\x001\x00]\x00",
        '{"a": 1} x',
        "{'a': 1}",
    ],
)
def test_what_is_not_json_is_refused_in_one_line(text: str | bytes) -> None:
    with pytest.raises(BadText) as fault:
        parse(text)
    assert "\n" not in str(fault.value)


@pytest.mark.parametrize(
    ("text", "field", "why"),
    [
        ('{"a": 1, "b": [{"c": 1, "c": 2}]}', "b/0", "names 'c' twice"),
        (r'{"a": "\ud800"}', "a", "surrogate"),
        (r'{"a": ["x\udc00"]}', "a/0", "surrogate"),
        (r'{"a": {"\ud800": 1}}', "a", "surrogate"),
        (r'{"runs": [{"id": "A"}, {"title": "J\ud800"}]}', "runs/1/title", "surrogate"),
        ('{"a": [1, -1e999]}', "a/1", "too large"),
        ('{"a": ' + "9" * 5000 + "}", "a", "too large"),
    ],
)
def test_what_is_unfit_is_named_where_it_lies(text: str, field: str, why: str) -> None:
    fault = unsound(parse(text))
    assert fault
    assert fault.field == field
    assert why in fault.why
    outer = unsound(parse(text), outermost=True)
    assert outer
    assert outer.field == field.split("/")[0]


def test_a_whole_surrogate_pair_is_one_sign() -> None:
    assert unsound(parse(r'{"a": "\ud83d\ude00"}')) is None


@pytest.mark.parametrize(("depth", "sound"), [(MAX_NESTING, True), (MAX_NESTING + 1, False)])
def test_nesting_is_counted_from_the_outermost(depth: int, *, sound: bool) -> None:
    assert (unsound(parse("[" * depth + "]" * depth)) is None) is sound


@pytest.mark.parametrize(
    ("one", "other", "equal"),
    [
        ("1", "1.0", True),
        ("100", "1e2", True),
        ("0", "-0.0", True),
        ("1", "true", False),
        ("0", "false", False),
        ("null", "0", False),
        ('"1"', "1", False),
        ('{"a": 1, "b": 2}', '{"b": 2, "a": 1.0}', True),
        ("[1, 2]", "[2, 1]", False),
        ("[1]", "[1, 1]", False),
        ('{"a": null}', "{}", False),
        ("[true]", "[1]", False),
    ],
)
def test_equal_means_equal_as_json(one: str, other: str, *, equal: bool) -> None:
    assert same(parse(one), parse(other)) is equal
    assert same(parse(other), parse(one)) is equal


@given(VALUES, VALUES)
def test_equal_agrees_with_the_library_but_for_truth_values(one: Any, other: Any) -> None:
    assert same(one, one)
    if same(one, other):
        assert one == other
