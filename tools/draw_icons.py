"""Draw the mark: a setting-out rod with its ticks, one of them the bay in hand.

Run ``python tools/draw_icons.py`` after a change; the pictures are committed.
"""

from __future__ import annotations

from pathlib import Path

from PIL import Image, ImageDraw

PAPER = "#f6f1e6"
INK = "#15120e"
RED = "#b3261e"

# The mark on a square of side 1: the rod, and its ticks as places along it and their lengths.
ROD = (0.14, 0.42, 0.86, 0.62)
TICKS = ((0.24, 0.10), (0.36, 0.10), (0.64, 0.10), (0.76, 0.10))
BAY = (0.36, 0.64)
SHARP = 4


def mark(side: int, scale: float) -> Image.Image:
    """Return the mark on paper; ``scale`` [-] leaves a margin that a mask may cut off."""
    size = side * SHARP
    image = Image.new("RGB", (size, size), PAPER)
    draw = ImageDraw.Draw(image)

    def at(share: float) -> float:
        return (0.5 + (share - 0.5) * scale) * size

    thick = round(0.025 * scale * size)
    left, top, right, bottom = ROD
    draw.rectangle((at(BAY[0]), at(top), at(BAY[1]), at(bottom)), fill=RED)
    draw.rectangle((at(left), at(top), at(right), at(bottom)), outline=INK, width=thick)
    for place, reach in TICKS:
        draw.line((at(place), at(top - reach), at(place), at(bottom)), fill=INK, width=thick)
    # A dimension line over the bay in hand, with ticks as drawings have them.
    line = top - 0.14
    draw.line((at(BAY[0] - 0.05), at(line), at(BAY[1] + 0.05), at(line)), fill=RED, width=thick)
    for place in BAY:
        draw.line(
            (at(place - 0.03), at(line + 0.03), at(place + 0.03), at(line - 0.03)),
            fill=RED,
            width=thick,
        )
    return image.resize((side, side), Image.Resampling.BOX)


def main() -> None:
    """Write the pictures, with few colours, for they go over the wire."""
    folder = Path(__file__).parents[1] / "web" / "icons"
    for name, side, scale in (
        ("icon-192", 192, 1.1),
        ("icon-512", 512, 1.1),
        ("maskable-512", 512, 0.8),
        ("apple-touch-icon", 180, 0.95),
    ):
        mark(side, scale).quantize(8).save(folder / f"{name}.png", optimize=True)


if __name__ == "__main__":
    main()
