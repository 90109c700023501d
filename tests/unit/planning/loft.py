"""Plain lofts written by hand, for the planner's own tests; invented."""

from __future__ import annotations

import itertools
from typing import Any

Json = dict[str, Any]
SURVEY = "11111111-1111-4111-8111-111111111111"


def as_built(
    centres: list[float],
    width: float,
    depth: float,
    *,
    breadth: float = 47,
    skew: float = 0,
    features: list[Json] | None = None,
    **run: Any,
) -> Json:
    """Return a loft ``width`` by ``depth`` [mm] with joists at such centres.

    Every joist leans by ``skew`` [mm] from the near limit to the far one.
    """
    joists = [
        {
            "index": number,
            "breadth": {"value": breadth, "sd": 0.5},
            "depth": {"value": 147, "sd": 1.0},
            "at": {
                "near": {"x": x, "sd": 1.0, "point": [x, 0.0]},
                "far": {"x": x + skew, "sd": 1.0, "point": [x + skew, depth]},
            },
            "angle": 0.0,
            "span": {"value": depth - 100, "sd": 1.0},
            "ends": {
                "near_support": {"value": 50, "sd": 1.0},
                "far_support": {"value": depth - 50, "sd": 1.0},
            },
            "level": None,
        }
        for number, x in enumerate(centres, start=1)
    ]
    walls = {
        "start": {"at": _wall(0, depth)},
        "end": {"at": _wall(width, depth)},
    }
    apart = [b - a for a, b in itertools.pairwise(centres)]
    usual = max(set(apart), key=apart.count) if apart else None
    return {
        "format": "baywalk.as-built",
        "version": 1,
        "survey": SURVEY,
        "title": "A loft written by hand (invented)",
        "settled": True,
        "findings": [],
        "runs": [
            {
                "id": "A",
                "title": "A",
                "lines": ["near", "far"],
                "member": {"breadth": breadth, "depth": 147},
                "joists": joists,
                "walls": walls,
                "bays": _bays(len(centres), apart),
                "nominal": {"centres": usual, "family": None, "confidence": 1.0},
                "outline": [[0, 0], [width, 0], [width, depth], [0, depth]],
                "features": features or [],
                "findings": [],
                "suspects": [],
                "settled": True,
                **run,
            }
        ],
    }


def _wall(x: float, depth: float) -> Json:
    return {
        "near": {"x": x, "sd": 1.0, "point": [x, 0.0]},
        "far": {"x": x, "sd": 1.0, "point": [x, depth]},
    }


def _bays(joists: int, apart: list[float]) -> list[Json]:
    out = []
    for bay in range(joists + 1):
        centres = apart[bay - 1] if 0 < bay < joists else None
        at = {"gap": None, "sd": 1.0, "centres": centres, "centres_sd": 1.0}
        out.append({"bay": bay, "at": {"near": at, "far": at}})
    return out


def regular(bays: int, spacing: float = 400, depth: float = 3000, **more: Any) -> Json:
    """Return a loft of joists at even centres, the outer ones ``spacing`` from the walls."""
    centres = [spacing * k for k in range(1, bays)]
    return as_built(centres, spacing * bays, depth, **more)


def rectangle(kind: str, x0: float, y0: float, x1: float, y1: float, **more: Any) -> Json:
    """Return a feature by its corners [mm]."""
    corners = [[x0, y0], [x1, y0], [x1, y1], [x0, y1]]
    name = f"22222222-2222-4222-8222-{abs(hash((kind, x0, y0))) % 10**12:012d}"
    return {"id": name, "feature": kind, "polygon": corners, **more}
