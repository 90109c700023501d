"""The sheets' route: every form, its tag, and what is refused."""

from __future__ import annotations

import csv
import io
import json
from typing import TYPE_CHECKING

import ezdxf
import ifcopenshell
import pypdfium2
import pytest

from baywalk import places
from baywalk.http import Config, create_app
from baywalk.http.sheets import TYPES
from baywalk.sheets import KINDS
from tests.unit.http.conftest import Client

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from flask.testing import FlaskClient

DEMO = json.loads((places.fixtures() / "demo-loft.json").read_text(encoding="utf-8"))["id"]
SHEETS = f"/api/surveys/{DEMO}/sheets"


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[FlaskClient]:
    """Give a client of a service with the demo loft; its plan is laid out but once."""
    folder: Path = tmp_path_factory.mktemp("data")
    app = create_app(Config(folder, demo=True))
    app.test_client_class = Client
    yield app.test_client()
    app.extensions["baywalk.store"].close()


def query(name: str) -> str:
    """Return what must be said for a sheet of the demo loft to be made: it is not settled."""
    if "plan" in KINDS[name].needs:
        return "?anyway=1&time=1"
    return f"?earlier={DEMO}" if "earlier" in KINDS[name].needs else ""


def test_every_sheet_is_listed(client: FlaskClient) -> None:
    listed = client.get(SHEETS).get_json()["sheets"]
    assert [one["name"] for one in listed] == list(KINDS)
    assert all("pdf" in one["forms"] for one in listed)


@pytest.mark.parametrize(("name", "form"), [(n, f) for n, k in KINDS.items() for f in k.forms])
def test_every_form_of_every_sheet(client: FlaskClient, name: str, form: str) -> None:
    answer = client.get(f"{SHEETS}/{name}.{form}{query(name)}")
    assert answer.status_code == 200
    assert answer.content_type.split(";")[0] == TYPES[form].split(";")[0]
    body = answer.get_data()
    if form == "pdf":
        with pypdfium2.PdfDocument(body) as document:
            assert len(document) > 0
    elif form == "svg":
        assert body.startswith(b"<svg")
    elif form == "csv":
        rows = list(csv.reader(io.StringIO(body.decode())))
        assert len(rows[0]) > 2
    elif form == "ifc":
        assert ifcopenshell.file.from_string(body.decode()).by_type("IfcBeam")
    elif form == "dxf":
        assert ezdxf.read(io.StringIO(body.decode())).audit().errors == []
    else:
        assert json.loads(body)["type"] == "FeatureCollection"
    again = client.get(
        f"{SHEETS}/{name}.{form}{query(name)}", headers={"If-None-Match": answer.headers["ETag"]}
    )
    assert (again.status_code, again.get_data()) == (304, b"")


def test_an_unsettled_survey_is_planned_only_when_told(client: FlaskClient) -> None:
    refused = client.get(f"{SHEETS}/courses.pdf?time=1")
    assert (refused.status_code, refused.get_json()["type"]) == (409, "/api/problems#not-settled")
    told = client.get(f"{SHEETS}/courses.svg?anyway=1&time=1").get_data(as_text=True)
    assert "told to go on anyway" in told


def test_pages_paper_and_units_are_chosen(client: FlaskClient) -> None:
    small = client.get(f"{SHEETS}/bays.svg").get_data(as_text=True)
    second = client.get(f"{SHEETS}/bays.svg?page=2").get_data(as_text=True)
    large = client.get(f"{SHEETS}/bays.svg?paper=A3&units=imperial").get_data(as_text=True)
    assert 'width="297mm"' in small
    assert "1 of 2" in small
    assert "2 of 2" in second
    assert 'width="420mm"' in large
    assert "feet and inches" in large


@pytest.mark.parametrize(
    ("file", "status", "field"),
    [
        ("none.pdf", 404, None),
        ("bays.dxf", 404, None),
        ("bays", 404, None),
        ("BAYS.pdf", 404, None),
        ("bays.pdf?paper=A5", 422, "paper"),
        ("bays.pdf?units=cubits", 422, "units"),
        ("bays.svg?page=0", 422, "page"),
        ("bays.svg?page=99", 422, "page"),
        ("bays.svg?page=1&page=2", 422, "page"),
        ("bays.pdf?deck=18", 422, "deck"),
        ("load-check.pdf?use=trampoline", 422, "use"),
        ("courses.pdf?anyway=1&deck=thick", 422, "deck"),
        ("compare.pdf", 404, None),
        ("compare.pdf?earlier=00000000-0000-4000-8000-000000000000", 404, None),
    ],
)
def test_what_cannot_be_made_is_said(
    client: FlaskClient, file: str, status: int, field: str | None
) -> None:
    answer = client.get(f"{SHEETS}/{file}")
    assert answer.status_code == status
    assert answer.content_type == "application/problem+json"
    assert answer.get_json().get("field") == field


def test_another_entry_is_another_sheet(client: FlaskClient) -> None:
    before = client.get(f"{SHEETS}/record.pdf").headers["ETag"]
    entry = {
        "id": "7d9f2c1e-5f0a-4b7e-9a51-3b1f0c8f2a10",
        "at": "2026-10-17T10:00:00+01:00",
        "by": "053d2ee6-365f-4a9b-af3a-592d7ded5296",
        "kind": "remark",
        "run": "A",
        "bay": 2,
        "text": "A nail stands proud.",
    }
    added = client.post(f"/api/surveys/{DEMO}/entries", json={"entries": [entry]})
    assert added.get_json()["stored"] == [entry["id"]]
    after = client.get(f"{SHEETS}/record.pdf")
    assert after.headers["ETag"] != before
    pages = [client.get(f"{SHEETS}/record.svg?page={page}") for page in range(1, 6)]
    assert sum("A nail stands proud." in one.get_data(as_text=True) for one in pages) == 1


def test_no_sheet_of_no_survey(client: FlaskClient) -> None:
    unknown = "/api/surveys/00000000-0000-4000-8000-000000000000/sheets"
    assert client.get(unknown).status_code == 404
    assert client.get(f"{unknown}/bays.pdf").status_code == 404
