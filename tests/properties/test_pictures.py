"""Whatever a photo's bytes are, they are redrawn or refused; and no small file unpacks for ever."""

from __future__ import annotations

import hashlib
import io
import random
import struct
import zlib
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

if TYPE_CHECKING:
    from tests.faults.doors import Inside

FORMS = ("JPEG", "PNG", "WEBP")


STARTS = [b"", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"RIFF"]


def _picture(form: str) -> bytes:
    out = io.BytesIO()
    Image.frombytes("RGB", (40, 30), random.Random(1).randbytes(3600)).save(out, form)
    return out.getvalue()


PICTURES = {form: _picture(form) for form in FORMS}


def _put(door: Inside, content: bytes) -> int:
    path = f"/api/photos/{hashlib.sha256(content).hexdigest()}"
    status = door.ask("PUT", path, content, {"Content-Type": "image/jpeg"}).status
    offset = int(door.ask("HEAD", path).headers["upload-offset"])
    assert offset == (len(content) if status in (201, 204) else 0)
    if status in (201, 204):
        got = door.ask("GET", path).body
        with Image.open(io.BytesIO(got)) as picture:
            assert picture.width * picture.height <= 50_000_000
    return status


@given(st.sampled_from(FORMS), st.data())
def test_a_spoilt_picture_is_redrawn_or_refused(
    door: Inside, form: str, data: st.DataObject
) -> None:
    """Bytes changed, cut out or put in anywhere."""
    content = bytearray(PICTURES[form])
    for _ in range(data.draw(st.integers(1, 4))):
        place = data.draw(st.integers(0, len(content) - 1))
        gone = data.draw(st.integers(0, 6))
        content[place : place + gone] = data.draw(st.binary(max_size=6))
    assert _put(door, bytes(content)) in (201, 204, 422)


@given(
    st.binary(max_size=200), st.sampled_from([b"", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"RIFF"])
)
def test_what_is_no_picture_is_refused(door: Inside, junk: bytes, start: bytes) -> None:
    """Bytes that only begin like a picture."""
    assert _put(door, start + junk) == 422


def _png(width: int, height: int, rows: bytes, *chunks: tuple[bytes, bytes]) -> bytes:
    """Return a PNG of one bit a pixel with these packed rows, and more chunks before them."""
    head = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    parts = [(b"IHDR", head), *chunks, (b"IDAT", rows), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        for name, body in parts
    )


@pytest.mark.parametrize(("width", "height"), [(16_000, 16_000), (1, 60_000_000), (2**31 - 1, 1)])
def test_a_picture_too_large_is_refused_from_its_header(
    door: Inside, width: int, height: int
) -> None:
    """A few bytes that would unpack into more than fifty million pixels."""
    assert _put(door, _png(width, height, zlib.compress(b"\0" * 1000))) == 422


def test_a_note_that_unpacks_for_ever_is_refused(door: Inside) -> None:
    """A small picture with a packed text of a hundred megabytes in it."""
    packer, piece = zlib.compressobj(9), bytes(1_000_000)
    packed = b"".join(packer.compress(piece) for _ in range(100)) + packer.flush()
    bomb = b"Comment\0\0" + packed
    rows = zlib.compress(b"\0\0" * 8)
    assert _put(door, _png(8, 8, rows, (b"zTXt", bomb))) == 422


def test_rows_that_unpack_for_ever_do_no_harm(door: Inside) -> None:
    """More rows than the header says, packed small."""
    packer = zlib.compressobj(9)
    rows = b"".join(packer.compress(b"\0" * 1_000_000) for _ in range(100)) + packer.flush()
    assert _put(door, _png(8, 8, rows)) in (201, 422)
