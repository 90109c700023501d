"""Openings: what trimmers and trimming joists carry, and which timbers would take it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from baywalk.capacity import beam
from baywalk.capacity.check import worst
from baywalk.capacity.effects import Bar, effects
from baywalk.capacity.joist import Case, Given, missing
from baywalk.capacity.roof import ENGINEER, roof
from baywalk.capacity.sections import Section
from baywalk.capacity.stiffness import deflection_checks, final_limit, instantaneous_limit
from baywalk.capacity.strength import Stick, strength_checks

if TYPE_CHECKING:
    from collections.abc import Callable

    from baywalk.capacity.check import Check
    from baywalk.capacity.model import Joist, Point, Run
    from baywalk.capacity.setting import Setting
    from baywalk.rules import Pack

Corners = tuple["Point", ...]
_WHOLE = (1.0, 1.0)


@dataclass(frozen=True)
class Tail:
    """What is left of a cut joist on one side of an opening.

    ``at`` is its place along the trimmer [mm], ``length`` its span from bearing to trimmer [mm].
    """

    at: float
    length: float
    joist: Joist


def cut_joists(run: Run, corners: Corners) -> list[Joist]:
    """Return the joists that cannot pass an opening whole."""
    return [joist for joist in run.joists if _crossing(joist, corners) is not None]


def _crossing(joist: Joist, corners: Corners) -> tuple[float, float] | None:
    """Return where a joist meets an opening, from its near support's face [mm]; None if it misses.

    The joist has its breadth: it is cut where any of that lies in the opening.
    """
    beside = _beside(joist, corners)
    if beside is None:
        return None
    along, off = beside
    half = (joist.breadth.value if joist.breadth else 0.0) / 2
    # A board's thickness of overlap is a matter of the tape, not a cut.
    if max(off) <= 1.0 - half or min(off) >= half - 1.0:
        return None
    return _stretch(joist, along)


def _beside(joist: Joist, corners: Corners) -> tuple[list[float], list[float]] | None:
    """Return corners in a joist's own directions [mm]: along it, and off to its right."""
    if joist.line is None or joist.span is None or not corners:
        return None
    (x0, y0), (x1, y1) = joist.line
    reach = math.dist((x0, y0), (x1, y1)) or 1.0
    ux, uy = (x1 - x0) / reach, (y1 - y0) / reach
    along = [(x - x0) * ux + (y - y0) * uy for x, y in corners]
    return along, [(x - x0) * uy - (y - y0) * ux for x, y in corners]


def _stretch(joist: Joist, along: list[float]) -> tuple[float, float] | None:
    """Return the part of a joist's span that places along it reach over [mm]; None for none."""
    span = joist.span.value if joist.span else 0.0
    a, b = max(0.0, min(along)), min(span, max(along))
    return (a, b) if b > a else None


Hung = tuple[tuple[beam.Load, ...], tuple[beam.Load, ...]]
"""What trimmers hang on a joist from its near support's face [mm, N]: factored, and as it is."""


def hung(run: Run, joist: Joist, given: Callable[[Joist], Given], pack: Pack) -> Hung | None:
    """Return what openings hang on a joist that stands beside them; None where it is not known.

    A joist beside no opening that cuts one has nothing hung on it. ``given`` makes what a cut
    joist's own loads come from.
    """
    hard: list[beam.Load] = []
    soft: list[beam.Load] = []
    for _, corners in run.openings:
        cut = cut_joists(run, corners)
        sides = [k.index for k in cut]
        if joist.index not in (min(sides, default=1) - 1, max(sides, default=-1) + 1):
            continue
        found = _hole(run, cut, corners, given, pack)
        if found is None or (on := found.on(joist)) is None:
            return None
        hard, soft = [*hard, *on[0]], [*soft, *on[1]]
    return tuple(hard), tuple(soft)


