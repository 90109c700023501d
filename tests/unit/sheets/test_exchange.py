"""Files for other tools, read again by readers of their own: DXF by ezdxf, codes by ZXing."""

from __future__ import annotations

import io
import json
from typing import TYPE_CHECKING, Any

import ezdxf
import numpy as np
import pypdfium2
import pytest
import zxingcpp
from jsonschema import Draft202012Validator
from shapely.geometry import shape

from baywalk import places
from baywalk.sheets import drawing, labels, make
from baywalk.sheets.exchange.things import LAYERS
from tests import sheet_sources

if TYPE_CHECKING:
    from ezdxf.document import Drawing

    from baywalk.sheets import Source

LOFTS = {
    "demo": sheet_sources.demo,
    "cut round": lambda: sheet_sources.loft(2, opening=True),
    "laid from far": lambda: sheet_sources.loft(5, 9),
}


def read(source: Source, name: str = "courses") -> Drawing:
    return ezdxf.read(io.StringIO(drawing(name, source, "dxf").decode("utf-8")))


def corners(entity: Any) -> list[tuple[float, float]]:
    return [(p[0], p[1]) for p in entity.get_points("xy")]


@pytest.mark.parametrize("loft", LOFTS)
def test_the_audit_is_clean_and_the_unit_is_the_millimetre(loft: str) -> None:
    document = read(LOFTS[loft]())
    audit = document.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    # AutoCAD DXF reference, header variable $INSUNITS: 4 stands for millimetres (from memory).
    assert document.header["$INSUNITS"] == 4
    used = {e.dxf.layer.removesuffix(" names") for e in document.modelspace()}
    assert used <= set(LAYERS)
    assert {"joists", "walls", "boards", "noggins"} <= used


@pytest.mark.parametrize("loft", LOFTS)
def test_positions_are_those_of_the_as_built(loft: str) -> None:
    source = LOFTS[loft]()
    points = [
        (e.dxf.location.x, e.dxf.location.y)
        for e in read(source, "as-built").modelspace().query("POINT")
    ]
    wanted = [
        place["point"]
        for run in source.as_built["runs"]
        for joist in run["joists"]
        for place in joist["at"].values()
    ]
    assert len(points) == len(wanted)
    assert np.abs(np.array(points) - np.array(wanted)).max() <= 0.01


@pytest.mark.parametrize("loft", LOFTS)
def test_boards_are_those_of_the_plan(loft: str) -> None:
    source = LOFTS[loft]()
    assert source.plan is not None
    drawn = [corners(e) for e in read(source).modelspace().query('*[layer=="boards"]')]
    pieces = [p for d in source.plan["decks"] for p in d["pieces"]]
    assert len(drawn) >= len(pieces)
    for piece in pieces:
        wanted = np.array(piece["polygon"])
        assert any(
            len(ring) == len(wanted) and np.abs(np.array(ring) - wanted).max() <= 0.01
            for ring in drawn
        )


def test_joists_are_as_broad_as_surveyed() -> None:
    source = sheet_sources.demo()
    rings = [corners(e) for e in read(source).modelspace().query('*[layer=="joists"]')]
    breadths = [j["breadth"]["value"] for j in source.as_built["runs"][0]["joists"]]
    for ring, breadth in zip(rings, breadths, strict=True):
        near = sorted(ring, key=lambda p: p[1])[:2]
        assert np.hypot(*np.subtract(*near)) == pytest.approx(breadth, abs=0.01)


def test_features_are_the_same_shapes() -> None:
    source = sheet_sources.demo()
    assert source.plan is not None
    collection = json.loads(drawing("courses", source, "json"))
    assert (collection["format"], collection["version"]) == ("baywalk.features", 1)
    assert collection["unit"] == "mm"
    boards = [f for f in collection["features"] if f["properties"]["layer"] == "boards"]
    area = sum(shape(f["geometry"]).area for f in boards) / 1e6
    assert area == pytest.approx(source.plan["decks"][0]["deck"]["area"], rel=1e-3)
    alone = json.loads(drawing("as-built", source, "json"))
    assert {f["properties"]["layer"] for f in alone["features"]} & {"boards", "noggins"} == set()


@pytest.mark.parametrize("loft", LOFTS)
@pytest.mark.parametrize("name", ["as-built", "set-out", "courses"])
def test_features_are_of_their_schema(loft: str, name: str) -> None:
    folder = places.shared() / "schemas"
    schema = json.loads((folder / "features.schema.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    collection = json.loads(drawing(name, LOFTS[loft](), "json"))
    assert list(Draft202012Validator(schema).iter_errors(collection)) == []
    layers = schema["$defs"]["feature"]["properties"]["properties"]["properties"]["layer"]["enum"]
    assert layers == list(LAYERS)
    collection["features"][0]["properties"]["layer"] = "anything"
    assert not Draft202012Validator(schema).is_valid(collection)


def test_every_label_opens_its_own_bay() -> None:
    source = sheet_sources.demo()
    assert source.survey is not None
    sheet = make("labels", source, sheet_sources.head(source))
    read_back = []
    with pypdfium2.PdfDocument(sheet.pdf()) as document:
        for page in document:
            dots = page.render(scale=300 / 72).to_pil().convert("L")
            read_back += [code.text for code in zxingcpp.read_barcodes(dots)]
    wanted = [label.address for label in labels.of_survey(source.survey, source.base)]
    assert sorted(read_back) == sorted(wanted)
    bays = source.survey.runs[0].joists + 1
    assert len(set(wanted)) == bays + 1
