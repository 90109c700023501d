"""Random lofts of every kind with all that sheets are made from; invented."""

from __future__ import annotations

import json
import random
import uuid
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from baywalk.capacity import BadCapacityInput, capacity
from baywalk.fieldbook import load_survey
from baywalk.planning import BadAsBuilt, Choices, Refused, plan, read_choices
from baywalk.reconcile import reconcile
from baywalk.sheets import Source, sound
from tests import sheet_sources
from tests.planning_lofts import plain, random_as_built, random_lapped, uneven
from tests.strange import Strange

if TYPE_CHECKING:
    from baywalk.fieldbook import Survey

Json = dict[str, Any]

TITLES = (
    "Loft",
    "Dachboden über der großen Käserei, Südflügel: Bälkchen für Bälkchen nachgemessen, " * 2,
    "עליית הגג מעל הסדנה (נמדדה בבוקר)",
    'Loft 🏠🔨 über\'m Stall — ½ "Spitzboden" <b>&amp;</b>',
    "Supercalifragilisticexpialidociousloftwithoutasinglespaceanywhereinitsname" * 2,
    "علية المنزل",
)
"""Titles as people write them, the longest the field book takes nearly (200 characters)."""
LINES = ("near", "the line that runs along the chimney breast", "קו רחוק", "Mittelpfette 🪵")


def _small(_: int) -> Json:
    return plain(2, 400, 1000, first=130, last=260)


def _huge(seed: int) -> Json:
    return uneven(seed, 48, 410, 15000)


def _kind(*kinds: str) -> Any:
    return lambda seed: random_as_built(seed, *kinds)


def _packed(seed: int) -> Json:
    draw, built = random.Random(seed), random_as_built(seed, "irregular")
    for joist in built["runs"][0]["joists"]:
        joist["level"] = {"near": {"value": round(210 + draw.gauss(0, 6), 1), "sd": 1.1}}
    return built


def _raised(seed: int) -> Json:
    built = random_as_built(seed, "skew")
    deep = {"id": str(uuid.UUID(int=seed + 1, version=4)), "feature": "insulation", "bay": 2}
    built["runs"][0]["features"].append({**deep, "depth": 230})
    return built


def _one_bay(seed: int) -> Json:
    return plain(1 + seed % 2, 420, 1800, first=90, last=80)


def _parted(seed: int) -> Json:
    """Return a loft that a chimney breast from edge to edge parts into two decks."""
    built = uneven(seed, 9, 420, 2600)
    (run,) = built["runs"]
    x = run["joists"][4]["at"]["near"]["x"] + 60
    corners = [[x, -300.0], [x + 240, -300.0], [x + 240, 2300.0], [x, 2300.0]]
    name = str(uuid.UUID(int=seed + 1, version=4))
    run["features"].append({"id": name, "feature": "obstacle", "polygon": corners})
    return built


BUILT = {
    "small": _small,
    "huge": _huge,
    "skew": _kind("skew", "square", "irregular"),
    "opening": _kind("opening", "skew"),
    "obstacle": _kind("obstacle", "square"),
    "lapped": random_lapped,
    "laid": _kind("laid", "skew"),
    "packers": _packed,
    "battens": _raised,
    "one bay": _one_bay,
    "two runs": _kind("runs", "lines"),
    "parted": _parted,
    "any": _kind(),
}
"""Lofts that begin with an as-built, by what they show."""

KINDS = (*BUILT, "strange", "surveyed")


def source(seed: int, seconds: float = 0.5) -> tuple[str, Source]:
    """Return what a random loft shows, and all that its sheets are made from."""
    kind = KINDS[seed % len(KINDS)]
    if kind == "surveyed":
        return kind, sheet_sources.loft(seed, opening=seed % 4 == 1)
    if kind == "strange":
        return kind, _titled(_strange(seed, seconds), seed)
    built = BUILT[kind](seed)
    if seed // len(KINDS) % 2:
        _rename(built, seed)
    wanted = Choices(roof="free", seconds=seconds, start_wall="far" if seed % 2 else "near")
    found = Source(sound(built, "baywalk.as-built"), _planned(built, wanted), _checked(built))
    return kind, _titled(replace(found, survey=_surveyed(built), earlier=_before(built)), seed)


