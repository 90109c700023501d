"""A whole backup: the same bytes back, while the service runs, on both databases."""

from __future__ import annotations

import hashlib
import io
import json
import tarfile
import threading
import time
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from PIL import Image

from baywalk import cli
from baywalk.fieldbook.photos import Photos
from baywalk.fieldbook.store import Device, Devices, Offer, Store, backup, open_engine
from tests.support import postgres
from tests.support.sample import entry, head

if TYPE_CHECKING:
    from pathlib import Path

    from tests.support.process import Service


def picture(side: int) -> bytes:
    out = io.BytesIO()
    Image.effect_noise((side, side), 50).convert("RGB").save(out, "JPEG")
    return out.getvalue()


class Kept:
    """A store with photos, in a folder of its own."""

    def __init__(self, folder: Path, database: str | None = None) -> None:
        folder.mkdir(exist_ok=True)
        self.engine = open_engine(folder, database)
        self.store = Store(self.engine)
        self.photos = Photos(folder / "photos", self.store)

    def fill(self, count: int = 40) -> str:
        made = head()
        self.store.put_head(made)
        self.store.add(made["id"], [entry() for _ in range(count)])
        shot = picture(20 + count)
        sha256 = hashlib.sha256(shot).hexdigest()
        stop = self.photos.grow(sha256, 0, [shot])
        self.photos.finish(sha256, stop)
        return str(made["id"])

    def everything(self) -> dict[str, Any]:
        surveys = {one["id"]: one for one in self.store.surveys()}
        found: dict[str, Any] = {"surveys": surveys}
        for survey in surveys:
            page = self.store.page(survey, 0)
            assert page
            found[survey] = (page.entries, page.cursor)
        return found


@pytest.mark.parametrize("kind", ["croquis à la main", 'a"b"', '"', "nil\x00nil", "\\", "😀"])
def test_a_kind_not_known_here_comes_back_whatever_its_name(tmp_path: Path, kind: str) -> None:
    one, other = Kept(tmp_path / "one"), Kept(tmp_path / "other")
    made = head()
    one.store.put_head(made)
    one.store.add(made["id"], [entry(kind=kind)])
    backup.take(one.engine, one.photos, tmp_path / "a.tar")
    backup.restore(other.engine, other.photos, tmp_path / "a.tar")
    assert other.everything() == one.everything()


def test_it_comes_back_byte_for_byte(tmp_path: Path) -> None:
    one, other = Kept(tmp_path / "one"), Kept(tmp_path / "other")
    for count in (3, 40):
        one.fill(count)
    counts = backup.take(one.engine, one.photos, tmp_path / "a.tar")
    assert counts == {"surveys": 2, "entries": 43, "photos": 2}
    other.fill(7)
    assert backup.restore(other.engine, other.photos, tmp_path / "a.tar") == counts
    assert other.everything() == one.everything()
    for row in backup.read(tmp_path / "a.tar").rows["photos"]:
        kept = other.photos.whole(row["sha256"])
        first = one.photos.whole(row["sha256"])
        assert kept
        assert first
        assert kept[0].read_bytes() == first[0].read_bytes()
    backup.take(other.engine, other.photos, tmp_path / "b.tar")
    assert backup.read(tmp_path / "b.tar").rows == backup.read(tmp_path / "a.tar").rows


def test_the_same_store_gives_the_same_bytes(tmp_path: Path) -> None:
    one = Kept(tmp_path / "one")
    one.fill()
    for name in ("a.tar", "b.tar"):
        backup.take(one.engine, one.photos, tmp_path / name)
    assert (tmp_path / "a.tar").read_bytes() == (tmp_path / "b.tar").read_bytes()


@pytest.mark.postgres
def test_it_goes_from_one_database_to_the_other(tmp_path: Path, postgres_url: str) -> None:
    url = postgres.database(postgres_url, "backup")
    one, other = Kept(tmp_path / "one"), Kept(tmp_path / "other", url)
    one.fill()
    backup.take(one.engine, one.photos, tmp_path / "a.tar")
    backup.restore(other.engine, other.photos, tmp_path / "a.tar")
    assert other.everything() == one.everything()
    backup.take(other.engine, other.photos, tmp_path / "b.tar")
    other.engine.dispose()
    assert (tmp_path / "a.tar").read_bytes() == (tmp_path / "b.tar").read_bytes()


def test_no_cursor_ever_given_skips_an_entry(tmp_path: Path) -> None:
    one = Kept(tmp_path / "one")
    survey = one.fill(10)
    mark = one.store.mark()
    backup.take(one.engine, one.photos, tmp_path / "a.tar")
    later = one.store.add(survey, [entry() for _ in range(10)])
    assert later
    backup.restore(one.engine, one.photos, tmp_path / "a.tar")
    fresh = entry()
    one.store.add(survey, [fresh])
    page = one.store.page(survey, later.cursor)
    assert page
    assert [json.loads(text)["id"] for text in page.entries] == [fresh["id"]]
    # By another mark, phones know to send again what the backup had not.
    assert one.store.mark() != mark


def test_a_phone_that_was_put_out_stays_out(tmp_path: Path) -> None:
    one = Kept(tmp_path / "one")
    devices = Devices(one.engine)
    backup.take(one.engine, one.photos, tmp_path / "a.tar")
    offer = Offer("o", "s", "a", "c", None, 1)
    devices.offer(offer)
    device = Device("d", "a phone", "t", None, 1, 1)
    assert devices.pair(lambda offers: offers[0], device, counts=False)
    devices.put_out("d")
    backup.restore(one.engine, one.photos, tmp_path / "a.tar")
    assert devices.device("d") == replace(device, out=True)


