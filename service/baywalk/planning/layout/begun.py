"""What was begun, in the terms of the layout: a board and what is left of it, a course's joints."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from baywalk.planning.layout.cutting import LEFT, RIGHT, WHOLE
from baywalk.planning.layout.patterns import EPS, Limits, Ways
from baywalk.planning.layout.zones import CLEAT, FRAME

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.choices import Weights
    from baywalk.planning.layout.cutting import Held
    from baywalk.planning.layout.zones import Zone


def begun(held: Held, board: float, kerf: float) -> Ways:
    """Return the one way of a board ``board`` [mm] long that was begun, a saw cut taking ``kerf``.

    What is left at its right-hand end is a rest like any other. One with something left at its
    left-hand end may come from the same board as a last piece, like a first piece that is to be
    cut: so it asks for one.
    """
    # Of a board sawn and not laid nothing need be used, so it costs nothing in a bound.
    used, gives = bool(held.pieces), held.right > 0
    asks = used and held.left > 0 and not gives
    taken = board - kerf - (held.left if asks else held.right)
    limits = Limits(0.0, board + taken if gives else 2 * board, 0, 0, 0, (False, False))
    return _one(
        limits,
        board,
        first=taken if asks else board,
        joints=1,
        whole=int(used) - int(asks or gives),
        starts=asks,
        ends=gives,
    )


def fixed_ways(
    span: tuple[float, float],
    limits: Limits,
    joints: Sequence[tuple[float, Zone]],
    kinds: Sequence[str],
    laid: Sequence[bool],
    board: float,
    weights: Weights,
) -> Ways:
    """Return the one way of a stretch whose joints are fixed; lengths in mm.

    ``span`` is from where to where it goes, ``kinds`` which end of a board each piece has; boards
    of pieces that are ``laid`` are counted elsewhere.
    """
    at = tuple(x for x, _ in joints)
    open_ = [kind for kind, there in zip(kinds, laid, strict=True) if not there]
    starts = kinds[0] == RIGHT and not laid[0] and bool(at)
    ends = kinds[-1] == LEFT and not laid[-1] and bool(at)
    marks = [span[0], *at, span[1]]
    short = int(marks[1] < limits.first - EPS) + int(marks[-2] > limits.last + EPS)
    if not at:
        short = int(limits.short)
    frames = sum(zone.kind == FRAME for _, zone in joints)
    cleats = sum(zone.kind == CLEAT for _, zone in joints)
    cuts = int(kinds[0] == RIGHT or limits.sawn[0]) + int(kinds[-1] == LEFT or limits.sawn[1])
    weight = sum(zone.weight for _, zone in joints)
    return _one(
        limits,
        board,
        first=at[0] if at else limits.x1,
        joints=len(at),
        whole=open_.count(WHOLE),
        starts=starts,
        ends=ends,
        weight=weight + weights.cut * cuts + weights.short * short,
        counts=(frames, cleats, cuts, short),
        fixed=at,
    )


def _one(
    limits: Limits,
    board: float,
    *,
    first: float,
    joints: int,
    whole: int,
    starts: bool,
    ends: bool,
    weight: float = 0.0,
    counts: tuple[int, int, int, int] = (0, 0, 0, 0),
    fixed: tuple[float, ...] = (),
) -> Ways:
    """Return one way, its first joint at one place [mm]."""
    at = np.array([float(first)])
    frames, cleats, cuts, short = (np.array([n], np.int64) for n in counts)
    return Ways(
        limits,
        board,
        at,
        at,
        np.array([joints], np.int64),
        np.array([whole], np.int64),
        np.array([starts]),
        np.array([ends]),
        np.array([weight]),
        frames,
        cleats,
        cuts,
        short,
        fixed=fixed,
    )