def carries_trimmers(joist: Joist) -> str:
    """Say of a joist beside an opening that what hangs on it is counted, and who designs it."""
    return (
        f"J{joist.index} carries the trimmers of an opening; its checks count them. It is "
        f"doubled or thicker in common practice. {ENGINEER}"
    )


def beside_an_opening(joist: Joist) -> str:
    """Say that what an opening hangs on a joist is not known."""
    return (
        f"J{joist.index} stands beside an opening that cuts a joist, and what hangs on it there is "
        "not known: it lies by a wall, or something of it was not measured. The checks here are "
        f"without it. {ENGINEER}"
    )


def openings(
    run: Run, setting: Setting, given: dict[int, Given], pack: Pack
) -> list[dict[str, Any]]:
    """Return what is to be said of each opening of a run; forces in kN, lengths in mm."""
    return [_opening(run, name, corners, setting, given, pack) for name, corners in run.openings]


def _opening(
    run: Run, name: str, corners: Corners, setting: Setting, given: dict[int, Given], pack: Pack
) -> dict[str, Any]:
    unplaced = [joist for joist in run.joists if joist.line is None]
    if not corners or unplaced:
        return _unplaced(name, unplaced if corners else [])
    cut = cut_joists(run, corners)
    out: dict[str, Any] = {"id": name, "cut": [joist.index for joist in cut], "roof": None}
    out |= {"trimmers": [], "trimming": [], "access": _access(corners, pack)}
    if not cut:
        return {**out, "say": "No joist is cut by this opening."}
    asked = roof({**run.roof, **setting.roof})
    out["roof"] = asked
    if asked["stop"]:
        return {**out, "say": asked["say"]}
    sides = _sides(run, cut)
    if sides is None or any(missing(joist) for joist in (*cut, *sides)):
        say = "The joists beside this opening are not known well enough to say what they carry."
        return {**out, "say": f"{say} {ENGINEER}"}
    hole = _Hole(cut, sides, corners, given, pack)
    worked = _Trimmed(hole, given, pack)
    trimmers, trimming = worked.trimmers(), worked.trimming()
    say = (
        f"{', '.join(f'J{joist.index}' for joist in cut)} cut. What the trimmers, the trimming "
        "joists and their hangers would carry is worked out here to talk about, not to build "
        f"from. {ENGINEER}"
    )
    return {**out, "trimmers": trimmers, "trimming": trimming, "say": say}


def _unplaced(name: str, joists: list[Joist]) -> dict[str, Any]:
    """Say that it is not known what an opening cuts: for want of these joists' places, if any."""
    why = "Where this opening lies among the joists is not known, so neither is what it cuts."
    if unread := [f"J{joist.index}" for joist in joists if joist.span is None]:
        why = f"What this opening cuts is not known: no span was read of {', '.join(unread)}."
    say = f"{why} Nothing is worked out for it. {ENGINEER}"
    empty: dict[str, Any] = {"cut": [], "roof": None, "trimmers": [], "trimming": []}
    return {"id": name, **empty, "access": None, "say": say}


def _access(corners: Corners, pack: Pack) -> dict[str, Any]:
    least = pack["opening.least"]
    clear = [math.dist(corners[0], corners[1]), math.dist(corners[1], corners[2])]
    holds = min(clear) >= least
    say = "" if holds else f"A loft hatch measures at least {least} mm each way; this does not."
    return {
        "rule": "opening.least",
        "clear": [round(c, 1) for c in clear],
        "holds": holds,
        "say": say,
    }


def _sides(run: Run, cut: list[Joist]) -> tuple[Joist, Joist] | None:
    """Return the joists on either side of those that are cut, or None where there is a wall."""
    by = {joist.index: joist for joist in run.joists}
    left, right = by.get(cut[0].index - 1), by.get(cut[-1].index + 1)
    return None if left is None or right is None else (left, right)


def adrift(run: Run, joist: Joist) -> list[str]:
    """Say, where it is so, that nobody knows whether an opening cuts a joist."""
    if not any(not corners or joist.line is None for _, corners in run.openings):
        return []
    return [
        (
            f"Whether an opening cuts J{joist.index}, or hangs on it, is not known: its place or "
            "the joist's is not tied to the plane. The checks here are of a whole joist alone."
        )
    ]


