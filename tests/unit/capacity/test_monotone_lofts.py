"""Random as-builts made worse in one way: no joist of them ever comes out better.

Odd sizes, bays and bearings, doubled joists, cuts, walls under the run, holes with trimmers, things
put down, deck edges borne: whatever a survey may hold at once. What the published rules themselves
take back is left out, and said where: a notch may come to lie within its zone by a longer span.
"""

from __future__ import annotations

import copy
import random
from typing import TYPE_CHECKING, Any

import pytest

from baywalk.capacity.actions import layers
from baywalk.capacity.cuts import refused
from baywalk.capacity.deck import thickness
from baywalk.capacity.joist import Case, missing
from baywalk.capacity.reader import read_loft
from baywalk.capacity.run import given_for
from baywalk.capacity.setting import Setting, read_setting
from baywalk.capacity.verdict import verdict
from tests.unit.capacity.loft import PACK
from tests.unit.capacity.test_monotone import no_better

if TYPE_CHECKING:
    from collections.abc import Callable

Document = dict[str, Any]
Asked = dict[str, list[str]]
SEEDS = range(15)


class Made:
    """A random loft, what is asked of it, and where its parts lie; invented."""

    def __init__(self, seed: int) -> None:
        self.draw = draw = random.Random(f"worse {seed}")
        self.count = draw.choice([1, 3, 5, 7])
        self.span = draw.uniform(1400, 5500)
        breadth, depth = draw.uniform(38, 75), draw.uniform(90, 240)
        x, joists = draw.uniform(100, 500), []
        for index in range(1, self.count + 1):
            joists.append({
                "index": index, "at": {"near": {"x": x, "sd": 0.7, "point": [x, 0.0]}},
                "breadth": {"value": breadth + draw.uniform(-3, 3), "sd": 1.0},
                "depth": {"value": depth + draw.uniform(-5, 5), "sd": 1.5},
                "span": {"value": self.span, "sd": 2.0},
                "bearing": draw.choice([None, {"near": 60.0}, {"near": 100.0, "far": 45.0}]),
                "plies": draw.choice([1, 1, 1, 2]), "grade": draw.choice(["C16", "C16", "C24"]),
            })  # fmt: skip
            x += draw.uniform(250, 640)
        self.wall = x
        end = {"at": {"near": {"x": x, "sd": 1.0}}}
        run = {"id": "A", "title": "A", "member": {}, "joists": joists,
               "walls": {"start": None, "end": end}, "features": self._features()}  # fmt: skip
        self.document: Document = {
            "format": "baywalk.as-built", "version": 1, "runs": [run], "settled": True,
        }  # fmt: skip
        self.asked: Asked = {
            "use": [draw.choice(["storage", "occasional", "domestic"])],
            "dead": [str(draw.uniform(0.1, 1.2))], "deck": [draw.choice(["18", "22"])],
            "ceiling": [draw.choice(["none", "plaster"])],
            "strutting": [draw.choice(["yes", "no"])],
            "service_class": [draw.choice("123")],
        }  # fmt: skip

    def _features(self) -> list[Document]:
        draw, out = self.draw, []
        for _ in range(draw.choice([0, 1, 2])):
            kind = draw.choice(["notch", "hole"])
            edge = draw.choice(["top", "bottom"]) if kind == "notch" else "centre"
            place = 0.0 if edge == "bottom" else draw.uniform(0.05, 0.95) * self.span
            out.append(
                {
                    "feature": kind,
                    "joist": draw.randint(1, self.count),
                    "edge": edge,
                    "depth": draw.uniform(5, 80),
                    "length": 60,
                    "from_near_support": place,
                }
            )
        if draw.random() < 0.4 and self.span > 2800:
            out.append({"feature": "support", "from_near_support": self.span * 0.45,
                        "length": 100, "through": draw.choice([True, False])})  # fmt: skip
        if draw.random() < 0.3:
            out.append({"feature": "bearer", "wall": draw.choice(["start", "end"])})
        return out

    def without_cuts(self) -> None:
        """Leave cuts out: in a longer span one lies in another zone, or nearer to the middle."""
        run = self.document["runs"][0]
        run["features"] = [f for f in run["features"] if f["feature"] not in ("notch", "hole")]

    def with_hole(self) -> None:
        """Cut a hole through the middle of the run."""
        x, y = self.wall * 0.45, self.span * 0.4
        corners = [[x - 200, y], [x + 200, y], [x + 200, y + 600], [x - 200, y + 600]]
        hole = {"id": "h", "feature": "opening", "polygon": corners}
        self.document["runs"][0]["features"].append(hole)

    def with_things(self) -> None:
        """Put things down, one of them nobody knows where."""
        draw = self.draw
        x, y = draw.uniform(0, self.wall), draw.uniform(0, self.span)
        self.asked["thing"] = ["safe,mass=60", f"bath,width=600,length=1500,x={x},y={y},mass=200"]