def _planned(built: Json, wanted: Choices) -> Json | None:
    try:
        made: Json = json.loads(json.dumps(plan(built, wanted)))
    except (BadAsBuilt, Refused):
        return None
    return made


def _checked(built: Json) -> Json | None:
    try:
        found: Json = json.loads(json.dumps(capacity(built)))
    except BadCapacityInput:
        return None
    return found


def _strange(seed: int, seconds: float) -> Source:
    strange = Strange(seed)
    survey = load_survey(json.dumps(strange.survey))
    built: Json = json.loads(json.dumps(reconcile(survey)))
    made = _planned(built, read_choices(strange.asked_of_plan(seconds)))
    return Source(sound(built, "baywalk.as-built"), made, _checked(built), survey, earlier=built)


def _before(built: Json) -> Json:
    """Return an as-built of the same loft some years before."""
    again: Json = json.loads(json.dumps(built))
    for run in again["runs"]:
        for k, bay in enumerate(run["bays"]):
            for place in bay["at"].values():
                place["gap"] = round(place["gap"] + (-1) ** k * k, 3)
    return sound(again, "baywalk.as-built")


def _surveyed(built: Json) -> Survey:
    """Return the survey that an as-built could be of: its head, and a few entries to be told."""
    heads = [
        {
            "id": run["id"],
            "title": run["title"],
            "joists": len(run["joists"]),
            "lines": run["lines"],
            "member": run["member"],
        }
        for run in built["runs"]
    ]
    entries = list(_entries(built))
    return load_survey(
        json.dumps(
            {
                "format": "baywalk.survey",
                "version": 1,
                "id": built["survey"],
                "title": built["title"],
                "created": "2026-06-01T09:00:00Z",
                "tape": {"class": "II"},
                "runs": heads,
                "entries": entries,
            }
        )
    )


def _entries(built: Json) -> list[Json]:
    run = built["runs"][0]
    line = run["lines"][0]
    kinds: list[Json] = [
        {"kind": "across", "line": line, "from": [0, "face"], "to": [1, "left"], "value": 177},
        {"kind": "across", "line": line, "from": [0, "face"], "to": [1, "left"], "value": 711},
        {"kind": "remark", "bay": 0, "text": TITLES[2] + " " + TITLES[4] + "\n" + TITLES[1] * 9},
        {"kind": "photo", "bay": 1, "sha256": "0" * 64, "width": 9, "height": 9}
        | {"caption": TITLES[1]},
    ]
    out = [
        {
            "id": str(uuid.UUID(int=k + 1, version=4)),
            "at": "2026-06-01T09:00:00Z",
            "by": "6f0b9a52-3a51-4d0b-8f5e-6a3e0f6f9c01",
            "n": k,
            "run": run["id"],
            **kind,
        }
        for k, kind in enumerate(kinds)
    ]
    reason = f"=digits swapped; {TITLES[3]} {TITLES[1]}"
    strike = {"kind": "strike", "target": out[1]["id"], "reason": reason}
    return [*out, {**out[0], "id": str(uuid.UUID(int=99, version=4)), "n": 9} | strike]


def _rename(built: Json, seed: int) -> None:
    """Give every tape line of an as-built a name as people write them."""
    for run in built["runs"]:
        names = dict(zip(run["lines"], LINES[:1] + LINES[1 + seed % 2 :] + LINES, strict=False))
        names = {old: f"{new}{k or ''}" for k, (old, new) in enumerate(names.items())}
        run["lines"] = [names[line] for line in run["lines"]]
        if "laps" in run:
            run["laps"] = [[names[line] for line in pair] for pair in run["laps"]]
        for member in (*run["walls"].values(), *run["joists"], *run["bays"]):
            for at in ("at", "level"):
                if member.get(at):
                    member[at] = {names[line]: place for line, place in member[at].items()}


def _titled(found: Source, seed: int) -> Source:
    """Return a source with titles as people write them."""
    title = TITLES[seed % len(TITLES)][:200]
    runs = [{**run, "title": title} for run in found.as_built["runs"]]
    survey = found.survey and replace(
        found.survey,
        title=title,
        runs=tuple(replace(run, title=title) for run in found.survey.runs),
    )
    built = {**found.as_built, "title": title, "runs": runs}
    return replace(found, as_built=built, survey=survey)
