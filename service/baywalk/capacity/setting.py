"""What the person says of the floor to be: its use, its weight, its deck, what stands on it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NoReturn

from baywalk.capacity.errors import BadCapacityInput
from baywalk.capacity.things import Thing, plain_number, read_thing

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from baywalk.rules import Pack

USES = ("storage", "occasional", "domestic")
CEILINGS = ("unknown", "plaster", "plasterboard", "none")
STRUTTING = ("unknown", "yes", "no")
ROOF: dict[str, tuple[str, ...]] = {
    "trussed": ("yes", "no"),
    "ties": ("yes", "no"),
    "fixing": ("bolted", "nailed", "none"),
    "plate": ("fixed", "loose"),
    "purlins": ("yes", "no"),
    "collars": ("yes", "no"),
}
"""The questions about the roof, in the order in which they are asked, and their answers."""


@dataclass(frozen=True)
class Setting:
    """Everything that is asked for beside the as-built.

    Attributes:
        use: one of :data:`USES`.
        dead: all permanent load, joists included [kN/m²]; None has it built from layers.
        imposed: the person's own load in place of the use's [kN/m²]; point: the same [kN].
        ceiling, strutting: one of :data:`CEILINGS`, :data:`STRUTTING`.
        deck: thickness of the boards [mm]; None takes the one that the centres need.
        service_class: ``1``, ``2`` or ``3``.
        things: what is put on the floor.
        partition: ``along`` or ``across`` the joists, and its weight [kN per m].
        roof: answers to :data:`ROOF`.

    """

    use: str = "storage"
    dead: float | None = None
    imposed: float | None = None
    point: float | None = None
    ceiling: str = "unknown"
    strutting: str = "unknown"
    deck: float | None = None
    service_class: str = "2"
    things: tuple[Thing, ...] = ()
    partition: tuple[str, float] | None = None
    roof: dict[str, str] = field(default_factory=dict)


def read_setting(given: Mapping[str, Sequence[str]], pack: Pack) -> Setting:
    """Return the setting that texts by name ask for; raise BadCapacityInput for the first fault.

    ``thing`` may come many times; every other name once.
    """
    for name, texts in given.items():
        if name not in _ASKED:
            _fail(name, "is not asked for here")
        if len(texts) != 1 and name != "thing":
            _fail(name, "comes twice")
    # Every name but one is asked once; twice would leave open which counts.
    one = {name: texts[0] for name, texts in given.items() if name != "thing"}
    most = pack["load.most"]
    return Setting(
        use=_choice(one, "use", USES, "storage"),
        dead=_number(one, "dead", most["dead"]),
        imposed=_number(one, "imposed", most["imposed"]),
        point=_number(one, "point", most["point"]),
        ceiling=_choice(one, "ceiling", CEILINGS, "unknown"),
        strutting=_choice(one, "strutting", STRUTTING, "unknown"),
        deck=_number(one, "deck", most["deck"]),
        service_class=_choice(one, "service_class", tuple(pack["ec5.k_mod"]), _class(pack)),
        things=tuple(read_thing(text, pack) for text in given.get("thing", ())),
        partition=_partition(one, most["partition"]),
        roof=_roof(one.get("roof", "")),
    )


_ASKED = (
    "use", "dead", "imposed", "point", "ceiling", "strutting", "deck", "service_class", "thing",
    "partition", "roof",
)  # fmt: skip


def _class(pack: Pack) -> str:
    return str(pack["ec5.service_class"])


def _fail(name: str, why: str) -> NoReturn:
    raise BadCapacityInput(name, why, "What is asked")


def _choice(one: Mapping[str, str], name: str, known: tuple[str, ...], usual: str) -> str:
    value = one.get(name, usual)
    if value not in known:
        _fail(name, f"must be one of {', '.join(known)}")
    return value


def _number(one: Mapping[str, str], name: str, most: float) -> float | None:
    if name not in one:
        return None
    value = plain_number(one[name])
    if value is None:
        _fail(name, "must be a number")
    if not 0 <= value <= most:
        _fail(name, f"must be from 0 to {most:g}")
    return value


def _partition(one: Mapping[str, str], most: float) -> tuple[str, float] | None:
    """Return the way and the weight of ``along,0.9``."""
    if "partition" not in one:
        return None
    way, _, weight = one["partition"].partition(",")
    if way not in ("along", "across"):
        _fail("partition", "must be along or across, and its weight, such as along,0.9")
    number = _number({"partition": weight}, "partition", most)
    return way, number or 0.0


def _roof(text: str) -> dict[str, str]:
    """Return the answers of ``trussed=no,ties=yes``."""
    answers: dict[str, str] = {}
    for part in filter(None, text.split(",")):
        name, _, value = (word.strip() for word in part.partition("="))
        if name not in ROOF:
            _fail("roof", f"asks {', '.join(ROOF)}, and not {name[:20]!r}")
        if value not in (*ROOF[name], "unknown"):
            _fail("roof", f"{name} must be one of {', '.join(ROOF[name])}, unknown")
        if name in answers:
            _fail("roof", f"{name} comes twice")
        answers[name] = value
    return answers
