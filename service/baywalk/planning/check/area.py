"""Is the deck what the loft leaves for it, and is it boarded without a hole or an overlap?"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, Any

from shapely import STRtree
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient
from shapely.ops import unary_union

from baywalk.planning.check.verdicts import EXACT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.check.ground import Ground
    from baywalk.planning.check.scene import Area, Json, Scene
    from baywalk.planning.check.verdicts import Verdicts
    from baywalk.rules import Pack

LOOSE = 0.15
"""How wide a seam of nothing may be when areas with rounded corners are laid together [mm]."""


def thin(area: Area, width: float = LOOSE) -> bool:
    """Say whether nothing in an area is wider than ``width`` [mm]."""
    return bool(area.buffer(-width / 2, join_style="mitre").is_empty)


def required_gap(pack: Pack, choices: Json, length: float) -> float:
    """Return the least expansion gap for a deck of that length [mm]."""
    if choices["gap"] is not None:
        return float(choices["gap"])
    forms = ("nbs", "warranty", "maker")
    chosen = pack["deck.gap.form"]
    wanted = [pack[f"deck.gap.{name}"] for name in (forms if chosen == "greatest" else [chosen])]
    gaps: list[float] = [form["least"] for form in wanted]
    gaps += [form["per_metre"] * length / 1000 for form in wanted]
    return max(gaps)


def check_shapes(scene: Scene, out: Verdicts) -> bool:
    """Check that every area of the deck is one: whole, of some size, its sides not crossing."""
    areas = {"the deck": scene.area, **scene.shapes}
    areas |= {opening["feature"]: Polygon(opening["polygon"]) for opening in scene.deck["openings"]}
    strips = enumerate(scene.deck["deck"]["movement"], start=1)
    areas |= {f"movement gap {number}": Polygon(strip) for number, strip in strips}
    good = [
        out.must("plan.form", shape.is_valid and shape.area > 0, name, "its sides cross")
        for name, shape in areas.items()
    ]
    return all(good)


def check_area(scene: Scene, out: Verdicts) -> None:
    """Check the deck's limit against the as-built, and its own figures."""
    area = scene.deck["deck"]
    shape = scene.area
    out.same("deck.area", area["area"], shape.area / 1e6, "the deck", "the area [m²]", 0.002)
    _gap(scene, out)
    for kind, ground in (("opening", "an opening"), ("laid", "a deck already laid")):
        for name, feature in scene.ground.rectangles(kind):
            free = thin(shape.intersection(feature))
            out.must("deck.area", free, name, f"the deck lies over {ground}")


def _gap(scene: Scene, out: Verdicts) -> None:
    area, shape = scene.deck["deck"], scene.area
    x0, y0, x1, y1 = shape.bounds
    # The longest way across decides: boards move with the length of what is joined.
    gap = required_gap(scene.pack, scene.plan["choices"], max(x1 - x0, y1 - y0))
    out.at_least("deck.gap", area["gap"], gap, "the deck", "The expansion gap")
    limit = scene.ground.outline
    out.must("deck.gap", thin(shape.difference(limit)), "the deck", "it reaches beyond the outline")
    out.at_least(
        "deck.gap", limit.exterior.distance(shape), gap, "the walls", "The gap to the walls"
    )
    for name, feature in scene.ground.rectangles("obstacle"):
        # An obstacle that lies outside the walls takes nothing from the deck.
        if feature.distance(limit.exterior) > 0 and not limit.contains(feature):
            continue
        out.at_least("deck.gap", feature.distance(shape), gap, name, "The gap to an obstacle")


def check_whole(decks: Sequence[Json], ground: Ground, pack: Pack, out: Verdicts) -> None:
    """Check that the decks of a run together leave nothing open that could be boarded."""
    shapes = [Polygon(d["deck"]["outline"], d["deck"]["holes"]) for d in decks]
    for a, b in combinations(shapes, 2):
        out.must("deck.whole", thin(a.intersection(b)), "two decks", "they overlap")
    gap = max(deck["deck"]["gap"] for deck in decks)
    # What the loft leaves for boards, worked out from its features alone.
    left: Area = ground.outline.buffer(-gap, join_style="mitre")
    for name, grow in (("opening", 0.0), ("laid", 0.0), ("obstacle", gap)):
        for _, feature in ground.rectangles(name):
            left = left.difference(feature.buffer(grow, join_style="mitre"))
    strips = [Polygon(strip) for deck in decks for strip in deck["deck"]["movement"]]
    left = left.difference(unary_union([*shapes, *strips]).buffer(EXACT))
    width = pack["deck.least.width"]
    say = f"a place wider than {width} mm is left open"
    out.must("deck.whole", thin(left, width + EXACT), _place(left), say)
    for strip in strips:
        x0, y0, x1, y1 = strip.bounds
        narrow, least = min(x1 - x0, y1 - y0), pack["deck.movement.gap"]
        if x1 - x0 < y1 - y0:
            # Both decks bear on the joist under the strip, which may leave less between them.
            x, y = strip.centroid.coords[0]
            joist = min(ground.joists.values(), key=lambda line: abs(line.x(y) - x))
            least = min(least, joist.breadth - 2 * pack["joint.bearing"])
        out.at_least("deck.movement.gap", narrow, least, "a strip", "Its width")


def _place(area: Area) -> str:
    if area.is_empty:
        return "the run"
    x, y = (
        max(getattr(area, "geoms", [area]), key=lambda g: g.area).representative_point().coords[0]
    )
    return f"near x {x:.0f}, y {y:.0f}"


def check_cover(scene: Scene, out: Verdicts) -> None:
    """Check that the pieces cover the deck, each once, each within its course."""
    for name, shape in scene.shapes.items():
        out.must("deck.cover", thin(shape.difference(scene.area)), name, "it leaves the deck")
    # Overlaps are looked for pair by pair: in the sum they would not show.
    bare = scene.area.difference(scene.laid)
    out.must("deck.cover", thin(bare), _place(bare), "nothing lies there")
    names = list(scene.shapes)
    shapes = [scene.shapes[name] for name in names]
    for i, j in STRtree(shapes).query(shapes, predicate="intersects").T:
        if i < j:
            free = thin(shapes[i].intersection(shapes[j]))
            out.must("deck.cover", free, f"{names[i]} and {names[j]}", "they lie over each other")
    run = max(
        scene.area.bounds[2] - scene.area.bounds[0], scene.area.bounds[3] - scene.area.bounds[1]
    )
    out.at_most("deck.movement.run", run, scene.pack["deck.movement.run"], "the deck", "Its length")


def corners(shape: Any) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Return the sides of an area, outer ones and those of holes, the area on their left."""
    turned = orient(shape)
    rings = [turned.exterior, *turned.interiors]
    return [side for ring in rings for side in zip(ring.coords[:-1], ring.coords[1:], strict=True)]
