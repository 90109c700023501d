"""The routes of photos: one test for each sentence of the contract, and hostile pictures."""

from __future__ import annotations

import hashlib
import io
import os
import random
import struct
import time
import zlib
from typing import TYPE_CHECKING, Any

import pytest
from PIL import Image, PngImagePlugin

from baywalk.fieldbook.photos import MAX_BYTES, Photos, WrongStart
from baywalk.fieldbook.photos.folder import MOST_PARTS, PART_IDLE, PART_LASTS

if TYPE_CHECKING:
    from pathlib import Path

    from flask import Flask
    from flask.testing import FlaskClient

    from tests.support.process import Service


def picture(form: str = "JPEG", size: tuple[int, int] = (64, 48), **more: Any) -> bytes:
    """Return a made-up picture whose every pixel differs."""
    image = Image.frombytes("RGB", size, random.Random(1).randbytes(size[0] * size[1] * 3))
    out = io.BytesIO()
    image.save(out, form, **more)
    return out.getvalue()


def name(sent: bytes) -> str:
    return hashlib.sha256(sent).hexdigest()


def put(client: FlaskClient, sent: bytes, kind: str = "image/jpeg", **more: Any) -> Any:
    return client.put(f"/api/photos/{name(sent)}", data=sent, content_type=kind, **more)


def piece(client: FlaskClient, sent: bytes, start: int, stop: int) -> Any:
    spans = {"Content-Range": f"bytes {start}-{stop - 1}/{len(sent)}"}
    return client.put(
        f"/api/photos/{name(sent)}",
        data=sent[start:stop],
        content_type="image/jpeg",
        headers=spans,
    )


def offset(client: FlaskClient, sent: bytes) -> tuple[int, str]:
    answer = client.head(f"/api/photos/{name(sent)}")
    return answer.status_code, answer.headers["Upload-Offset"]


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_sent_in_one_go_and_fetched(client: FlaskClient, form: str) -> None:
    sent, kind = picture(form), f"image/{form.lower()}"
    assert client.get(f"/api/photos/{name(sent)}").status_code == 404
    assert put(client, sent, kind).status_code == 201
    got = client.get(f"/api/photos/{name(sent)}")
    assert (got.status_code, got.content_type) == (200, kind)
    with Image.open(io.BytesIO(got.data)) as image:
        assert (image.format, image.size) == (form, (64, 48))
    assert put(client, sent, kind).status_code == 204


def test_a_photo_is_shown_as_nothing_that_could_do_anything(client: FlaskClient) -> None:
    sent = picture()
    put(client, sent)
    headers = client.get(f"/api/photos/{name(sent)}").headers
    assert headers["Content-Security-Policy"] == "sandbox; default-src 'none'"
    assert headers["Content-Disposition"] == "attachment"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"


def test_other_bytes_than_the_hash_are_422_and_dropped(client: FlaskClient) -> None:
    sent = picture()
    path = f"/api/photos/{name(sent)}"
    answer = client.put(path, data=sent[:-1] + b"x", content_type="image/jpeg")
    assert (answer.status_code, answer.get_json()["field"]) == (422, "sha256")
    assert offset(client, sent) == (404, "0")
    assert put(client, sent).status_code == 201


def test_other_bytes_than_the_hash_are_422_also_where_the_photo_is_whole(
    client: FlaskClient,
) -> None:
    sent = picture()
    path = f"/api/photos/{name(sent)}"
    assert put(client, sent).status_code == 201
    answer = client.put(path, data=sent[:-1] + b"x", content_type="image/jpeg")
    assert (answer.status_code, answer.get_json()["field"]) == (422, "sha256")
    assert client.get(path).status_code == 200
    assert put(client, sent).status_code == 204


class Noted:
    """Notes of what is whole, in memory."""

    def __init__(self) -> None:
        self._noted: dict[str, tuple[str, int]] = {}

    def note_photo(self, sha256: str, kind: str, size: int) -> None:
        self._noted[sha256] = (kind, size)

    def photo(self, sha256: str) -> tuple[str, int] | None:
        return self._noted.get(sha256)

    def shows(self, survey: str, sha256: str) -> bool:
        return bool(survey) and sha256 in self._noted


