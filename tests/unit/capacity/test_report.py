"""The file as a whole: evidence, fixes, doubt, rules, and what a reader could take it for."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

import pytest

from tests.unit.capacity.loft import PACK, checked, loft, one, validator

if TYPE_CHECKING:
    from collections.abc import Iterator

HATCH = {"id": "h", "feature": "opening",
         "polygon": [[900, 1000], [1500, 1000], [1500, 1800], [900, 1800]]}  # fmt: skip
ROOF = "trussed=no,ties=no,fixing=none,plate=fixed,purlins=yes,collars=yes"


def files() -> Iterator[dict[str, Any]]:
    """Yield load checks that between them make every field and every sentence appear."""
    features = [
        HATCH,
        {"id": "n", "feature": "notch", "joist": 2, "edge": "bottom", "depth": 9,
         "from_near_support": 900},
        {"id": "d", "feature": "decay", "joist": 5},
    ]  # fmt: skip
    things = ["bath,mass=300,width=500,length=600,height=500", "safe,mass=80,x=900,y=900"]
    yield checked(loft(features=features), use="domestic", roof=ROOF, thing=things,
                  partition="across,1")  # fmt: skip
    yield checked(loft(span=2300.0), dead=0.3, partition="along,0.9")
    yield checked(loft(span=3800.0, features=[HATCH]), use="occasional", dead=0.5)
    yield checked(loft(centres=300, span=2000.0), roof="trussed=yes")
    document = loft(centres=650)
    document["settled"] = False
    document["runs"][0]["joists"][1] |= {
        "span": None,
        "ends": None,
        "bearing": {"near": 20, "far": 60},
    }
    yield checked(document)
    yield checked({**loft(), "runs": []})


FILES = list(files())


def walk(part: Any, key: str = "") -> Iterator[tuple[str, Any]]:
    yield key, part
    if isinstance(part, dict):
        for name, value in part.items():
            yield from walk(value, name)
    elif isinstance(part, list):
        for value in part:
            yield from walk(value, key)


def closed(schema: Any) -> Any:
    """Return the schema with every object that names its fields closed to others."""
    if isinstance(schema, list):
        return [closed(part) for part in schema]
    if not isinstance(schema, dict):
        return schema
    out = {key: closed(part) for key, part in schema.items()}
    if isinstance(out.get("properties"), dict):
        out.setdefault("additionalProperties", False)
    return out


def test_every_field_written_is_described_and_the_other_way_round() -> None:
    strict = type(validator())(closed(validator().schema))
    seen: set[str] = set()
    for file in FILES:
        strict.validate(file)
        seen |= {key for key, _ in walk(file)}
    parts = [part for _, part in walk(validator().schema) if isinstance(part, dict)]
    fields = [part["properties"] for part in parts if isinstance(part.get("properties"), dict)]
    named = {key for each in fields for key in each}
    assert named - seen == set()


def test_every_rule_cited_is_there_whole() -> None:
    for file in FILES:
        cited = {value for key, value in walk(file) if key in ("rule", "rules")
                 and isinstance(value, str)}  # fmt: skip
        assert cited <= set(file["rules"])
        for name, rule in file["rules"].items():
            assert rule["value"] == json.loads(json.dumps(PACK[name]))


def test_nothing_can_be_read_as_an_approval() -> None:
    """No sentence says that a thing is safe, approved, allowed or fine; every verdict defers."""
    words = re.compile(
        r"\b(safe(?! would|,)|approved|certified|guarantee|fine to|ok|okay|you may)\b",
        re.IGNORECASE,
    )
    for file in FILES:
        assert "it approves nothing" in " ".join(file["cautions"])
        for key, value in walk(file):
            if key in ("say", "cautions") and isinstance(value, str):
                assert not words.search(value), value
        for run in file["runs"]:
            for joist in run["joists"]:
                assert re.search(r"engineer|Take nothing", joist["say"])
            for fix in (fix for joist in run["joists"] for fix in joist["fixes"]):
                assert "an engineer confirms it before it is built" in fix["say"]


def test_every_sentence_is_whole() -> None:
    for file in FILES:
        for key, value in walk(file):
            if key in ("say", "cautions") and value and isinstance(value, str):
                assert value[0].isupper() or value.split(",")[0] in ("bath", "safe")
                assert value.endswith((".", "?")), value
                assert "  " not in value
                assert "!" not in value


def test_the_table_beside_the_checks() -> None:
    """47 x 147 C16 at 400, dead up to 0.25: 3.30 m as a ceiling joist, 3.20 m as a floor."""
    storage = one(loft(), dead=0.25)["evidence"][0]
    assert (storage["span"], storage["within"], storage["matches"]) == (3300, True, True)
    domestic = one(loft(span=3300.0), dead=0.25, use="domestic")["evidence"][0]
    assert (domestic["span"], domestic["within"], domestic["matches"]) == (3200, False, True)
    other = one(loft(depth=130.0), dead=0.25)["evidence"][0]
    assert other["matches"] is False
    assert "not this one" in other["say"]
    wide = one(loft(centres=650), dead=0.25)["evidence"][0]
    assert (wide["centres"], wide["matches"]) == (600, False)


def test_the_old_rule_beside_old_joists() -> None:
    old = one(loft(centres=300), dead=0.25)["evidence"][1]
    assert old["table"] == "span.old_ceiling"
    assert "nothing on it" in old["say"]


def test_fixes_are_checked_and_the_smallest_comes_first() -> None:
    found = one(loft(span=3300.0), use="domestic", dead=0.4)
    assert found["verdict"] == "does_not_hold"
    assert [fix["what"] for fix in found["fixes"]] == ["sister", "smaller_use"]
    for fix in found["fixes"]:
        assert fix["utilisation"] <= 1
    # The sister is the smallest stock size that does: one size down does not.
    breadth = int(re.search(r"of (\d+) ×", found["fixes"][0]["say"])[1])
    stock = PACK["timber.sizes.stock"]["breadths"]
    less = [b for b in stock if b < breadth]
    for thinner in less:
        document = loft(span=3300.0)
        document["runs"][0]["joists"][2] |= {"breadth": 47 + thinner, "plies": 2}
        assert one(document, use="domestic", dead=0.4)["verdict"] == "does_not_hold"
    document["runs"][0]["joists"][2] |= {"breadth": 47 + breadth, "plies": 2}
    assert one(document, use="domestic", dead=0.4)["verdict"] != "does_not_hold"


def test_no_fix_is_claimed_where_none_does() -> None:
    assert one(loft(span=9000.0), use="domestic", dead=0.5)["fixes"] == []


@pytest.mark.parametrize("sd", [0.0, 2.0])
def test_doubt_is_said(sd: float) -> None:
    """A joist that all but fails: sure where it was measured exactly, not sure at 2 mm."""
    spans = [span for span in range(4000, 4300) if _use(span, 0.0)["utilisation"] <= 1]
    check = _use(max(spans), sd)
    assert check["holds"]
    assert check["sure"] is (sd == 0)
    found = one(_sized(max(spans), sd), dead=0.3, point=0)
    assert found["say"].startswith("J3. As measured it holds, but") is (sd > 0)
    assert any("would not hold if the survey is out" in c for c in found["cautions"]) is (sd > 0)


def _sized(span: float, sd: float) -> dict[str, Any]:
    return loft(span={"value": float(span), "sd": sd}, depth={"value": 147.0, "sd": sd})


def _use(span: float, sd: float) -> dict[str, Any]:
    from tests.unit.capacity.test_monotone import third

    if sd == 0:
        checks = third(_sized(span, sd), dead=0.3, point=0.0)["checks"]
    else:
        checks = one(_sized(span, sd), dead=0.3, point=0)["checks"]
    found: dict[str, Any] = max(checks, key=lambda c: c["utilisation"])
    return found


def test_doubt_is_the_spread_of_what_was_measured() -> None:
    """u ∝ L² for bending alone: 1.96 x 2 sd/L, against a simulation's 95 %."""
    document = loft(span={"value": 3000.0, "sd": 30.0})
    check = next(c for c in one(document, dead=0.5)["checks"] if c["name"] == "bending")
    expected = check["utilisation"] * (1 + 1.96 * 2 * 30 / 3100)
    assert check["utilisation_95"] == pytest.approx(expected, rel=2e-3)


