"""What is done to one deck, and one step of it as the plan shows it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from baywalk.planning.courses import sections

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from shapely import Polygon

    from baywalk.planning.choices import Board
    from baywalk.planning.courses import Course
    from baywalk.planning.ground import Ground, Member
    from baywalk.planning.pieces import BoardUse, Piece
    from baywalk.planning.support.frames import Cleat, Frame, Joint
    from baywalk.planning.support.noggins import Noggin
    from baywalk.planning.tails import Tail


@dataclass(frozen=True)
class Work:
    """All that is done to one deck; lengths in mm. ``outline`` is the loft's own limit.

    ``tails`` are the parts of the joists ``added`` that are cut at openings, by their names.
    ``fixed`` are the ids of the timbers that are fixed already, ``earlier`` the deck as it was
    planned before, None where it was not.
    """

    outline: Polygon
    ground: Ground
    board: Board
    courses: Sequence[Course]
    pieces: Sequence[Piece]
    boards: Sequence[BoardUse]
    joints: Sequence[Joint]
    noggins: Sequence[Noggin]
    frames: Sequence[Frame]
    cleats: Sequence[Cleat]
    added: Sequence[Member]
    tails: Mapping[str, Sequence[Tail]]
    raised: Sequence[dict[str, Any]]
    openings: Sequence[dict[str, Any]]
    near: bool
    gap: float
    fixed: frozenset[str] = frozenset()
    earlier: Mapping[str, Any] | None = None

    @property
    def tops(self) -> str:
        """Return what the tops of timbers under the boards are level with."""
        kinds = {item["kind"] for item in self.raised}
        if "batten" in kinds:
            return "the battens"
        return "the joists as packed" if kinds else "the joists"

    def cures(self, cleat: Cleat) -> bool:
        """Say whether a cleat goes under a joint whose boards are laid already."""
        laid = {piece.id for piece in self.pieces if piece.laid}
        return cleat.id not in self.fixed and {cleat.joint.left, cleat.joint.right} <= laid


def one_step(
    kind: str,
    say: str,
    *,
    noggins: Sequence[str] = (),
    pieces: Sequence[str] = (),
    boards: Sequence[str] = (),
    marks: Sequence[dict[str, Any]] = (),
) -> dict[str, Any]:
    """Return one step as the plan shows it; its number comes once all steps are there."""
    return {
        "step": 0,
        "kind": kind,
        "say": say,
        "noggins": list(noggins),
        "pieces": list(pieces),
        "boards": list(boards),
        "marks": list(marks),
    }


def edge_of(outline: Polygon, x: float, *, near: bool) -> float:
    """Return the y [mm] of the near or the far limit of the loft at ``x``."""
    stretches = sections(outline, x)
    if not stretches:
        return float(outline.bounds[1] if near else outline.bounds[3])
    return stretches[0][0] if near else stretches[-1][1]
