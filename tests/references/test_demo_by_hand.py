"""One joist of the demo loft reckoned by hand, beside what the load check says of it.

The formulas are written out here and use none of the shipped ones. Figures: EN 338:2016 C16 and
EN 1995-1-1 Tables 3.1 and 3.2 as printed in an open textbook of a technical university (READ);
1.35 G + 1.5 Q as in published lecture notes on EN 1995-1-1 (READ); span/250 over plaster from an
institution's note "Design of timber floor joists", 2012 (READ); 0.003 of the span from NHBC
Standards 6.4.9 (READ). From memory: psi2 of storage, k_h (3.2(3)), k_cr (6.1.7(2)), k_c,90
(6.1.5), and 6/5 for the shear of a rectangle (elementary beam theory).
"""

from __future__ import annotations

from typing import Any

import pytest

from baywalk import places, rules
from baywalk.capacity import capacity, read_setting
from baywalk.fieldbook import load_survey
from baywalk.reconcile import reconcile

JOIST = 6
DEAD, STORED = 0.5, 0.25  # kN/m²; given as all permanent load, and stored goods


@pytest.fixture(scope="module")
def as_built() -> dict[str, Any]:
    """Return the demo loft's as-built."""
    found = reconcile(load_survey((places.fixtures() / "demo-loft.json").read_bytes()))
    assert isinstance(found, dict)
    return found


@pytest.fixture(scope="module")
def run(as_built: dict[str, Any]) -> dict[str, Any]:
    """Return the load check of its run, as storage."""
    asked = {"use": ["storage"], "dead": [str(DEAD)], "ceiling": ["plaster"]}
    found = capacity(as_built, read_setting(asked, rules.load()))["runs"][0]
    assert isinstance(found, dict)
    return found


@pytest.fixture(scope="module")
def by_hand(as_built: dict[str, Any]) -> dict[str, tuple[float, float]]:
    """Return demand and capacity by the name of each check [kNm, kN, kN, mm, mm]."""
    measured = as_built["runs"][0]
    joist = next(one for one in measured["joists"] if one["index"] == JOIST)
    b, h = joist["breadth"]["value"], joist["depth"]["value"]
    near, far = (joist["bearing"][end]["value"] for end in ("near", "far"))
    span = joist["span"]["value"] + near / 2 + far / 2
    beside = [one for one in measured["bays"] if one["bay"] in (JOIST - 1, JOIST)]
    # It leans, so each bay is taken where it is wider.
    width = sum(max(at["centres"] for at in one["at"].values()) / 2 for one in beside)
    g, q = DEAD * width / 1000, STORED * width / 1000  # kN/m² x mm is N/m; here N/mm
    line = 1.35 * g + 1.5 * q
    modulus, inertia, area = b * h**2 / 6, b * h**3 / 12, b * h

    def sag(load: float) -> float:
        return 5 * load * span**4 / (384 * 8000 * inertia) + 1.2 * load * span**2 / (8 * 500 * area)

    k = 0.70 / 1.3  # storage is long-term, in service class 2
    strength = 16 * k * (150 / h) ** 0.2 * 1.1
    shear = 3.2 * k * 1.1 * 0.67 * area * 2 / 3
    crush = 1.5 * 2.2 * k * b * (min(near, far) + 30)
    final = sag(g) * (1 + 0.8) + sag(q) * (1 + 0.8 * 0.8)
    return {
        "bending": (line * span**2 / 8 / 1e6, strength * modulus / 1e6),
        "shear": (line * span / 2 / 1e3, shear / 1e3),
        "bearing": (line * span / 2 / 1e3, crush / 1e3),
        "deflection, final": (final, span / 250),
        "deflection, instantaneous": (sag(g + q), 0.003 * span),
    }


@pytest.mark.parametrize(
    "name",
    ["bending", "shear", "bearing", "deflection, final", "deflection, instantaneous"],
)
def test_a_joist_is_what_a_person_works_out(
    run: dict[str, Any], by_hand: dict[str, tuple[float, float]], name: str
) -> None:
    joist = next(one for one in run["joists"] if one["index"] == JOIST)
    [check] = [one for one in joist["checks"] if one["name"] == name]
    demand, holds = by_hand[name]
    assert check["demand"] == pytest.approx(demand, rel=1e-5)
    assert check["capacity"] == pytest.approx(holds, rel=1e-5)
    assert check["holds"] is (demand <= holds)
