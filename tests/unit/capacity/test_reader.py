"""An as-built that anyone may have written: what cannot be true is one line naming the field."""

from __future__ import annotations

import contextlib
import copy
import json
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from baywalk import cli
from baywalk.capacity import BadCapacityInput, capacity, load_as_built
from tests.lofts import full_loft
from tests.unit.capacity.loft import checked, loft
from tests.unit.reconcile.book import computed

if TYPE_CHECKING:
    from pathlib import Path


def spoilt(path: str, value: Any) -> dict[str, Any]:
    """Return the loft with one field of it changed."""
    document = copy.deepcopy(
        loft(features=[{"id": "f", "feature": "notch", "joist": 3, "depth": 9}])
    )
    *inner, last = path.split("/")
    part: Any = document
    for key in inner:
        part = part[int(key) if isinstance(part, list) else key]
    part[int(last) if isinstance(part, list) else last] = value
    return document


JOIST = "runs/0/joists/2"
BAD = [
    ("format", "baywalk.survey"),
    ("version", 2),
    ("version", True),
    ("runs", None),
    ("settled", "no"),
    ("runs", {}),
    ("runs/0", 7),
    ("runs/0/member", "C16"),
    ("runs/0/member", {"grade": 16}),
    ("runs/0/joists", "none"),
    (JOIST, None),
    (f"{JOIST}/index", 0),
    (f"{JOIST}/index", 2.5),
    (f"{JOIST}/index", 2),
    (f"{JOIST}/breadth", -47),
    (f"{JOIST}/breadth", 0),
    (f"{JOIST}/breadth", "47"),
    (f"{JOIST}/breadth", True),
    (f"{JOIST}/breadth", 47000),
    (f"{JOIST}/breadth/value", -47),
    (f"{JOIST}/breadth/value", None),
    (f"{JOIST}/breadth/sd", -1),
    (f"{JOIST}/depth/value", 1e9),
    (f"{JOIST}/depth/value", 10**400),
    (f"{JOIST}/span", float("nan")),
    (f"{JOIST}/span/value", float("inf")),
    (f"{JOIST}/span/value", 1e6),
    (f"{JOIST}/span/value", []),
    (f"{JOIST}/bearing/near/value", -5),
    (f"{JOIST}/bearing/far", "x"),
    (f"{JOIST}/grade", 16),
    (f"{JOIST}/plies", 0),
    (f"{JOIST}/plies", 1.5),
    (f"{JOIST}/at", []),
    (f"{JOIST}/at/near/x", "1200"),
    (f"{JOIST}/at/near/x", 700),
    (f"{JOIST}/at/near/point", [1]),
    ("runs/0/walls/end/at/near/x", 100),
    ("runs/0/bays", [{"bay": 2, "at": {"near": {"centres": -400}}}]),
    ("runs/0/bays", [{"bay": 2, "at": {"near": {"gap": -1}}}]),
    ("runs/0/features/0/joist", "3"),
    ("runs/0/features/0/depth", "9"),
    ("runs/0/features/0/depth", -3),
    ("runs/0/features/0/edge", 3),
    ("runs/0/features/0/from_near_support", "half way"),
    ("runs/0/features", [{"feature": "support", "from_near_support": -4}]),
    ("runs/0/features", [{"feature": "support", "from_near_support": 400}] * 7),
    ("runs/0/features", [{"feature": "hole", "joist": 3, "depth": 9, "edge": "centre"}] * 101),
    ("runs/0/features", [{"feature": "opening", "polygon": [[0, 0], [1], [2, 2]]}]),
]


@pytest.mark.parametrize(("path", "value"), BAD)
def test_what_cannot_be_is_named(path: str, value: Any) -> None:
    with pytest.raises(BadCapacityInput) as caught:
        capacity(spoilt(path, value))
    text = str(caught.value)
    assert "\n" not in text
    assert caught.value.field
    assert caught.value.field.split("/")[0] == path.split("/")[0]


@pytest.mark.parametrize("document", [None, [], "x", 3, {}, {"format": "baywalk.as-built"}])
def test_what_is_no_as_built(document: Any) -> None:
    with pytest.raises(BadCapacityInput):
        capacity(document)


@pytest.mark.parametrize(
    "text",
    [b"", b"\xff", b"{", b"[" * 5000, b'{"a": NaN}', b'{"runs": 1e999}', b'{"a": 1, "a": 2}'],
)
def test_what_is_no_text_of_json(text: bytes) -> None:
    with pytest.raises(BadCapacityInput):
        load_as_built(text)


