"""A new opening in its best place: by hand, against a search of every place, and held to the rules.

Joists are 47 broad; those beside cut ones are doubled by 47 towards the opening, and a trimmer of
two thicknesses lies at either end, so that is what a place by hand must leave. Common practice, no
source.
"""

from __future__ import annotations

import copy
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from shapely import Polygon, box

from baywalk.planning import BadChoice, Choices, Refused, failed, plan, read_choices
from baywalk.planning.choices import Zone
from tests.planned import broken
from tests.planning_lofts import random_as_built
from tests.unit.planning.loft import as_built, rectangle, regular

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

Json = dict[str, Any]
MIDDLE = Zone((500, 500, 2700, 2500))


def found(loft: Json, hatch: tuple[float, float], zone: Zone | None = MIDDLE, **more: Any) -> Json:
    """Return what the plan says of a new opening; the plan keeps every rule."""
    made = plan(loft, Choices(hatch=hatch, zone=zone, seconds=0.2, **more))
    assert failed(made) == []
    hatch_told: Json = made["hatch"]
    return hatch_told


def best(hatch: Json) -> Json:
    """Return the place chosen."""
    place: Json = hatch["places"][hatch["chosen"]]
    return place


# --- by hand ----------------------------------------------------------------------------------


def test_one_that_fits_a_bay_cuts_nothing() -> None:
    """Bays of 353 clear take 350, with no timber at its sides."""
    place = best(found(regular(8), (350, 900)))
    assert place["joists_cut"] == []
    low, high = place["between"]
    x0, _, x1, _ = Polygon(place["polygon"]).bounds
    assert (high - low, x1 - x0) == (1, 350)
    assert (low * 400 + 23.5) <= x0 < x1 <= high * 400 - 23.5
    assert "No joist is cut" in place["say"]


def test_one_that_just_fits_is_found() -> None:
    """353 in 353."""
    assert best(found(regular(8), (353, 900)))["away"] == [0, 0]


def test_a_millimetre_more_cuts_a_joist() -> None:
    """And then its neighbours are doubled: between these are 800 less 47 and twice 47."""
    hatch = found(regular(8), (354, 900))
    place = best(hatch)
    assert len(place["joists_cut"]) == 1
    assert place["away"][0] + place["away"][1] == pytest.approx(800 - 3 * 47 - 354)
    assert hatch["turned"] is not None


@pytest.mark.parametrize(("width", "cut"), [(659, 1), (660, 2), (1059, 2), (1060, 3)])
def test_the_clear_opening_stays_clear_of_what_doubles_its_sides(width: float, cut: int) -> None:
    """Two bays of 400 leave 800 − 47 − 2 · 47 = 659, three 1059."""
    assert len(best(found(regular(9), (width, 700)))["joists_cut"]) == cut


def test_the_odd_bay_is_found() -> None:
    """Of bays of 400 one is 600 wide: there an opening of 550 cuts nothing."""
    loft = as_built([400, 800, 1200, 1800, 2200, 2600], 3000, 3000)
    place = best(found(loft, (550, 900)))
    assert (place["joists_cut"], place["between"]) == ([], [3, 4])


def test_a_side_beside_timber_is_preferred() -> None:
    """Of 500 in the 659 between doubled joists, one side needs no timber of its own."""
    place = best(found(regular(8), (500, 900)))
    assert min(place["away"]) <= 30 < max(place["away"])
    assert "line it there with a timber of its own" in place["say"]


def test_its_timber_and_minutes_are_counted() -> None:
    """Trimmers of two at 657, two doublings of 3000, a side of 900; 2·40, 2·45, 2·25 and 20 min."""
    place = best(found(regular(8), (500, 900)))
    assert place["metres"] == pytest.approx(4 * 0.657 + 2 * 3.0 + 0.9)
    assert place["minutes"] == 80 + 90 + 50 + 20


def test_it_keeps_clear_of_an_obstacle_and_its_gap() -> None:
    """A chimney stands where it would else lie."""
    chimney = rectangle("obstacle", 1250, 1000, 1900, 1500)
    loft = regular(8, features=[chimney])
    hatch = found(loft, (600, 600), Zone((700, 700, 2400, 2800)))
    shape = Polygon(best(hatch)["polygon"])
    assert shape.distance(box(1250, 1000, 1900, 1500)) >= 10