def _hole(
    run: Run, cut: list[Joist], corners: Corners, given: Callable[[Joist], Given], pack: Pack
) -> _Hole | None:
    """Return an opening with what hangs about it; None where not all of it is known."""
    sides = _sides(run, cut)
    if sides is None or any(missing(one) for one in (*cut, *sides)):
        return None
    return _Hole(cut, sides, corners, {one.index: given(one) for one in cut}, pack)


class _Hole:
    """An opening, the joists it cuts and the loads that their tails hang about it."""

    def __init__(
        self,
        cut: list[Joist],
        sides: tuple[Joist, Joist],
        corners: Corners,
        given: dict[int, Given],
        pack: Pack,
    ) -> None:
        self.cut, self.sides, self._corners, self._pack = cut, sides, corners, pack
        self._meets = {joist.index: _crossing(joist, corners) or (0.0, 0.0) for joist in cut}
        self.cases = {joist.index: Case(joist, given[joist.index]) for joist in cut}
        self.span = sum(_apart(joist) for joist in (sides[0], *cut))

    def tails(self, end: str) -> list[Tail]:
        """Return what is left of the cut joists at an end of the opening."""
        tails, at = [], _apart(self.sides[0])
        for joist in self.cut:
            a, b = self._meets[joist.index]
            span = joist.span.value if joist.span else 0.0
            near = end == "near"
            bearing = self.cases[joist.index].stick.bearings[0 if near else -1]
            # From the middle of its bearing, as every span is.
            tails.append(Tail(at, (a if near else span - b) + bearing / 2, joist))
            at += _apart(joist)
        return tails

    def pull(self, tail: Tail, *, ultimate: bool) -> float:
        """Return what a tail hangs on its trimmer [N], the heaviest person at its end counted."""
        case, gamma = self.cases[tail.joist.index], self._pack["ec5.gamma"]
        g, q = (gamma["G"], gamma["Q"]) if ultimate else (1.0, 1.0)
        spread = (g * case.g + q * case.q) * tail.length / 2
        # Somebody will stand at the edge of the hole, and on its end most of all.
        person = g * case.g * tail.length / 2 + q * case.imposed.point * 1000
        return max(spread, person) if ultimate else spread

    def loads(self, end: str, *, ultimate: bool) -> tuple[beam.Load, ...]:
        """Return what hangs on the trimmer at an end, from the first joist beside it [mm, N]."""
        return tuple(beam.Point(t.at, self.pull(t, ultimate=ultimate)) for t in self.tails(end))

    def ends(self, end: str, *, ultimate: bool) -> tuple[float, ...]:
        """Return what the trimmer at an end hangs on the two joists beside the opening [N]."""
        return beam.solve((0.0, self.span), self.loads(end, ultimate=ultimate), 1.0).reactions

    def on(self, side: Joist) -> Hung | None:
        """Return what hangs on a joist beside it; None where it does not reach along that joist."""
        beside = _beside(side, self._corners)
        places = _stretch(side, beside[0]) if beside else None
        if places is None or self.span <= 0:
            return None
        number = 0 if side.index == self.sides[0].index else 1
        hard, soft = (
            tuple(
                beam.Point(place, self.ends(end, ultimate=ultimate)[number])
                for place, end in zip(places, ("near", "far"), strict=True)
            )
            for ultimate in (True, False)
        )
        return hard, soft


