"""The building model read again by IfcOpenShell: its schema, its rules, its solids."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import ifcopenshell
import ifcopenshell.geom
import ifcopenshell.util.unit
import ifcopenshell.validate
import numpy as np
import pytest
from shapely import MultiPoint, Polygon

from baywalk.sheets import drawing
from baywalk.sheets.exchange import ifc, things
from tests import sheet_sources

if TYPE_CHECKING:
    from baywalk.sheets import Source

LOFTS = {
    "demo": sheet_sources.demo,
    "cut round": lambda: sheet_sources.loft(2, opening=True),
    "laid from far": lambda: sheet_sources.loft(5, 9),
}
NEAR = 0.01
"""How near a solid lies to what it stands for [mm]."""


UNCLOSED = pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
"""The reader leaves the file of its rules open."""


def read(content: bytes) -> Any:
    return ifcopenshell.file.from_string(content.decode("ascii"))


def faults(model: Any, *, rules: bool) -> list[Any]:
    """Return what the reader's own check finds; with ``rules``, those of the schema's text too."""
    log = ifcopenshell.validate.json_logger()
    ifcopenshell.validate.validate(model, log, express_rules=rules)
    return list(log.statements)


def solids(model: Any) -> dict[str, np.ndarray]:
    """Return each part's corners by its name [mm], as the reader's own geometry makes them."""
    settings = ifcopenshell.geom.settings()
    scale = ifcopenshell.util.unit.calculate_unit_scale(model)
    found = {}
    for part in model.by_type("IfcElement"):
        shape = ifcopenshell.geom.create_shape(settings, part)
        found[part.Name] = np.array(shape.geometry.verts).reshape(-1, 3) / scale
    return found


def drawn(source: Source) -> list[things.Thing]:
    layers = ("joists", "noggins", "cleats", "added joists")
    return [thing for thing in things.things(source) if thing.layer in layers]


@pytest.mark.parametrize("loft", LOFTS)
def test_the_model_is_of_its_schema_and_in_millimetres(loft: str) -> None:
    model = read(drawing("courses", LOFTS[loft](), "ifc"))
    assert model.schema == "IFC4"
    assert faults(model, rules=False) == []
    assert ifcopenshell.util.unit.calculate_unit_scale(model) == pytest.approx(1e-3)
    inside = model.by_type("IfcRelContainedInSpatialStructure")[0]
    assert len(inside.RelatedElements) == len(model.by_type("IfcElement"))
    assert inside.RelatingStructure.is_a("IfcBuildingStorey")


@UNCLOSED
def test_it_keeps_every_rule_of_the_schema() -> None:
    """One part of each kind, for the reader takes its time over rules (ISO 16739-1, WHERE clauses).

    ``python -m tests.bench.model`` has whole lofts looked through.
    """
    source = sheet_sources.loft(2, opening=True)
    one_each = {thing.layer: thing for thing in drawn(source)}
    assert {"joists", "noggins"} <= one_each.keys()
    assert source.decks[0].data["deck"]["holes"] or source.decks[0].data["openings"]
    model = read(ifc.write(one_each.values(), source.decks, "a", "O'Brien's ½ – \\loft"))
    assert model.by_type("IfcProject")[0].Name == "O'Brien's ½ – \\loft"
    assert faults(model, rules=True) == []


@UNCLOSED
def test_a_model_that_breaks_a_rule_is_found_out() -> None:
    noggin = next(thing for thing in drawn(sheet_sources.demo()) if thing.layer == "noggins")
    content = ifc.write([noggin], [], "a", "")
    assert b"'noggin'" in content
    # A member of a kind of one's own must say which: IfcMember, rule CorrectPredefinedType.
    assert faults(read(content.replace(b"'noggin'", b"$")), rules=True) != []


@pytest.mark.parametrize("loft", LOFTS)
def test_solids_are_the_timbers_and_the_deck(loft: str) -> None:
    source = LOFTS[loft]()
    found = solids(read(drawing("courses", source, "ifc")))
    timbers = [thing for thing in drawn(source) if thing.known.get("depth")]
    assert len(found) == len(timbers) + len(source.decks)
    for thing in timbers:
        corners = found[thing.name]
        plan = MultiPoint(corners[:, :2]).convex_hull
        assert plan.hausdorff_distance(thing.shape.convex_hull) <= NEAR
        low, high = corners[:, 2].min(), corners[:, 2].max()
        assert (low, high) == (pytest.approx(-thing.known["depth"], abs=NEAR), pytest.approx(0))
    for deck in source.decks:
        data, corners = deck.data["deck"], found[f"Deck {deck.data['id']}"]
        plan = MultiPoint(corners[:, :2]).convex_hull
        assert plan.hausdorff_distance(Polygon(data["outline"]).convex_hull) <= NEAR
        assert corners[:, 2].max() == pytest.approx(data["board"]["thickness"])


def test_the_same_loft_gives_the_same_model_and_no_name_twice() -> None:
    source = sheet_sources.demo()
    content = drawing("as-built", source, "ifc")
    assert content == drawing("as-built", source, "ifc")
    model = read(content)
    ids = [one.GlobalId for one in model.by_type("IfcRoot")]
    assert len(set(ids)) == len(ids)
    assert len(model.by_type("IfcBeam")) == len(source.as_built["runs"][0]["joists"])
    assert model.by_type("IfcSlab") == ()


def test_what_has_no_depth_has_no_solid() -> None:
    source = sheet_sources.demo()
    run = source.as_built["runs"][0]
    joists = [{**one, "depth": None} if one["index"] == 3 else one for one in run["joists"]]
    as_built = {**source.as_built, "runs": [{**run, "joists": joists}]}
    model = read(drawing("as-built", replace(source, as_built=as_built), "ifc"))
    names = {part.Name for part in model.by_type("IfcBeam")}
    assert names == {f"J{one['index']}" for one in joists} - {"J3"}
