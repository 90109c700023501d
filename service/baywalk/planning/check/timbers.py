"""Timber: is everything that is wanted cut once from a length that holds it?"""

from __future__ import annotations

import math
from collections import Counter
from typing import TYPE_CHECKING

from baywalk.planning.check.verdicts import EXACT

if TYPE_CHECKING:
    from baywalk.planning.check.scene import Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

RULE = "timber.stock"

Section = tuple[float, float]
"""Breadth and depth [mm]."""


def _section(item: Json) -> Section:
    return (item["section"]["breadth"], item["section"]["depth"])


def wanted(deck: Json) -> dict[str, tuple[float, Section, int]]:
    """Return length, section and number of everything to cut, by id."""
    out = {
        item["id"]: (item["length"], _section(item), 1)
        for kind in ("noggins", "cleats")
        for item in deck[kind]
    }
    for joist in deck["added_joists"]:
        # One that laps is of several timbers, each with a number.
        parts = joist.get("lengths", ())
        for number, length in enumerate(parts, start=1):
            out[f"{joist['id']}.{number}"] = (length, _section(joist), 1)
        if not parts:
            out[joist["id"]] = (joist["length"], _section(joist), 1)
    for batten in deck["raise"]:
        if batten["kind"] == "batten":
            section = (batten["breadth"], batten["thickness"])
            out[batten["id"]] = (batten["length"], section, 1)
    for opening in deck["openings"]:
        for trimmer in opening["trimmers"]:
            out[trimmer["id"]] = (trimmer["length"], _section(trimmer), trimmer["plies"])
        # Two openings along one joist share what doubles it on their side.
        for timber in opening["trimming"]:
            name = f"J{timber['joist']} doubled, {timber['side']}"
            length = max(timber["length"], out.get(name, (0.0,))[0])
            out[name] = (length, _section(timber), 1)
    return out


def check_timbers(scene: Scene, out: Verdicts) -> None:
    """Check the cutting list against what is wanted, stock length by stock length."""
    need = wanted(scene.deck)
    # Trimmers of two thicknesses are cut twice under one id.
    cut = Counter(c["item"] for t in scene.deck["timbers"] for c in t["cuts"])
    for name, (_, _, number) in need.items():
        out.must(RULE, cut[name] == number, name, f"it is cut {cut[name]} times, not {number}")
    for timber in scene.deck["timbers"]:
        _timber(scene, timber, need, out)
    _cutting(scene, out)


def _timber(
    scene: Scene, timber: Json, need: dict[str, tuple[float, Section, int]], out: Verdicts
) -> None:
    where = timber["id"]
    stock = scene.plan["choices"]["stock"] or scene.pack[RULE]
    out.must(RULE, timber["stock"] in stock, where, "no such length is sold")
    for cut in timber["cuts"]:
        if cut["item"] in need:
            length, section, _ = need[cut["item"]]
            out.same(RULE, cut["length"], length, cut["item"], "its length")
            same = all(abs(a - b) <= EXACT for a, b in zip(section, _section(timber), strict=True))
            out.must(RULE, same, cut["item"], "it is cut from another section")
    total = sum(cut["length"] for cut in timber["cuts"])
    kerf, squaring = scene.pack["timber.kerf"], scene.pack["timber.squaring"]
    out.must(RULE, timber["cuts"], where, "nothing is cut from it")
    out.same("timber.squaring", timber["squaring"], squaring, where, "what squares its end")
    # The end that is not squared is rough, so a cut follows the last piece as it does the others.
    gone = squaring + total + kerf * len(timber["cuts"])
    cut = "What is cut from it, with one end squared and the saw cuts,"
    out.at_most("timber.kerf", gone, timber["stock"], where, cut)
    left = max(timber["stock"] - gone, 0.0)
    out.same("timber.kerf", timber["offcut"], left, where, "what is left over", 0.6)


def _cutting(scene: Scene, out: Verdicts) -> None:
    """Check the figures of each section's cutting, and that its bound is not above a cutting."""
    told = {_section(c): c for c in scene.deck["cutting"]}
    once = len(told) == len(scene.deck["cutting"])
    out.must(RULE, once, "the cutting", "a section is given twice")
    by: dict[Section, list[Json]] = {}
    for timber in scene.deck["timbers"]:
        by.setdefault(_section(timber), []).append(timber)
    out.must(RULE, told.keys() == by.keys(), "the cutting", "a section is missing or not used")
    for section in told.keys() & by.keys():
        _bound(scene, told[section], by[section], out)


def _bound(scene: Scene, told: Json, timbers: list[Json], out: Verdicts) -> None:
    where = f"{told['section']['breadth']:g} × {told['section']['depth']:g}"
    bought = sum(t["stock"] for t in timbers)
    out.same("timber.bound", told["lengths"], len(timbers), where, "the number of lengths", 0)
    out.same("timber.bound", told["bought"], bought, where, "what is bought")
    out.at_most("timber.bound", told["bought_lower_bound"], bought, where, "The bound")
    _lengths(scene, told, timbers, where, out)
    optimal = told["bought_lower_bound"] >= bought - EXACT
    out.must("timber.bound", told["optimal"] == optimal, where, "the proof is marked wrongly")
    # Any cutting disproves a bound above it, even a plain one.
    own = first_fit(
        [c["length"] for t in timbers for c in t["cuts"]],
        scene.plan["choices"]["stock"] or scene.pack[RULE],
        scene.pack["timber.kerf"],
        scene.pack["timber.squaring"],
    )
    out.at_most("timber.bound", told["bought_lower_bound"], own, where, "The bound")


def _lengths(scene: Scene, told: Json, timbers: list[Json], where: str, out: Verdicts) -> None:
    """Check the bound on the number of lengths against what must at least be cut from them."""
    kerf = scene.pack["timber.kerf"]
    longest = max(scene.plan["choices"]["stock"] or scene.pack[RULE])
    need = sum(c["length"] + kerf for t in timbers for c in t["cuts"])
    least = math.ceil(need / (longest - scene.pack["timber.squaring"]) - 1e-9)
    out.at_most("timber.bound", told["lower_bound"], len(timbers), where, "The bound")
    out.at_least("timber.bound", told["lower_bound"], least, where, "The bound")


def first_fit(
    lengths: list[float], stock: list[float], kerf: float, squaring: float = 0.0
) -> float:
    """Return the stock that a plain cutting buys: longest first, into the first that has room.

    A bound above it would be false. Each opened length is cut down to the shortest stock that
    still holds what was put into it.

    Args:
        lengths: what to cut [mm].
        stock: lengths sold [mm].
        kerf: the saw cut after each piece [mm].
        squaring: what one end of each length loses before that [mm].
    """
    most = max(stock)
    opened: list[float] = []
    for length in sorted(lengths, reverse=True):
        for index, filled in enumerate(opened):
            if filled + length + kerf <= most:
                opened[index] += length + kerf
                break
        else:
            opened.append(squaring + length + kerf)
    return sum(min((s for s in stock if s >= filled - EXACT), default=most) for filled in opened)