def test_it_hangs_on_no_joist_that_another_opening_cuts() -> None:
    """J4 is cut already: J3 and J5 carry that opening and stay whole."""
    loft = regular(10, features=[rectangle("opening", 1280, 300, 1920, 1000)])
    place = best(found(loft, (600, 600), Zone((500, 1200, 3500, 2800))))
    assert not set(place["joists_cut"]) & {3, 5}
    assert not set(place["between"]) & {4}


def test_it_does_not_lie_in_a_deck_already_laid() -> None:
    """Nobody takes up what is laid for it."""
    laid = rectangle("laid", 10, 10, 3190, 1210, edge="tongue")
    loft = regular(8, features=[laid])
    place = best(found(loft, (600, 600), Zone((500, 500, 2700, 2600))))
    assert Polygon(place["polygon"]).bounds[1] >= 1210 + 94


def test_beside_a_wall_no_deck_hangs_on_nothing() -> None:
    """Where the last joist is cut, at most 100 mm of deck lie beside the wall, and its gap."""
    hatch = found(regular(8), (600, 900), None)
    walls = [place for place in hatch["places"] if 0 in place["between"]]
    for place in walls:
        assert Polygon(place["polygon"]).bounds[0] <= 100 + 10
    assert walls


def test_turned_it_is_compared() -> None:
    """A long one along the joists cuts fewer than across them."""
    hatch = found(regular(10), (900, 340), Zone((300, 300, 3500, 2700)))
    assert len(best(hatch)["joists_cut"]) == 2
    assert hatch["turned"]["joists_cut"] == []
    assert "Turned, 340 across and 900 along, it would cut no joist." in hatch["say"]


def test_a_zone_is_set_out_from_a_joists_face() -> None:
    """As features are: 100 from J2's right face, 300 beyond the line."""
    start = Zone((100, 300, 1500, 1500), (2, "right", "near"))
    hatch = found(regular(8), (600, 900), start)
    x0 = 800 + 23.5 + 100
    corners = [[x0, 300], [x0 + 1500, 300], [x0 + 1500, 1800], [x0, 1800]]
    assert sorted(hatch["zone"]) == sorted(corners)
    assert Polygon(corners).covers(Polygon(best(hatch)["polygon"]))


def test_where_it_lies_is_told_from_what_a_tape_hooks_on() -> None:
    """The corner from the joist's face and the tape line; the survey is not changed."""
    loft = regular(8)
    before = copy.deepcopy(loft)
    made = plan(loft, Choices(hatch=(600, 900), zone=MIDDLE, seconds=0.2))
    assert loft == before
    place = best(made["hatch"])
    x0, y0, _, _ = Polygon(place["polygon"]).bounds
    joist = place["set_out"]["from"][0]
    assert place["set_out"] == {
        "from": [joist, "right"],
        "line": "near",
        "across": x0 - joist * 400 - 23.5,
        "along": y0,
    }
    (opening,) = made["decks"][0]["openings"]
    assert opening["feature"] == made["hatch"]["feature"]
    assert opening["say"].startswith(place["say"])


# --- refused ----------------------------------------------------------------------------------


@pytest.mark.parametrize("roof", ["trussed", "tied"])
def test_a_roof_that_forbids_cutting_refuses(roof: str) -> None:
    """In the roof's words, and that no bay is wide enough."""
    with pytest.raises(Refused, match="between two joists") as caught:
        found(regular(8), (600, 900), roof=roof)
    codes = [reason.code for reason in caught.value.reasons]
    assert codes == [f"opening.{roof}", "hatch.none_between"]


@pytest.mark.parametrize("roof", ["trussed", "tied"])
def test_unless_a_bay_is_wide_enough(roof: str) -> None:
    """Then only such places are looked at, and that is said."""
    hatch = found(regular(8), (340, 900), roof=roof)
    assert all(place["joists_cut"] == [] for place in hatch["places"])
    assert "only places between two joists were looked at" in hatch["say"]


def test_a_zone_without_a_place_refuses() -> None:
    """Too small for it."""
    with pytest.raises(Refused, match="no place for an opening of 600 across by 900") as caught:
        found(regular(8), (600, 900), Zone((500, 500, 1000, 2500)))
    assert [reason.code for reason in caught.value.reasons] == ["hatch.no_place"]


def test_joists_that_the_boards_need_added_are_in_the_way() -> None:
    """Centres of 900 take a joist in every bay: nothing of 700 lies between two then."""
    loft = as_built([450, 1350, 2250], 2700, 3000)
    with pytest.raises(Refused) as caught:
        found(loft, (700, 700), Zone((400, 400, 2300, 2600)))
    assert [reason.code for reason in caught.value.reasons] == ["hatch.no_place"]


