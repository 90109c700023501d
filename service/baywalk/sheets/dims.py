"""Dimensions: thin line, ticks, the figure above the line, read from the bottom or the right."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from baywalk.sheets import letters
from baywalk.sheets.ink import MEDIUM, SMALL, THIN, Page, Point, Words

if TYPE_CHECKING:
    from collections.abc import Sequence

KIND = "dimension"
TICK = 1.0
"""Half the reach of a tick [mm]."""


class Mark(NamedTuple):
    """One mark on a rod: where it lies on the page [mm], and what is written beside it."""

    at: float
    text: str
    bold: bool = False


def pitch(cap: float = SMALL) -> float:
    """Return how far apart figures that are read from the right must stand [mm]."""
    return cap * 1.55


def spread(places: Sequence[float], pitch: float, least: float, most: float) -> list[float]:
    """Return places in order, moved as little as may be until ``pitch`` [mm] apart.

    All lengths in mm. Where even the whole room from ``least`` to ``most`` is too short, they run
    over its far end, which :func:`fits` tells beforehand.
    """
    # Places that would touch are joined into a block about their common middle, block by block.
    blocks: list[tuple[float, int]] = []
    for k, place in enumerate(places):
        blocks.append((place - k * pitch, 1))
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (a, n), (b, m) = blocks[-2:]
            blocks[-2:] = [((a * n + b * m) / (n + m), n + m)]
    starts = [start for start, count in blocks for _ in range(count)]
    top = most - (len(places) - 1) * pitch
    return [max(least, min(start, top)) + k * pitch for k, start in enumerate(starts)]


def fits(count: int, room: float, cap: float = SMALL) -> bool:
    """Say whether so many figures can stand side by side in a room [mm]; ``cap`` in mm."""
    return (count - 1) * pitch(cap) <= room


def across(
    page: Page, a: Point, b: Point, text: str, *, witness: float | None = None, cap: float = SMALL
) -> None:
    """Draw a dimension along x from ``a`` to ``b`` [mm]; ``witness`` is where its lines come from.

    A figure that is wider than its dimension stands beside it, past its right-hand end.
    """
    (xa, y), (xb, _) = a, b
    page.line((xa, y), (xb, y))
    for x in (xa, xb):
        page.line((x - TICK, y + TICK), (x + TICK, y - TICK), pen=MEDIUM)
        if witness is not None:
            page.line((x, witness), (x, y - TICK if witness > y else y + TICK))
    wide = letters.width(text, cap)
    if wide + 1 <= xb - xa:
        page.words(((xa + xb) / 2, y - 0.8), text, cap, "middle", kind=KIND, clear=True)
    else:
        page.words((xb + TICK + 0.6, y - 0.8), text, cap, kind=KIND)


def read_up(a: Point, b: Point, text: str, cap: float = SMALL) -> Words:
    """Return the figure of a dimension along y from ``a`` up to ``b`` [mm], where it stands."""
    return Words((a[0] - 0.8, (a[1] + b[1]) / 2), text, cap, "middle", up=True, kind=KIND)


def upright(page: Page, a: Point, b: Point, text: str, *, cap: float = SMALL) -> None:
    """Draw a dimension along y from ``a`` up to ``b`` [mm], read from the right."""
    (x, ya), (_, yb) = a, b
    page.line((x, ya), (x, yb))
    for y in (ya, yb):
        page.line((x - TICK, y + TICK), (x + TICK, y - TICK), pen=MEDIUM)
    page.items.append(read_up(a, b, text, cap))


def running_up(
    page: Page, x: float, zero: float, marks: Sequence[Mark], *, cap: float = SMALL
) -> None:
    """Draw running dimensions along y at ``x`` from the zero's y, figures to the left [mm]."""
    ends = [zero, *(m.at for m in marks)]
    page.line((x, max(ends)), (x, min(ends)))
    _zero(page, (x, zero))
    order = sorted(marks, key=lambda m: -m.at)
    places = spread([-m.at for m in order], pitch(cap), -1e9, 1e9)
    for mark, place in zip(order, places, strict=True):
        page.line((x, mark.at), (x - TICK, mark.at), (x - 2.5, -place), (x - 3, -place))
        at = (x - 3.4, -place + cap / 2)
        page.words(at, mark.text, cap, "end", bold=mark.bold, kind=KIND)


