"""Where joists go over to another timber, above a beam or a spine wall, no timber finds its place.

Between the tape lines on both sides of the lap nobody has read where either timber ends, so a
noggin there may meet nothing at its ends, and a cleat may have nothing to be fixed to.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from baywalk.planning.refused import Reason, Refused

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from baywalk.planning.ground import Bay
    from baywalk.planning.support.builder import Builder
    from baywalk.planning.support.frames import Cleat
    from baywalk.planning.support.noggins import Noggin


def clear_of_laps(builder: Builder, cleats: Sequence[Cleat]) -> None:
    """Raise :class:`Refused` where a noggin or a cleat would stand where a joist laps."""
    bays = [noggin.bay for noggin in builder.noggins if _meets(noggin)]
    bays += [bay for cleat in cleats for bay in _beside(cleat, builder)]
    for trimmer in builder.trimmers:
        middle = (trimmer.x0 + trimmer.x1) / 2
        crossed = [b for b in builder.ground.bays if b.left.left(trimmer.y) <= middle]
        bays += [bay for bay in crossed[-1:] if bay.in_lap(*trimmer.band)]
    if bays:
        raise Refused(_reason(bays[0]))


def _reason(bay: Bay) -> Reason:
    name = f"{bay.left.name}–{bay.right.name}"
    say = (
        f"{name}: a timber under the deck would have to stand where the joists lap, and nothing"
        " says what it would meet there. An edge, an opening, an obstacle or a short board lies"
        " over the lap. Start from the other edge, plan with another board, or move what is there."
    )
    return Reason("lap.in_the_way", say)


def _meets(noggin: Noggin) -> bool:
    """Say whether a noggin across ends in a lap, or one along stands in a lapped timber's place."""
    low, high = noggin.band
    if not noggin.bay.in_lap(low, high):
        return False
    if noggin.x is None:
        return True
    half = noggin.section.breadth / 2
    left, right = (side.reach(low, high) for side in (noggin.bay.left, noggin.bay.right))
    return noggin.x - half < left.most or noggin.x + half > right.least


def _beside(cleat: Cleat, builder: Builder) -> Iterator[Bay]:
    """Give the bay of a cleat whose joist laps beside it."""
    member, half = cleat.joint.zone.member, cleat.length / 2
    if member and member.in_lap(cleat.y - half, cleat.y + half):
        yield builder.ground.bays[cleat.joint.zone.bay]
