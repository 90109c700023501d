"""A joist's checks against the readings of the code, worked out here by hand once more."""

from __future__ import annotations

import math

import pytest

from baywalk.capacity import BadCapacityInput
from tests.unit.capacity.loft import by_name, checked, joist, loft, one

SPAN = 3100.0
"""Clear span and half of each bearing [mm]."""
W, A, I = 47 * 147**2 / 6, 47 * 147.0, 47 * 147**3 / 12  # noqa: E741 - the trade's own sign
K_H = (150 / 147) ** 0.2


def close(value: float) -> object:
    return pytest.approx(value, rel=2e-6)


def test_span_width_and_sharing() -> None:
    """Clear span and half bearings; half of each bay; 1.1 only between two near neighbours."""
    run = checked(loft(), dead=0.5)["runs"][0]
    assert [j["span"] for j in run["joists"]] == [SPAN] * 6
    # Beside a wall the whole of that bay.
    assert [j["width_carried"] for j in run["joists"]] == [600, 400, 400, 400, 400, 600]
    assert [j["k_sys"] for j in run["joists"]] == [1.0, 1.1, 1.1, 1.1, 1.1, 1.0]


@pytest.mark.parametrize(
    ("document", "shared"),
    [
        (loft(count=3), False),
        (loft(count=4), True),
        (loft(centres=610), True),
        (loft(centres=611), False),
        (loft(plies=2), False),
    ],
)
def test_when_load_is_shared(document: dict[str, object], *, shared: bool) -> None:
    assert one(document, 2)["k_sys"] == (1.1 if shared else 1.0)


def test_a_stray_timber_shares_nothing() -> None:
    """A shallower joist among its neighbours; they still share without it."""
    document = loft(count=7)
    document["runs"][0]["joists"][2]["depth"] = 120.0
    assert one(document, 3)["k_sys"] == 1.0
    assert one(document, 5)["k_sys"] == 1.1
    document["runs"][0]["joists"][2] |= {"depth": 147.0, "grade": "C24"}
    assert one(document, 3)["k_sys"] == 1.0


def test_domestic_floor_load() -> None:
    """Medium term, SC2: 1.35 g + 1.5 q on 400 mm; all permanent load as given."""
    found = by_name(one(loft(), use="domestic", dead=0.5))
    line = 0.4 * (1.35 * 0.5 + 1.5 * 1.5)
    bending, shear, bearing = found["bending"], found["shear"], found["bearing"]
    assert bending["demand"] == close(line * SPAN**2 / 8 * 1e-6)
    assert bending["capacity"] == close(W * K_H * 1.1 * 16 * 0.8 / 1.3 * 1e-6)
    assert shear["demand"] == close(line * SPAN / 2 * 1e-3)
    assert shear["capacity"] == close(A * 0.67 / 1.5 * 1.1 * 3.2 * 0.8 / 1.3 * 1e-3)
    # The load spreads 30 mm beyond the bearing; k_c,90 is 1.5 for supports well apart.
    assert bearing["capacity"] == close(1.5 * 47 * 130 * 2.2 * 0.8 / 1.3 * 1e-3)
    use = bearing["demand"] / bearing["capacity"]
    assert bearing["utilisation"] == pytest.approx(use, abs=1e-6)


def test_deflections() -> None:
    """Bending and shear by mean stiffness; creep 0.8 and psi2 0.3; span/250, 0.003, 12 or 14 mm."""
    g, q = 0.4 * 0.5, 0.4 * 1.5

    def sag(w: float) -> float:
        return 5 * w * SPAN**4 / (384 * 8000 * I) + 1.2 * w * SPAN**2 / (8 * 500 * A)

    found = by_name(one(loft(), use="domestic", dead=0.5))
    final, first = found["deflection, final"], found["deflection, instantaneous"]
    assert final["demand"] == close(sag(g * 1.8 + q * (1 + 0.3 * 0.8)))
    assert final["capacity"] == close(SPAN / 250)
    assert first["demand"] == close(sag(g + q))
    assert first["capacity"] == close(0.003 * SPAN)
    bare = by_name(one(loft(), use="domestic", dead=0.5, ceiling="none"))
    assert bare["deflection, final"]["capacity"] == close(SPAN / 150)
    longer = loft(span=4800.0)
    assert by_name(one(longer))["deflection, instantaneous"]["capacity"] == 12
    strutted = by_name(one(longer, strutting="yes"))
    assert strutted["deflection, instantaneous"]["capacity"] == 14