def joists(document: Document, asked: Asked) -> list[dict[str, Any]]:
    """Return every joist's checks and verdict; None for one that cannot be checked."""
    setting: Setting = read_setting(asked, PACK)
    run = read_loft(document, PACK).runs[0]
    deck = thickness(run, setting, PACK)
    layered, out = layers(run, setting, deck, PACK), []
    for joist in run.joists:
        if missing(joist):
            continue
        given = given_for(run, joist, setting, layered, deck, PACK)
        checks = Case(joist, given).checks()
        word = verdict(checks, joist.damage, refused(joist, trimming=bool(given.hung[0])))
        out.append({"checks": [check.json(PACK) for check in checks], "verdict": word})
    return out


def heavier(made: Made) -> None:
    made.asked["dead"] = [str(float(made.asked["dead"][0]) + made.draw.uniform(0, 1))]


def busier(made: Made) -> None:
    made.asked |= {"imposed": ["2.5"], "point": ["3.5"]}


def crowded(made: Made) -> None:
    more = made.draw.uniform(0, 200)
    things = [text.rpartition("=") for text in made.asked["thing"]]
    made.asked["thing"] = [f"{name}={float(mass) + more}" for name, _, mass in things]


def longer(made: Made) -> None:
    more = made.draw.uniform(1, 1.4)
    for joist in made.document["runs"][0]["joists"]:
        joist["span"]["value"] *= more
    for feature in made.document["runs"][0]["features"]:
        if feature["feature"] == "support":
            feature["from_near_support"] *= more


def smaller(made: Made) -> None:
    thinner, lower = made.draw.uniform(0, 20), made.draw.uniform(0, 40)
    for joist in made.document["runs"][0]["joists"]:
        joist["breadth"]["value"] -= thinner
        joist["depth"]["value"] -= lower


def wider(made: Made) -> None:
    """Draw the joists apart in the same room: all but the first of those that have the space."""
    more = made.draw.uniform(1, 1.5)
    for joist in made.document["runs"][0]["joists"]:
        for line in joist["at"].values():
            line["x"] *= more
            line["point"][0] = line["x"]
    made.document["runs"][0]["walls"]["end"]["at"]["near"]["x"] *= more


def deeper(made: Made) -> None:
    for feature in made.document["runs"][0]["features"]:
        if feature["feature"] in ("notch", "hole"):
            feature["depth"] += made.draw.uniform(0, 60)


WORSE: dict[str, tuple[Callable[[Made], None], bool, bool]] = {
    # What is done, and whether there may be holes and things: their places would mean another loft.
    "heavier": (heavier, True, True),
    "busier": (busier, True, True),
    "crowded": (crowded, True, True),
    "longer": (longer, False, False),
    # A thinner joist may pass a hole that cut it.
    "smaller": (smaller, False, True),
    "wider": (wider, False, False),
    "deeper": (deeper, True, True),
}


@pytest.mark.parametrize("way", WORSE)
def test_a_worse_loft_is_never_better(way: str) -> None:
    change, holes, things = WORSE[way]
    for seed in SEEDS:
        made = Made(seed)
        if holes and made.draw.random() < 0.5:
            made.with_hole()
        if things and (way == "crowded" or made.draw.random() < 0.3):
            made.with_things()
        if way == "longer":
            made.without_cuts()
        before = joists(made.document, made.asked)
        made.document, made.asked = copy.deepcopy((made.document, made.asked))
        change(made)
        after = joists(made.document, made.asked)
        for old, new in zip(before, after, strict=True):
            try:
                no_better(old, new)
            except (AssertionError, KeyError) as why:
                raise AssertionError(f"seed {seed}: {why}") from why
