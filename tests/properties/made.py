"""JSON that nobody would write, to be drawn from."""

from __future__ import annotations

import uuid
from typing import Any

from hypothesis import strategies as st

from baywalk.fieldbook.entry import KINDS

NUMBERS = st.one_of(
    st.integers(),
    st.integers(-(10**40), 10**40),
    st.floats(allow_nan=False, allow_infinity=False),
    st.sampled_from([0, -0.0, 1e308, 5e-324, 2**53 + 1, 10_000, 10_001, 1_000_000, 1_000_001]),
)
TEXTS = st.one_of(
    st.text(st.characters(exclude_categories=["Cs"]), max_size=40),
    st.sampled_from(["", "\u0000", "\ufeff", "\u202e", "😀", "A", "near", "left", "__proto__"]),
)
VALUES: st.SearchStrategy[Any] = st.recursive(
    st.one_of(st.none(), st.booleans(), NUMBERS, TEXTS),
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(TEXTS, inner, max_size=4)),
    max_leaves=12,
)
"""Any JSON value."""

IDS = st.uuids().map(str)
JOISTS = st.one_of(st.integers(0, 8), st.sampled_from([0, 1, 9_999, 10_000]))
LENGTHS = st.one_of(
    st.floats(0, 1_000_000), st.integers(0, 1_000_000), st.sampled_from([0, 1e-9, 353, 0.5])
)
LINES = st.sampled_from(["near", "far", "middle", "\u0000", "near_support", "far_edge"])
FACES = st.sampled_from(["left", "right", "centre", "face"])
RUNS = st.sampled_from(["A", "B", "", "nowhere"]).filter(bool)


def sound(kinds: tuple[str, ...] = tuple(KINDS)) -> st.SearchStrategy[dict[str, Any]]:
    """Draw an entry that must be kept, of one of the kinds, as senseless as may be."""
    return st.sampled_from(kinds).flatmap(_sound)


def _sound(kind: str) -> st.SearchStrategy[dict[str, Any]]:
    needed: dict[str, st.SearchStrategy[Any]] = {
        "id": IDS,
        "at": st.just("2025-11-01T10:05:00+00:00"),
        "by": st.sampled_from(["one", "two"]),
        "kind": st.just(kind),
        **_FIELDS.get(kind, {}),
    }
    # A field that no version knows may carry anything, by any name but those that are known.
    return st.fixed_dictionaries(needed, optional={"n": st.integers(0, 9), "zz": VALUES})


_PLACED = {"run": RUNS, "value": LENGTHS}
_FACE = st.tuples(JOISTS, FACES).map(list)
_CROSSING = st.tuples(JOISTS, LINES).map(list)
_PATHS = ["/title", "/tape/class", "/runs/A/joists", "/runs/A/lines", "/runs/A", "/runs/B", "/x/y"]
_FIELDS: dict[str, dict[str, st.SearchStrategy[Any]]] = {
    "across": {**_PLACED, "line": LINES, "from": _FACE, "to": _FACE},
    "along": {**_PLACED, "joist": JOISTS, "from": LINES, "to": LINES},
    "diagonal": {**_PLACED, "from": _CROSSING, "to": _CROSSING},
    "breadth": {**_PLACED, "joist": JOISTS},
    "depth": {**_PLACED, "joist": JOISTS},
    "level": {**_PLACED, "joist": JOISTS, "line": LINES},
    "bearing": {**_PLACED, "joist": JOISTS, "end": st.sampled_from(["near", "far"])},
    "strike": {"target": IDS, "reason": TEXTS},
    "restore": {"target": IDS},
    "set": {"path": st.one_of(st.sampled_from(_PATHS), TEXTS), "value": VALUES},
    "photo": {"sha256": st.just("0" * 64)},
    "remark": {"text": TEXTS},
    "unreached": {"run": RUNS},
    "feature": {"run": RUNS, "feature": st.sampled_from(["opening", "laid", "notch", "\u0000"])},
}


def spoilt(draw: st.DrawFn) -> dict[str, Any]:
    """Draw an entry one of whose fields holds anything, or is missing, or is one more."""
    entry = draw(sound())
    name = draw(st.one_of(st.sampled_from(sorted(entry)), TEXTS))
    if draw(st.booleans()):
        return {**entry, name: draw(VALUES)}
    return {key: value for key, value in entry.items() if key != name}


def fresh() -> str:
    """Return an id that is in no store."""
    return str(uuid.uuid4())
