"""Random lofts: every plan holds every rule, and none is refused that a carpenter would board.

One is refused where an opening cuts the joist beside a wall and leaves deck there; that it does is
worked out anew.
"""

from __future__ import annotations

import json

import jsonschema
import pytest

from baywalk import places
from baywalk.planning import Choices, Refused, plan
from baywalk.rules import load
from tests.hanging import hanging_at_wall, wide_at_opening
from tests.planned import broken
from tests.planning_lofts import KINDS, Json, random_as_built

SOME = 16
"""How many of the lofts are planned here; tests/bench/planning_random.py plans two hundred."""


HUNG = (9, 12, 14)
"""Of these the ones where a joist to be added meets an opening, or only its trimmers."""


def _schema(name: str) -> object:
    path = places.shared() / "schemas" / f"{name}.schema.json"
    return json.loads(path.read_text(encoding="utf-8"))


@pytest.mark.parametrize("seed", range(25))
def test_random_as_builts_are_as_builts(seed: int) -> None:
    jsonschema.validate(random_as_built(seed), _schema("as-built"))


@pytest.mark.parametrize("seed", sorted({*range(SOME)} - {*HUNG}))
def test_the_plan_of_a_random_loft_holds_every_rule(seed: int) -> None:
    _holds(random_as_built(seed))


@pytest.mark.parametrize("seed", HUNG)
def test_a_joist_to_be_added_hangs_from_the_trimmers_of_an_opening(seed: int) -> None:
    """A hanger for every end that is not at the loft's limit, beside those of joists cut."""
    as_built = random_as_built(seed)
    assert wide_at_opening(as_built, load())
    made = _holds(as_built)
    assert made
    for deck in made["decks"]:
        ends = sum(
            len(tail["hangs"]) for one in deck["added_joists"] for tail in one.get("tails", ())
        )
        hung = sum(
            row["count"]
            for opening in deck["openings"]
            for row in opening["hangers"]
            if "added" in row["for"]
        )
        assert hung == ends > 1


@pytest.mark.parametrize("seed", [182, 215, 436])
def test_what_random_lofts_found_stays_cured(seed: int) -> None:
    """Joists go on under what is laid or lean past an obstacle; a trimmer takes a cleat's place."""
    assert _holds(random_as_built(seed))


def test_boards_that_would_reach_too_far_beside_an_opening_are_refused() -> None:
    """The opening cuts J3 by a hair, and the joist added in its bay: 621 to J4 stay bare."""
    as_built = random_as_built(322)
    assert wide_at_opening(as_built, load())
    with pytest.raises(Refused) as caught:
        plan(as_built, Choices(seconds=1))
    assert [reason.code for reason in caught.value.reasons] == ["joist.in_opening"]


@pytest.mark.parametrize("seed", [31, 86, 108])
def test_a_random_loft_is_refused_where_deck_would_hang_beside_a_wall(seed: int) -> None:
    as_built = random_as_built(seed)
    assert hanging_at_wall(as_built, load())
    _holds(as_built)


@pytest.mark.parametrize("seed", [1, 7, 28, 46, 47, 64, 93])
def test_the_plan_in_small_boards_holds_every_rule(seed: int) -> None:
    """Many joints and short pieces: so many noggins and cleats that they come near each other."""
    as_built = random_as_built(seed)
    assert broken(plan(as_built, Choices(seconds=0.3, board=(1200, 600))), as_built) == {}


def _holds(as_built: Json) -> Json | None:
    """Check and return the plan of a loft, or check why there is none."""
    if hanging_at_wall(as_built, load()):
        with pytest.raises(Refused) as caught:
            plan(as_built, Choices(seconds=1))
        assert [reason.code for reason in caught.value.reasons] == ["opening.at_wall"]
        return None
    made = plan(as_built, Choices(seconds=1))
    jsonschema.validate(made, _schema("plan"))
    assert broken(made, as_built) == {}
    return made


@pytest.mark.parametrize("kind", KINDS)
def test_the_plan_of_each_kind_of_loft_holds_every_rule(kind: str) -> None:
    _holds(random_as_built(1000, kind))
