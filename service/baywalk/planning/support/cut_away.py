"""Beside an opening that runs out to the deck's edge, no noggin finds a whole joist to end on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from baywalk.planning.refused import Reason, Refused

if TYPE_CHECKING:
    from baywalk.planning.support.builder import Builder
    from baywalk.planning.support.noggins import Noggin


def clear_of_openings(builder: Builder) -> None:
    """Raise :class:`Refused` where a noggin across would end on a joist cut away, or in an opening.

    Those that are fixed already stay as they are.
    """
    for noggin in builder.noggins[len(builder.fixed) :]:
        if noggin.x is None and (builder.hangs(noggin) or builder.in_opening(noggin)):
            raise Refused(_reason(noggin))


def _reason(noggin: Noggin) -> Reason:
    name = " and ".join(noggin.between)
    say = (
        f"Between {name} a timber under the deck would have to stand in an opening, or end where a"
        " joist is cut away for one: the opening lies at an edge of the deck and leaves a strip of"
        " it beside it. Move the opening away from the edge, or take it up to a joist."
    )
    return Reason("opening.at_edge", say)
