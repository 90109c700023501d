"""The drawing as DXF: real size in mm, layers in plain words."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import ezdxf
from ezdxf import units
from ezdxf.enums import TextEntityAlignment
from shapely import Point

from baywalk.sheets.exchange.things import LAYERS, Thing, lines

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ezdxf.layouts import Modelspace

_RELEASE = "R2010"
_LETTERS = 40.0
"""Height of the letters in the drawing [mm, in the loft]."""
_NAMED = ("joists", "boards", "noggins", "cleats", "added joists", "end joints", "walls")
_CROSS = 35
"""How a point is drawn: a cross in a ring, by the format's own number."""


def write(things: Iterable[Thing], title: str) -> bytes:
    """Return things as a DXF document; the same things give the same bytes."""
    # The library's own clock and random names would make every file differ.
    ezdxf.options.write_fixed_meta_data_for_testing = True
    document = ezdxf.new(_RELEASE, units=units.MM)
    document.header["$PDMODE"] = _CROSS
    document.header["$PDSIZE"] = 15.0
    for name in LAYERS:
        document.layers.add(name)
        if name in _NAMED:
            document.layers.add(f"{name} names")
    space = document.modelspace()
    for thing in things:
        _draw(space, thing)
    document.header.custom_vars.append("title", title)
    out = io.StringIO()
    document.write(out)
    return out.getvalue().encode("utf-8")


def _draw(space: Modelspace, thing: Thing) -> None:
    layer = {"layer": thing.layer}
    if isinstance(thing.shape, Point):
        space.add_point((thing.shape.x, thing.shape.y), dxfattribs=layer)
        return
    for points, closed in lines(thing.shape):
        space.add_lwpolyline(points, close=closed, dxfattribs=layer)
    if thing.layer in _NAMED:
        spot = thing.shape.representative_point()
        named = {"layer": f"{thing.layer} names"}
        text = space.add_text(thing.name, height=_LETTERS, dxfattribs=named)
        text.set_placement((spot.x, spot.y), align=TextEntityAlignment.MIDDLE_CENTER)