def test_storage_is_long_and_a_person_short() -> None:
    found = by_name(one(loft(), dead=0.5))
    g = 0.4 * 0.5
    strength = W * K_H * 16 / 1.3 * 1e-6
    assert found["bending"]["demand"] == close((1.35 * g + 1.5 * 0.1) * SPAN**2 / 8e6)
    assert found["bending"]["capacity"] == close(strength * 1.1 * 0.7)
    alone = found["bending, permanent load alone"]
    assert alone["demand"] == close(1.35 * g * SPAN**2 / 8e6)
    assert alone["capacity"] == close(strength * 1.1 * 0.6)
    person = found["bending, load on one joist"]
    assert person["demand"] == close((1.35 * g * SPAN**2 / 8 + 1.5 * 900 * SPAN / 4) * 1e-6)
    # One joist alone: nothing is shared.
    assert person["capacity"] == close(strength * 0.9)
    shear = found["shear, load on one joist"]
    assert shear["demand"] == close((1.35 * g * SPAN / 2 + 1.5 * 900) * 1e-3)


def test_what_is_stored_and_a_person_are_checks_of_their_own() -> None:
    """A load on one spot is not combined with what is spread: EN 1991-1-1 6.2.1(3)."""
    for use in ("storage", "domestic"):
        checks = one(loft(), use=use, dead=0.5)["checks"]
        assert not any(check["numbers"].get("q") and check["numbers"].get("P") for check in checks)


def test_a_load_shared_through_the_deck() -> None:
    """k_dist of the UK annex, for 18 mm P5 at 400 mm."""
    found = one(loft(), dead=0.5)
    across = 3300 * 18**3 / 12 * 1000
    k_dist = max(0.38 - 0.08 * math.log(14 * across / 400**4), 0.3)
    assert found["k_dist"] == pytest.approx(k_dist, abs=1e-6)
    # The first joist has a neighbour on one side only and keeps more.
    first = one(loft(), 1, dead=0.5)
    assert first["k_dist"] == pytest.approx(min(1, 2.3 * k_dist), abs=1e-6)
    shared = by_name(found)["bending, load shared through the deck"]
    g = 0.4 * 0.5
    assert shared["demand"] == close(
        (1.35 * g * SPAN**2 / 8 + 1.5 * 900 * k_dist * SPAN / 4) * 1e-6
    )


def test_vibration() -> None:
    """f1 above 8 Hz on the permanent mass; sag under 1 kN; only where people live."""
    found = by_name(one(loft(), use="domestic", dead=0.5))
    first = math.pi / 2 * math.sqrt(8000 * I * 1e-6 / (0.4 * 500 / 9.81)) / (SPAN / 1000) ** 2
    assert found["vibration, frequency"]["capacity"] == pytest.approx(first, rel=1e-5)
    k_dist = one(loft(), use="domestic", dead=0.5)["k_dist"]
    sag = 1000 * k_dist * SPAN**3 * 1.05 / (48 * 8000 * I)
    assert found["vibration, sag under 1 kN"]["demand"] == pytest.approx(sag, rel=1e-5)
    assert (
        by_name(one(loft(), 1, use="domestic", dead=0.5))["vibration, sag under 1 kN"]
        == (found["vibration, sag under 1 kN"])
    )
    assert not any("vibration" in name for name in by_name(one(loft(), dead=0.5)))


def _velocity(mass: float) -> tuple[float, float]:
    """Return velocity and limit of a 47 x 147 at 400 in a loft 2.8 m wide, with 18 mm boards.

    EN 1995-1-1 (7.4) to (7.7); a 1.8 mm, so b is 160 - 40 x 1.8 = 88; damping 0.02 (UK annex).
    """
    span, wide = SPAN / 1000, 2.8
    along, across = 8000 * I * 1e-6 / 0.4, 3300 * 18**3 / 12 * 1e-3
    first = math.pi / (2 * span**2) * math.sqrt(along / mass)
    modes = (((40 / first) ** 2 - 1) * (wide / span) ** 4 * along / across) ** 0.25
    return 4 * (0.4 + 0.6 * modes) / (mass * wide * span + 200), 88 ** (0.02 * first - 1)


