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
    from baywalk.capacity.check import Check
    from baywalk.capacity.model import Joist, Point, Run
    from baywalk.capacity.setting import Setting
    from baywalk.rules import Pack

Corners = tuple["Point", ...]
_WHOLE = (1.0, 1.0)


@dataclass(frozen=True)
class Tail:
    """What is left of a cut joist on one side of an opening.

    ``at`` is its place along the trimmer [mm], ``length`` its own [mm].
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
    if joist.line is None or joist.span is None or not corners:
        return None
    (x0, y0), (x1, y1) = joist.line
    reach = math.dist((x0, y0), (x1, y1)) or 1.0
    ux, uy = (x1 - x0) / reach, (y1 - y0) / reach
    # In the joist's own directions: along it, and off to its right.
    along = [(x - x0) * ux + (y - y0) * uy for x, y in corners]
    off = [(x - x0) * uy - (y - y0) * ux for x, y in corners]
    half = (joist.breadth.value if joist.breadth else 0.0) / 2
    # A board's thickness of overlap is a matter of the tape, not a cut.
    if max(off) <= 1.0 - half or min(off) >= half - 1.0:
        return None
    a, b = max(0.0, min(along)), min(joist.span.value, max(along))
    return (a, b) if b > a else None


def openings(
    run: Run, setting: Setting, given: dict[int, Given], pack: Pack
) -> list[dict[str, Any]]:
    """Return what is to be said of each opening of a run; forces in kN, lengths in mm."""
    return [_opening(run, name, corners, setting, given, pack) for name, corners in run.openings]


def _opening(
    run: Run, name: str, corners: Corners, setting: Setting, given: dict[int, Given], pack: Pack
) -> dict[str, Any]:
    if not corners or any(joist.line is None for joist in run.joists):
        return _unplaced(name)
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
    worked = _Trimmed(cut, sides, corners, given, pack)
    trimmers, trimming = worked.trimmers(), worked.trimming()
    say = (
        f"{', '.join(f'J{joist.index}' for joist in cut)} cut. What the trimmers, the trimming "
        "joists and their hangers would carry is worked out here to talk about, not to build "
        f"from. {ENGINEER}"
    )
    return {**out, "trimmers": trimmers, "trimming": trimming, "say": say}


def _unplaced(name: str) -> dict[str, Any]:
    say = (
        "Where this opening lies among the joists is not known, so neither is what it cuts. "
        f"Nothing is worked out for it. {ENGINEER}"
    )
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


class _Trimmed:
    """The timbers about one opening."""

    def __init__(
        self,
        cut: list[Joist],
        sides: tuple[Joist, Joist],
        corners: Corners,
        given: dict[int, Given],
        pack: Pack,
    ) -> None:
        self._cut, self._sides_, self._given, self._pack = cut, sides, given, pack
        self._meets = {joist.index: _crossing(joist, corners) or (0.0, 0.0) for joist in cut}
        self._cases = {joist.index: Case(joist, given[joist.index]) for joist in (*cut, *sides)}
        self._span = sum(_apart(joist) for joist in (sides[0], *cut))

    def trimmers(self) -> list[dict[str, Any]]:
        """Return the two trimmers, each with what it carries and which timbers take it."""
        out = []
        for end in ("near", "far"):
            tails = self._tails(end)
            loads = tuple(beam.Point(tail.at, self._pull(tail, ultimate=True)) for tail in tails)
            hangers = [round(load.force / 1000, 3) for load in loads]
            ends = beam.solve((0.0, self._span), loads, 1.0).reactions
            out.append(
                {
                    "end": end,
                    "span": round(self._span, 1),
                    "hangers": hangers,
                    "end_hangers": [round(r / 1000, 3) for r in ends],
                    "rule": "span.hanger",
                    "options": [self._option(w, s, tails) for w, s in self._timbers()],
                }
            )
        return out

    def trimming(self) -> list[dict[str, Any]]:
        """Return the two trimming joists with the trimmers' ends upon them."""
        return [
            {
                "joist": side.index,
                "options": [
                    _told(what, self._trimming_checks(side, number, section))
                    for what, section in self._timbers(side)
                ],
            }
            for number, side in enumerate(self._sides_)
        ]

    def _timbers(self, like: Joist | None = None) -> list[tuple[str, Section]]:
        """Return the timbers to try: one like the common joists, a thicker one, two together."""
        case = self._cases[(like or self._cut[0]).index]
        b, h = case.section.breadth, case.section.depth
        wider = self._pack["span.trimmer.wider"]
        return [
            ("single", case.section),
            ("thicker", Section(b + wider, h)),
            ("doubled", Section(2 * b, h)),
        ]

    def _tails(self, end: str) -> list[Tail]:
        tails, at = [], _apart(self._sides_[0])
        for joist in self._cut:
            a, b = self._meets[joist.index]
            span = joist.span.value if joist.span else 0.0
            tails.append(Tail(at, a if end == "near" else span - b, joist))
            at += _apart(joist)
        return tails

    def _pull(self, tail: Tail, *, ultimate: bool) -> float:
        """Return what a tail hangs on its trimmer [N], the heaviest person at its end counted."""
        case, gamma = self._cases[tail.joist.index], self._pack["ec5.gamma"]
        g, q = (gamma["G"], gamma["Q"]) if ultimate else (1.0, 1.0)
        spread = (g * case.g + q * case.q) * tail.length / 2
        # Somebody will stand at the edge of the hole, and on its end most of all.
        person = g * case.g * tail.length / 2 + q * case.imposed.point * 1000
        return max(spread, person) if ultimate else spread

    def _option(self, what: str, section: Section, tails: list[Tail]) -> dict[str, Any]:
        case = self._cases[self._cut[0].index]
        bar = _bar(case, section, (self._span,), self._pack)
        stick = replace(case.stick, section=section, apart=self._span)
        hard = tuple(beam.Point(t.at, self._pull(t, ultimate=True)) for t in tails)
        soft = tuple(beam.Point(t.at, self._pull(t, ultimate=False)) for t in tails)
        # Its own weight and floor are small beside what hangs on it and come in with the tails.
        checks = self._checked(case, bar, stick, (0.0, 0.0), (hard, soft))
        # A trimmer hangs on its hangers: it bears on nothing.
        return _told(what, [check for check in checks if not check.name.startswith("bearing")])

    def _trimming_checks(self, side: Joist, number: int, section: Section) -> list[Check]:
        case, pack = self._cases[side.index], self._pack
        shift = case.stick.bearings[0] / 2
        loads: list[list[beam.Load]] = [[], []]
        for end in ("near", "far"):
            tails = self._tails(end)
            a, b = self._meets[(self._cut[0] if number == 0 else self._cut[-1]).index]
            place = (a if end == "near" else b) + shift
            for which, ultimate in enumerate((True, False)):
                on = tuple(beam.Point(t.at, self._pull(t, ultimate=ultimate)) for t in tails)
                pull = beam.solve((0.0, self._span), on, 1.0).reactions[number]
                loads[which].append(beam.Point(min(place, case.spans[0]), pull))
        gamma = pack["ec5.gamma"]
        bar = _bar(case, section, case.spans[:1], pack)
        stick = replace(case.stick, section=section)
        own = (gamma["G"] * case.g + gamma["Q"] * case.q, case.g + case.q)
        return self._checked(case, bar, stick, own, (tuple(loads[0]), tuple(loads[1])))

    def _checked(
        self,
        case: Case,
        bar: Bar,
        stick: Stick,
        own: tuple[float, float],
        extra: tuple[tuple[beam.Load, ...], tuple[beam.Load, ...]],
    ) -> list[Check]:
        pack, setting = self._pack, self._given[self._cut[0].index].setting
        found = effects(bar, own[0], extra=extra[0])
        out = strength_checks(stick, found, "floor", case.imposed.duration, _WHOLE, pack)
        sag = effects(bar, own[1], extra=extra[1]).sag
        span = max(bar.spans)
        creep = 1 + float(pack["ec5.k_def"][setting.service_class])
        limits = (
            final_limit(span, setting.ceiling, pack),
            instantaneous_limit(span, setting.strutting, pack),
        )
        # All of it is taken to creep, for how much of it stays is not followed through.
        return out + deflection_checks((sag * creep, sag), limits, "floor", {"span": span})


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
