"""What neighbouring joists take off one another: system strength and the share of a point load."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING

from baywalk.capacity import deck as decks
from baywalk.capacity.design import k_h
from baywalk.capacity.sections import Section

if TYPE_CHECKING:
    from baywalk.capacity.model import Joist, Run
    from baywalk.rules import Pack


@dataclass(frozen=True)
class Sharing:
    """How a joist shares.

    ``k_sys`` for bending and for shear [-]; ``k_dist``, the share of a point load that it keeps
    [-]; ``felt``, that share as the annex has it for how lively a floor feels, ends of the run not
    told apart [-]; ``across``, the deck's own stiffness across the joists [N mm² per mm];
    ``rules``, the ids of those that ``k_dist`` comes from.
    """

    k_sys: tuple[float, float]
    k_dist: float
    felt: float
    across: float
    rules: tuple[str, ...] = ()


def sharing(run: Run, joist: Joist, deck: float, pack: Pack, *, strutted: bool) -> Sharing:
    """Return how a joist of a run shares its load under a ``deck`` of a thickness [mm]."""
    across = deck_stiffness(deck, pack)
    relied_on = across if decks.shares(joist, deck, pack) else 0.0
    felt = _annex(
        joist, relied_on, pack, strut=pack["ec5.k_dist"]["strutting"] if strutted else 1.0
    )
    edge = joist.left is None or joist.right is None
    kept = min(1.0, felt * float(pack["ec5.k_dist.edge"])) if edge else felt
    rules = ["deck.thickness", "centres.tolerance"]
    if relied_on:
        rules += ["ec5.k_dist", "span.deck.E", *(["ec5.k_dist.edge"] if edge else [])]
    return Sharing(_k_sys(run, joist, pack), kept, felt, across, tuple(rules))


def deck_stiffness(deck: float, pack: Pack) -> float:
    """Return a deck's stiffness across the joists [N mm² per mm of width] for a thickness [mm]."""
    by = sorted((float(k), float(v)) for k, v in pack["span.deck.E"].items())
    modulus = next((e for most, e in by if deck <= most), by[-1][1])
    return modulus * deck**3 / 12


def _k_sys(run: Run, joist: Joist, pack: Pack) -> tuple[float, float]:
    """Return the factors of load sharing on bending and on shear (6.6 as this house reads it)."""
    rule = pack["ec5.k_sys"]
    apart = [joist.left, joist.right]
    # Beside a wall there is a neighbour on one side only, so both centres cannot be near.
    wide = any(centres is None or centres > rule["centres"] for centres in apart)
    if joist.plies > 1 or wide or joist.breadth is None or joist.depth is None:
        return 1.0, 1.0
    like = pack["ec5.k_sys.like"]
    own = Section(joist.breadth.value, joist.depth.value)
    peers = [other for other in run.joists if other.grade == joist.grade]
    # Like, or smaller than this one: a joist gains nothing by being larger than its neighbours.
    near = (s for s in map(_section, peers) if s and _within(s, own, like))
    if len(list(islice(near, rule["joists"]))) == rule["joists"]:
        return rule["value"], rule["value"]
    return _outgrown(own, [s for s in map(_section, peers) if s], rule, pack)


def _outgrown(
    own: Section, others: list[Section], rule: dict[str, float], pack: Pack
) -> tuple[float, float]:
    """Return the factors of a joist larger than enough others to share with.

    It is at least as strong as a like joist would be, and sharing fades out as it outgrows them.
    Without this a joist would lose strength by growing.
    """
    smaller = [s for s in others if s.breadth <= own.breadth + 1e-9 and s.depth <= own.depth + 1e-9]
    # The largest few among those no larger: the company it would share with.
    top = sorted(smaller, key=lambda s: s.modulus, reverse=True)[: int(rule["joists"])]
    if len(top) < rule["joists"]:
        return 1.0, 1.0
    like = pack["ec5.k_sys.like"]
    breadth = min(min(s.breadth for s in top) + like["breadth"], own.breadth)
    depth = min(min(s.depth for s in top) + like["depth"], own.depth)
    counted = Section(breadth, depth)
    bent = counted.modulus * k_h(counted.depth, pack) / (own.modulus * k_h(own.depth, pack))
    return (
        max(1.0, rule["value"] * bent),
        max(1.0, rule["value"] * counted.area / own.area),
    )


def _section(joist: Joist) -> Section | None:
    if joist.breadth is None or joist.depth is None or joist.plies > 1:
        return None
    return Section(joist.breadth.value, joist.depth.value)


def _within(one: Section, other: Section, like: dict[str, float]) -> bool:
    return (
        abs(one.breadth - other.breadth) <= like["breadth"]
        and abs(one.depth - other.depth) <= like["depth"]
    )


def _annex(joist: Joist, across: float, pack: Pack, *, strut: float) -> float:
    """Return the share of a point load that one joist keeps (UK national annex to 7.3.3)."""
    rule = pack["ec5.k_dist"]
    apart = max(joist.left or 0.0, joist.right or 0.0)
    # Nothing beside it, or no deck to be counted on: it keeps all of it.
    if not apart or not across:
        return 1.0
    # The annex has the stiffness in N mm² per metre of width.
    ratio = rule["c"] * across * 1000 / apart**4
    share = max(strut * (rule["a"] - rule["b"] * math.log(ratio)), rule["least"])
    return float(min(1.0, share))
