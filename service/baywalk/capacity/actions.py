"""The loads: what the use of the floor brings, and what the floor itself weighs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from baywalk.capacity import practice
from baywalk.capacity.sections import Section, Timber

if TYPE_CHECKING:
    from baywalk.capacity.model import Joist, Run
    from baywalk.capacity.setting import Setting
    from baywalk.rules import Pack

_PER_AREA = 1e-3
"""From kN/m² to N/mm²."""


@dataclass(frozen=True)
class Imposed:
    """What the use brings.

    ``spread`` [kN/m²] over the floor, ``point`` [kN] at any one place, how long each stays, and
    ``psi2`` and ``point_psi2``, the share of each that counts for creep. The two never stand on the
    floor at once (EN 1991-1-1 6.2.1(3)).
    """

    spread: float
    point: float
    duration: str
    point_duration: str
    psi2: float
    point_psi2: float


@dataclass(frozen=True)
class Layer:
    """One layer of the floor: its ``load`` [kN/m²] and the rule that gives it."""

    name: str
    load: float
    rule: str

    def json(self) -> dict[str, Any]:
        """Return it for a file."""
        return {"name": self.name, "load": round(self.load, 4), "rule": self.rule}


def imposed(setting: Setting, pack: Pack) -> Imposed:
    """Return the loads of the use, the person's own figures in place of the pack's."""
    rule = pack[f"load.use.{setting.use}"]
    spread = rule["distributed"] if setting.imposed is None else setting.imposed
    more = practice.spread(setting, pack)
    # A partition too heavy to be spread counts as a metre's weight on every square metre.
    spread += more if more is not None else setting.partition[1] if setting.partition else 0.0
    lasting = rule["duration"], rule["duration"], rule["psi2"], rule["psi2"]
    if setting.point is not None:
        # Nobody knows what the person's own load is: it is taken to stay as goods do.
        return Imposed(spread, setting.point, *lasting)
    stays = rule["duration"], rule["point_duration"], rule["psi2"], rule["point_psi2"]
    return Imposed(spread, rule["point"], *stays)


def layers(run: Run, setting: Setting, deck: float, pack: Pack) -> list[Layer]:
    """Return the layers of a floor, joists left out; ``deck`` is the boards' thickness [mm].

    Empty where the person gave all permanent load: nothing is then added to it.
    """
    if setting.dead is not None:
        return []
    gravity = pack["load.gravity"]
    boards = deck / 1000 * pack["load.layer.board"] * gravity / 1000
    # An unknown ceiling may be the heavy old one, and often is.
    ceiling = "plasterboard" if setting.ceiling == "plasterboard" else "plaster"
    depth = pack["load.layer.insulation.depth"] if run.insulation is None else run.insulation
    # Joists are a layer too; their weight is per joist and comes in with the line load.
    out = [
        Layer("deck", boards, "load.layer.board"),
        Layer("ceiling", pack[f"load.layer.{ceiling}"], f"load.layer.{ceiling}"),
        Layer("insulation", depth * pack["load.layer.insulation"], "load.layer.insulation"),
        Layer("services", pack["load.layer.services"], "load.layer.services"),
    ]
    return [one for one in out if one.name != "ceiling" or setting.ceiling != "none"]


def dead_line(
    joist: Joist, width: float, layered: list[Layer], setting: Setting, pack: Pack
) -> float:
    """Return the permanent load along a joist that carries a ``width`` of floor [mm], in N/mm."""
    # Given means all of it: adding the joists again would count them twice.
    if setting.dead is not None:
        return setting.dead * _PER_AREA * width
    floor = sum(layer.load for layer in layered) * _PER_AREA * width
    return floor + own_weight(joist, pack)


def own_weight(joist: Joist, pack: Pack) -> float:
    """Return what a joist's own timber weighs, in N/mm; 0 where its size is not known."""
    if joist.breadth is None or joist.depth is None:
        return 0.0
    section = Section(joist.breadth.value, joist.depth.value)
    density = Timber.of(joist.grade, pack).density
    return section.area * density * float(pack["load.gravity"]) * 1e-9


def imposed_line(load: Imposed, width: float) -> float:
    """Return the use's spread load along a joist that carries a ``width`` of floor [mm], N/mm."""
    return load.spread * _PER_AREA * width
