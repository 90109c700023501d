"""Normal equations in blocks: factor, solve, and the variances that statistics need.

Unknowns are cut into consecutive blocks along the line from wall to wall, so that a row touches
one block or two neighbouring ones; what it touches beyond that stands in the *border*, and so does
what curved rows touch, unless that is much: a step along them leaves the blocks standing. Blocks
are eliminated from the left, which leaves a small matrix for the border; a variance is what a pair
of neighbouring blocks says while the border stands still, and what the border adds. An ordinary
loft is a single block, so the same code is a plain dense solution there; a very long run costs time
in proportion to its joists.

Factors are Cholesky's and variances sums of squares: nothing large is subtracted from anything
large, so an unknown that hangs in the air does not blur its neighbours.

A weak hold of :data:`HOLD` mm on every unknown keeps the matrix regular whatever is missing. An
unknown that the readings do not determine then shows by a variance near that hold's.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.linalg import lapack
from scipy.sparse import csr_array, vstack

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
_MOST_BENT = 60
"""With more unknowns than this in its curved rows a long run keeps them in its blocks."""


@dataclass(frozen=True)
class Layout:
    """How unknowns are laid out in blocks.

    Attributes:
        order: unknown numbers, block after block, the border last.
        bounds: start of each block in ``order``; the last bound is where the border starts.
        bent: the curved rows, where the border has all their unknowns; else none.

    """

    order: Ints
    bounds: list[int]
    bent: Ints

    @property
    def single(self) -> bool:
        """Whether all unknowns stand in one block."""
        return self.bounds == [0, len(self.order)]


def lay_out(equations: Equations) -> Layout:
    """Choose the blocks and the border for these equations."""
    places = np.array(equations.places, dtype=np.int64)
    count = len(places)
    if count <= _ONE_BLOCK:
        return Layout(np.arange(count, dtype=np.int64), [0, count], np.zeros(0, dtype=np.int64))
    block_of = _blocks_by_place(places)
    rows = list(equations.curves)
    curved = sorted({unknown for row in rows for unknown in equations.columns[row]})
    bent = rows if len(curved) <= _MOST_BENT else []
    if bent:
        block_of[curved] = BORDER
    for hub in _hubs(equations.columns, block_of):
        block_of[hub] = BORDER
    blocks = int(block_of.max()) + 1
    key = np.where(block_of == BORDER, blocks, block_of)
    order = np.argsort(key, kind="stable")
    bounds = np.searchsorted(key[order], np.arange(blocks + 1)).tolist()
    return Layout(order, bounds, np.array(bent, dtype=np.int64))


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
        self,
        design: Design,
        weights: Floats,
        layout: Layout,
        held: Floats | None = None,
        before: Normal | None = None,
        more: tuple[Floats, Floats] | None = None,
    ) -> None:
        """Factor ``design`` (rows by unknowns) with ``weights`` [1/mm²] in this layout.

        ``held`` is a weight [1/mm²] that holds each unknown of the border where it is; ``before``
        another normal matrix, from which no straight row differs; ``more`` further rows of what
        curved rows touch, with their weights.
        """
        self._layout = layout
        late = layout.bent
        if more is not None and not late.size:
            design, weights = _joined(design, more[0]), np.concatenate([weights, more[1]])
        self._chain: _Chain | None = None
        if layout.single:
            scaled = np.sqrt(weights)[:, None] * _full(design)
            normal = scaled.T @ scaled
            normal.flat[:: len(normal) + 1] += HOLD**-2 if held is None else HOLD**-2 + held
            self._factor = _cholesky(normal)
            return
        self._chain = before._chain if before is not None and late.size else None
        if self._chain is None:
            straight = weights.copy()
            straight[late] = 0.0
            self._chain = _Chain(csr_array(design)[:, layout.order], straight, layout.bounds)
        border = layout.order[layout.bounds[-1] :]
        corner = self._chain.corner.copy()
        rows: list[tuple[Design, Floats]] = [(csr_array(design)[late], weights[late])]
        rows += [more] if more is not None and late.size else []
        for bent, heavy in rows:
            touched = _full(bent)[:, border]
            corner += touched.T @ (heavy[:, None] * touched)
        if held is not None:
            corner.flat[:: len(border) + 1] += held[border]
        self._factor = _cholesky(corner)

    def solve(self, right: Floats) -> Floats:
        """Return the unknowns' steps for a right-hand side ``A'P(read - computed)``, or several."""
        if self._chain is None:
            half = _under(self._factor, right)
            return _under(self._factor, half, transposed=True)
        inner, order = self._layout.bounds[-1], self._layout.order
        ordered = right[order]
        half = self._chain.forward(ordered[:inner])
        tail = _under(self._factor, ordered[inner:] - self._chain.half.T @ half)
        tail = _under(self._factor, tail, transposed=True)
        result = np.empty(right.shape)
        result[order[:inner]] = self._chain.back(half - self._chain.half @ tail)
        result[order[inner:]] = tail
        return result

    def spread(self, rows: Design) -> Floats:
        """Return the variance [mm²] of each linear function of the unknowns given as a row.

        A row may touch one block, the next and the border, as an observation row does.
        """
        if self._chain is None:
            return _lengths(self._factor, _full(rows))
        ordered = csr_array(csr_array(rows)[:, self._layout.order])
        inner = self._layout.bounds[-1]
        own, border = csr_array(ordered[:, :inner]), _full(ordered[:, inner:])
        rest = border - own @ self._chain.whole
        return self._chain.spread(own) + _lengths(self._factor, rest)


def _joined(design: Design, rows: Floats) -> Design:
    """Return a design with more rows."""
    if isinstance(design, np.ndarray):
        return np.vstack([design, rows])
    return csr_array(vstack([design, csr_array(rows)]))


def _full(rows: Design) -> Floats:
    return rows if isinstance(rows, np.ndarray) else np.asarray(rows.toarray())


def _lengths(factor: Floats, rows: Floats) -> Floats:
    """Return the squared length of each row divided by a factor: its variance."""
    half = _under(factor, rows.T)
    return np.asarray(np.einsum("ij,ij->j", half, half))


class _Chain:
    """Blocks one after another, each tied to the next and to the border, in their own order.

    Attributes:
        corner: the border's own matrix, less what the blocks have to do with it.
        half, whole: the border's columns, divided by the blocks' factor; by its transpose too.

    """

    def __init__(self, design: csr_array, weights: Floats, bounds: list[int]) -> None:
        self._ends = bounds
        self._count = len(bounds) - 1
        out = self._cut(design, weights)
        self._left: list[Floats] = []
        self._factors: list[Floats] = []
        self._over: list[Floats] = []
        for i, own in enumerate(self._own):
            left = own - self._over[-1].T @ self._over[-1] if i else own
            self._left.append(left)
            self._factors.append(_cholesky(left))
            self._over.append(_under(self._factors[-1], self._ahead[i]))
        self.half = self.forward(out)
        self.whole = self.back(self.half)
        self.corner = self._corner - self.half.T @ self.half
        self._right: list[Floats] | None = None
        self._known: tuple[csr_array, Floats] | None = None

    def _cut(self, design: csr_array, weights: Floats) -> Floats:
        """Form the normal matrix and cut it into dense blocks; return the border's columns."""
        normal = csr_array(design.T @ design.multiply(weights[:, None]).tocsr())
        ends, border = self._ends, self._ends[-1]
        width = design.shape[1] - border
        self._own: list[Floats] = []
        self._ahead: list[Floats] = []
        out: list[Floats] = []
        for i in range(self._count):
            size = ends[i + 1] - ends[i]
            stop = ends[min(i + 2, self._count)]
            band = _dense(normal, ends[i], ends[i + 1], stop, border)
            band[np.arange(size), np.arange(size)] += HOLD**-2
            self._own.append(band[:, :size])
            self._ahead.append(band[:, size : stop - ends[i]])
            out.append(band[:, stop - ends[i] :])
        self._corner = _dense(normal, border, border + width, border, border)
        self._corner[np.diag_indices(width)] += HOLD**-2
        return np.concatenate(out)

    def forward(self, right: Floats) -> Floats:
        """Return columns [a row an unknown before the border] divided by the blocks' factor."""
        ends = self._ends
        half: list[Floats] = []
        for i in range(self._count):
            part = right[ends[i] : ends[i + 1]]
            if i:
                part = part - self._over[i - 1].T @ half[i - 1]
            half.append(_under(self._factors[i], part))
        return np.concatenate(half)

    def back(self, half: Floats) -> Floats:
        """Return columns divided by the transpose of the blocks' factor."""
        ends = self._ends
        out: list[Floats] = []
        for i in range(self._count - 1, -1, -1):
            rest = half[ends[i] : ends[i + 1]]
            if out:
                rest = rest - self._over[i] @ out[-1]
            out.append(_under(self._factors[i], rest, transposed=True))
        return np.concatenate(out[::-1])

    # --- variances ------------------------------------------------------------------------

    def spread(self, rows: csr_array) -> Floats:
        """Return the variance [mm²] of each row while the border stands still, pair after pair."""
        if self._known is not None and _same(self._known[0], rows):
            return self._known[1]
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
        self._known = rows, out
        return out

    def _pair(self, i: int) -> Floats:
        """Return the factor for block ``i`` and the next, all others divided out."""
        if self._count == 1:
            return self._factors[0]
        if self._right is None:
            self._right = self._from_the_right()
        ahead = self._ahead[i]
        return _cholesky(np.block([[self._left[i], ahead], [ahead.T, self._right[i + 1]]]))

    def _from_the_right(self) -> list[Floats]:
        """Return what is left of each block once all after it are divided out."""
        right = list(self._own)
        for i in range(self._count - 1, 0, -1):
            under = _under(_cholesky(right[i]), self._ahead[i - 1].T)
            right[i - 1] = self._own[i - 1] - under.T @ under
        return right


def _same(one: csr_array, other: csr_array) -> bool:
    """Say whether two matrices are equal, coefficient by coefficient."""
    return (
        one.shape == other.shape
        and one.nnz == other.nnz
        and np.array_equal(one.indices, other.indices)
        and np.array_equal(one.data, other.data)
        and np.array_equal(one.indptr, other.indptr)
    )


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
