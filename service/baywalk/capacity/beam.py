"""Straight beams over any number of supports, worked out exactly (Timoshenko's beam).

The moments over the inner supports come from the theorem of three moments, shear counted; between
them everything is a polynomial. So the answers are those of the theory, not of a mesh. Lengths in
mm, forces in N, moments in N mm; sag and load are positive downwards, moments positive where the
underside is pulled.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

import numpy as np


class Spread(NamedTuple):
    """A load of ``q`` [N/mm] from ``start`` to ``end`` [mm]."""

    start: float
    end: float
    q: float

    def moved(self, shift: float, factor: float) -> Spread:
        """Return it moved along by ``shift`` [mm] and made ``factor`` times as heavy."""
        return Spread(self.start + shift, self.end + shift, self.q * factor)


class Point(NamedTuple):
    """A load of ``force`` [N] at ``x`` [mm]."""

    x: float
    force: float

    def moved(self, shift: float, factor: float) -> Point:
        """Return it moved along by ``shift`` [mm] and made ``factor`` times as heavy."""
        return Point(self.x + shift, self.force * factor)


Load = Spread | Point


class Piece(NamedTuple):
    """A stretch without a break: where it starts, its length [mm], and its state at the start.

    ``w`` is the sag [mm], ``turn`` the section's rotation, ``v`` the shear [N], ``m`` the moment
    [N mm], ``q`` the load over it [N/mm].
    """

    x: float
    length: float
    w: float
    turn: float
    v: float
    m: float
    q: float


@dataclass(frozen=True)
class Solved:
    """A beam under its loads: its ``pieces``, and the ``reactions`` [N] in the supports' order."""

    pieces: tuple[Piece, ...]
    reactions: tuple[float, ...]
    flexural: float
    shear: float

    def moment(self, x: float) -> float:
        """Return the bending moment at ``x`` [N mm]."""
        p, t = self._at(x)
        return p.m + p.v * t - p.q * t * t / 2

    def force(self, x: float) -> float:
        """Return the shear force at ``x`` [N]; just after a point load that stands there."""
        p, t = self._at(x)
        return p.v - p.q * t

    def sag(self, x: float) -> float:
        """Return the sag at ``x`` [mm], by bending and by shear."""
        p, t = self._at(x)
        return _sag(p, t, self.flexural, self.shear)

    def moments(self) -> tuple[float, float]:
        """Return the least and the greatest moment [N mm]."""
        found = []
        for p in self.pieces:
            top = p.v / p.q if p.q else 0.0
            spots = [0.0, p.length, *([top] if 0 < top < p.length else [])]
            found += [p.m + p.v * t - p.q * t * t / 2 for t in spots]
        return min(found), max(found)

    def most_force(self) -> float:
        """Return the greatest shear force, whichever way it points [N]."""
        return max(max(abs(p.v), abs(p.v - p.q * p.length)) for p in self.pieces)

    def most_sag(self) -> float:
        """Return the greatest sag [mm]."""
        return max(
            _sag(p, t, self.flexural, self.shear)
            for p in self.pieces
            for t in _flat_spots(p, self.flexural, self.shear)
        )

    def _at(self, x: float) -> tuple[Piece, float]:
        for p in self.pieces:
            if x < p.x + p.length:
                return p, max(0.0, x - p.x)
        return self.pieces[-1], self.pieces[-1].length


def _sag(p: Piece, t: float, flexural: float, shear: float) -> float:
    bent = p.m * t**2 / 2 + p.v * t**3 / 6 - p.q * t**4 / 24
    sheared = (p.v * t - p.q * t * t / 2) / shear if shear else 0.0
    return p.w + p.turn * t - bent / flexural + sheared


def _flat_spots(p: Piece, flexural: float, shear: float) -> list[float]:
    """Return the ends of a piece and the spots where its sag neither grows nor falls [mm]."""
    slip = 1 / shear if shear else 0.0
    roots = _cubic(
        p.q / 6 / flexural,
        -p.v / 2 / flexural,
        -p.m / flexural - p.q * slip,
        p.turn + p.v * slip,
    )
    return [0.0, p.length, *(spot for spot in roots if 0 < spot < p.length)]


def _cubic(a: float, b: float, c: float, d: float) -> list[float]:
    """Return the real roots of a x³ + b x² + c x + d, by the closed forms."""
    if a == 0:
        return _quadratic(b, c, d)
    shift = b / (3 * a)
    p = c / a - 3 * shift**2
    q = 2 * shift**3 - shift * c / a + d / a
    # One real root, or three: the sign of the discriminant tells.
    inside = q * q / 4 + p**3 / 27
    if inside > 0:
        root = math.sqrt(inside)
        return [math.cbrt(-q / 2 + root) + math.cbrt(-q / 2 - root) - shift]
    if p == 0:
        return [-shift]
    size = 2 * math.sqrt(-p / 3)
    angle = math.acos(max(-1.0, min(1.0, 3 * q / (p * size)))) / 3
    return [size * math.cos(angle - 2 * math.pi * k / 3) - shift for k in range(3)]


def _quadratic(a: float, b: float, c: float) -> list[float]:
    if a == 0:
        return [-c / b] if b else []
    inside = b * b - 4 * a * c
    if inside < 0:
        return []
    root = math.sqrt(inside)
    return [(-b + root) / (2 * a), (-b - root) / (2 * a)]