@pytest.mark.parametrize("right", [True, False])
def test_a_photo_begun_anew_by_another_is_not_said_to_be_wrong(
    tmp_path: Path, *, right: bool
) -> None:
    sent, photos = picture(), Photos(tmp_path, Noted())
    sha256 = name(sent)
    stop = photos.grow(sha256, 0, [sent])
    photos.restart(sha256)
    photos.grow(sha256, 0, [sent[:100]])
    # The first one's bytes were right: it is told where the photo ends now, and nothing is dropped.
    with pytest.raises(WrongStart) as fault:
        photos.finish(sha256, stop, right=right)
    assert fault.value.offset == photos.offset(sha256) == 100
    stop = photos.grow(sha256, 100, [sent[100:]])
    assert photos.finish(sha256, stop) == "image/jpeg"


def test_a_photo_comes_in_pieces(client: FlaskClient) -> None:
    sent = picture()
    assert offset(client, sent) == (404, "0")
    first = piece(client, sent, 0, 100)
    assert (first.status_code, first.headers["Upload-Offset"]) == (202, "100")
    assert offset(client, sent) == (200, "100")
    assert client.get(f"/api/photos/{name(sent)}").status_code == 404
    assert piece(client, sent, 100, 500).headers["Upload-Offset"] == "500"
    assert piece(client, sent, 500, len(sent)).status_code == 201
    assert offset(client, sent) == (200, str(len(sent)))
    assert client.get(f"/api/photos/{name(sent)}").status_code == 200


@pytest.mark.parametrize("start", [0, 99, 101, 300])
def test_a_wrong_start_is_409_and_changes_nothing(client: FlaskClient, start: int) -> None:
    sent = picture()
    piece(client, sent, 0, 100)
    answer = piece(client, sent, start, start + 50)
    assert (answer.status_code, answer.headers["Upload-Offset"]) == (409, "100")
    assert offset(client, sent) == (200, "100")


def test_the_last_piece_with_a_wrong_byte_drops_the_part(client: FlaskClient) -> None:
    sent = picture()
    spoilt = sent[:200] + b"\x00\x01\x02" + sent[203:]
    path = f"/api/photos/{name(sent)}"
    for start, stop in ((0, 100), (100, len(sent))):
        spans = {"Content-Range": f"bytes {start}-{stop - 1}/{len(sent)}"}
        answer = client.put(path, data=spoilt[start:stop], headers=spans, content_type="image/jpeg")
    assert answer.status_code == 422
    assert offset(client, sent) == (404, "0")


def test_sent_whole_again_a_photo_starts_anew(client: FlaskClient) -> None:
    sent = picture()
    piece(client, sent, 0, 100)
    assert put(client, sent).status_code == 201


@pytest.mark.parametrize(
    "given",
    ["bytes 0-9", "bytes 0-9/*", "bytes */10", "0-9/10", "bytes 5-4/10", "bytes 0-10/10",
     "bytes -1-9/10", "items 0-9/10", "bytes 0-9/10, bytes 10-19/20", "bytes ０-9/10", ""],
)  # fmt: skip
def test_a_range_that_is_none_is_400(client: FlaskClient, given: str) -> None:
    answer = client.put(
        f"/api/photos/{'a' * 64}",
        data=b"x" * 10,
        content_type="image/png",
        headers={"Content-Range": given.encode("utf-8").decode("latin-1")},
    )
    assert answer.status_code == 400
    assert answer.get_json()["type"].endswith("#bad-range")


def test_a_range_and_a_length_go_together(client: FlaskClient) -> None:
    spans = {"Content-Range": "bytes 0-99/1000"}
    path = f"/api/photos/{'a' * 64}"
    answer = client.put(path, data=b"x" * 99, headers=spans, content_type="image/png")
    assert answer.status_code == 400


def test_a_photo_has_at_most_fifteen_megabytes(client: FlaskClient) -> None:
    path = f"/api/photos/{'a' * 64}"
    large = client.put(path, data=b"x" * (MAX_BYTES + 1), content_type="image/png")
    assert large.status_code == 413
    spans = {"Content-Range": f"bytes 0-9/{MAX_BYTES + 1}"}
    said = client.put(path, data=b"x" * 10, headers=spans, content_type="image/png")
    assert said.status_code == 413


@pytest.mark.parametrize("kind", ["image/gif", "text/html", "application/json", "image/svg+xml"])
def test_only_three_kinds_of_picture_are_read(client: FlaskClient, kind: str) -> None:
    assert put(client, picture(), kind).status_code == 415


@pytest.mark.parametrize("coding", ["gzip, chunked", "chunked, chunked", "identity"])
def test_a_body_packed_for_the_way_is_415(client: FlaskClient, coding: str) -> None:
    answer = put(client, picture(), headers={"Transfer-Encoding": coding})
    assert answer.status_code == 415


