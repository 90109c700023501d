"""Pages as PDF, at their true size, the face within the file."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from baywalk.sheets import letters
from baywalk.sheets.ink import Page, Path, Picture, Words

if TYPE_CHECKING:
    from collections.abc import Sequence

_EVERY_OTHER = 0
"""How the library fills rings that overlap: every other one is a hole."""


def write(pages: Sequence[Page], title: str) -> bytes:
    """Return pages as one PDF document; the same pages give the same bytes."""
    file = io.BytesIO()
    canvas = Canvas(file, invariant=1, pageCompression=1)
    canvas.setTitle(letters.clean(title))
    canvas.setCreator("Baywalk")
    for page in pages:
        canvas.setPageSize((page.width * mm, page.height * mm))
        canvas.transform(mm, 0, 0, -mm, 0, page.height * mm)
        for item in page.items:
            _draw(canvas, item)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def _draw(canvas: Canvas, item: Path | Words | Picture) -> None:
    if isinstance(item, Path):
        _path(canvas, item)
    elif isinstance(item, Words):
        _words(canvas, item)
    else:
        _picture(canvas, item)


def _path(canvas: Canvas, path: Path) -> None:
    data = canvas.beginPath()
    for (x, y), *rest in path.rings:
        data.moveTo(x, y)
        for point in rest:
            data.lineTo(*point)
        if path.closed:
            data.close()
    canvas.setLineWidth(path.pen)
    canvas.setDash(list(path.dash) or [])
    if path.fill is not None:
        canvas.setFillGray(path.fill)
    canvas.drawPath(
        data, stroke=int(path.pen > 0), fill=int(path.fill is not None), fillMode=_EVERY_OTHER
    )


def _words(canvas: Canvas, words: Words) -> None:
    canvas.saveState()
    canvas.translate(*words.at)
    # The page is turned upside down for y to run downwards; letters are turned back.
    canvas.scale(1, -1)
    if words.up:
        canvas.rotate(90)
    canvas.setFillGray(0)
    canvas.setFont(letters.name(bold=words.bold), words.cap / letters.CAPITAL)
    write = {
        "start": canvas.drawString,
        "middle": canvas.drawCentredString,
        "end": canvas.drawRightString,
    }[words.anchor]
    write(0, 0, words.text)
    canvas.restoreState()


def _picture(canvas: Canvas, picture: Picture) -> None:
    box = picture.box
    canvas.saveState()
    canvas.translate(box.left, box.bottom)
    canvas.scale(1, -1)
    photo = ImageReader(io.BytesIO(picture.jpeg))
    canvas.drawImage(photo, 0, 0, box.width, box.height)
    canvas.restoreState()