def test_velocity_after_a_blow() -> None:
    """At all permanent mass, as the code has it, or at a lighter one that is nearer the limit."""
    found = by_name(one(loft(), use="domestic", dead=0.5))["vibration, velocity after a blow"]
    shares = {}
    # Every mass between the joist alone and all permanent load, one by one.
    bare, whole = A * 370e-6 / 0.4, 500 / 9.81
    for step in range(2001):
        mass = bare + (whole - bare) * step / 2000
        moved, limit = _velocity(mass)
        shares[mass] = moved / limit
    assert found["utilisation"] == pytest.approx(max(shares.values()), rel=1e-5)
    moved, limit = _velocity(found["numbers"]["m"])
    assert (found["demand"], found["capacity"]) == (
        pytest.approx(moved, abs=1e-6), pytest.approx(limit, abs=1e-6))  # fmt: skip
    # Here the whole mass is nearest; far lighter than it the floor is nearer the limit.
    assert found["numbers"]["m"] == pytest.approx(whole, rel=1e-6)
    heavy = by_name(one(loft(), use="domestic", dead=3))["vibration, velocity after a blow"]
    assert heavy["numbers"]["m"] < 290 < 3000 / 9.81
    assert heavy["utilisation"] >= found["utilisation"]


def test_no_velocity_without_the_floor_about_it() -> None:
    """Neither width nor deck: then it says that this is not checked."""
    document = loft()
    document["runs"][0]["walls"] = None
    for found in (
        one(document, use="domestic"),
        one(loft(), use="domestic", deck=0),
    ):
        assert "vibration, velocity after a blow" not in by_name(found)
        assert any("What a blow does" in caution for caution in found["cautions"])


def test_next_to_no_permanent_load() -> None:
    """So light that it would ring like a bell: figures all the same."""
    found = by_name(one(loft(span=300.0), use="domestic", dead=0.001))
    assert found["vibration, velocity after a blow"]["holds"]


def test_layers_weigh_what_they_are_made_of() -> None:
    """Without a given load: boards, ceiling, insulation and services, and the joists' own."""
    document = loft(features=[{"id": "i", "feature": "insulation", "bay": 2, "depth": 150}])
    out = checked(document, ceiling="plasterboard", deck=22)
    dead = out["runs"][0]["dead"]
    loads = {layer["name"]: layer["load"] for layer in dead["layers"]}
    assert loads["deck"] == pytest.approx(0.022 * 750 * 9.81 / 1000, abs=1e-4)
    assert loads["insulation"] == pytest.approx(0.015)
    own = A * 370 * 9.81e-9
    found = by_name(out["runs"][0]["joists"][2])
    g = dead["load"] * 0.4 + own
    assert found["bending, permanent load alone"]["demand"] == pytest.approx(
        1.35 * g * SPAN**2 / 8e6, rel=1e-3
    )


def test_the_persons_own_loads() -> None:
    found = by_name(one(loft(), dead=0.5, imposed=3, point=1))
    assert found["bending"]["demand"] == close((1.35 * 0.2 + 1.5 * 1.2) * SPAN**2 / 8e6)
    # Nobody knows how long it stays, so it stays as goods do.
    assert found["shear, load on one joist"]["numbers"]["k_mod"] == 0.7


@pytest.mark.parametrize(
    ("given", "taken"),
    [("C24", "C24"), ("c 24", "C24"), ("SC3", "C16"), ("SC4", "C24"), ("?", "C16"), ("", "C16")],
)
def test_grades(given: str, taken: str) -> None:
    found = one(loft(grade=given))
    assert found["grade"] == taken
    assert any("grade" in caution for caution in found["cautions"]) is (given == "?")


def test_no_grade_at_all() -> None:
    document = loft()
    del document["runs"][0]["member"]
    found = one(document)
    assert found["grade"] == "C16"
    assert any("no grade is known" in caution for caution in found["cautions"])


def test_what_was_not_read_is_said() -> None:
    """The usual size, the bearing, the bay to an unmeasured wall: taken, and told."""
    document = loft()
    last = document["runs"][0]["joists"][5]
    for name in ("breadth", "depth", "bearing"):
        last[name] = None
    document["runs"][0]["walls"] = None
    found = one(document, 6)
    text = " ".join(found["cautions"])
    assert (found["breadth"], found["depth"], found["span"]) == (47, 147, 3040)
    for words in ("breadth of J6 was not read", "depth of J6", "near bearing", "far bearing",
                  "towards the end wall was not measured"):  # fmt: skip
        assert words in text
    assert found["width_carried"] == 400