@pytest.mark.parametrize("text", ["[]", "nothing", json.dumps(spoilt(f"{JOIST}/depth/value", -1))])
def test_the_command_says_it_in_one_line(
    text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "as-built.json"
    file.write_text(text)
    assert cli.main(["capacity", str(file)]) == 2
    captured = capsys.readouterr()
    assert (captured.out, captured.err.count("\n")) == ("", 1)


@pytest.mark.parametrize(
    ("options", "named"),
    [
        (["--use", "party"], "use"),
        (["--dead", "nan"], "dead"),
        (["--dead", "-1"], "dead"),
        (["--dead", "lots"], "dead"),
        (["--dead", "1_0"], "dead"),
        (["--dead", "\u0663"], "dead"),
        (["--dead", "1e400"], "dead"),
        (["--thing", "bath,mass=1_0"], "thing/mass"),
        (["--imposed", "1e9"], "imposed"),
        (["--ceiling", "glass"], "ceiling"),
        (["--service-class", "4"], "service_class"),
        (["--thing", "bath"], "thing/mass"),
        (["--thing", "bath,mass=-1"], "thing/mass"),
        (["--thing", "bath,mass=1,x=2"], "thing/y"),
        (["--thing", "bath,mass=1,colour=2"], "thing/colour"),
        (["--thing", "mass=1"], "thing/name"),
        (["--thing", "bath,mass=1,feet=3"], "thing/feet"),
        (["--thing", "bath,mass=1,moving=fast"], "thing/moving"),
        (["--thing", "bath,mass=1,mass=2"], "thing/mass"),
        (["--roof", "trussed=yes,trussed=no"], "roof"),
        (["--roof", "ties=maybe"], "roof"),
        (["--roof", "chimney=yes"], "roof"),
        (["--partition", "0.9"], "partition"),
        (["--partition", "along,x"], "partition"),
    ],
)
def test_a_bad_option_is_one_line_that_names_it(
    options: list[str], named: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "as-built.json"
    file.write_text(json.dumps(loft()))
    assert cli.main(["capacity", str(file), *options]) == 2
    captured = capsys.readouterr()
    assert (captured.out, captured.err.count("\n")) == ("", 1)
    assert f"'{named}'" in captured.err


@pytest.mark.parametrize(
    "words", [[], ["--dead"], ["x.json", "--dead"], ["x.json", "--party", "1"]]
)
def test_a_call_that_is_none_is_one_line(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as caught:
        cli.main(["capacity", *words])
    captured = capsys.readouterr()
    assert caught.value.code == 2
    assert (captured.out, captured.err.count("\n")) == ("", 1)


def test_the_command_prints_the_check(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "as-built.json"
    file.write_text(json.dumps(loft()))
    assert cli.main(["capacity", str(file), "--use", "domestic", "--dead", "0.5"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told == checked(loft(), use="domestic", dead=0.5)


@pytest.mark.parametrize("seed", range(4))
def test_what_reconciling_writes_can_be_checked(seed: int) -> None:
    checked(json.loads(json.dumps(computed(full_loft(seed, 6).survey()))))


@pytest.mark.parametrize(("settled", "words"), [(None, "does not say"), (False, "not settled")])
def test_an_unsettled_survey_is_said_first(settled: object, words: str) -> None:
    told = checked({**loft(), "settled": settled})
    assert words in told["cautions"][0]


def test_empty_runs_are_told_as_empty() -> None:
    document = loft()
    document["runs"] = [{"id": "A"}, {"id": "B", "joists": []}]
    assert [run["joists"] for run in checked(document)["runs"]] == [[], []]


VALUES = st.one_of(
    st.none(),
    st.booleans(),
    st.floats(),
    st.integers(-(10**6), 10**6),
    st.text(max_size=3),
    st.lists(st.integers(), max_size=3),
    st.dictionaries(st.sampled_from(["value", "sd", "x"]), st.floats(), max_size=2),
)
PATHS = st.sampled_from(
    [path for path, _ in BAD if not path.startswith("format")]
    + [f"{JOIST}/{name}" for name in ("ends", "supports", "span", "at/near/point", "at/near")]
    + ["runs/0/walls", "runs/0/id", "settled", "title", "runs/0/features/0/feature"]
)


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(path=PATHS, value=VALUES)
def test_nothing_else_ever_comes_out(path: str, value: Any) -> None:
    """Whatever stands in a field: a load check of the schema, or the one kind of refusal."""
    with contextlib.suppress(BadCapacityInput):
        checked(spoilt(path, value))
