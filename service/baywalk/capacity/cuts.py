"""Notches and holes: within the published limits nothing more, beyond them what is left."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from baywalk.capacity.check import LINES, Check
from baywalk.capacity.design import design, k_h, k_v
from baywalk.capacity.effects import Bar, force_between, moment_between
from baywalk.capacity.strength import FACTORS, Stick, moment_capacity, numbers, shear_capacity

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from baywalk.capacity.model import Cut, Joist
    from baywalk.capacity.sections import Left, Section
    from baywalk.rules import Pack


_PUBLISHED = ("notch.limits", "notch.limits.1992")
"""The published limits: a cut within either passes."""


@dataclass(frozen=True)
class Loaded:
    """One line of loading, factored: ``q`` [N/mm] along the joist and ``point`` [N].

    ``anywhere`` has the greatest moment [N mm] and shear [N] of the whole joist where things stand
    on it: they count at every cut.
    """

    line: str
    q: float
    point: float
    duration: str
    k_sys: tuple[float, float]
    anywhere: tuple[float, float] | None = None


def reach(cut: Cut) -> tuple[float, float] | None:
    """Return where a cut starts and ends from the near support's face [mm]; None if unknown."""
    if cut.place is None:
        return None
    return cut.place - cut.length / 2, cut.place + cut.length / 2


def at_support(cut: Cut, joist: Joist) -> bool:
    """Say whether a cut lies over a support, and so not away from one."""
    ends = reach(cut)
    if ends is None or joist.span is None:
        return False
    return ends[0] <= 0 or ends[1] >= joist.span.value


def within_limits(cut: Cut, joist: Joist, pack: Pack) -> bool:
    """Say whether a cut is one that either published rule lets pass without a check."""
    return any(_within(cut, joist, pack, pack[rule]) for rule in _PUBLISHED)


def _within(cut: Cut, joist: Joist, pack: Pack, rule: dict[str, Any]) -> bool:
    ends = reach(cut)
    if ends is None or joist.span is None or joist.depth is None:
        return False
    depth = joist.depth.value
    # The rules speak of notches from above and holes on the centre line; nothing else is covered.
    edge = {"notch": "top", "hole": "centre"}[cut.kind]
    if cut.edge != edge or depth > rule["deepest"] or cut.depth > rule[cut.kind] * depth:
        return False
    zone = rule[f"{cut.kind}_zone"]
    return _in_zone(ends, stretches(joist, pack), zone) and _apart(cut, joist, rule)


class Stretch(NamedTuple):
    """A clear span from ``start`` to ``end`` [mm] from the near support's face.

    ``free`` says of either end whether the timber is known to end there.
    """

    start: float
    end: float
    free: tuple[bool, bool]


def stretches(joist: Joist, pack: Pack) -> list[Stretch]:
    """Return a joist's clear spans in order; none where its own is not known."""
    if joist.span is None:
        return []
    unread = pack["span.bearing.unread"]
    out, start, free = [], 0.0, True
    for support in joist.supports:
        if not 0 < support.place < joist.span.value:
            continue
        half = (support.bearing if support.bearing is not None else unread) / 2
        out.append(Stretch(start, support.place - half, (free, support.lap)))
        start, free = support.place + half, support.lap
    return [*out, Stretch(start, joist.span.value, (free, True))]


def longest(joist: Joist, pack: Pack) -> float:
    """Return the longest of a joist's clear spans [mm]; 0 where its own is not known."""
    return max((one.end - one.start for one in stretches(joist, pack)), default=0.0)


def _in_zone(
    ends: tuple[float, float], spans: Sequence[Stretch], zone: tuple[float, float]
) -> bool:
    """Say whether a cut lies within a published zone of the span that it is in.

    The zones are those of a joist that bears at its ends alone. Where it may run on over a support
    it is bent the other way there, so the zone does not count from that one.
    """
    for start, end, free in spans:
        if not start <= ends[0] <= ends[1] <= end:
            continue
        least, most = (share * (end - start) for share in zone)
        from_start = least <= ends[0] - start and ends[1] - start <= most
        from_end = least <= end - ends[1] and end - ends[0] <= most
        return (free[0] and from_start) or (free[1] and from_end)
    return False


