"""What the phones measure: a small invented loft, read by hands that err by a millimetre or two."""

from __future__ import annotations

import hashlib
import io
import math
from typing import TYPE_CHECKING, Any

from PIL import Image

from tests.faults.phone import Phone, new_id

if TYPE_CHECKING:
    import random

JOISTS = 5
APART = 2400
"""From the near tape line to the far one [mm]."""
PLACES = [230 + 400 * i for i in range(JOISTS)] + [2090]
"""The centres of the joists, and the end wall, from the start wall [mm]."""
BREADTH = 47
LINES = ("near", "far")


def head(draw: random.Random) -> dict[str, Any]:
    """Return the head of a new survey."""
    return {
        "format": "baywalk.survey",
        "version": 1,
        "id": new_id(draw),
        "title": "Invented",
        "created": "2026-11-02T08:59:00+00:00",
        "tape": {"class": "II"},
        "runs": [{"id": "A", "title": "A", "joists": JOISTS, "lines": list(LINES)}],
    }


def measure(phone: Phone) -> None:
    """Have a phone write the next entry of a walk: mostly readings, and some of everything else."""
    kinds = {_across: 12, _running: 3, _breadth: 3, _along: 2, _diagonal: 2, _level: 1}
    kinds |= {_strike: 4, _restore: 2, _set: 2, _remark: 1, _unknown: 1, _wrong: 1}
    draw = phone.draw
    draw.choices(list(kinds), list(kinds.values()))[0](phone, draw)


def take_photo(phone: Phone) -> None:
    """Have a phone take a photo and write its entry."""
    content = _picture(phone.draw)
    sha256 = hashlib.sha256(content).hexdigest()
    phone.photos[sha256] = content
    phone.photos_to_go.append(sha256)
    phone.write("photo", run="A", bay=1, sha256=sha256, caption="Größe ≥ 1")


def _read(draw: random.Random, length: float) -> int:
    """Return what a hand reads of a length [mm]; now and then it slips."""
    slip = draw.choice((0, 10, -100)) if draw.random() < 0.05 else 0
    return max(0, round(length + draw.gauss(0, 1)) + slip)


def _across(phone: Phone, draw: random.Random) -> None:
    joist = draw.randrange(JOISTS + 1)
    left = PLACES[joist - 1] + BREADTH / 2 if joist else 0
    right = PLACES[joist] - (BREADTH / 2 if joist < JOISTS else 0)
    start, end = [joist, "right" if joist else "face"], [joist + 1, "left"]
    line = draw.choice(LINES)
    phone.write(
        "across", run="A", line=line, **{"from": start, "to": end}, value=_read(draw, right - left)
    )


def _running(phone: Phone, draw: random.Random) -> None:
    joist = draw.randrange(1, JOISTS + 1)
    ends = {"from": [0, "face"], "to": [joist, "left"]}
    value = _read(draw, PLACES[joist - 1] - BREADTH / 2)
    phone.write("across", run="A", line=draw.choice(LINES), **ends, value=value, hook="h1")


def _breadth(phone: Phone, draw: random.Random) -> None:
    phone.write("breadth", run="A", joist=draw.randint(1, JOISTS), value=_read(draw, BREADTH))


def _along(phone: Phone, draw: random.Random) -> None:
    ends = {"from": "near", "to": "far"}
    phone.write("along", run="A", joist=draw.randint(1, JOISTS), **ends, value=_read(draw, APART))


def _diagonal(phone: Phone, draw: random.Random) -> None:
    wide = PLACES[JOISTS - 1] - PLACES[0]
    ends = {"from": [1, "near"], "to": [JOISTS, "far"]}
    phone.write("diagonal", run="A", **ends, value=_read(draw, math.hypot(wide, APART)))


def _level(phone: Phone, draw: random.Random) -> None:
    joist, value = draw.randint(1, JOISTS), _read(draw, 210)
    phone.write("level", run="A", joist=joist, line=draw.choice(LINES), value=value)


def _strike(phone: Phone, draw: random.Random) -> None:
    # Of anything the phone knows, strikes too, of nothing, or of what has not come yet.
    target = draw.choice([*phone.book, new_id(draw)])
    phone.write("strike", target=target, reason=draw.choice(("wrong face", "slipped")))


def _restore(phone: Phone, draw: random.Random) -> None:
    phone.write("restore", target=draw.choice([*phone.book, new_id(draw)]))


def _set(phone: Phone, draw: random.Random) -> None:
    title = f"Invented {draw.randrange(100)}"
    changes = {"/title": title, "/runs/A/member/breadth": 47, "/runs/Z/joists": 3, "/id": "x"}
    path = draw.choice(list(changes))
    phone.write("set", path=path, value=changes[path])


def _remark(phone: Phone, draw: random.Random) -> None:
    phone.write("remark", run="A", text=draw.choice(("", "dry", "\u0000 \u2028 😀", "x" * 900)))


def _unknown(phone: Phone, draw: random.Random) -> None:
    more = {"deep": [{"a": [None, True, 1.0, 1, -0.5, 1e-7]}], "target": draw.choice([1, None, {}])}
    phone.write(draw.choice(("echo", "Strike", "\u0000")), **more)


def _wrong(phone: Phone, draw: random.Random) -> None:
    bad = draw.choice(({"value": "353"}, {"value": True}, {"joist": -1}, {"joist": 1.5}))
    phone.write("breadth", **{"run": "A", "joist": 1, "value": 47, **bad}, wrong=next(iter(bad)))


def _picture(draw: random.Random) -> bytes:
    """Return a small JPEG that says where it was taken."""
    size = (draw.randint(8, 60), draw.randint(8, 60))
    picture = Image.frombytes("RGB", size, draw.randbytes(3 * size[0] * size[1]))
    notes = Image.Exif()
    notes[0x010E] = "taken at home"
    notes.get_ifd(0x8825)[1] = "N"
    out = io.BytesIO()
    picture.save(out, "JPEG", exif=notes, comment=b"secret place", quality=90)
    return out.getvalue()
