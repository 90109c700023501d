"""Photos cut anywhere, sent by two at once, fallen at every point: whole, or not there."""

from __future__ import annotations

import hashlib
import io
import random
import threading
from contextlib import suppress
from typing import TYPE_CHECKING

import pytest
from PIL import Image

from baywalk.fieldbook.photos import folder
from baywalk.http.bodies import PIECE
from tests.faults import crash
from tests.faults.doors import Fallen, Inside, NoAnswer, Outside

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

JPEG = {"Content-Type": "image/jpeg"}


def _photo(seed: int, side: int = 620) -> tuple[str, bytes]:
    """Return the path and the bytes of a photo of several pieces."""
    noise = random.Random(seed).randbytes(3 * side * side)
    out = io.BytesIO()
    Image.frombytes("RGB", (side, side), noise).save(out, "JPEG", quality=85)
    content = out.getvalue()
    return f"/api/photos/{hashlib.sha256(content).hexdigest()}", content


def _range(start: int, stop: int, total: int) -> dict[str, str]:
    return JPEG | {"Content-Range": f"bytes {start}-{stop - 1}/{total}"}


@pytest.fixture(scope="module")
def outside(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Outside]:
    """Give a real service."""
    door = Outside(tmp_path_factory.mktemp("photos") / "service")
    yield door
    door.close()


@pytest.fixture
def inside(tmp_path: Path) -> Iterator[Inside]:
    """Give the application in this process."""
    door = Inside(tmp_path / "service")
    yield door
    door.close()


def _check_whole(door: Inside | Outside, path: str, content: bytes) -> None:
    answer = door.ask("GET", path)
    assert answer.status == 200
    with Image.open(io.BytesIO(answer.body)) as got, Image.open(io.BytesIO(content)) as sent:
        assert got.size == sent.size
    assert int(door.ask("HEAD", path).headers["upload-offset"]) == len(content)


def _edges(total: int) -> list[int]:
    """Return where to cut: around every piece's boundary, at the ends, and anywhere."""
    around = {edge + by for edge in range(0, total, PIECE) for by in (-1, 0, 1)}
    anywhere = {random.Random(2).randrange(total) for _ in range(8)}
    return sorted(cut for cut in around | anywhere | {1, total - 1} if 0 < cut < total)


def test_cut_anywhere_and_resumed(outside: Outside) -> None:
    """Wherever it is cut, less than a piece is sent twice, and it is whole in the end."""
    total = len(_photo(0)[1])
    for seed, cut in enumerate(_edges(total)):
        path, content = _photo(seed)
        cut = min(cut, len(content) - 1)
        answer = outside.ask("PUT", path, content, JPEG, upto=cut)
        assert answer.status == 400
        assert outside.ask("GET", path).status == 404
        start = int(outside.ask("HEAD", path).headers["upload-offset"])
        assert cut - PIECE < start <= cut
        body = content[start:]
        answer = outside.ask("PUT", path, body, _range(start, len(content), len(content)))
        assert answer.status == 201
        _check_whole(outside, path, content)


def test_cut_again_and_again(outside: Outside) -> None:
    """A bad line that cuts every piece of it brings it over all the same."""
    path, content = _photo(100)
    draw, total = random.Random(4), len(content)
    for _ in range(60):
        start = int(outside.ask("HEAD", path).headers["upload-offset"])
        if start == total:
            break
        upto = min(draw.randrange(1, 60_000), total - start)
        # Nothing is cut from the last piece, but the line ends before its answer.
        with suppress(NoAnswer):
            outside.ask("PUT", path, content[start:], _range(start, total, total), upto=upto)
    _check_whole(outside, path, content)