def _apart(cut: Cut, joist: Joist, rule: dict[str, Any]) -> bool:
    """Say whether a cut is far enough from every other one."""
    own = reach(cut)
    for other in joist.cuts:
        theirs = reach(other)
        if other is cut or own is None or theirs is None:
            continue
        clear = max(own[0] - theirs[1], theirs[0] - own[1])
        holes = cut.kind == other.kind == "hole"
        # Holes are held apart by their diameters, everything else by a plain distance.
        asked = rule["holes"] * max(cut.depth, other.depth) if holes else rule["notch_to_hole"]
        between = abs((own[0] + own[1]) - (theirs[0] + theirs[1])) / 2 if holes else clear
        if between < asked:
            return False
    return True


def refused(joist: Joist, *, trimming: bool = False) -> list[str]:
    """Return, in words, the cuts for which there is no rule at all.

    ``trimming`` is for a joist on which an opening's trimmers hang: the published limits are not
    for cuts near heavy loads.
    """
    heavy = [
        f"J{joist.index} has a {cut.kind} and carries the trimmers of an opening. The published "
        "limits do not go for cuts near heavy loads. Ask a structural engineer before anything is "
        "put on it."
        for cut in joist.cuts
        if trimming
    ]
    return heavy + [
        f"J{joist.index} has a {cut.kind} in its bottom edge away from a support. There is no "
        "rule for that: the underside is where the joist is pulled. Ask a structural engineer "
        "before anything is put on it."
        for cut in joist.cuts
        if cut.edge == "bottom" and not at_support(cut, joist)
    ]


def cautions(joist: Joist, pack: Pack) -> list[str]:
    """Return, in words, what to know of the cuts that lie outside the published limits."""
    out = []
    for cut in joist.cuts:
        if within_limits(cut, joist, pack):
            continue
        where = "at a place not written down" if cut.place is None else f"{cut.place:.0f} mm in"
        out.append(
            f"The {cut.kind} in J{joist.index}, {where}, is outside the published limits. What is "
            "left of the timber is checked there; have a structural engineer look at it."
        )
    return out


def cut_checks(joist: Joist, bar: Bar, stick: Stick, load: Loaded, pack: Pack) -> list[Check]:
    """Return the checks of what each cut leaves, for the cuts outside the published limits."""
    out: list[Check] = []
    for number, cut in enumerate(joist.cuts, start=1):
        # The published limits are not for cuts near heavy loads, and things may be that.
        if load.anywhere is not None or not within_limits(cut, joist, pack):
            where = f" at {cut.kind} {number}{LINES[load.line]}"
            out += _of_cut(cut, joist, _Place(bar, stick, load, where), pack)
    return out


@dataclass(frozen=True)
class _Place:
    bar: Bar
    stick: Stick
    load: Loaded
    where: str


