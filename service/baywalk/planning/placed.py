"""Openings, obstacles and decks already laid must have a place and a size before anything is laid.

A hatch that cannot be placed would be boarded over without a word.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from shapely import Polygon

from baywalk.planning.refused import Reason

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from baywalk.rules import Pack

_WORDS = {"opening": "an opening", "obstacle": "an obstacle", "laid": "a deck already laid"}


def unplaced(run: Mapping[str, Any], pack: Pack) -> list[Reason]:
    """Return why features of a run cannot be planned around: none has a place, or no real size."""
    name = run["title"] or run["id"]
    return list(_reasons(run["features"], name, pack["plan.plausible"]))


def _reasons(
    features: list[dict[str, Any]], name: str, least: Mapping[str, float]
) -> Iterator[Reason]:
    for feature in features:
        kind = feature["feature"]
        if kind not in _WORDS:
            continue
        polygon = feature.get("polygon")
        if not polygon:
            say = (
                f"{name}: {_WORDS[kind]} cannot be placed yet. Set it out from a joist's face and a"
                " tape line of this run, with its width and length, or strike it out."
            )
            yield Reason("feature.not_placed", say)
            continue
        if not _has_room(Polygon(polygon), least[kind]):
            say = (
                f"{name}: {_WORDS[kind]} is less than {least[kind]:g} mm wide or long. Read its"
                " width and length again."
            )
            yield Reason("feature.no_size", say)


def _has_room(shape: Polygon, least: float) -> bool:
    """Say whether a shape is ``least`` [mm] wide and long somewhere."""
    # Of sides that lie on each other nothing can be taken off.
    if shape.area < 0.99 * least**2:
        return False
    # A hair less, so that one of just that size has something left.
    return not shape.buffer(-least * 0.499, join_style="mitre").is_empty