@pytest.mark.parametrize(
    ("choices", "field"),
    [
        (Choices(zone=MIDDLE), "zone"),
        (Choices(hatch=(50, 900)), "hatch"),
        (Choices(hatch=(600, 900), zone=Zone((500, 500, 400, 2500))), "zone"),
        (Choices(hatch=(600, 900), zone=Zone((0, 0, 900, 900), (2, "top", "near"))), "zone"),
        (Choices(hatch=(600, 900), zone=Zone((0, 0, 900, 900), (99, "left", "near"))), "zone"),
        (Choices(hatch=(600, 900), zone=Zone((0, 0, 900, 900), (2, "left", "middle"))), "zone"),
        (Choices(hatch=(600, 900), zone=Zone((0, 0, 900, 900), run="B")), "zone"),
    ],
)
def test_what_is_no_zone_is_named(choices: Choices, field: str) -> None:
    """With its field."""
    with pytest.raises(BadChoice) as fault:
        plan(regular(8), choices)
    assert fault.value.field == field


def test_zones_are_read() -> None:
    """Two corners, or set out; with a run before a colon."""
    assert read_choices({"hatch": ["600x900"], "zone": ["-100,0,2000,2500.5"]}) == Choices(
        hatch=(600, 900), zone=Zone((-100, 0, 2000, 2500.5))
    )
    assert read_choices({"zone": ["A:4,right,near,60,300,1500,1200"]}).zone == Zone(
        (60, 300, 1500, 1200), (4, "right", "near"), "A"
    )
    for text in ("1,2,3", "a,b,c,d", "1,2,3,4,5", "x,right,near,1,2,3,4", "1,2,3,1e9"):
        with pytest.raises(BadChoice, match="zone"):
            read_choices({"zone": [text]})


# --- against a search of every place ----------------------------------------------------------


class Grid:
    """A run read anew, and every place of a grid judged by plain comparison: the test's own code.

    A joist's face is straight between its known points, so over a stretch it reaches furthest at
    an end or at such a point. Places beside a wall with the last joist cut are left out.
    """

    def __init__(self, run: Json, added: list[Json]) -> None:
        self.joists = [
            (_line(p["point"] for p in j["at"].values()), j["breadth"]["value"])
            for j in run["joists"]
        ]
        self.added = [(_line((a["near"], a["far"])), 47.0) for a in added]
        obstacles = [f for f in run["features"] if f["feature"] == "obstacle"]
        self.things = [Polygon(f["polygon"]).buffer(20).bounds for f in obstacles]

    def counts(self, zone: Zone, size: tuple[float, float]) -> set[int]:
        """Return how many joists are cut in the places of the grid that can be."""
        x0, y0, x1, y1 = zone.figures
        xs = np.arange(x0, x1 - size[0], 5.0)
        ys = np.arange(y0, y1 - size[1], 50.0)
        rows = [self._row(xs, xs + size[0], y, y + size[1]) for y in ys]
        return {int(count) for row in rows for count in row}

    def _row(self, x0: Xs, x1: Xs, y0: float, y1: float) -> Xs:
        left, right = np.array([_reach(line, y0, y1) for line in self.joists]).T
        cut = (left < x1[:, None]) & (x0[:, None] < right)
        count = cut.sum(axis=1)
        before, after = cut.argmax(axis=1) - 1, len(left) - cut[:, ::-1].argmax(axis=1)
        between = (before >= 0) & (after < len(left))
        low, high = left[before], right[np.minimum(after, len(left) - 1)]
        between &= (right[before] + 47 <= x0) & (left[np.minimum(after, len(left) - 1)] - 47 >= x1)
        # From the one trimming joist to the other, and over both trimmers, nothing may stand.
        low, high = np.where(count, low, x0), np.where(count, high, x1)
        good = (count == 0) | between
        for line in self.added:
            a, b = _reach(line, y0, y1)
            good &= (a >= high) | (b <= low)
        for a, near, b, far in self.things:
            trim = np.where(count, 94.0, 0.0)
            good &= (a >= high) | (b <= low) | (near >= y1 + trim) | (far <= y0 - trim)
        return count[good]


Xs = np.ndarray[Any, Any]
Span = tuple[float, float]
Line = list[tuple[float, float]]


def _line(points: Iterable[Any]) -> Line:
    return sorted((y, x) for x, y in points)