@lru_cache(maxsize=4096)
def solve(
    supports: tuple[float, ...], loads: tuple[Load, ...], flexural: float, shear: float = 0.0
) -> Solved:
    """Return a beam on pinned ``supports`` [mm] under ``loads``.

    Args:
        supports: places of at least two supports, rising [mm].
        loads: spread and point loads between the outer supports; what lies beyond them is left
            out.
        flexural: E I [N mm²].
        shear: G A over the shape factor [N]; 0 leaves sag by shear out.

    """
    spans = [_Span(a, b, loads, last=b == supports[-1]) for a, b in pairwise(supports)]
    moments = [0.0, *_inner_moments(spans, flexural, shear), 0.0]
    pieces: list[Piece] = []
    for span, (left, right) in zip(spans, pairwise(moments), strict=True):
        pieces += span.pieces(left, right, flexural, shear)
    return Solved(tuple(pieces), _reactions(spans, moments), flexural, shear)


class _Span:
    """One span between neighbouring supports, with what stands on it; lengths from its start."""

    def __init__(self, start: float, end: float, loads: tuple[Load, ...], *, last: bool) -> None:
        self.start, self.length = start, end - start
        # A point load over a support belongs to one span only.
        self.points = [
            (load.x - start, load.force)
            for load in loads
            if isinstance(load, Point) and (start <= load.x < end or (last and load.x == end))
        ]
        self.spreads = [
            (max(load.start - start, 0.0), min(load.end - start, self.length), load.q)
            for load in loads
            if isinstance(load, Spread) and load.start < end and load.end > start
        ]
        self.left = sum(f * (self.length - a) for a, f in self.points) / self.length
        self.left += sum(q * (b - a) * (self.length - (a + b) / 2) for a, b, q in self.spreads) / (
            self.length
        )
        self.weight = sum(f for _, f in self.points) + sum(q * (b - a) for a, b, q in self.spreads)

    def swept(self, *, mirrored: bool) -> float:
        """Return the free moments' own moment about the start, or the end [N mm³]."""
        total, length = 0.0, self.length
        for a, force in self.points:
            x = length - a if mirrored else a
            total += force * x * (length**2 - x**2) / 6
        for a, b, q in self.spreads:
            low, high = (length - b, length - a) if mirrored else (a, b)
            total += q * (length**2 * (high**2 - low**2) / 2 - (high**4 - low**4) / 4) / 6
        return total

    def pieces(self, left: float, right: float, flexural: float, shear: float) -> list[Piece]:
        """Return the span's pieces from the moments over its supports [N mm]."""
        length = self.length
        # The turning at the start: free moments, end moments, and the slip that shear adds.
        turn = self.swept(mirrored=True) / length + length * (2 * left + right) / 6
        turn = turn / flexural - ((right - left) / length / shear if shear else 0.0)
        v, m, w = self.left + (right - left) / length, left, 0.0
        edges = {0.0, length, *(a for a, _ in self.points)}
        edges |= {x for a, b, _ in self.spreads for x in (a, b)}
        out = []
        for a, b in pairwise(sorted(edges)):
            v -= sum(f for x, f in self.points if x == a)
            q = sum(q for low, high, q in self.spreads if low <= a and b <= high)
            piece = Piece(self.start + a, b - a, w, turn, v, m, q)
            out.append(piece)
            v, m, turn, w = _end_of(piece, flexural, shear)
        return out


def _end_of(p: Piece, flexural: float, shear: float) -> tuple[float, float, float, float]:
    """Return shear, moment, rotation and sag at a piece's end."""
    t = p.length
    turn = p.turn - (p.m * t + p.v * t**2 / 2 - p.q * t**3 / 6) / flexural
    return p.v - p.q * t, p.m + p.v * t - p.q * t * t / 2, turn, _sag(p, t, flexural, shear)


def _inner_moments(spans: list[_Span], flexural: float, shear: float) -> list[float]:
    """Return the moments over the inner supports [N mm]: the beam turns alike on both sides.

    That is the theorem of three moments, with what shear adds to each span's turning.
    """
    count = len(spans) - 1
    if count == 0:
        return []
    # Each row: the section turns alike at the end of one span and the start of the next.
    matrix, right = np.zeros((count, count)), np.zeros(count)
    slip = flexural / shear if shear else 0.0
    for k, (one, two) in enumerate(pairwise(spans)):
        matrix[k, k] = (one.length + two.length) / 3 + slip * (1 / one.length + 1 / two.length)
        if k > 0:
            matrix[k, k - 1] = one.length / 6 - slip / one.length
        if k < count - 1:
            matrix[k, k + 1] = two.length / 6 - slip / two.length
        right[k] = -one.swept(mirrored=False) / one.length - two.swept(mirrored=True) / two.length
    return [float(m) for m in np.linalg.solve(matrix, right)]


def _reactions(spans: list[_Span], moments: list[float]) -> tuple[float, ...]:
    """Return what each support takes [N], from the spans on either side of it."""
    # A support takes the start of the span after it and the end of the span before it.
    starts = [
        span.left + (right - left) / span.length
        for span, (left, right) in zip(spans, pairwise(moments), strict=True)
    ]
    ends = [span.weight - start for span, start in zip(spans, starts, strict=True)]
    return tuple(a + b for a, b in zip([*starts, 0.0], [0.0, *ends], strict=True))