class _Trimmed:
    """The timbers that would frame an opening."""

    def __init__(self, hole: _Hole, given: dict[int, Given], pack: Pack) -> None:
        self._hole, self._given, self._pack = hole, given, pack

    def trimmers(self) -> list[dict[str, Any]]:
        """Return the two trimmers, each with what it carries and which timbers take it."""
        out = []
        for end in ("near", "far"):
            loads = self._hole.loads(end, ultimate=True)
            ends = self._hole.ends(end, ultimate=True)
            out.append(
                {
                    "end": end,
                    "span": round(self._hole.span, 1),
                    "hangers": [round(_force(load) / 1000, 3) for load in loads],
                    "end_hangers": [round(r / 1000, 3) for r in ends],
                    "rule": "span.hanger",
                    "options": [self._option(w, s, end) for w, s in self._timbers()],
                }
            )
        return out

    def trimming(self) -> list[dict[str, Any]]:
        """Return the two trimming joists with the trimmers' ends upon them."""
        return [
            {
                "joist": side.index,
                "options": [
                    _told(what, self._trimming_checks(side, section))
                    for what, section in self._timbers(side)
                ],
            }
            for side in self._hole.sides
        ]

    def _timbers(self, like: Joist | None = None) -> list[tuple[str, Section]]:
        """Return the timbers to try: one like the common joists, a thicker one, two together."""
        joist = like or self._hole.cut[0]
        section = Case(joist, self._given[joist.index]).section
        b, h = section.breadth, section.depth
        wider = self._pack["span.trimmer.wider"]
        return [
            ("single", section),
            ("thicker", Section(b + wider, h)),
            ("doubled", Section(2 * b, h)),
        ]

    def _option(self, what: str, section: Section, end: str) -> dict[str, Any]:
        hole = self._hole
        case = hole.cases[hole.cut[0].index]
        bar = _bar(case, section, (hole.span,), self._pack)
        stick = replace(case.stick, section=section, apart=hole.span)
        hung_on = hole.loads(end, ultimate=True), hole.loads(end, ultimate=False)
        # Its own weight and floor are small beside what hangs on it and come in with the tails.
        checks = self._checked(case, bar, stick, hung_on)
        # A trimmer hangs on its hangers: it bears on nothing.
        return _told(what, [check for check in checks if not check.name.startswith("bearing")])

    def _trimming_checks(self, side: Joist, section: Section) -> list[Check]:
        """Return the checks of a joist beside it, of another section, with what hangs on it."""
        if side.breadth is None:
            return []
        thick = replace(side, breadth=side.breadth._replace(value=section.breadth))
        on = self._hole.on(side) or ((), ())
        return Case(thick, replace(self._given[side.index], hung=on)).trimming()

    def _checked(
        self,
        case: Case,
        bar: Bar,
        stick: Stick,
        extra: Hung,
    ) -> list[Check]:
        pack, setting = self._pack, self._given[self._hole.cut[0].index].setting
        found = effects(bar, 0.0, extra=extra[0])
        out = strength_checks(stick, found, "floor", case.imposed.duration, _WHOLE, pack)
        sag = effects(bar, 0.0, extra=extra[1]).sag
        span = max(bar.spans)
        creep = 1 + float(pack["ec5.k_def"][setting.service_class])
        limits = (
            final_limit(span, setting.ceiling, pack),
            instantaneous_limit(span, setting.strutting, pack),
        )
        # All of it is taken to creep, for how much of it stays is not followed through.
        return out + deflection_checks((sag * creep, sag), limits, "floor", {"span": span})


def _force(load: beam.Load) -> float:
    return load.force if isinstance(load, beam.Point) else 0.0


def _apart(joist: Joist) -> float:
    return joist.right or 0.0


def _bar(case: Case, section: Section, spans: tuple[float, ...], pack: Pack) -> Bar:
    area = section.area / float(pack["ec5.shear_area"])
    return Bar(
        spans,
        through=True,
        flexural=case.timber.modulus * section.inertia,
        shear=case.timber.shear_modulus * area,
    )


def _told(what: str, checks: list[Check]) -> dict[str, Any]:
    decides = worst(checks)
    return {
        "what": what,
        "utilisation": round(decides.utilisation, 6) if decides else None,
        "check": decides.name if decides else None,
        "holds": all(check.holds for check in checks),
    }
