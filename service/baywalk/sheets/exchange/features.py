"""Shapes as JSON features in the loft's own plane; laid out as GeoJSON is, but not on the globe."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from shapely.geometry import mapping

if TYPE_CHECKING:
    from collections.abc import Iterable

    from baywalk.sheets.exchange.things import Thing

FORMAT, VERSION = "baywalk.features", 1
_AXES = (
    "x along the first tape line from the start wall's face, y square to it towards the far edge"
)


def collection(things: Iterable[Thing], survey: str, title: str) -> dict[str, Any]:
    """Return things as a collection of features; coordinates in mm."""
    return {
        "type": "FeatureCollection",
        "format": FORMAT,
        "version": VERSION,
        "survey": survey,
        "title": title,
        "unit": "mm",
        "axes": _AXES,
        "features": [
            {
                "type": "Feature",
                "geometry": mapping(thing.shape),
                "properties": {"layer": thing.layer, "name": thing.name, **thing.known},
            }
            for thing in things
        ],
    }