@pytest.mark.parametrize("name", ["span", "depth", "breadth"])
def test_what_cannot_be_checked_is_not(name: str) -> None:
    """No figure is made up: the verdict says so, and what to measure."""
    document = loft()
    document["runs"][0]["joists"][2] |= {name: None, "ends": None}
    del document["runs"][0]["member"]
    found = one(document)
    assert (found["verdict"], found["checks"], found["governing"]) == ("not_checked", [], None)
    assert f"its {name} must be measured" in found["cautions"][0]


def test_split_and_decay_are_not_to_be_relied_on() -> None:
    for kind in ("split", "decay"):
        found = one(loft(span=1000.0, features=[{"id": "f", "feature": kind, "joist": 3}]))
        assert found["verdict"] == "not_to_be_relied_on"
        assert "Keep load off it" in found["say"]


def test_the_three_lines_make_the_verdict() -> None:
    """Short: holds on one joist. Longer: only shared. Longer still: neither."""
    words = {
        span: one(loft(span=float(span)), dead=0.3)["verdict"] for span in range(1500, 5000, 100)
    }
    order = ["holds", "holds_if_deck_fixed", "does_not_hold"]
    ranks = [order.index(word) for word in words.values()]
    assert ranks == sorted(ranks)
    assert set(ranks) == {0, 1, 2}


def test_a_doubled_joist_is_one_of_the_whole_breadth() -> None:
    document = loft()
    document["runs"][0]["features"] = [{"id": "f", "feature": "timber", "joist": 3, "plies": 2}]
    document["runs"][0]["joists"][2]["breadth"] = 94.0
    found = one(document, dead=0.5)
    assert (found["plies"], found["k_sys"]) == (2, 1.0)
    assert by_name(found)["bending"]["capacity"] == close(2 * W * K_H * 16 * 0.7 / 1.3 * 1e-6)


def test_a_stamp_is_read_from_a_feature() -> None:
    document = loft(features=[{"id": "f", "feature": "timber", "joist": 3, "grade": "C24"}])
    assert one(document)["grade"] == "C24"


def test_plain_numbers_are_exact_lengths() -> None:
    plain = joist(3, 1200.0, breadth=47, depth=147, span=3000, bearing={"near": 100, "far": 100})
    document = loft()
    document["runs"][0]["joists"][2] = plain
    assert one(document)["checks"] == one(loft())["checks"]


def test_only_gaps_are_known() -> None:
    """A clear gap and the breadths about it; to a wall, the gap and half a breadth."""
    document = loft(count=4)
    run = document["runs"][0]
    for one_joist in run["joists"]:
        one_joist["at"] = {}
    run["walls"] = None
    run["bays"] = [{"bay": k, "at": {"near": {"gap": 353, "centres": None}}} for k in range(5)]
    widths = [j["width_carried"] for j in checked(document)["runs"][0]["joists"]]
    assert widths == [576.5, 400, 400, 576.5]


def test_a_joist_without_a_place_helps_nobody() -> None:
    """Each of the three is taken to have nothing between it and the next, and it says so."""
    document = loft(count=7)
    document["runs"][0]["joists"][3]["at"] = {}
    joists = checked(document)["runs"][0]["joists"]
    assert [j["width_carried"] for j in joists] == [600, 400, 600, 800, 600, 400, 600]
    assert any("no place along the tape line" in caution for caution in joists[2]["cautions"])
    # Nor does one that the file leaves out.
    del document["runs"][0]["joists"][3]
    assert checked(document)["runs"][0]["joists"][2]["width_carried"] == 600


def test_an_edge_borne_at_the_wall_halves_that_bay() -> None:
    document = loft(features=[{"id": "b", "feature": "bearer", "wall": "start"}])
    assert [one(document, k)["width_carried"] for k in (1, 6)] == [400, 600]


def test_a_span_from_its_ends() -> None:
    document = loft(span=None)
    assert one(document)["span"] == SPAN
    document["runs"][0]["joists"][2]["ends"]["far_support"] = {"value": -5.0, "sd": 1.0}
    with pytest.raises(BadCapacityInput, match="joists/2/ends/far_support"):
        one(document)


def test_bays_come_before_places() -> None:
    """Centres are taken from the bays where the file has them, the widest over the lines."""
    document = loft()
    document["runs"][0]["bays"] = [
        {"bay": 2, "at": {"near": {"gap": 353, "centres": 400}, "far": {"centres": 430}}}
    ]
    assert one(document)["width_carried"] == 415