def test_a_packed_photo_is_415(client: FlaskClient) -> None:
    assert put(client, picture(), headers={"Content-Encoding": "br"}).status_code == 415


@pytest.mark.parametrize("form", ["A" * 64, "a" * 63, "a" * 65, "g" * 64, "..", "a%00"])
@pytest.mark.parametrize("method", ["PUT", "GET", "HEAD"])
def test_a_hash_has_its_form(client: FlaskClient, form: str, method: str) -> None:
    answer = client.open(f"/api/photos/{form}", method=method, content_type="image/png", data=b"x")
    assert answer.status_code in (404, 422)


def chunk(kind: bytes, body: bytes) -> bytes:
    total = struct.pack(">I", zlib.crc32(kind + body))
    return struct.pack(">I", len(body)) + kind + body + total


def bomb(width: int, height: int) -> bytes:
    """Return a small PNG that unpacks into width × height pixels of nothing."""
    rows = zlib.compressobj(9)
    packed = b"".join(rows.compress(bytes(width // 8 + 1)) for _ in range(height)) + rows.flush()
    head = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")
    )


def with_zipped_text() -> bytes:
    """Return a PNG with a note that unpacks into 70 megabytes."""
    note = PngImagePlugin.PngInfo()
    note.add_text("Comment", "x" * 70_000_000, zip=True)
    return picture("PNG", pnginfo=note)


HOSTILE = {
    "nothing": lambda: b"",
    "a page": lambda: b"<html><script>alert(1)</script>",
    "a drawing": lambda: b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>",
    "a GIF": lambda: picture("GIF"),
    "a TIFF": lambda: picture("TIFF"),
    "a BMP": lambda: picture("BMP"),
    "a JPEG 2000": lambda: picture("JPEG2000"),
    "half a JPEG": lambda: picture()[: len(picture()) // 2],
    "half a PNG": lambda: picture("PNG")[:500],
    "half a WebP": lambda: picture("WEBP")[:300],
    "only a start": lambda: b"\xff\xd8\xff\xe0\x00\x10JFIF",
    "no pixels": lambda: bomb(1, 1).replace(struct.pack(">II", 1, 1), struct.pack(">II", 0, 0)),
    "one pixel too many": lambda: bomb(50_000, 1_001),
    "a large bomb": lambda: bomb(30_000, 12_000),
    "a text bomb": with_zipped_text,
    "a size that is a lie": lambda: picture("PNG").replace(
        struct.pack(">II", 64, 48), struct.pack(">II", 7_000, 7_000)
    ),
}


@pytest.mark.parametrize("kind", HOSTILE)
def test_what_is_no_picture_is_422_and_dropped(client: FlaskClient, kind: str) -> None:
    sent = HOSTILE[kind]()
    answer = put(client, sent, "image/png")
    assert answer.status_code == 422
    assert answer.get_json()["type"].endswith("#not-a-picture")
    assert offset(client, sent) == (404, "0")


def test_fifty_megapixels_are_taken(client: FlaskClient) -> None:
    assert put(client, bomb(50_000, 1_000), "image/png").status_code == 201


def test_nothing_but_pixels_is_kept(client: FlaskClient) -> None:
    exif = Image.Exif()
    exif[0x010E] = "SECRET description"
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 0.0)
    extras = {
        "JPEG": {"exif": exif, "comment": b"SECRET comment", "icc_profile": b"SECRET" * 30},
        "PNG": {"exif": exif, "icc_profile": b"SECRET" * 30},
        "WEBP": {"exif": exif, "xmp": b"SECRET xmp", "icc_profile": b"SECRET" * 30},
    }
    for form, extra in extras.items():
        sent = picture(form, **extra) + b"<script>SECRET</script>"
        assert b"SECRET" in sent
        assert put(client, sent, f"image/{form.lower()}").status_code == 201
        got = client.get(f"/api/photos/{name(sent)}").data
        assert b"SECRET" not in got
        with Image.open(io.BytesIO(got)) as image:
            assert not image.getexif()
            assert not set(image.info) & {"exif", "comment", "icc_profile", "xmp", "Comment"}


def test_a_photo_is_turned_upright(client: FlaskClient) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    sent = picture(exif=exif)
    put(client, sent)
    with Image.open(io.BytesIO(client.get(f"/api/photos/{name(sent)}").data)) as image:
        assert image.size == (48, 64)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGBA", "I;16", "CMYK"])
def test_pictures_of_every_mode_are_kept(client: FlaskClient, mode: str) -> None:
    out = io.BytesIO()
    image = Image.new("L", (20, 10), 128)
    form = "JPEG" if mode == "CMYK" else "PNG"
    (image.convert("I").convert("I;16") if mode == "I;16" else image.convert(mode)).save(out, form)
    sent = out.getvalue()
    assert put(client, sent, "image/png").status_code == 201
    with Image.open(io.BytesIO(client.get(f"/api/photos/{name(sent)}").data)) as kept:
        assert kept.size == (20, 10)


def test_a_photo_may_come_before_its_entry_or_after(client: FlaskClient) -> None:
    from tests.support.sample import bare, head

    survey = head()
    client.put(f"/api/surveys/{survey['id']}", json=survey)
    before, after = picture(size=(8, 8)), picture(size=(9, 9))
    put(client, before)
    entries = [bare("photo", run="A", sha256=name(sent)) for sent in (before, after)]
    answer = client.post(f"/api/surveys/{survey['id']}/entries", json={"entries": entries})
    assert len(answer.get_json()["stored"]) == 2
    assert put(client, after).status_code == 201


def test_a_photo_whose_file_was_lost_is_taken_again(client: FlaskClient, app: Flask) -> None:
    sent = picture()
    put(client, sent)
    for file in app.extensions["baywalk.photos"].rglob(f"{name(sent)}*"):
        file.unlink()
    assert offset(client, sent) == (404, "0")
    assert client.get(f"/api/photos/{name(sent)}").status_code == 404
    assert put(client, sent).status_code == 201


def test_a_cut_leaves_what_came_and_goes_on_from_there(running: Service) -> None:
    sent = picture(size=(500, 400))
    start = (
        f"PUT /api/photos/{name(sent)} HTTP/1.1\r\nHost: 127.0.0.1:{running.port}\r\n"
        f"Content-Type: image/jpeg\r\nContent-Length: {len(sent)}\r\n\r\n"
    )
    with running.line() as line:
        line.sendall(start.encode() + sent[:100_000])
    here = 0
    for _ in range(100):
        answer = running.ask("HEAD", f"/api/photos/{name(sent)}")
        here = int(answer.headers["upload-offset"])
        if here == 100_000:
            break
    assert here == 100_000
    rest = {
        "Content-Type": "image/jpeg",
        "Content-Range": f"bytes {here}-{len(sent) - 1}/{len(sent)}",
    }
    assert running.ask("PUT", f"/api/photos/{name(sent)}", sent[here:], rest).status == 201
    assert running.ask("GET", f"/api/photos/{name(sent)}").status == 200


def test_a_limit_holds_for_a_photo_in_chunks(running: Service) -> None:
    start = (
        f"PUT /api/photos/{'d' * 64} HTTP/1.1\r\nHost: 127.0.0.1:{running.port}\r\n"
        "Content-Type: image/jpeg\r\nTransfer-Encoding: chunked\r\n\r\n"
    )
    body = b"f4240\r\n" + b"x" * 1_000_000 + b"\r\n"
    answer = running.raw(start.encode() + body * 16 + b"0\r\n\r\n")
    assert answer.status == 413
    assert running.ask("HEAD", f"/api/photos/{'d' * 64}").headers["upload-offset"] == "0"


def half_sent(app: Flask, count: int, age: float) -> list[Path]:
    """Leave half-sent photos behind, last touched some time ago [s]."""
    folder = app.extensions["baywalk.photos"] / "parts"
    made = [folder / f"{number:064x}" for number in range(count)]
    for file in made:
        file.write_bytes(b"x")
        os.utime(file, (time.time() - age,) * 2)
    return made


def test_half_sent_photos_are_dropped_after_a_week(app: Flask, client: FlaskClient) -> None:
    old, young = half_sent(app, 3, PART_LASTS + 60), picture()
    assert piece(client, young, 0, 100).status_code == 202
    assert not any(file.exists() for file in old)
    assert offset(client, young) == (200, "100")


def test_idle_ones_make_room(app: Flask, client: FlaskClient) -> None:
    left = half_sent(app, MOST_PARTS, PART_IDLE + 60)
    assert piece(client, picture(), 0, 100).status_code == 202
    assert sum(file.exists() for file in left) == MOST_PARTS - 1


def test_there_are_only_so_many_at_once(app: Flask, client: FlaskClient) -> None:
    left = half_sent(app, MOST_PARTS, 10)
    answer = piece(client, picture(), 0, 100)
    assert answer.status_code == 503
    assert answer.get_json()["type"] == "/api/problems#too-many-parts"
    assert all(file.exists() for file in left)
    left[0].unlink()
    assert put(client, picture()).status_code == 201
