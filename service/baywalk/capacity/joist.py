"""All checks of one joist, in the order in which a careful person would make them."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from baywalk.capacity import actions, cuts
from baywalk.capacity.effects import Bar, effects, lifted
from baywalk.capacity.sections import Section, Timber
from baywalk.capacity.stiffness import (
    Swung,
    deflection_checks,
    final_limit,
    instantaneous_limit,
    vibration_checks,
)
from baywalk.capacity.strength import Stick, strength_checks

if TYPE_CHECKING:
    from baywalk.capacity.actions import Layer
    from baywalk.capacity.beam import Load
    from baywalk.capacity.check import Check
    from baywalk.capacity.effects import Effects
    from baywalk.capacity.model import Joist, Support
    from baywalk.capacity.setting import Setting
    from baywalk.capacity.sharing import Sharing
    from baywalk.rules import Pack

_WHOLE = (1.0, 1.0)


@dataclass(frozen=True)
class Given:
    """What the checks of a joist need beside the joist itself.

    Attributes:
        setting: what the person asked for. pack: the rules.
        layers: of the floor. sharing: what the neighbours take off it.
        extra: loads of things put on the floor, from the near support's face [mm, N].
        across: the floor's width from wall to wall [mm]; None where not known.
        carried: the heaviest porter, with a share of a thing, that crosses it [N]; 0 for none.
        hung: what an opening's trimmers hang on it from the near support's face [mm, N]: factored,
            and as it is.

    """

    setting: Setting
    pack: Pack
    layers: list[Layer]
    sharing: Sharing
    extra: tuple[Load, ...] = ()
    carried: float = 0.0
    across: float | None = None
    hung: tuple[tuple[Load, ...], tuple[Load, ...]] = ((), ())


class Case:
    """One joist under everything that may load it; its lengths all known [mm]."""

    def __init__(self, joist: Joist, given: Given) -> None:
        """Take a joist for which :func:`missing` finds nothing."""
        self._joist, self._given, self._pack = joist, given, given.pack
        if joist.breadth is None or joist.depth is None or joist.span is None:
            raise ValueError("this joist has no size or no span")
        self.section = Section(joist.breadth.value, joist.depth.value)
        self.timber = Timber.of(joist.grade, given.pack)
        spans, bearings = _spans(joist, given.pack)
        self.spans = spans
        width = joist.width.value if joist.width else 0.0
        self.imposed = actions.imposed(given.setting, given.pack)
        self.g = actions.dead_line(joist, width, given.layers, given.setting, given.pack)
        self.q = actions.imposed_line(self.imposed, width)
        area = self.section.area / float(given.pack["ec5.shear_area"])
        self.bar = Bar(
            spans,
            through=all(support.through for support in joist.supports if not support.lap),
            laps=_laps(joist),
            flexural=self.timber.modulus * self.section.inertia,
            shear=self.timber.shear_modulus * area,
        )
        service = given.setting.service_class
        # Whether the supports stand well apart is judged at the closest two.
        apart = min(spans) - max(bearings)
        self.stick = Stick(
            self.section, self.timber, bearings, service, max(apart, 0.0), self.bar.laps
        )

    def checks(self) -> list[Check]:
        """Return every check, line by line."""
        # The floor load first: it is what people ask for, and readers look for it first.
        use, sharing = self.imposed, self._given.sharing
        out = self._line("floor", self.q, 0.0, use.duration, sharing.k_sys)
        out += self._permanent()
        if use.point:
            point = use.point * 1000
            out += self._line("concentrated", 0.0, point, use.point_duration, _WHOLE)
            kept = point * sharing.k_dist
            shared = self._line("shared", 0.0, kept, use.point_duration, _WHOLE)
            out += [replace(one, rules=(*one.rules, *sharing.rules)) for one in shared]
        if self._given.hung[0]:
            out += self.trimming()
        if self._given.extra:
            out += self._things()
        if self._given.carried:
            out += self._carried()
        if self._given.setting.use in self._pack["ec5.vibration.uses"]:
            out += self._feel()
        return out

    def lifted(self) -> list[int]:
        """Return the supports, from 0 at the near one, that load elsewhere may lift it off."""
        factor = self._pack["ec5.gamma"]["Q"]
        # What holds it down is taken as it is: a factor above 1 on it would be no safety.
        return lifted(self.bar, self.g, (factor * self.q, factor * self.imposed.point * 1000))

    # --- lines of loading -----------------------------------------------------------------

    def _line(
        self, line: str, q: float, point: float, duration: str, k_sys: tuple[float, float]
    ) -> list[Check]:
        """Return strength, sag and cuts under the permanent load with ``q`` or ``point``."""
        gamma = self._pack["ec5.gamma"]
        g, q_d, p_d = gamma["G"] * self.g, gamma["Q"] * q, gamma["Q"] * point
        found = effects(self.bar, g, q_d, p_d)
        out = strength_checks(self.stick, found, line, duration, k_sys, self._pack)
        out += self._sags(line, q, point, ())
        return out + self._cuts(cuts.Loaded(line, g + q_d, p_d, duration, k_sys))

    def _permanent(self) -> list[Check]:
        found = effects(self.bar, self._pack["ec5.gamma"]["G"] * self.g)
        k_sys = self._given.sharing.k_sys
        out = strength_checks(self.stick, found, "permanent", "permanent", k_sys, self._pack)
        line = self._pack["ec5.gamma"]["G"] * self.g
        return out + self._cuts(cuts.Loaded("permanent", line, 0.0, "permanent", k_sys))

    def _cuts(self, load: cuts.Loaded) -> list[Check]:
        return cuts.cut_checks(self._joist, self.bar, self.stick, load, self._pack)

    def trimming(self) -> list[Check]:
        """Return the checks with what an opening's trimmers hang on it, and the floor load too."""
        pack, gamma = self._pack, self._pack["ec5.gamma"]
        hard, soft = (self._from_middle(loads, 1.0) for loads in self._given.hung)
        found = effects(self.bar, gamma["G"] * self.g, gamma["Q"] * self.q, extra=hard)
        out = strength_checks(self.stick, found, "trimming", self.imposed.duration, _WHOLE, pack)
        # All of it is taken to creep, for how much of it stays is not followed through.
        return out + self._sags("trimming", self.q, 0.0, soft)

    def _things(self) -> list[Check]:
        """Return the checks with everything that was put on the floor, and the floor load too.

        What stands on a floor for years is a long load; the worst of the two durations counts.
        """
        gamma = self._pack["ec5.gamma"]
        extra = self._moved(gamma["Q"])
        alone = effects(self.bar, gamma["G"] * self.g, extra=extra)
        both = effects(self.bar, gamma["G"] * self.g, gamma["Q"] * self.q, extra=extra)
        # Without the room the load is long and the timber weaker; with it there is more of it.
        longest = self._stood_on(alone, "long")
        shorter = self._stood_on(both, self.imposed.duration)
        pairs = zip(longest, shorter, strict=True)
        out = [max(pair, key=lambda check: check.utilisation) for pair in pairs]
        return out + self._sags("things", self.q, 0.0, self._moved(1.0))

    def _stood_on(self, found: Effects, duration: str) -> list[Check]:
        out = strength_checks(self.stick, found, "things", duration, _WHOLE, self._pack)
        load = cuts.Loaded("things", 0.0, 0.0, duration, _WHOLE, (found.m, found.v))
        return out + self._cuts(load)

    def _moved(self, factor: float) -> tuple[Load, ...]:
        """Return the things' loads by a factor."""
        return self._from_middle(self._given.extra, factor)

    def _from_middle(self, loads: tuple[Load, ...], factor: float) -> tuple[Load, ...]:
        """Return loads by a factor, from the middle of the near bearing, not its face [mm]."""
        shift = self.stick.bearings[0] / 2
        return tuple(load.moved(shift, factor) for load in loads)

    def _carried(self) -> list[Check]:
        gamma = self._pack["ec5.gamma"]
        point = self._given.carried
        g, p_d = gamma["G"] * self.g, gamma["Q"] * point
        found = effects(self.bar, g, point=p_d)
        out = strength_checks(self.stick, found, "carried", "short", _WHOLE, self._pack)
        return out + self._cuts(cuts.Loaded("carried", g, p_d, "short", _WHOLE))

    # --- sag and feel ---------------------------------------------------------------------

    def _sags(self, line: str, q: float, point: float, extra: tuple[Load, ...]) -> list[Check]:
        setting, pack = self._given.setting, self._pack
        # Creep takes the permanent load whole and of the rest the share that stays.
        k_def: float = pack["ec5.k_def"][setting.service_class]
        stays, psi2 = 1 + k_def, self.imposed.point_psi2 if point else self.imposed.psi2
        creep = 1 + psi2 * k_def
        held = tuple(load.moved(0.0, stays) for load in extra)
        final = effects(self.bar, self.g * stays, q * creep, point * creep, held)
        first = effects(self.bar, self.g, q, point, extra)
        longest = max(self.spans)
        limits = (
            final_limit(longest, setting.ceiling, pack),
            instantaneous_limit(longest, setting.strutting, pack),
        )
        numbers = {"span": longest, "k_def": k_def, "ψ2": psi2, "g": self.g}
        numbers |= {"q": q, "P": point, "E": self.timber.modulus, "G": self.timber.shear_modulus}
        return deflection_checks((final.sag, first.sag), limits, line, numbers)

    def _feel(self) -> list[Check]:
        mass = self.g / float(self._pack["load.gravity"])
        return vibration_checks(
            max(self.spans),
            self.bar.flexural,
            mass,
            self._given.sharing.felt,
            self._pack,
            through=len(self.spans) > 1 + len(self.bar.laps) and self.bar.through,
            swung=self._swung(),
        )

    def _swung(self) -> Swung | None:
        """Return the floor that a blow sets going; None where its width or deck is not known."""
        strip, wide = self._joist.width, self._given.across
        across = self._given.sharing.across
        if strip is None or not wide or across <= 0:
            return None
        bare = self.section.area * self.timber.density * 1e-9
        return Swung(wide, strip.value, across, bare)


