"""A page as SVG: its size in mm, one unit a mm, each text held to its measured length."""

from __future__ import annotations

import base64
from html import escape
from typing import TYPE_CHECKING

from baywalk.sheets import letters
from baywalk.sheets.ink import Page, Path, Picture, Point, Words

if TYPE_CHECKING:
    from collections.abc import Iterator

_FACES = "'Bitstream Vera Sans','DejaVu Sans',Verdana,sans-serif"


def write(page: Page, title: str) -> str:
    """Return a page as an SVG document with a title for those who hear it."""
    size = f'width="{_n(page.width)}mm" height="{_n(page.height)}mm"'
    box = f'viewBox="0 0 {_n(page.width)} {_n(page.height)}"'
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} {box} font-family="{_FACES}" role="img">'
    )
    body = "\n".join(_items(page))
    paper = f'<rect width="{_n(page.width)}" height="{_n(page.height)}" fill="#fff"/>'
    return f"{head}\n<title>{escape(letters.clean(title))}</title>\n{paper}\n{body}\n</svg>\n"


def _n(value: float) -> str:
    """Return a length in mm to a micrometre, without needless noughts."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _items(page: Page) -> Iterator[str]:
    for item in page.items:
        if isinstance(item, Words):
            yield _words(item)
        elif isinstance(item, Path):
            yield _path(item)
        else:
            yield _picture(item)


def _ring(points: tuple[Point, ...], *, closed: bool) -> str:
    steps = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
    return f"M{steps}{'Z' if closed else ''}"


def _path(path: Path) -> str:
    data = "".join(_ring(ring, closed=path.closed) for ring in path.rings)
    tone = "none"
    if path.fill is not None:
        grey = round(255 * path.fill)
        tone = f"#{grey:02x}{grey:02x}{grey:02x}"
    marks = f' fill="{tone}" fill-rule="evenodd"'
    if path.pen:
        marks += f' stroke="#000" stroke-width="{_n(path.pen)}"'
    if path.dash:
        marks += f' stroke-dasharray="{" ".join(map(_n, path.dash))}"'
    return f'<path d="{data}"{marks}/>'


def _words(words: Words) -> str:
    x, y = words.at
    place = f'x="{_n(x)}" y="{_n(y)}"'
    if words.up:
        place += f' transform="rotate(-90 {_n(x)} {_n(y)})"'
    marks = f'font-size="{_n(words.cap / letters.CAPITAL)}"'
    if words.anchor != "start":
        marks += f' text-anchor="{words.anchor}"'
    if words.bold:
        marks += ' font-weight="bold"'
    # Another face may stand in on the reader's machine; the length is held all the same.
    length = f'textLength="{_n(words.width)}" lengthAdjust="spacingAndGlyphs"'
    return f"<text {place} {marks} {length}>{escape(words.text)}</text>"


def _picture(picture: Picture) -> str:
    box = picture.box
    data = base64.b64encode(picture.jpeg).decode()
    size = f'x="{_n(box.left)}" y="{_n(box.top)}" width="{_n(box.width)}" height="{_n(box.height)}"'
    return f'<image {size} href="data:image/jpeg;base64,{data}"/>'