def _zero(page: Page, at: Point) -> None:
    """Draw the ring at the zero of running dimensions."""
    page.dot(at, 0.8, fill=1.0)


def rod(
    page: Page,
    y: float,
    zero: float,
    end: float,
    marks: Sequence[Mark],
    *,
    above: bool,
    cap: float = SMALL,
    room: tuple[float, float],
) -> None:
    """Draw a setting-out rod at ``y`` from its zero to its end, a figure at every mark [mm].

    The figures are read from the right and stand above or below the rod, within ``room``; where
    marks are close, their figures move apart and a thin line leads back to the mark.
    """
    deep = 2.2
    page.shape(
        ((zero, y - deep / 2), (end, y - deep / 2), (end, y + deep / 2), (zero, y + deep / 2))
    )
    _zero(page, (zero, y))
    order = sorted(marks, key=lambda m: m.at)
    # A figure's line is its foot, at the right of its letters: half a capital past its mark.
    places = spread([m.at for m in order], pitch(cap), room[0] + cap / 2, room[1] - cap / 2)
    side = -1 if above else 1
    for mark, place in zip(order, places, strict=True):
        page.line((mark.at, y - deep / 2), (mark.at, y + deep / 2), pen=MEDIUM)
        start, knee = y + side * deep / 2, y + side * (deep / 2 + 2.5)
        page.line(
            (mark.at, start),
            (mark.at, start + side),
            (place, knee),
            (place, knee + side * 0.5),
            pen=THIN,
        )
        foot = (place + cap / 2, knee + side * 0.9)
        anchor = "start" if above else "end"
        page.words(foot, mark.text, cap, anchor, up=True, bold=mark.bold, kind=KIND)


def flat(
    page: Page,
    y: float,
    marks: Sequence[Mark],
    room: tuple[float, float],
    *,
    above: bool,
    cap: float = SMALL,
) -> None:
    """Write running dimensions that are read from the bottom above or under a line at ``y`` [mm].

    Each figure stands at its mark; those too close move apart, a thin line leading back.
    """
    order = sorted(marks, key=lambda m: m.at)
    if not order:
        return
    widths = [letters.width(letters.clean(m.text), cap) + 2 for m in order]
    # Places are spread as if all were as wide as the widest: simple, and never too close.
    pitch_ = max(widths)
    places = spread([m.at for m in order], pitch_, room[0] + pitch_ / 2, room[1] - pitch_ / 2)
    side = -1 if above else 1
    foot = y - 4.0 if above else y + 3.4 + cap
    for mark, place in zip(order, places, strict=True):
        page.line((mark.at, y - 1), (mark.at, y + 1), pen=MEDIUM)
        page.line((mark.at, y), (mark.at, y + side * 1.5), (place, y + side * 3))
        page.words((place, foot), mark.text, cap, "middle", kind=KIND, clear=True)


def beside(
    page: Page,
    y: float,
    marks: Sequence[Mark],
    room: tuple[float, float],
    *,
    above: bool,
    cap: float = SMALL,
    apart: float = 1.0,
) -> None:
    """Write running dimensions along an edge at ``y``, read from the right, above or below [mm].

    They stand at least ``apart`` times as far from each other as they must [-], if there is room.
    """
    step = pitch(cap) * apart
    if (len(marks) - 1) * step > room[1] - room[0] - cap:
        step = pitch(cap)
    side = -1 if above else 1
    order = sorted(marks, key=lambda m: m.at)
    places = spread([m.at for m in order], step, room[0] + cap / 2, room[1] - cap / 2)
    for mark, place in zip(order, places, strict=True):
        page.line((mark.at, y), (mark.at, y + side), (place, y + side * 2.5), (place, y + side * 3))
        anchor = "start" if above else "end"
        foot = (place + cap / 2, y + side * 3.4)
        page.words(foot, mark.text, cap, anchor, up=True, bold=mark.bold, kind=KIND)


def rod_height(texts: Sequence[str], cap: float = SMALL) -> float:
    """Return how much a rod with these figures takes to one side [mm]; ``cap`` in mm."""
    return max((letters.width(letters.clean(t), cap) for t in texts), default=0.0) + 6
