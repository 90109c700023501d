"""What must hold when a world has come to rest, whatever happened in it.

Nothing here calls the code under test but through its door: strikes and titles are worked out anew.
"""

from __future__ import annotations

import io
import json
import random
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from PIL import Image

from tests.faults.doors import Door, Inside
from tests.faults.phone import JSON, Entry, Phone

if TYPE_CHECKING:
    from pathlib import Path

    from tests.faults.world import World

MARKS = ("strike", "restore")


def check(world: World, folder: Path) -> dict[str, str]:
    """Check everything; return what the seed came to: the export and the as-built, as texts."""
    survey = world.phones[0].head["id"]
    export, as_built, tag = outcome(world.door, survey)
    entries = _all(world.door, survey, 0)
    _check_entries(world, entries, json.loads(export)["entries"])
    _check_phones(world.phones, entries)
    _check_cursors(world, survey)
    _check_head(world, json.loads(export))
    _check_struck(json.loads(as_built), entries)
    _check_photos(world)
    other = _other_order(world, entries, folder)
    assert other == (export, as_built, tag), "another order gives another outcome"
    return {"export": export, "as-built": as_built}


def outcome(door: Door, survey: str) -> tuple[str, str, str]:
    """Return what a service makes of a survey: the export, the as-built and its tag."""
    export = door.ask("GET", f"/api/surveys/{survey}")
    as_built = door.ask("GET", f"/api/surveys/{survey}/as-built")
    assert (export.status, as_built.status) == (200, 200), as_built.body
    return export.body.decode(), as_built.body.decode(), as_built.headers["etag"]


def struck(entries: list[Entry]) -> set[str]:
    """Return the ids of the entries that are struck out, worked out from the definition alone."""
    known = {entry["id"]: entry for entry in entries}
    lost = set()
    for entry in entries:
        if entry["kind"] in MARKS:
            continue
        last = max((m for m in entries if _bears_on(m, entry, known)), key=_order, default=None)
        if last and last["kind"] == "strike":
            lost.add(entry["id"])
    return lost


def _bears_on(mark: Entry, entry: Entry, known: dict[str, Entry]) -> bool:
    if mark["kind"] not in MARKS:
        return False
    if mark["target"] == entry["id"]:
        return True
    strike = known.get(mark["target"], {})
    undone = strike.get("kind") == "strike" and strike["target"] == entry["id"]
    return mark["kind"] == "restore" and undone


def _order(entry: Entry) -> tuple[int, str, str]:
    return (entry.get("n", 0), entry["by"], entry["id"])


def _all(door: Door, survey: str, cursor: int) -> list[Entry]:
    """Return every entry past a cursor, page by page."""
    entries: list[Entry] = []
    while True:
        page = door.ask("GET", f"/api/surveys/{survey}/entries?after={cursor}").json()
        if not page["entries"]:
            assert page["cursor"] == cursor
            return entries
        assert page["cursor"] > cursor
        assert len(page["entries"]) <= 500
        entries, cursor = entries + page["entries"], page["cursor"]


def _text(entry: Entry) -> str:
    return json.dumps(entry, sort_keys=True)


def _check_entries(world: World, paged: list[Entry], exported: list[Entry]) -> None:
    """Every acknowledged entry is there once, exactly as first posted, and nothing else is."""
    there = {entry["id"]: _text(entry) for entry in paged}
    assert len(there) == len(paged), "an entry comes twice"
    assert sorted(map(_text, exported)) == sorted(there.values())
    assert all(_order(one) < _order(other) for one, other in pairwise(exported))
    written = {name: e for phone in world.phones for name, e in phone.acknowledged.items()}
    assert there == {name: _text(entry) for name, entry in written.items()}


def _check_phones(phones: list[Phone], entries: list[Entry]) -> None:
    """Both phones have everything; only what was wrong was refused, by its field."""
    there = {entry["id"] for entry in entries}
    for phone in phones:
        assert not phone.outbox
        assert phone.book.keys() - phone.refused.keys() == there
        wrong = {name: e["wrong"] for name, e in phone.book.items() if "wrong" in e}
        assert phone.refused == wrong


def _check_cursors(world: World, survey: str) -> None:
    """What was stored after a cursor was given lies past that cursor."""
    for place in range(0, len(world.seen), max(1, len(world.seen) // 6)):
        later = {name for seen in world.seen[place + 1 :] for name in seen.stored}
        past = {entry["id"] for entry in _all(world.door, survey, world.seen[place].cursor)}
        assert later <= past


def _check_head(world: World, export: Entry) -> None:
    """The heads of both phones are merged, and the last title that stands is the title."""
    runs = {run["id"]: run for run in export["runs"]}
    given = [run for phone in world.phones for run in phone.head["runs"]]
    assert runs.keys() == {run["id"] for run in given}
    for run in given:
        assert set(run["lines"]) <= set(runs[run["id"]]["lines"])
        assert run["joists"] <= runs[run["id"]]["joists"]
    entries = export["entries"]
    lost = struck(entries)
    titles = [e for e in entries if e.get("path") == "/title" and e["id"] not in lost]
    last = max(titles, key=_order, default={"value": "Invented"})
    assert export["title"] == last["value"]


def _check_struck(as_built: dict[str, Any], entries: list[Entry]) -> None:
    """The as-built says of the struck readings, and of no others, that they are struck."""
    readings = [reading for run in as_built["runs"] for reading in run["readings"]]
    said = {reading["id"] for reading in readings if reading["verdict"] == "struck"}
    assert said == struck(entries) & {reading["id"] for reading in readings}
    measured = {entry["id"] for entry in entries if "value" in entry and "run" in entry}
    assert {reading["id"] for reading in readings} == measured


def _check_photos(world: World) -> None:
    """Every photo that was taken is there, and says nothing of where."""
    for phone in world.phones:
        assert phone.photos_there == phone.photos.keys()
        for sha256, sent in phone.photos.items():
            path = f"/api/photos/{sha256}"
            size = world.door.ask("HEAD", path).headers["upload-offset"]
            assert int(size) == len(sent)
            got = world.door.ask("GET", path).body
            _check_picture(got, sent)


def _check_picture(got: bytes, sent: bytes) -> None:
    with Image.open(io.BytesIO(got)) as picture, Image.open(io.BytesIO(sent)) as original:
        assert picture.size == original.size
        assert not picture.getexif()
        assert "comment" not in picture.info
    assert b"secret" not in got
    assert b"home" not in got


def _other_order(world: World, entries: list[Entry], folder: Path) -> tuple[str, str, str]:
    """Return what another service makes of the same heads and entries in another order."""
    draw = random.Random(world.seed + 1)
    shuffled = draw.sample(entries, len(entries))
    survey = world.phones[0].head["id"]
    door = Inside(folder)
    try:
        for head in _first_heads(world):
            door.ask("PUT", f"/api/surveys/{survey}", json.dumps(head).encode(), JSON)
        while shuffled:
            count = draw.randint(1, 90)
            batch, shuffled = shuffled[:count], shuffled[count:]
            body = json.dumps({"entries": batch}).encode()
            answer = door.ask("POST", f"/api/surveys/{survey}/entries", body, JSON)
            assert len(answer.json()["stored"]) == len(batch)
        return outcome(door, survey)
    finally:
        door.close()


def _first_heads(world: World) -> list[Entry]:
    """Return the heads in the order in which the service met them: heads are merged, not folded."""
    return [phone.head for phone in world.met]