def _reach(joist: tuple[Line, float], y0: float, y1: float) -> Span:
    """Return from where to where a joist stands anywhere along a stretch."""
    points, breadth = joist
    xs = [_x(points, y) for y in (y0, y1, *(y for y, _ in points if y0 < y < y1))]
    return min(xs) - breadth / 2, max(xs) + breadth / 2


def _x(points: Line, y: float) -> float:
    k = next((i for i in range(1, len(points)) if y <= points[i][0]), len(points) - 1)
    (ya, xa), (yb, xb) = points[k - 1], points[k]
    return xa + (xb - xa) * (y - ya) / (yb - ya)


@pytest.mark.parametrize("seed", [0, 1, 3])
def test_no_place_of_a_fine_grid_cuts_fewer_joists(seed: int) -> None:
    """Joists lean, bow and stray; every 5 mm across and 50 along is tried.

    The grid keeps further away from obstacles than it must: it may find no place where there is
    one, never one that cuts fewer where there is none.
    """
    kinds = ("irregular", "lines", *(("skew",) if seed % 2 else ("obstacle",)))
    loft = random_as_built(seed, *kinds)
    (run,) = loft["runs"]
    size = (330.0, 700.0) if seed % 3 == 0 else (560.0, 800.0)
    x0, y0, x1, y1 = Polygon(run["outline"]).bounds
    # Trimmers keep within the limit all over this zone.
    zone = Zone((x0 + 200, y0 + 150, x1 - 200, y1 - 150))
    made = plan(loft, Choices(seconds=0.1))
    added = [joist for deck in made["decks"] for joist in deck["added_joists"]]
    counts = Grid(run, added).counts(zone, size)
    assert counts
    hatch = found(loft, size, zone)
    fewest = len(hatch["places"][0]["joists_cut"])
    assert fewest == min(len(place["joists_cut"]) for place in hatch["places"])
    assert fewest <= min(counts)


# --- the checker ------------------------------------------------------------------------------


def _moved(hatch: Json, by: float) -> None:
    for corner in best(hatch)["polygon"]:
        corner[0] += by


SPOILT: list[Callable[[Json], Any]] = [
    lambda h: _moved(h, 200),
    lambda h: _moved(h, 1),
    lambda h: h.update(along=800),
    lambda h: h.update(run="B"),
    lambda h: h.update(feature="other"),
    lambda h: h.update(chosen=9),
    lambda h: best(h)["joists_cut"].clear(),
    lambda h: best(h)["joists_cut"].append(7),
    lambda h: best(h)["between"].reverse(),
    lambda h: best(h)["set_out"].update(across=12),
    lambda h: best(h)["set_out"].update(along=12),
    lambda h: best(h)["set_out"].update(line="far"),
    lambda h: best(h)["set_out"].update({"from": [1, "right"]}),
    lambda h: best(h)["polygon"][0].__setitem__(0, best(h)["polygon"][0][0] - 5),
]


@pytest.mark.parametrize("spoil", SPOILT, ids=range(len(SPOILT)))
def test_the_checker_sees_a_spoilt_place(spoil: Callable[[Json], Any]) -> None:
    """Moved, of another size, in another run, or with other joists cut than are said."""
    loft, made = _good()
    spoil(made["hatch"])
    assert "opening.place" in broken(made, loft) or "opening.trim" in broken(made, loft)


@pytest.mark.parametrize(
    "change",
    [
        {"hatch": None},
        {"hatch": {"across": 600, "along": 901}},
        {"zone": {"run": None, "from": None, "figures": [0, 0, 1000, 1000]}},
        {"zone": {"run": "B", "from": None, "figures": [0, 0, 5000, 5000]}},
    ],
)
def test_the_checker_holds_it_to_what_was_asked(change: Json) -> None:
    """The size and the zone of the choices."""
    loft, made = _good()
    made["choices"].update(change)
    assert "opening.place" in broken(made, loft)


def test_the_checker_sees_one_that_is_missing() -> None:
    """Asked for, and not planned."""
    loft, made = _good()
    del made["hatch"]
    assert "opening.place" in broken(made, loft)


_KEPT: list[tuple[Json, Json]] = []


def _good() -> tuple[Json, Json]:
    if not _KEPT:
        loft = regular(8)
        made = plan(loft, Choices(hatch=(600, 900), zone=MIDDLE, seconds=0.2))
        assert broken(made, loft) == {}
        _KEPT.append((loft, made))
    loft, made = _KEPT[0]
    return loft, copy.deepcopy(made)
