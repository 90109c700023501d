"""Small field books written by hand, and what every as-built must obey whatever was read."""

from __future__ import annotations

import json
import uuid
from functools import cache
from typing import Any

import jsonschema

from baywalk import fieldbook, places
from baywalk.fieldbook.entry import READINGS
from baywalk.reconcile import reconcile

VERDICTS = {"agrees", "suspect", "unchecked", "struck"}


class Book:
    """A field book that grows entry by entry; ids follow the order of writing."""

    def __init__(self, joists: int = 3, lines: tuple[str, ...] = ("near",), **member: Any) -> None:
        self.runs: list[dict[str, Any]] = []
        self.entries: list[dict[str, Any]] = []
        self.tape: dict[str, Any] = {"class": "II"}
        self.run("A", joists, lines, **member)

    def run(self, name: str, joists: int, lines: tuple[str, ...], **member: Any) -> None:
        """Add a run."""
        head = {"id": name, "title": name, "joists": joists, "lines": list(lines)}
        self.runs.append({**head, "member": member} if member else head)

    def add(self, kind: str, **fields: Any) -> str:
        """Write an entry of run A, unless told another, and return its id."""
        n = len(self.entries) + 1
        name = str(uuid.UUID(int=n, version=4))
        entry = {"id": name, "at": "2026-06-01T10:00:00Z", "by": "phone", "n": n, "kind": kind}
        if kind not in ("strike", "restore", "set"):
            entry["run"] = "A"
        self.entries.append({**entry, **fields})
        return name

    def across(self, a: tuple[int, str], b: tuple[int, str], value: float, **more: Any) -> str:
        """Read along a line, the near one unless told."""
        ends = {"line": "near", "from": list(a), "to": list(b)}
        return self.add("across", **{**ends, "value": value, **more})

    def gap(self, bay: int, value: float, **more: Any) -> str:
        """Read a clear gap of run A."""
        last = self.runs[0]["joists"]
        left = (bay, "face" if bay == 0 else "right")
        return self.across(left, (bay + 1, "face" if bay == last else "left"), value, **more)

    def along(self, joist: int, a: str, b: str, value: float, **more: Any) -> str:
        """Read along a joist."""
        return self.add("along", joist=joist, **{"from": a, "to": b}, value=value, **more)

    def diagonal(self, a: tuple[int, str], b: tuple[int, str], value: float, **more: Any) -> str:
        """Read a diagonal."""
        return self.add("diagonal", **{"from": list(a), "to": list(b)}, value=value, **more)

    def breadth(self, joist: int, value: float, **more: Any) -> str:
        """Read a joist's breadth."""
        return self.add("breadth", joist=joist, value=value, **more)

    def strike(self, target: str) -> str:
        """Strike an entry out."""
        return self.add("strike", target=target, reason="misread")

    def survey(self) -> dict[str, Any]:
        """Return the survey as JSON data."""
        return {
            "format": "baywalk.survey",
            "version": 1,
            "id": str(uuid.UUID(int=1 << 90, version=4)),
            "title": "By hand (invented)",
            "created": "2026-06-01T09:00:00Z",
            "tape": self.tape,
            "runs": self.runs,
            "entries": self.entries,
        }

    def as_built(self) -> dict[str, Any]:
        """Return the as-built, having held it to what every as-built must obey."""
        return sound(self.survey())

    def only_run(self) -> dict[str, Any]:
        """Return the as-built's first run."""
        return self.as_built()["runs"][0]


def computed(survey: dict[str, Any]) -> dict[str, Any]:
    """Return the as-built of a survey given as JSON data."""
    return reconcile(fieldbook.load_survey(json.dumps(survey)))


def sound(survey: dict[str, Any]) -> dict[str, Any]:
    """Return the as-built of a survey after checking that it is one, and whole."""
    as_built = computed(survey)
    # NaN and infinity are no JSON.
    plain = json.loads(json.dumps(as_built, allow_nan=False))
    validator().validate(plain)
    readings = [e for e in survey["entries"] if e["kind"] in READINGS]
    for run in plain["runs"]:
        _whole(run, [e for e in readings if e["run"] == run["id"]])
    return plain


@cache
def validator() -> jsonschema.Draft202012Validator:
    """Return the as-built's schema, ready to check with."""
    path = places.shared() / "schemas" / "as-built.schema.json"
    schema = json.loads(path.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def _whole(run: dict[str, Any], entries: list[dict[str, Any]]) -> None:
    """Check that no reading is lost, and that what is open is told and advised on."""
    assert [r["id"] for r in run["readings"]] == sorted({e["id"] for e in entries})
    assert {r["verdict"] for r in run["readings"]} <= VERDICTS
    suspects = {s["reading"] for s in run["suspects"]}
    suspects |= set((run["common_cause"] or {"readings": []})["readings"])
    assert suspects == {r["id"] for r in run["readings"] if r["verdict"] == "suspect"}
    assert run["settled"] == (not suspects)
    for reading in run["readings"]:
        if reading["verdict"] == "suspect":
            continue  # set aside, it may be all that checked its twin
        checked = reading["verdict"] == "agrees"
        assert (reading["w"] is not None) == checked
        assert (reading["mdb"] is not None) == checked
    _open_is_told(run)


def _open_is_told(run: dict[str, Any]) -> None:
    codes = {f["code"] for f in run["findings"]}
    places_ = [*run["joists"], run["walls"]["end"]]
    if any(at["x"] is None for place in places_ for at in place["at"].values()):
        assert "position.undetermined" in codes
        assert run["next_readings"]
    loose = [
        line
        for line in run["lines"][1:]
        if all(place["at"][line]["point"] is None for place in places_)
    ]
    told = [f["where"]["line"] for f in run["findings"] if f["code"] == "line.undetermined"]
    assert set(loose) <= set(told)
