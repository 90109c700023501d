"""No kind of field of a plan can be spoilt without the checker seeing it."""

from __future__ import annotations

import copy
import itertools
import random
import time
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.mutations import HARMLESS, places, put, spoils, swapped
from tests.planned import broken, compact, random_plan, small

Json = dict[str, Any]

BOARD, JOIST, BEARING, APART, KERF = 2400.0, 47.0, 18.0, 300.0, 3.0
"""The small loft's boards and joists, and the limits, as a person would hold them [mm]."""


def _kinds() -> list[str]:
    _, plan = compact()
    return sorted(kind for kind in places(plan) if kind not in HARMLESS)


@pytest.mark.parametrize("kind", _kinds())
def test_a_field_of_every_kind_spoilt(kind: str) -> None:
    as_built, plan = compact()
    draw = random.Random(kind)
    path = draw.choice(places(plan)[kind])
    for what, wrong in spoils(plan, path):
        assert broken(wrong, as_built), f"{path} {what}"


@pytest.mark.parametrize("seed", range(4))
def test_two_things_that_changed_places(seed: int) -> None:
    as_built, plan = compact()
    for what, wrong in swapped(plan, random.Random(seed)):
        assert broken(wrong, as_built), what


def test_fields_of_openings_and_added_joists_spoilt() -> None:
    as_built, plan = random_plan(6, "opening", "irregular")
    known = {*_kinds(), *HARMLESS, "decks.openings.trimmers.sd", "decks.alternatives.joints.x"}
    draw = random.Random(6)
    for kind, paths in places(plan).items():
        if kind in known:
            continue
        for what, wrong in spoils(plan, draw.choice(paths)):
            assert broken(wrong, as_built), f"{kind} {what}"


def _slid(plan: Json, course: int, by: float) -> Json:
    """Return the plan with a course slid along: all its joints moved, its ends cut to fit.

    Everything that hangs on it in pieces, joints and boards is made to agree, so that only the
    rules themselves can tell whether the course may lie there.
    """
    out = copy.deepcopy(plan)
    deck = out["decks"][0]
    row = sorted(
        (p for p in deck["pieces"] if p["course"] == course), key=lambda p: p["polygon"][0][0]
    )
    ends = {min(x for x, _ in row[0]["polygon"]), max(x for x, _ in row[-1]["polygon"])}
    for piece in row:
        piece["polygon"] = [[x if x in ends else x + by, y] for x, y in piece["polygon"]]
    first, last = row[0], row[-1]
    first["length"] += by
    last["length"] -= by
    first["at"] = BOARD - first["length"]
    for joint in deck["joints"]:
        if joint["course"] == course:
            joint["x"] += by
    return out


def _whole(plan: Json, course: int) -> bool:
    """Say whether a course has an end joint on a joist, and sawn ends at both walls."""
    deck = plan["decks"][0]
    row = [p for p in deck["pieces"] if p["course"] == course]
    sawn = sum((p["left"] == "cut") + (p["right"] == "cut") for p in row) == 2
    joints = [j for j in deck["joints"] if j["course"] == course]
    return sawn and bool(joints) and all("joist" in j["support"] for j in joints)


@settings(max_examples=50)
@given(by=st.floats(-40, 40), pick=st.integers(0, 20))
def test_a_course_slid_along_is_held_to_the_rules_and_to_nothing_else(by: float, pick: int) -> None:
    as_built, plan = small()
    courses = [c["index"] for c in plan["decks"][0]["courses"] if _whole(plan, c["index"])]
    course = courses[pick % len(courses)]
    slid = _slid(plan, course, by)
    rules = broken(slid, as_built)
    bears = all(_bearing(as_built, j) >= BEARING for j in slid["decks"][0]["joints"])
    near = any(abs(_bearing(as_built, j) - BEARING) < 0.2 for j in slid["decks"][0]["joints"])
    if not near:
        assert ("joint.bearing" in rules) == (not bears)
    apart = _least_apart(slid)
    if abs(apart - APART) > 0.2:
        assert ("joint.stagger" in rules) == (apart < APART)
    room = _least_room(slid)
    if abs(room - KERF) > 0.2:
        assert ("board.kerf" in rules) == (room < KERF)


def _bearing(as_built: Json, joint: Json) -> float:
    """Return the least bearing of a joint on upright joists; endless where it is on none."""
    number = joint["support"].get("joist")
    if number is None:
        return float("inf")
    centre = as_built["runs"][0]["joists"][number - 1]["at"]["near"]["x"]
    return float(JOIST / 2 - abs(joint["x"] - centre))


def _least_apart(plan: Json) -> float:
    joints = plan["decks"][0]["joints"]
    return min(
        abs(a["x"] - b["x"]) for a in joints for b in joints if a["course"] + 1 == b["course"]
    )


def _least_room(plan: Json) -> float:
    deck = plan["decks"][0]
    pieces = {p["id"]: p for p in deck["pieces"]}
    rooms = [
        pieces[b]["at"] - pieces[a]["at"] - pieces[a]["length"]
        for board in deck["boards"]
        for row in board.get("strips", [board.get("cuts", [])])
        for a, b in itertools.pairwise(row)
    ]
    return min(rooms, default=float("inf"))


@settings(max_examples=100)
@given(data=st.data())
def test_any_number_in_the_plan_made_any_other(data: st.DataObject) -> None:
    """A number that is far from what it was breaks something, wherever it stands."""
    as_built, plan = compact()
    numbers = sorted(
        (kind, path)
        for kind, paths in places(plan).items()
        if kind not in HARMLESS and not kind.endswith("[]")
        for path in paths
        if isinstance(_at(plan, path), int | float) and not isinstance(_at(plan, path), bool)
    )
    _, path = data.draw(st.sampled_from(numbers))
    old = _at(plan, path)
    new = data.draw(
        st.one_of(st.floats(allow_nan=True), st.integers(-(10**6), 10**6), st.just(-old))
    )
    # What is nearer than a finger's breadth may be rounding, and so may small shares.
    if isinstance(new, int | float) and abs(new - old) <= max(9.0, abs(old) * 0.4):
        return
    assert broken(put(plan, path, new), as_built), f"{path}: {old} made {new}"


def _at(plan: Any, path: tuple[str | int, ...]) -> Any:
    for part in path:
        plan = plan[part]
    return plan


@pytest.mark.parametrize("huge", [1e9, 1e250, -1e250])
def test_a_number_beyond_any_loft_keeps_nobody_waiting(huge: float) -> None:
    """Wherever it stands in the outline or a noggin, it is refused as soon as any other."""
    as_built, plan = compact()
    began = time.process_time()
    broken(plan, as_built)
    usual = time.process_time() - began
    deck = ("decks", 0)
    for path in ((*deck, "deck", "outline", 0, 1), (*deck, "noggins", 0, "length")):
        began = time.process_time()
        assert broken(put(plan, path, huge), as_built)
        assert time.process_time() - began < 20 * usual + 1
