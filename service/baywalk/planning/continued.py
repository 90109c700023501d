"""A deck that goes on from one already laid: which one, and from which of its edges."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from shapely import Polygon

from baywalk.planning.refused import Reason, Refused

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry


_NEAR = 10.0
"""Decks nearer to each other than this were laid one on from the other [mm]."""


@dataclass(frozen=True)
class Laid:
    """A deck that is there already and that the new one goes on from.

    ``edge`` is what it offers, ``y`` [mm] where, ``start`` the side on which it lies.
    """

    feature: str
    edge: str
    y: float
    start: str


def laid_before(run: dict[str, Any], inner: BaseGeometry, least: float) -> Laid | None:
    """Return where the deck goes on from; raise where it would have to close on both sides.

    A deck that lies less than the least rip, ``least`` [mm], from this room belongs to it.
    """
    found = []
    _, y0, _, y1 = inner.bounds
    for feature in run["features"]:
        if feature["feature"] != "laid" or not feature.get("polygon"):
            continue
        # One that lies in another room is none to go on from.
        if Polygon(feature["polygon"]).distance(inner) > least:
            continue
        _, low, _, high = Polygon(feature["polygon"]).bounds
        if min(low - y0, y1 - high) > least:
            raise Refused(_steps(run) if _goes_on_from_another(feature, run) else _island(run))
        start = "near" if low - y0 <= y1 - high else "far"
        edge = feature.get("edge") if feature.get("edge") in ("tongue", "groove") else "tongue"
        found.append(Laid(feature["id"], edge, high if start == "near" else low, start))
    starts = {laid.start for laid in found}
    if len(starts) > 1:
        say = (
            "Boards are laid from both edges already. The last board between them could not be"
            " pushed home. Take up one side, or leave a strip and close it with a loose board."
        )
        raise Refused(Reason("laid.both_sides", say))
    if not found:
        return None
    near = starts == {"near"}
    return max(found, key=lambda laid: laid.y if near else -laid.y)


def _goes_on_from_another(feature: dict[str, Any], run: dict[str, Any]) -> bool:
    """Say whether one laid deck touches another of the same run."""
    own = Polygon(feature["polygon"])
    return any(
        other is not feature
        and other["feature"] == "laid"
        and other.get("polygon")
        and Polygon(other["polygon"]).distance(own) < _NEAR
        for other in run["features"]
    )


def _steps(run: dict[str, Any]) -> Reason:
    say = (
        f"{run['title'] or run['id']}: the deck already laid ends in steps, and only whole courses"
        " or one course begun at the edge are gone on with. Set out the whole courses as one deck,"
        " and take up the course that was begun after them, or finish it first."
    )
    return Reason("laid.steps", say)


def _island(run: dict[str, Any]) -> Reason:
    say = (
        f"{run['title'] or run['id']}: a deck already laid reaches neither the near nor the far"
        " edge. Boards on either side of it could not be pushed home. Take it up, or read again"
        " where it lies."
    )
    return Reason("laid.island", say)
