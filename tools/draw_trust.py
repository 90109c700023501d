"""Draws the steps by which a phone comes to trust the service, one drawing for each kind of phone.

python -m tools.draw_trust
"""

from __future__ import annotations

from pathlib import Path

FOLDER = Path(__file__).resolve().parents[1] / "web" / "trust"

INK, PAPER, ACCENT, FAINT = "#1d1a16", "#fbf7ee", "#b3261e", "#8a8377"
WIDE, HIGH, APART, TOP = 84, 150, 22, 26

# Each step is what its screen shows, from the top: a line, one to touch, a switch, a seal, a tick.
IOS = (
    "arrow",
    "seal touch line",
    "line touch",
    "seal lines",
    "touch tick",
    "line touch line",
    "switch",
    "code",
)
ANDROID = (
    "arrow",
    "line touch line",
    "line line touch",
    "touch line",
    "seal touch",
    "seal lines",
    "tick",
    "code",
)


def drawing(steps: tuple[str, ...]) -> str:
    """Return the steps as one SVG: a small phone each, numbered, four to a row."""
    phones = [_phone(number, words.split()) for number, words in enumerate(steps)]
    width, height = 4 * (WIDE + APART), 2 * (HIGH + TOP + APART)
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}">'
    return "\n".join([head, *phones, "</svg>", ""])


def _phone(number: int, parts: list[str]) -> str:
    """Return one phone with what its screen shows."""
    x = (number % 4) * (WIDE + APART) + APART / 2
    y = (number // 4) * (HIGH + TOP + APART) + TOP
    words = f'font-size="16" font-family="sans-serif" fill="{INK}"'
    inside = "".join(_PARTS[part](18 + 26 * row) for row, part in enumerate(parts))
    body = _box(0, 0, WIDE, HIGH, INK, 1.6, 9, PAPER) + _stroke("M34 7h16", INK, 1.6)
    where = f'transform="translate({x:g} {y:g})"'
    return f'<g {where}><text x="0" y="-8" {words}>{number + 1}</text>{body}{inside}</g>'


def _stroke(path: str, colour: str, width: float, more: str = "") -> str:
    return f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="{width}"{more}/>'


def _box(
    x: float,
    y: float,
    width: float,
    height: float,
    colour: str,
    stroke: float = 2.4,
    round_: float = 0,
    fill: str = "none",
) -> str:
    place = f'x="{x}" y="{y}" width="{width}" height="{height}" rx="{round_}"'
    return f'<rect {place} fill="{fill}" stroke="{colour}" stroke-width="{stroke}"/>'


def _line(y: float) -> str:
    return _stroke(f"M12 {y + 10}h48", FAINT, 3)


def _touch(y: float) -> str:
    words, hint = _stroke(f"M14 {y + 10}h40", INK, 3), f"M64 {y + 5}l5 5-5 5"
    return _box(8, y, 68, 20, ACCENT, round_=3) + words + _stroke(hint, ACCENT, 2.4)


def _arrow(y: float) -> str:
    return _stroke(f"M42 {y + 12}v46m-14-14l14 14 14-14M22 {y + 74}h40", ACCENT, 3)


def _seal(y: float) -> str:
    ring = f"M15 {y + 9}a9 9 0 1 0 18 0a9 9 0 1 0 -18 0M19 {y + 9}l4 4 6-8"
    return _stroke(ring, INK, 2) + _stroke(f"M42 {y + 9}h28", FAINT, 3)


def _lines(y: float) -> str:
    rows = "".join(f"M12 {y + 6 + 12 * row}h60" for row in range(5))
    signs = _stroke(rows, INK, 3, ' stroke-dasharray="7 3"')
    return signs + _box(7, y - 3, 70, 64, ACCENT)


def _tick(y: float) -> str:
    return _stroke(f"M26 {y + 26}l12 12 22-30", ACCENT, 4)


def _switch(y: float) -> str:
    knob = f'<circle cx="67" cy="{y + 34}" r="5.5" fill="{ACCENT}"/>'
    return _stroke(f"M12 {y + 34}h26", INK, 3) + _box(46, y + 25, 30, 18, ACCENT, round_=9) + knob


def _code(y: float) -> str:
    places = ((19, y + 26), (50, y + 26), (19, y + 57))
    corners = "".join(_box(cx, cy, 15, 15, INK, 4) for cx, cy in places)
    rest = f'<path d="M44 {y + 50}h8v8h8v14h-10v-8h-8z" fill="{INK}"/>'
    frame = f"M10 {y + 30}v-14h14M74 {y + 30}v-14h-14M10 {y + 70}v14h14M74 {y + 70}v14h-14"
    return corners + rest + _stroke(frame, ACCENT, 2.4)


_PARTS = {
    "line": _line,
    "touch": _touch,
    "arrow": _arrow,
    "seal": _seal,
    "lines": _lines,
    "tick": _tick,
    "switch": _switch,
    "code": _code,
}


def main() -> None:
    """Write the drawings."""
    for name, steps in (("ios", IOS), ("android", ANDROID)):
        (FOLDER / f"{name}.svg").write_text(drawing(steps), encoding="utf-8")


if __name__ == "__main__":
    main()