def _of_cut(cut: Cut, joist: Joist, place: _Place, pack: Pack) -> Iterator[Check]:
    """Yield bending and shear of what is left; for an end notched over its support its own rule."""
    bar, stick, load = place.bar, place.stick, place.load
    left = _left(stick.section, [cut, *_beside(cut, joist, pack)])
    a, b = _on_bar(cut, bar, stick)
    moment, force = load.anywhere or (
        moment_between(bar, load.q, load.point, a, b),
        force_between(bar, load.q, load.point, a, b),
    )
    common = {"depth": stick.section.depth, "left": left.depth, "cut": cut.depth}
    common |= numbers(stick, load.duration, pack)
    own = (f"timber.class.{stick.timber.name}", *FACTORS, "notch.limits")
    capacity = moment_capacity(stick, load.duration, load.k_sys[0], pack, left.modulus)
    bent = {"W": left.modulus, "f_m,k": stick.timber.f_m, "k_sys": load.k_sys[0]}
    bent |= {"k_h": k_h(stick.section.depth, pack)}
    yield Check("ec5.bending", f"bending{place.where}", load.line, moment * 1e-6,
                capacity * 1e-6, "kNm", common | bent, (*own, "ec5.k_h", "ec5.k_sys"))  # fmt: skip
    if cut.edge == "bottom" and at_support(cut, joist):
        yield _end_notch(cut, joist, place, left.depth, pack)
        return
    shear = shear_capacity(stick, load.duration, load.k_sys[1], pack, left.depth)
    sheared = {"f_v,k": stick.timber.f_v, "k_cr": pack["ec5.k_cr"], "k_sys": load.k_sys[1]}
    yield Check("ec5.shear", f"shear{place.where}", load.line, force * 1e-3, shear * 1e-3, "kN",
                common | sheared, (*own, "ec5.k_cr", "ec5.k_sys"))  # fmt: skip


def _beside(cut: Cut, joist: Joist, pack: Pack) -> list[Cut]:
    """Return the other cuts that may weaken a joist at the same place as this one.

    They are nearer than a notch may come to a hole, or where they lie nobody wrote down.
    """
    own, near = reach(cut), pack["notch.limits"]["notch_to_hole"]
    out = []
    for other in joist.cuts:
        theirs = reach(other)
        apart = own and theirs and max(own[0] - theirs[1], theirs[0] - own[1]) >= near
        if other is not cut and not apart:
            out.append(other)
    return out


def _left(section: Section, those: Sequence[Cut]) -> Left:
    """Return what cuts at one place leave; two from the same edge count as the deeper of them."""

    def most(kind: str, *edges: str) -> float:
        return max((c.depth for c in those if c.kind == kind and c.edge in edges), default=0.0)

    # A notch is cut from an edge: one whose edge was called the centre is held as one from above.
    top, bottom = most("notch", "top", "centre"), most("notch", "bottom")
    centred, off = most("hole", "centre"), most("hole", "top", "bottom")
    return section.cut(top, bottom, centred + off, centred=not off)


def _on_bar(cut: Cut, bar: Bar, stick: Stick) -> tuple[float, float]:
    """Return where a cut starts and ends from the first support's middle [mm].

    A cut whose place nobody wrote down is taken at its worst: anywhere.
    """
    ends = reach(cut)
    # From end to end, the worst moment and the worst shear are both in reach.
    if ends is None:
        return 0.0, sum(bar.spans)
    shift = stick.bearings[0] / 2
    return ends[0] + shift, ends[1] + shift


def _end_notch(cut: Cut, joist: Joist, place: _Place, left: float, pack: Pack) -> Check:
    stick, load = place.stick, place.load
    ends, span = reach(cut) or (0.0, 0.0), joist.span.value if joist.span else 0.0
    near = ends[0] <= 0
    inside = max(0.0, ends[1] if near else span - ends[0])
    run = inside + stick.bearings[0 if near else -1] / 2
    factor = k_v(stick.section, left, run, pack) if left > 0 else 0.0
    strength = design(stick.timber.f_v, pack, stick.service_class, load.duration)
    capacity = 2 / 3 * pack["ec5.k_cr"] * stick.section.breadth * left * factor * strength
    span_wide = force_between(place.bar, load.q, load.point, 0.0, sum(place.bar.spans))
    force = load.anywhere[1] if load.anywhere else span_wide
    own = {"h_ef": left, "k_v": factor, "x": run, "f_v,k": stick.timber.f_v}
    own |= {"k_cr": pack["ec5.k_cr"]}
    rules = (f"timber.class.{stick.timber.name}", *FACTORS, "ec5.notch", "ec5.k_cr")
    return Check(
        "ec5.notch.formula",
        f"shear{place.where}",
        load.line,
        force * 1e-3,
        capacity * 1e-3,
        "kN",
        numbers(stick, load.duration, pack) | own,
        rules,
    )