def test_small_pieces_each_with_its_range(inside: Inside) -> None:
    """Pieces that each end where they said they do answer 202 with where to go on."""
    path, content = _photo(101, side=90)
    total = len(content)
    for start in range(0, total, 1000):
        stop = min(start + 1000, total)
        answer = inside.ask("PUT", path, content[start:stop], _range(start, stop, total))
        assert answer.status == (201 if stop == total else 202)
        if stop < total:
            assert answer.headers["upload-offset"] == str(stop)
    _check_whole(inside, path, content)


def test_two_at_once(outside: Outside) -> None:
    """Two phones with the same photo do not spoil it for one another."""
    path, content = _photo(102)
    seen: list[int] = []

    def send() -> None:
        for _ in range(20):
            start = int(outside.ask("HEAD", path).headers["upload-offset"])
            if start == len(content):
                return
            headers = _range(start, len(content), len(content)) if start else JPEG
            seen.append(outside.ask("PUT", path, content[start:], headers).status)

    threads = [threading.Thread(target=send) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert set(seen) <= {201, 204, 400, 409}
    _check_whole(outside, path, content)


@pytest.mark.parametrize("point", crash.PHOTO)
def test_fallen_at_every_point(inside: Inside, point: str) -> None:
    """Fallen anywhere while it is kept, it is whole after the next try and leaves nothing over."""
    path, content = _photo(103, side=90)
    inside.points.arm(point)
    with pytest.raises(NoAnswer):
        inside.ask("PUT", path, content, JPEG)
    inside.restart()
    whole = int(inside.ask("HEAD", path).headers["upload-offset"]) == len(content)
    answer = inside.ask("PUT", path, content, JPEG)
    assert answer.status == (204 if whole else 201)
    _check_whole(inside, path, content)
    left = [file for file in inside.folder.rglob("*") if file.is_file()]
    assert not [file for file in left if file.parent.name == "parts" or file.suffix == ".draft"]


@pytest.mark.parametrize("written", [0, 1], ids=["before", "after"])
def test_fallen_at_every_piece(
    inside: Inside, monkeypatch: pytest.MonkeyPatch, written: int
) -> None:
    """Fallen just before or just after any piece is written, it goes on there and is whole."""
    path, content = _photo(106)
    total, real = len(content), folder._append
    starts = range(0, total, PIECE)
    assert len(starts) > 2
    for number in range(len(starts) - 1):
        left = [number]

        def append(part: Path, size: int, piece: bytes, left: list[int] = left) -> None:
            if written or left[0]:
                real(part, size, piece)
            left[0] -= 1
            if left[0] < 0:
                raise Fallen

        monkeypatch.setattr(folder, "_append", append)
        with pytest.raises(NoAnswer):
            inside.ask("PUT", path, content, JPEG)
        monkeypatch.setattr(folder, "_append", real)
        inside.restart()
        start = int(inside.ask("HEAD", path).headers["upload-offset"])
        assert start == starts[number + written]
    body = content[start:]
    assert inside.ask("PUT", path, body, _range(start, total, total)).status == 201
    _check_whole(inside, path, content)


def test_a_wrong_start(inside: Inside) -> None:
    """A piece that starts elsewhere is refused with where it should, and spoils nothing."""
    path, content = _photo(104, side=90)
    total = len(content)
    assert inside.ask("PUT", path, content[:500], _range(0, 500, total)).status == 202
    for start in (0, 499, 501, 900):
        answer = inside.ask("PUT", path, content[start:], _range(start, total, total))
        assert (answer.status, answer.headers["upload-offset"]) == (409, "500")
    assert inside.ask("PUT", path, content[500:], _range(500, total, total)).status == 201
    _check_whole(inside, path, content)


def test_other_bytes_are_dropped(inside: Inside) -> None:
    """Bytes that are not those of the hash are refused and dropped; the right ones still come."""
    path, content = _photo(105, side=90)
    assert inside.ask("PUT", path, content[:-1] + b"x", JPEG).status == 422
    assert inside.ask("HEAD", path).headers["upload-offset"] == "0"
    assert inside.ask("PUT", path, content, JPEG).status == 201
    _check_whole(inside, path, content)
