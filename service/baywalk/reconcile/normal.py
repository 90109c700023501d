"""Normal equations in blocks: factor, solve, and the variances that statistics need.

Unknowns are cut into consecutive blocks along the line from wall to wall, so that a row touches
one block or two neighbouring ones; what it touches beyond that stands in the *border*. The normal
matrix is then block-tridiagonal with a border. Eliminating blocks from the left up to a pair of
neighbours, and from the right down to it, leaves a small matrix for the pair and the border; every
variance asked for follows from one such matrix. An ordinary loft is a single block, so the same
code is a plain dense solution there; a very long run costs time in proportion to its joists.

Factors are Cholesky's and variances sums of squares: nothing large is subtracted from anything
large, so an unknown that hangs in the air does not blur its neighbours.

A weak hold of :data:`HOLD` mm on every unknown keeps the matrix regular whatever is missing. An
unknown that the readings do not determine then shows by a variance near that hold's.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from scipy.linalg import lapack
from scipy.sparse import csr_array

from baywalk.reconcile.equations import BORDER, Equations, Floats, Ints

if TYPE_CHECKING:
    from collections.abc import Sequence

HOLD = 1e5
"""Standard deviation [mm] of the hold that keeps undetermined unknowns near their present value."""

UNDETERMINED = 500.0
"""Above this standard deviation [mm] an unknown is not determined by the readings."""

Design = csr_array | Floats
"""Rows by unknowns, dense where all unknowns stand in a single block."""

_LEAST_HOLD = 1e-14
_ONE_BLOCK = 220
_BLOCK = 60


@dataclass(frozen=True)
class Layout:
    """How unknowns are laid out in blocks.

    Attributes:
        order: unknown numbers, block after block, the border last.
        bounds: start of each block in ``order``; the last bound is where the border starts.

    """

    order: Ints
    bounds: list[int]

    @property
    def single(self) -> bool:
        """Whether all unknowns stand in one block."""
        return self.bounds == [0, len(self.order)]


def lay_out(equations: Equations) -> Layout:
    """Choose the blocks and the border for these equations."""
    places = np.array(equations.places, dtype=np.int64)
    count = len(places)
    if count <= _ONE_BLOCK:
        return Layout(np.arange(count, dtype=np.int64), [0, count])
    block_of = _blocks_by_place(places)
    for hub in _hubs(equations.columns, block_of):
        block_of[hub] = BORDER
    blocks = int(block_of.max()) + 1
    key = np.where(block_of == BORDER, blocks, block_of)
    order = np.argsort(key, kind="stable")
    bounds = np.searchsorted(key[order], np.arange(blocks + 1)).tolist()
    return Layout(order, bounds)


def _blocks_by_place(places: Ints) -> Ints:
    """Give each unknown a block so that a block holds whole places and about ``_BLOCK`` of them."""
    inner = places[places != BORDER]
    sizes = np.bincount(inner) if inner.size else np.zeros(1, dtype=np.int64)
    block_at = np.cumsum(sizes) // _BLOCK
    # Renumber without gaps, since one crowded place may skip a number.
    block_at = np.unique(block_at, return_inverse=True)[1]
    return np.where(places == BORDER, BORDER, block_at[np.maximum(places, 0)])


def _hubs(columns: Sequence[Sequence[int]], block_of: Ints) -> list[int]:
    """Return the unknowns to put in the border so that no row spans blocks further than one."""
    inner = [[c for c in row if block_of[c] != BORDER] for row in columns]
    wide = {i: row for i, row in enumerate(inner) if _wide(row, block_of)}
    rows_of: dict[int, set[int]] = {}
    for i, row in wide.items():
        for c in row:
            rows_of.setdefault(c, set()).add(i)
    hubs: list[int] = []
    while wide:
        hub = max(rows_of, key=lambda c: len(rows_of[c]))
        hubs.append(hub)
        for i in rows_of.pop(hub):
            wide[i] = [c for c in wide[i] if c != hub]
            if not _wide(wide[i], block_of):
                for c in wide.pop(i):
                    rows_of[c].discard(i)
    return hubs


def _wide(row: list[int], block_of: Ints) -> bool:
    blocks = [int(block_of[c]) for c in row]
    return bool(blocks) and max(blocks) - min(blocks) > 1


def _cholesky(matrix: Floats) -> Floats:
    """Return the lower Cholesky factor of a symmetric matrix, empty of an empty one."""
    if not matrix.size:
        return matrix
    factor, info = lapack.dpotrf(matrix, lower=1, clean=1)
    hold = _LEAST_HOLD
    while info != 0:
        # Coefficients so large that rounding outweighs the hold: hold a little harder.
        held = matrix + np.diag(hold * np.diagonal(matrix))
        factor, info = lapack.dpotrf(held, lower=1, clean=1)
        hold *= 10
    return np.asarray(factor)


def _under(factor: Floats, right: Floats, *, transposed: bool = False) -> Floats:
    """Return ``right`` divided by a lower factor, or by its transpose, from the left."""
    if not factor.size or not right.size:
        return right
    return np.asarray(lapack.dtrtrs(factor, right, lower=1, trans=int(transposed))[0])


class Normal:
    """The solved normal matrix of one design; see the module for its shape."""

    def __init__(
        self, design: Design, weights: Floats, layout: Layout, held: Floats | None = None
    ) -> None:
        """Factor ``design`` (rows by unknowns) with ``weights`` [1/mm²] in this layout.

        ``held`` is a weight [1/mm²] that holds each unknown of the border where it is.
        """
        self._layout = layout
        self._chain: _Chain | None = None
        if layout.single:
            scaled = np.sqrt(weights)[:, None] * _full(design)
            normal = scaled.T @ scaled
            normal.flat[:: len(normal) + 1] += HOLD**-2 if held is None else HOLD**-2 + held
            self._factor = _cholesky(normal)
        else:
            border = None if held is None else held[layout.order][layout.bounds[-1] :]
            ordered = csr_array(design)[:, layout.order]
            self._chain = _Chain(ordered, weights, layout.bounds, border)

    def solve(self, right: Floats) -> Floats:
        """Return the unknowns' steps for a right-hand side ``A'P(read - computed)``, or several."""
        if self._chain is None:
            half = _under(self._factor, right)
            return _under(self._factor, half, transposed=True)
        result = np.empty(right.shape)
        result[self._layout.order] = self._chain.solve(right[self._layout.order])
        return result

    def spread(self, rows: Design) -> Floats:
        """Return the variance [mm²] of each linear function of the unknowns given as a row.

        A row may touch one block, the next and the border, as an observation row does.
        """
        if self._chain is None:
            return _lengths(self._factor, _full(rows))
        return self._chain.spread(csr_array(rows)[:, self._layout.order])


def _full(rows: Design) -> Floats:
    return rows if isinstance(rows, np.ndarray) else np.asarray(rows.toarray())


def _lengths(factor: Floats, rows: Floats) -> Floats:
    """Return the squared length of each row divided by a factor: its variance."""
    half = _under(factor, rows.T)
    return np.asarray(np.einsum("ij,ij->j", half, half))


@dataclass
class _Side:
    """What is left of each block once all blocks before it, seen from one end, are eliminated.

    Attributes:
        own, out: the block's own matrix and its columns of the border, before its elimination.
        corner: the border's matrix then.
        factors: of ``own``; ``ahead``, ``aside``: the next block's and the border's columns, each
            divided by it.

    """

    own: list[Floats] = field(default_factory=list)
    out: list[Floats] = field(default_factory=list)
    corner: list[Floats] = field(default_factory=list)
    factors: list[Floats] = field(default_factory=list)
    ahead: list[Floats] = field(default_factory=list)
    aside: list[Floats] = field(default_factory=list)

    def eliminate(self, own: Floats, out: Floats, ahead: Floats | None) -> None:
        """Take the next block, given as in the whole matrix, and divide it out."""
        corner = self.corner[-1]
        if self.ahead:
            own = own - self.ahead[-1].T @ self.ahead[-1]
            out = out - self.ahead[-1].T @ self.aside[-1]
            corner = corner - self.aside[-1].T @ self.aside[-1]
            self.corner.append(corner)
        factor = _cholesky(own)
        self.own.append(own)
        self.out.append(out)
        self.factors.append(factor)
        self.aside.append(_under(factor, out))
        if ahead is not None:
            self.ahead.append(_under(factor, ahead))


class _Chain:
    """Several blocks and a border, in their own order of the unknowns."""

    def __init__(
        self, design: csr_array, weights: Floats, bounds: list[int], held: Floats | None
    ) -> None:
        self._ends = bounds
        self._count = len(bounds) - 1
        self._cut(design, weights)
        if held is not None:
            self._corner[np.diag_indices(len(held))] += held
        self._left = _Side(corner=[self._corner])
        for i in range(self._count):
            ahead = self._ahead[i] if i + 1 < self._count else None
            self._left.eliminate(self._own[i], self._out[i], ahead)
        last = self._left.aside[-1]
        self._root = _cholesky(self._left.corner[-1] - last.T @ last)
        self._right: _Side | None = None

    def _cut(self, design: csr_array, weights: Floats) -> None:
        """Form the normal matrix and cut it into dense blocks."""
        normal = csr_array(design.T @ design.multiply(weights[:, None]).tocsr())
        ends, border = self._ends, self._ends[-1]
        width = design.shape[1] - border
        self._own: list[Floats] = []
        self._ahead: list[Floats] = []
        self._out: list[Floats] = []
        for i in range(self._count):
            size = ends[i + 1] - ends[i]
            stop = ends[min(i + 2, self._count)]
            band = _dense(normal, ends[i], ends[i + 1], stop, border)
            band[np.arange(size), np.arange(size)] += HOLD**-2
            self._own.append(band[:, :size])
            self._ahead.append(band[:, size : stop - ends[i]])
            self._out.append(band[:, stop - ends[i] :])
        self._corner = _dense(normal, border, border + width, border, border)
        self._corner[np.diag_indices(width)] += HOLD**-2

    def solve(self, right: Floats) -> Floats:
        """Substitute forwards and back again."""
        ends, left = self._ends, self._left
        half: list[Floats] = []
        tail = right[ends[-1] :]
        for i in range(self._count):
            part = right[ends[i] : ends[i + 1]]
            if i:
                part = part - left.ahead[i - 1].T @ half[i - 1]
            half.append(_under(left.factors[i], part))
            tail = tail - left.aside[i].T @ half[i]
        tail = _under(self._root, _under(self._root, tail), transposed=True)
        out = [tail]
        for i in range(self._count - 1, -1, -1):
            rest = half[i] - left.aside[i] @ tail
            if i + 1 < self._count:
                rest = rest - left.ahead[i] @ out[-1]
            out.append(_under(left.factors[i], rest, transposed=True))
        return np.concatenate([*reversed(out[1:]), tail])

    # --- variances ------------------------------------------------------------------------

    def spread(self, rows: csr_array) -> Floats:
        """Return the variance [mm²] of each row, pair of blocks after pair of blocks."""
        rows = csr_array(rows)
        ends = np.array(self._ends)
        pairs = max(self._count - 1, 1)
        first = np.minimum(_first_block(rows, ends), pairs - 1)
        sorted_rows = np.argsort(first, kind="stable")
        cuts = np.searchsorted(first[sorted_rows], np.arange(pairs + 1))
        ordered = csr_array(rows[sorted_rows])
        out = np.zeros(rows.shape[0])
        for i in range(pairs):
            start, stop = int(cuts[i]), int(cuts[i + 1])
            if start < stop:
                far = self._ends[min(i + 2, self._count)]
                dense = _dense(ordered, start, stop, far, self._ends[-1], self._ends[i])
                out[sorted_rows[start:stop]] = _lengths(self._pair(i), dense)
        return out

    def _pair(self, i: int) -> Floats:
        """Return the factor for block ``i``, the next and the border, all others divided out."""
        left = self._left
        if self._count == 1:
            return _cholesky(np.block([[left.own[0], left.out[0]], [left.out[0].T, self._corner]]))
        if self._right is None:
            self._right = self._from_the_right()
        j = self._count - 2 - i
        a, ab, b = left.own[i], self._ahead[i], self._right.own[j]
        ac, bc = left.out[i], self._right.out[j]
        corner = left.corner[i] + self._right.corner[j] - self._corner
        return _cholesky(np.block([[a, ab, ac], [ab.T, b, bc], [ac.T, bc.T, corner]]))

    def _from_the_right(self) -> _Side:
        right = _Side(corner=[self._corner])
        for i in range(self._count - 1, 0, -1):
            right.eliminate(self._own[i], self._out[i], self._ahead[i - 1].T)
        return right


def _first_block(rows: csr_array, ends: Ints) -> Ints:
    """Return for each row the lowest block that it touches, the last where only the border."""
    last = len(ends) - 2
    block = np.minimum(np.searchsorted(ends, rows.indices, side="right") - 1, last)
    first = np.full(rows.shape[0], last, dtype=np.int64)
    owner = np.repeat(np.arange(rows.shape[0]), np.diff(rows.indptr))
    np.minimum.at(first, owner, block)
    return first


def _dense(
    matrix: csr_array, start: int, stop: int, far: int, border: int, near: int | None = None
) -> Floats:
    """Return rows ``start`` to ``stop`` densely: columns ``near`` to ``far``, then the border's.

    ``near`` is ``start`` unless told. Columns elsewhere are left out.
    """
    near = start if near is None else near
    here = slice(int(matrix.indptr[start]), int(matrix.indptr[stop]))
    columns, values = matrix.indices[here], matrix.data[here]
    rows = np.repeat(np.arange(stop - start), np.diff(matrix.indptr[start : stop + 1]))
    width = max(far - near, 0)
    place = np.where(columns >= border, columns - border + width, columns - near)
    keep = (columns >= border) | ((columns >= near) & (columns < far))
    out = np.zeros((stop - start, width + matrix.shape[1] - border))
    out[rows[keep], place[keep]] = values[keep]
    return out