def _spans(joist: Joist, pack: Pack) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the spans between the middles of bearings, and the bearings, in order [mm].

    The outer supports' middles lie half a bearing beyond their faces.
    """
    if joist.span is None:
        raise ValueError("this joist has no span")
    unread = float(pack["span.bearing.unread"])
    near = joist.near.value if joist.near else unread
    far = joist.far.value if joist.far else unread
    inner = _inner(joist)
    places = [-near / 2, *(s.place for s in inner), joist.span.value + far / 2]
    spans = tuple(b - a for a, b in itertools.pairwise(places))
    between = tuple(s.bearing if s.bearing is not None else unread for s in inner)
    return spans, (near, *between, far)


def _inner(joist: Joist) -> list[Support]:
    """Return the supports between a joist's ends: one beyond them is no support of this joist."""
    span = joist.span.value if joist.span else 0.0
    return [support for support in joist.supports if 0 < support.place < span]


def _laps(joist: Joist) -> tuple[int, ...]:
    """Return the numbers of the supports, from 0 at the near one, over which timbers lap."""
    return tuple(k for k, support in enumerate(_inner(joist), start=1) if support.lap)


def missing(joist: Joist) -> list[str]:
    """Return, in words, what must be known of a joist before it can be checked."""
    wanted = {
        "its breadth": joist.breadth,
        "its depth": joist.depth,
        "its span": joist.span,
        "the bays beside it": joist.width,
    }
    return [*(words for words, known in wanted.items() if known is None), *joist.unmeasured]


def shifted(joist: Joist, name: str, steps: float) -> Joist:
    """Return a joist with one of its lengths moved by so many standard deviations."""
    figure = getattr(joist, name)
    # A length known worse than itself cannot shrink past nothing.
    value = max(figure.value + steps * figure.sd, figure.value / 10)
    return replace(joist, **{name: figure._replace(value=value)})