def remade(file: Path, **parts: bytes | None) -> None:
    """Write a backup again with some parts changed, its list made to fit unless that is given."""
    with tarfile.open(file) as tar:
        old = {one.name: tar.extractfile(one).read() for one in tar}  # type: ignore[union-attr]
    named = {key.replace("_", "."): value for key, value in parts.items()}
    listed = json.loads(old.pop("backup.json"))
    new = {k: v for k, v in {**old, **named}.items() if v is not None and k != "backup.json"}
    listed["parts"] = {k: hashlib.sha256(v).hexdigest() for k, v in new.items()}
    first = named.get("backup.json") or json.dumps(listed).encode()
    with tarfile.open(file, "w") as tar:
        for name, content in {"backup.json": first, **new}.items():
            info = tarfile.TarInfo(name)
            info.size = len(content)
            tar.addfile(info, io.BytesIO(content))


ROW = {"seq": 1, "survey": "x", "id": "y", "kind": "remark", "body": "{}"}


@pytest.mark.parametrize(
    ("parts", "why"),
    [
        ({"backup_json": b"{}"}, "no list"),
        ({"backup_json": b'{"format":"else","version":1,"counter":1,"parts":{}}'}, "not baywalk"),
        ({"backup_json": b'{"format":"baywalk.backup","version":2,"counter":1,"parts":{}}'}, "2"),
        ({"entries_jsonl": b"x\n"}, "line 1"),
        ({"entries_jsonl": json.dumps(ROW).encode()}, "entry y"),
        ({"entries_jsonl": json.dumps({**ROW, "seq": "1"}).encode()}, "line 1"),
        ({"entries_jsonl": json.dumps({**ROW, "more": 1}).encode()}, "line 1"),
        ({"surveys_jsonl": b""}, "does not go with its row"),
        ({"surveys_jsonl": b'{"id":"x","head":"{}"}\n'}, "survey x"),
        ({"photos_jsonl": b'{"sha256":"../x","type":"image/jpeg","size":1}\n'}, "SHA-256"),
    ],
)
def test_a_file_that_is_no_backup_changes_nothing(
    tmp_path: Path, parts: dict[str, bytes], why: str, capsys: pytest.CaptureFixture[str]
) -> None:
    one = Kept(tmp_path / "one")
    one.fill()
    file = tmp_path / "a.tar"
    backup.take(one.engine, one.photos, file)
    before = one.everything()
    remade(file, **parts)
    assert cli.main(["restore", str(file), "--data", str(tmp_path / "one")]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert why in line
    assert one.everything() == before


@pytest.mark.parametrize("cut", [0, 1, 511, 5000, -600])
def test_a_file_that_is_cut_changes_nothing(tmp_path: Path, cut: int) -> None:
    one = Kept(tmp_path / "one")
    one.fill()
    file = tmp_path / "a.tar"
    backup.take(one.engine, one.photos, file)
    file.write_bytes(file.read_bytes()[: cut if cut >= 0 else file.stat().st_size // 2])
    with pytest.raises(backup.BadBackup):
        backup.restore(one.engine, one.photos, file)


def test_both_commands_while_it_runs(
    running: Service, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made, kept, lost = head(), entry(), entry()
    where = f"/api/surveys/{made['id']}"
    running.ask("PUT", where, json=made)
    running.ask("POST", f"{where}/entries", json={"entries": [kept]})
    before = running.ask("GET", where).body
    data = ["--data", str(running.data)]
    file = tmp_path / "whole.tar"
    assert cli.main(["backup", str(file), *data]) == 0
    assert cli.main(["backup", str(file), *data]) == 2
    running.ask("POST", f"{where}/entries", json={"entries": [lost]})
    assert cli.main(["restore", str(file), *data]) == 0
    assert running.ask("GET", where).body == before
    # What was there before the restoring is kept too.
    said = capsys.readouterr().out
    assert "What was there before is in " in said
    assert cli.main(["restore", said.split()[-1], *data]) == 0
    back = json.loads(running.ask("GET", where).body)["entries"]
    assert {one["id"] for one in back} == {kept["id"], lost["id"]}


def test_it_is_of_one_moment_while_others_write(running: Service, tmp_path: Path) -> None:
    """What was posted before that moment is in it, in its order, and nothing that came after."""
    made, posted, over = head(), [], threading.Event()
    where = f"/api/surveys/{made['id']}"
    running.ask("PUT", where, json=made)

    def write() -> None:
        while not over.is_set():
            one = entry()
            posted.append(one["id"])
            running.ask("POST", f"{where}/entries", json={"entries": [one]})

    writer = threading.Thread(target=write)
    writer.start()
    try:
        while len(posted) < 20:
            time.sleep(0.01)
        assert cli.main(["backup", str(tmp_path / "whole.tar"), "--data", str(running.data)]) == 0
        at_least = len(posted)
    finally:
        over.set()
        writer.join(30)
    other = tmp_path / "other"
    assert cli.main(["restore", str(tmp_path / "whole.tar"), "--data", str(other)]) == 0
    store = Store(open_engine(other))
    page = store.page(made["id"], 0)
    store.close()
    assert page
    ids = [json.loads(body)["id"] for body in page.entries]
    assert ids == posted[: len(ids)]
    assert 19 <= len(ids) <= at_least