def test_a_length_known_worse_than_itself() -> None:
    """No size is ever nothing or less; what holds is then anything but sure."""
    sizes = {name: {"value": 147.0, "sd": 99999.0} for name in ("breadth", "depth")}
    found = one(loft(**sizes, span={"value": 3000.0, "sd": 99999.0}), dead=0.3)
    for check in found["checks"]:
        if check["name"].startswith(("bending", "deflection")):
            assert not (check["holds"] and check["sure"]), check["name"]


def test_the_order_of_joists_in_the_file_means_nothing() -> None:
    document = loft()
    document["runs"][0]["joists"].reverse()
    assert checked(document) == checked(loft())


def test_what_the_check_says_adds_up() -> None:
    for file in FILES:
        uses = []
        for run in file["runs"]:
            assert sum(run["counts"].values()) == len(run["joists"])
            for joist in run["joists"]:
                for check in joist["checks"]:
                    if check["utilisation"] is not None:
                        share = check["demand"] / check["capacity"]
                        assert check["utilisation"] == pytest.approx(share, rel=1e-3, abs=1e-5)
                        assert check["holds"] is (check["utilisation"] <= 1)
                if joist["governing"]:
                    uses.append(joist["governing"]["utilisation"])
        if uses:
            assert file["governing"]["utilisation"] == max(uses)


