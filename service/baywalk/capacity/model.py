"""What the load check knows of a loft: runs, joists, what is cut into them, what they bear on."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

Point = tuple[float, float]


class Figure(NamedTuple):
    """A length ``value`` and its standard deviation ``sd`` [mm]."""

    value: float
    sd: float


@dataclass(frozen=True)
class Cut:
    """A notch or a hole in a joist.

    Attributes:
        kind: ``notch`` or ``hole``. edge: ``top``, ``bottom`` or ``centre``.
        depth: of the notch, or the hole's diameter [mm]. length: along the joist [mm].
        place: from the face of the near support to its middle [mm]; None where not known.
        id: of the feature, "" where it has none.

    """

    kind: str
    edge: str
    depth: float
    length: float
    place: float | None
    id: str = ""


@dataclass(frozen=True)
class Support:
    """A support between a joist's ends, such as a spine wall.

    Attributes:
        place: from the face of the near support to its middle [mm].
        bearing: how long the joist bears on it [mm]; None where not known.
        through: whether the joist is known to run over it in one piece.
        lap: whether two timbers are known to lap over it, side by side.

    """

    place: float
    bearing: float | None
    through: bool
    lap: bool = False


@dataclass(frozen=True)
class Joist:
    """One joist as surveyed; None where nothing says.

    Attributes:
        index: its number. breadth, depth: of the section [mm], all plies together.
        grade: strength class. plies: timbers side by side.
        span: clear span [mm]. near, far: its bearings [mm].
        left, right: centres to its neighbours [mm]; None beside a wall.
        width: of the floor it carries [mm].
        line: its two ends in the plane [mm], from the near support to the far one.
        cuts, supports: what is cut into it, what it bears on between its ends.
        damage: ``split`` or ``decay``. cautions: what was taken for want of a reading.
        unmeasured: what is on it and was not measured, in words.

    """

    index: int
    breadth: Figure | None
    depth: Figure | None
    grade: str
    plies: int
    span: Figure | None
    near: Figure | None
    far: Figure | None
    left: float | None
    right: float | None
    width: Figure | None
    line: tuple[Point, Point] | None = None
    cuts: tuple[Cut, ...] = ()
    supports: tuple[Support, ...] = ()
    damage: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    unmeasured: tuple[str, ...] = ()


@dataclass(frozen=True)
class Run:
    """One run of joists.

    Attributes:
        id, title: its names. joists: in order.
        across: the floor's width from wall to wall [mm]; None where not known.
        insulation: its greatest depth as written down [mm]; None where it was not.
        openings: corners of each opening [mm] with its id.
        roof: answers about the roof that were written down.
        cautions: what could not be put to any joist.

    """

    id: str
    title: str
    joists: tuple[Joist, ...]
    across: float | None = None
    insulation: float | None = None
    openings: tuple[tuple[str, tuple[Point, ...]], ...] = ()
    roof: dict[str, str] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Loft:
    """Everything of an as-built that the load check reads.

    ``settled`` is None where the file does not say whether its survey is.
    """

    survey: str
    title: str
    settled: bool | None
    runs: tuple[Run, ...]
