"""The record, the field sheet and two surveys side by side."""

from __future__ import annotations

import io
import json
from typing import TYPE_CHECKING

from PIL import Image

from baywalk import places
from baywalk.fieldbook import load_survey
from baywalk.reconcile import reconcile
from baywalk.sheets import Source, field_sheet, make
from baywalk.sheets.compare import differences
from baywalk.sheets.ink import Picture, Words
from tests import sheet_sources
from tests.lofts import full_loft

if TYPE_CHECKING:
    from baywalk.sheets import Sheet

DEMO = places.fixtures() / "demo-loft.json"
SHA256 = "ab" * 32


def texts(sheet: Sheet) -> list[str]:
    return [w.text for page in sheet.pages for w in page.items if isinstance(w, Words)]


def picture() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (1600, 900), (180, 120, 60)).save(out, "JPEG")
    return out.getvalue()


def record(*, photo_here: bool) -> Sheet:
    """Return the record of the demo loft with a strike and a photo."""
    survey = json.loads(DEMO.read_text())
    doubtful = next(e for e in survey["entries"] if e.get("value") == 538)
    by = {"at": "2026-10-17T10:00:00+01:00", "by": doubtful["by"]}
    strike = {"id": "7d9f2c1e-5f0a-4b7e-9a51-3b1f0c8f2a10", **by, "n": 99, "kind": "strike"}
    strike |= {"target": doubtful["id"], "reason": "digits swapped"}
    photo = {"id": "7d9f2c1e-5f0a-4b7e-9a51-3b1f0c8f2a11", **by, "n": 100, "kind": "photo"}
    photo |= {"run": "A", "bay": 4, "sha256": SHA256, "width": 1600, "height": 900}
    photo |= {"caption": "the old hatch"}
    survey["entries"] += [strike, photo]
    loaded = load_survey(json.dumps(survey))
    show = {SHA256: picture()}.get if photo_here else lambda _: None
    source = Source(reconcile(loaded), survey=loaded, photo=show)
    return make("record", source, sheet_sources.head(source))


def test_a_struck_reading_stands_in_the_record_with_its_reason() -> None:
    said = " ".join(texts(record(photo_here=False)))
    assert "538 struck out: digits swapped" in said


def test_every_reading_stands_in_the_record() -> None:
    survey = load_survey(DEMO.read_bytes())
    rows = record(photo_here=False).tables[0].file
    readings = [e["id"] for e in survey.entries if "value" in e]
    assert [row[1] for row in rows] == readings


def test_photos_stand_with_their_place_and_caption() -> None:
    shown = record(photo_here=True)
    pictures = [i for page in shown.pages for i in page.items if isinstance(i, Picture)]
    assert len(pictures) == 1
    assert "J4–J5: the old hatch" in texts(shown)
    box = pictures[0].box
    assert abs(box.width / box.height - 1600 / 900) < 0.01
    assert shown.pdf().startswith(b"%PDF")
    assert "data:image/jpeg" in shown.svg(len(shown.pages))
    assert "not here yet" in texts(record(photo_here=False))


def test_the_field_sheet_asks_for_what_the_walk_asks() -> None:
    """Every bay of every line, every breadth once, overalls, both diagonals, all numbered."""
    survey = load_survey(DEMO.read_bytes())
    run = survey.runs[0]
    asked = [f"{q.group}: {q.text}" for q in field_sheet.questions(run)]
    assert len(asked) == len(set(asked))
    gaps = [a for a in asked if "clear gap" in a]
    assert len(gaps) == len(run.lines) * (run.joists + 1)
    assert sum("breadth" in a for a in asked) == run.joists
    assert sum("overall" in a for a in asked) == len(run.lines)
    assert sum("diagonal" in a for a in asked) == 2
    source = sheet_sources.demo()
    said = texts(make("field", source, sheet_sources.head(source)))
    numbers = [int(t) for t in said if t.isdigit()]
    assert numbers == list(range(1, len(asked) + 1))


# --- two surveys --------------------------------------------------------------------------------


def surveyed(seed: int) -> dict[str, object]:
    """Return the as-built of one loft as another tape and hand would have read it."""
    loft = full_loft(77, 8)
    readings = [e for e in loft.entries if "value" in e]
    again = full_loft(77, 8)
    again.draw.seed(seed)
    # The same true loft, read anew: each true length with another scale and another hand.
    limit = 0.2 / 1000
    again.scale = again.draw.uniform(-limit, limit)
    again.entries = []
    for entry in readings:
        _read_again(again, entry)
    return reconcile(load_survey(json.dumps(again.survey())))


def _read_again(loft: object, entry: dict[str, object]) -> None:
    kind = entry["kind"]
    if kind == "across":
        loft.across(entry["line"], tuple(entry["from"]), tuple(entry["to"]))
    elif kind == "breadth":
        loft.breadth_of(entry["joist"])
    elif kind == "along":
        loft.along(entry["joist"])
    else:
        loft.diagonal(tuple(entry["from"]), tuple(entry["to"]))


def test_two_surveys_of_one_loft_seldom_differ() -> None:
    """At most a few in a hundred are called real: the word is given at 1 in 20."""
    rows = [
        row
        for seed in range(1, 25, 2)
        for row in differences(surveyed(seed), surveyed(seed + 1), "mm").file
    ]
    share = sum(int(row[-1]) for row in rows) / len(rows)
    assert len(rows) > 300
    assert share <= 0.07


def test_a_joist_that_moved_is_told() -> None:
    before = surveyed(1)
    moved = json.loads(json.dumps(surveyed(2)))
    moved["runs"][0]["joists"][3]["at"]["near"]["x"] += 12
    rows = differences(before, moved, "mm").file
    (row,) = (r for r in rows if r[1:3] == ["place of J4", "near"])
    assert row[-1] == 1
    assert abs(float(row[7]) - 12) < 6