@pytest.mark.parametrize("place", [299.0, 305.0, 599.0, 605.0])
def test_a_notch_at_the_edge_of_its_zone(place: float) -> None:
    """Its zone is a share of a span that is not surely known: it may be within or beyond."""
    notch = {"feature": "notch", "joist": 3, "edge": "top", "depth": 22, "from_near_support": place}
    found = one(loft(span={"value": 3000.0, "sd": 30.0}, features=[notch]))
    within = 300 <= place <= 600
    assert any(" at notch" in check["name"] for check in found["checks"]) is not within
    assert all(check["utilisation_95"] >= check["utilisation"] for check in found["checks"])


def _built(what: str, span: float, size: tuple[float, float], centres: float) -> dict[str, Any]:
    """Return the third joist's check in a loft in which a change is really there."""
    breadth, depth = size
    document = loft(5, centres, span=span, breadth=breadth, depth=depth)
    asked = {"use": "storage", "dead": 0.4, "deck": 18}
    index = 3
    if what == "strutting":
        asked["strutting"] = "yes"
    elif what == "thicker_deck":
        asked["deck"] = 22
    elif what == "added_joist":
        joists = document["runs"][0]["joists"]
        new = [{**joists[2], "at": {"near": {"x": (k + 0.5) * centres, "sd": 0.0, "point": None}}}
               for k in (2, 3)]  # fmt: skip
        placed = sorted([*joists, *new], key=lambda one: one["at"]["near"]["x"])
        document["runs"][0]["joists"] = [{**j, "index": k} for k, j in enumerate(placed, 1)]
        index = 4
    return one(document, index, **asked)


@pytest.mark.parametrize(
    ("what", "size", "centres", "span"),
    [
        ("strutting", (75.0, 147.0), 300.0, 5100.0),
        ("thicker_deck", (38.0, 97.0), 400.0, 2250.0),
        ("added_joist", (38.0, 97.0), 300.0, 2550.0),
    ],
)
def test_what_would_help_helps_once_it_is_there(
    what: str, size: tuple[float, float], centres: float, span: float
) -> None:
    """The change is built into the file, and the check of that file says what the offer said."""
    before = _built("nothing", span, size, centres)
    assert before["verdict"] == "does_not_hold"
    (offer,) = (fix for fix in before["fixes"] if fix["what"] == what)
    after = _built(what, span, size, centres)
    assert after["verdict"] == offer["verdict"]
    assert after["governing"]["utilisation"] == pytest.approx(offer["utilisation"], rel=1e-6)


def test_a_smaller_use_helps_where_it_is_said_to() -> None:
    asked = {"dead": 0.4, "deck": 18}
    document = loft(5, 300.0, span=1800.0, breadth=38.0, depth=97.0)
    room = one(document, use="domestic", **asked)
    (offer,) = (fix for fix in room["fixes"] if fix["what"] == "smaller_use")
    store = one(document, use="storage", **asked)
    assert store["verdict"] == offer["verdict"]
    assert store["governing"]["utilisation"] == offer["utilisation"]


def test_a_shared_load_cites_what_shares_it() -> None:
    """Inner joists by the annex, an end joist by its own factor too, and the deck under both."""
    run = checked(loft(features=[]))
    for index, edge in ((3, False), (1, True)):
        checks = run["runs"][0]["joists"][index - 1]["checks"]
        shared = [check for check in checks if check["line"] == "shared"]
        assert shared
        for check in shared:
            assert {"ec5.k_dist", "span.deck.E", "deck.thickness"} <= set(check["rules"])
            assert ("ec5.k_dist.edge" in check["rules"]) is edge
    assert "ec5.k_dist" in run["rules"]


def test_less_than_the_joists_weigh_is_told_of() -> None:
    """C16 of 47 x 147 at 400 mm weighs 0.063 kN/m²: 370 kg/m³ by EN 338, g 9.81."""
    light, enough = (checked(loft(), dead=dead)["runs"][0]["cautions"] for dead in (0.06, 0.064))
    assert any("less than the joists alone weigh, up to 0.06." in caution for caution in light)
    assert enough == []


def test_the_permanent_load_is_told_with_its_layers() -> None:
    """18 mm of board 0.13, lath and plaster 0.45, 270 mm of wool 0.03, services 0.02."""
    built, given = (checked(loft(), **more)["runs"][0]["dead"] for more in ({}, {"dead": 0.5}))
    assert "0.63 kN/m²: deck 0.13, ceiling 0.45, insulation 0.03, services 0.02;" in built["say"]
    assert given["say"].startswith("Given, 0.5 kN/m²: all permanent load")
