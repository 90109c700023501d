"""The beam analysis against closed forms of the handbooks, to a millionth.

The formulas are the standard ones for prismatic beams as in "Roark's Formulas for Stress and
Strain" (Table 8.1) and the AISC Manual's beam diagrams; written here from memory, and each also
checked by statics below.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywalk.capacity.beam import Point, Spread, solve

EI = 3.7e11
L, W, P = 3600.0, 1.7, 1900.0


def near(value: float) -> object:
    return pytest.approx(value, rel=1e-6)


def test_simple_span_even_load() -> None:
    """wL²/8, wL/2, 5wL⁴/384EI."""
    beam = solve((0.0, L), (Spread(0.0, L, W),), EI)
    assert beam.moments()[1] == near(W * L**2 / 8)
    assert beam.reactions == near_all([W * L / 2] * 2)
    assert beam.most_sag() == near(5 * W * L**4 / (384 * EI))
    assert beam.most_force() == near(W * L / 2)


def near_all(values: list[float]) -> object:
    return pytest.approx(values, rel=1e-6)


@pytest.mark.parametrize("share", [0.5, 0.3, 0.05])
def test_simple_span_point_load(share: float) -> None:
    """Pab/L; Pb(L²-b²)^1.5 / (9√3 L EI) at √((L²-b²)/3)."""
    a = share * L
    b = L - a
    long, short = max(a, b), min(a, b)
    beam = solve((0.0, L), (Point(a, P),), EI)
    assert beam.moments()[1] == near(P * a * b / L)
    assert beam.reactions == near_all([P * b / L, P * a / L])
    sag = P * short * (L**2 - short**2) ** 1.5 / (9 * math.sqrt(3) * L * EI)
    assert beam.most_sag() == near(sag)
    assert beam.sag(a) == near(P * long**2 * short**2 / (3 * L * EI))


def test_simple_span_part_load() -> None:
    """A spread load over the first part a: R1 = wa(2L-a)/2L; M = R1²/2w."""
    a = 1300.0
    beam = solve((0.0, L), (Spread(0.0, a, W),), EI)
    left = W * a * (2 * L - a) / (2 * L)
    assert beam.reactions[0] == near(left)
    assert beam.moments()[1] == near(left**2 / (2 * W))


def test_two_equal_spans_even_load() -> None:
    """-wL²/8 over the middle, 9wL²/128 in the spans, 3/8, 10/8, 3/8 wL; wL⁴/184.6EI."""
    beam = solve((0.0, L, 2 * L), (Spread(0.0, 2 * L, W),), EI)
    assert beam.moments() == near_all([-W * L**2 / 8, 9 * W * L**2 / 128])
    assert beam.reactions == near_all([3 * W * L / 8, 10 * W * L / 8, 3 * W * L / 8])
    assert beam.most_force() == near(5 * W * L / 8)
    # The handbook's 0.0054 is (39 + 55√33)/65536 of wL⁴/EI, from w' = 0 at (1+√33)L/16.
    assert beam.most_sag() == near((39 + 55 * math.sqrt(33)) / 65536 * W * L**4 / EI)


def test_two_equal_spans_one_loaded() -> None:
    """-wL²/16 over the middle; 7/16, 10/16, -1/16 wL; 49wL²/512."""
    beam = solve((0.0, L, 2 * L), (Spread(0.0, L, W),), EI)
    assert beam.moments() == near_all([-W * L**2 / 16, 49 * W * L**2 / 512])
    assert beam.reactions == near_all([7 * W * L / 16, 10 * W * L / 16, -W * L / 16])


def test_two_equal_spans_point_in_one() -> None:
    """-3PL/32 over the middle, 13PL/64 under the load; 13/32, 11/16, -3/32 P."""
    beam = solve((0.0, L, 2 * L), (Point(L / 2, P),), EI)
    assert beam.moments() == near_all([-3 * P * L / 32, 13 * P * L / 64])
    assert beam.reactions == near_all([13 * P / 32, 11 * P / 16, -3 * P / 32])


def test_three_equal_spans_even_load() -> None:
    """-0.1wL² over both inner supports, 0.08 and 0.025; 0.4, 1.1, 1.1, 0.4 wL."""
    beam = solve((0.0, L, 2 * L, 3 * L), (Spread(0.0, 3 * L, W),), EI)
    assert beam.moments() == near_all([-0.1 * W * L**2, 0.08 * W * L**2])
    assert beam.reactions == near_all([0.4 * W * L, 1.1 * W * L, 1.1 * W * L, 0.4 * W * L])


def test_two_unequal_spans_by_the_theorem_of_three_moments() -> None:
    """M = -w(L1³ + L2³) / 8(L1 + L2)."""
    a, b = 2100.0, 3900.0
    beam = solve((0.0, a, a + b), (Spread(0.0, a + b, W),), EI)
    assert beam.moments()[0] == near(-W * (a**3 + b**3) / (8 * (a + b)))


@pytest.mark.parametrize("off", [0.0, 1e-9, 1e-3, 1.0])
def test_a_load_hard_by_a_support(off: float) -> None:
    """Nothing is lost where a load stands all but on a support."""
    beam = solve((0.0, L, 2 * L), (Point(L + off, P),), EI, 2.2e6)
    assert sum(beam.reactions) == near(P)
    assert beam.reactions[1] == pytest.approx(P, rel=1e-3)
    assert sum(r * k * L for k, r in enumerate(beam.reactions)) == near(P * (L + off))


def test_sag_by_shear() -> None:
    """Timoshenko: wL²/8GA_s more under an even load, PL/4GA_s more under a point load."""
    shear = 2.2e6
    even, point = (Spread(0.0, L, W),), (Point(L / 2, P),)
    for loads, more in ((even, W * L**2 / (8 * shear)), (point, P * L / (4 * shear))):
        stiff, soft = solve((0.0, L), loads, EI), solve((0.0, L), loads, EI, shear)
        assert soft.most_sag() - stiff.most_sag() == pytest.approx(more, rel=1e-6)
        assert soft.moments()[1] == near(stiff.moments()[1])


def test_two_spans_with_shear() -> None:
    """Timoshenko: -wL²/8 / (1 + 3EI/(GA_s L²)) over the middle of two equal spans."""
    shear = 2.2e6
    beam = solve((0.0, L, 2 * L), (Spread(0.0, 2 * L, W),), EI, shear)
    assert beam.moments()[0] == near(-W * L**2 / 8 / (1 + 3 * EI / (shear * L**2)))


@given(
    spans=st.lists(st.floats(600, 5000), min_size=1, max_size=4),
    q=st.floats(0.05, 5),
    share=st.floats(0.02, 0.98),
    force=st.floats(0, 5000),
)
def test_statics(spans: list[float], q: float, share: float, force: float) -> None:
    """Whatever the spans: forces and moments balance, and no support gives way."""
    places = [0.0]
    for span in spans:
        places.append(places[-1] + span)
    total, x = places[-1], share * places[-1]
    loads = (Spread(0.0, total, q), Point(x, force))
    beam = solve(tuple(places), loads, EI, 1.5e6)
    down = q * total + force
    assert sum(beam.reactions) == pytest.approx(down, rel=1e-7)
    turned = sum(r * at for r, at in zip(beam.reactions, places, strict=True))
    assert turned == pytest.approx(q * total**2 / 2 + force * x, rel=1e-7)
    assert [beam.sag(at) for at in places] == pytest.approx([0.0] * len(places), abs=1e-6)
    assert beam.moment(0.0) == pytest.approx(0.0, abs=1e-3 * down)
    assert beam.force(0.0) == pytest.approx(beam.reactions[0], rel=1e-7, abs=1e-6)
