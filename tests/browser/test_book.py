"""The field book in a real browser: "saved" is true, and what is not saved is said and not lost."""

from __future__ import annotations

import hashlib
import io
import json
from typing import TYPE_CHECKING, Any

import pytest
from PIL import Image
from playwright.sync_api import expect

from tests.browser.driving import NEUTRAL, until, wait_for

if TYPE_CHECKING:
    from collections.abc import Callable

    from playwright.sync_api import Page

    from tests.browser.driving import Phone

MAKE = """async () => {
  const { newHead } = await import("/app/book/entry.js");
  const run = { id: "A", title: "", joists: 5, lines: ["near"] };
  window.id = await book.createSurvey(newHead("Invented", { class: "II" }, [run]));
  window.survey = await book.openSurvey(window.id);
  return window.id;
}"""

OPEN = "async (id) => { window.survey = await book.openSurvey(id); }"

GAP = """(value) => survey.add("across", {
  run: "A", line: "near", from: [1, "right"], to: [2, "left"], value,
})"""


def made(phone: Phone) -> str:
    """Open a book with one new survey, as ``survey``."""
    survey: str = phone.book().evaluate(MAKE)
    return survey


def add(page: Page, value: int) -> str:
    """Add a gap and return its id once it is said to be saved."""
    entry: str = page.evaluate(
        f"async (value) => {{ const s = ({GAP})(value); await s.saved; return s.entry.id; }}", value
    )
    return entry


def values(page: Page) -> list[int]:
    """Return the values of the open survey's readings."""
    found: list[int] = page.evaluate("survey.entries.map((entry) => entry.value)")
    return found


def test_killed_right_after_saved(phone: Phone) -> None:
    """What was said to be saved is there after the browser was killed; a bench does more."""
    survey = made(phone)
    last = 305
    for value in range(300, last):
        add(phone.page, value)
        phone.kill()
        phone.restart()
        phone.book().evaluate(OPEN, survey)
    assert values(phone.page) == list(range(300, last))


def test_the_device_and_its_counter_go_on_after_a_restart(phone: Phone) -> None:
    survey = made(phone)
    add(phone.page, 300)
    before = phone.page.evaluate("survey.entries[0]")
    phone.restart()
    phone.book().evaluate(OPEN, survey)
    add(phone.page, 301)
    after = phone.page.evaluate("survey.entries[1]")
    assert (after["by"], after["n"]) == (before["by"], before["n"] + 1)


def test_no_room_at_the_commit(phone: Phone) -> None:
    """A write that fails at its end is not called saved, is told, kept, and made good later."""
    survey = made(phone)
    phone.restart()
    page = phone.book(quota=1)
    page.evaluate(OPEN, survey)
    page.evaluate(
        f"""() => {{
          window.done = false;
          window.one = ({GAP})(353);
          one.saved.then(() => (window.done = true));
        }}"""
    )
    until(page, "survey.unsaved.get(one.entry.id)?.name === 'QuotaExceededError'")
    assert page.evaluate("[done, book.failing.size, survey.standing.has(one.entry.id)]") == [
        False,
        1,
        True,
    ]
    assert stored(page) == []
    exported = json.loads(page.evaluate("survey.exportFile().then((file) => file.text())"))
    assert [entry["value"] for entry in exported["entries"]] == [353]
    phone.give_room(None)
    page.evaluate("book.tryAgain()")
    until(page, "done && book.failing.size === 0 && survey.unsaved.size === 0")
    assert stored(page) == [353]


def test_killed_before_it_could_be_saved(phone: Phone) -> None:
    """An entry that the database would not take is found again after the page has died."""
    survey = made(phone)
    phone.restart()
    page = phone.book(quota=1)
    page.evaluate(OPEN, survey)
    page.evaluate(f"() => {{ ({GAP})(353); }}")
    until(page, "book.failing.size === 1")
    # The browser writes its store of texts behind the page's back; it gets a moment for it.
    page.wait_for_timeout(6_000)
    phone.kill()
    phone.restart()
    page = phone.book()
    page.evaluate(OPEN, survey)
    until(page, "survey.entries.length === 1 && survey.unsaved.size === 0")
    assert stored(page) == [353]
    assert page.evaluate("Object.keys(localStorage)") == []


BUSY = """() => new Promise((resolve) => {
  const asked = indexedDB.open("baywalk");
  asked.onsuccess = () => {
    const tx = asked.result.transaction(["entries", "keep"], "readwrite");
    const again = () => (tx.objectStore("keep").get("nothing").onsuccess = again);
    again();
    resolve();
  };
})"""
"""What keeps the database busy for as long as the page lives: every other write waits."""


def test_a_page_left_within_the_touch_loses_nothing(phone: Phone) -> None:
    """Whoever saves and at once goes back, reloads or locks the phone takes no reading along."""
    survey = made(phone)
    page = phone.page
    for value in (351, 352, 353):
        page.evaluate(BUSY)
        with page.expect_navigation():
            page.evaluate(
                f"() => {{ ({GAP})({value}); book.keep('at', {value}); location.reload(); }}"
            )
        phone.book().evaluate(OPEN, survey)
        assert values(page)[-1] == value
        assert page.evaluate("book.kept('at')") == value
    until(page, "!Object.keys(localStorage).some((name) => name.includes('lifeboat'))")
    assert sorted(stored(page)) == [351, 352, 353]


def stored(page: Page) -> list[int]:
    """Return the values in the database itself, read past the field book."""
    found: list[int] = page.evaluate(
        """() => new Promise((resolve) => {
          const asked = indexedDB.open("baywalk");
          asked.onsuccess = () => {
            const all = asked.result.transaction("entries").objectStore("entries").getAll();
            all.onsuccess = () => {
              asked.result.close();
              resolve(all.result.map(({ entry }) => entry.value));
            };
          };
        })"""
    )
    return found


BREAK = {
    "the connection is lost": """() => {
      const real = IDBDatabase.prototype.transaction;
      IDBDatabase.prototype.transaction = function (...given) {
        // Only the entry's own writing fails; what the sending reads meanwhile does not.
        const own = String(given[0]) === "entries" && given[1] === "readwrite";
        if (!own) return real.apply(this, given);
        IDBDatabase.prototype.transaction = real;
        throw new DOMException("Connection to Indexed Database server lost", "UnknownError");
      };
    }""",
    "the handle is dead for good": """() => {
      const real = IDBDatabase.prototype.transaction;
      let first = null;
      IDBDatabase.prototype.transaction = function (...given) {
        if (String(given[0]) === "entries" && given[1] === "readwrite") first ??= this;
        if (this === first) throw new DOMException("The database is closing", "InvalidStateError");
        return real.apply(this, given);
      };
    }""",
    "the transaction breaks off after the request succeeded": """() => {
      const real = IDBObjectStore.prototype.put;
      IDBObjectStore.prototype.put = function (...given) {
        if (this.name !== "entries") return real.apply(this, given);
        IDBObjectStore.prototype.put = real;
        const asked = real.apply(this, given);
        asked.addEventListener("success", () => this.transaction.abort());
        return asked;
      };
    }""",
}


@pytest.mark.parametrize("way", BREAK)
def test_a_failed_write_is_made_again(phone: Phone, way: str) -> None:
    made(phone)
    page = phone.page
    page.evaluate("() => { window.told = 0; survey.addEventListener('failed', () => told++); }")
    page.evaluate(BREAK[way])
    add(page, 353)
    assert page.evaluate("told") == 1
    assert stored(page) == [353]
    assert page.evaluate("[survey.unsaved.size, book.failing.size]") == [0, 0]


def test_readings_wait_for_no_photo(phone: Phone) -> None:
    """Where a photo does not fit any more, readings still do."""
    survey = made(phone)
    phone.restart()
    page = phone.book(quota=2_000_000)
    page.evaluate(OPEN, survey)
    page.evaluate(
        """() => {
          const noise = new Uint8Array(3_000_000);
          for (let at = 0; at < noise.length; at += 60_000)
            crypto.getRandomValues(noise.subarray(at, at + 60_000));
          survey.addPhoto(new Blob([noise], { type: "image/jpeg" })).then(({ saved }) =>
            saved.then(() => (window.kept = true)),
          );
        }"""
    )
    until(page, "book.failing.size === 1")
    add(page, 353)
    assert page.evaluate("window.kept === undefined")
    assert 353 in stored(page)


def test_two_tabs_see_each_other(phone: Phone) -> None:
    survey = made(phone)
    other = phone.book(phone.context.new_page())
    other.evaluate(OPEN, survey)
    one = add(phone.page, 300)
    # What a tab adds before it has heard of the first counts alike: either order is right then.
    until(other, "survey.entries.length === 1")
    two = add(other, 301)
    for page in (phone.page, other):
        until(page, "survey.entries.length === 2")
        assert page.evaluate("survey.entries.map(({ id }) => id)") == [one, two]
    assert phone.page.evaluate("new Set(survey.entries.map(({ by }) => by)).size") == 1


def test_a_newer_page_in_another_tab(phone: Phone) -> None:
    """The older tab lets go of the database, says so, and loses nothing that it holds."""
    made(phone)
    page = phone.page
    page.evaluate("() => { book.addEventListener('outdated', () => (window.said = true)); }")
    other = phone.context.new_page()
    other.goto(phone.url + NEUTRAL)
    other.evaluate(
        """() => new Promise((resolve, reject) => {
          const asked = indexedDB.open("baywalk", 2);
          asked.onsuccess = () => resolve();
          asked.onblocked = () => reject(new Error("the older tab holds on"));
        })"""
    )
    until(page, "window.said && book.outdated")
    page.evaluate(f"() => {{ ({GAP})(353); }}")
    until(page, "book.failing.size === 1")
    exported = json.loads(page.evaluate("survey.exportFile().then((file) => file.text())"))
    assert [entry["value"] for entry in exported["entries"]] == [353]


def test_an_entry_that_is_not_sound_is_not_added(phone: Phone) -> None:
    made(phone)
    said = phone.page.evaluate(
        f"() => {{ try {{ ({GAP})(-3); }} catch (e) {{ return e.message; }} }}"
    )
    assert said == "This across cannot be kept: field value must be from 0 to 1000000."
    assert values(phone.page) == []


def test_the_page_keeps_where_one_was(phone: Phone) -> None:
    phone.book().evaluate("book.keep('walk', { step: 7 })")
    phone.restart()
    assert phone.book().evaluate("book.kept('walk')") == {"step": 7}
    assert phone.page.evaluate("book.kept('nothing')") is None


def photo_file(size: tuple[int, int], **save: Any) -> bytes:
    """Return a JPEG with a gradient in it."""
    image = Image.linear_gradient("L").resize(size).convert("RGB")
    out = io.BytesIO()
    image.save(out, "JPEG", **save)
    return out.getvalue()


def add_photo(page: Page, content: bytes, kind: str = "image/jpeg") -> dict[str, Any]:
    """Add a photo and return its entry once it is said to be saved."""
    entry: dict[str, Any] = page.evaluate(
        """async ([bytes, type]) => {
          const blob = new Blob([new Uint8Array(bytes)], { type });
          const { entry, saved } = await survey.addPhoto(blob, { run: "A", bay: 3 });
          await saved;
          return entry;
        }""",
        [list(content), kind],
    )
    return entry


def kept_photo(page: Page, sum_: str) -> tuple[str, bytes]:
    """Return what sort of thing lies in the database for a photo, and its bytes."""
    sort, content = page.evaluate(
        """(sum) => new Promise((resolve) => {
          const asked = indexedDB.open("baywalk");
          asked.onsuccess = () => {
            const got = asked.result.transaction("photos").objectStore("photos").get(sum);
            got.onsuccess = () => {
              const { bytes } = got.result;
              resolve([bytes.constructor.name, [...new Uint8Array(bytes)]]);
            };
          };
        })""",
        sum_,
    )
    return sort, bytes(content)


def test_a_photo_is_made_smaller_and_loses_where_it_was_taken(phone: Phone) -> None:
    made(phone)
    exif = Image.Exif()
    exif[0x010E] = "the house of an invented person"
    exif.get_ifd(0x8825)[1] = "N"
    # As a large sensor takes it: more than a canvas holds on some phones.
    entry = add_photo(phone.page, photo_file((5712, 4284), exif=exif, quality=30))
    assert (entry["width"], entry["height"]) == (1600, 1200)
    sort, content = kept_photo(phone.page, entry["sha256"])
    assert sort == "ArrayBuffer"
    assert hashlib.sha256(content).hexdigest() == entry["sha256"]
    kept = Image.open(io.BytesIO(content))
    assert kept.size == (1600, 1200)
    assert (kept.getpixel((800, 5))[0] < 20, kept.getpixel((800, 1195))[0] > 235) == (True, True)
    assert not kept.getexif()
    assert b"invented person" not in content


def test_a_photo_that_this_browser_cannot_read_is_kept_as_it_is(phone: Phone) -> None:
    made(phone)
    content = b"not a picture that any browser reads"
    entry = add_photo(phone.page, content, "image/heic")
    assert kept_photo(phone.page, entry["sha256"]) == ("ArrayBuffer", content)
    assert "width" not in entry


def test_a_photo_can_be_shown(phone: Phone) -> None:
    made(phone)
    entry = add_photo(phone.page, photo_file((320, 200)))
    size = phone.page.evaluate(
        """async (sum) => {
          const image = new Image();
          image.src = await survey.photoUrl(sum);
          await image.decode();
          return [image.naturalWidth, image.naturalHeight];
        }""",
        entry["sha256"],
    )
    assert size == [320, 200]


def test_a_survey_goes_through_a_file(phone: Phone, make_phone: Callable[..., Phone]) -> None:
    """With its photos, from one phone to another, with no service between."""
    survey = made(phone)
    add(phone.page, 300)
    phone.page.evaluate("async () => { await survey.strike(survey.entries[0].id, 'wrong').saved; }")
    entry = add_photo(phone.page, photo_file((320, 200)))
    text = phone.page.evaluate("survey.exportFile({ photos: true }).then((file) => file.text())")
    other = make_phone()
    page = other.book()
    take = "(text) => book.importFile(new Blob([text]))"
    for _ in range(2):
        assert page.evaluate(take, text) == survey
    page.evaluate(OPEN, survey)
    assert page.evaluate("[survey.entries.length, survey.struck.size]") == [3, 1]
    assert kept_photo(page, entry["sha256"]) == kept_photo(phone.page, entry["sha256"])


BAD_FILES = {
    "not JSON": ("{", "not JSON"),
    "another version": ('{"format": "baywalk.survey", "version": 9}', "field version"),
}


@pytest.mark.parametrize("what", BAD_FILES)
def test_a_bad_file_is_refused_with_one_line(phone: Phone, what: str) -> None:
    text, words = BAD_FILES[what]
    page = phone.book()
    said = page.evaluate(
        "(text) => book.importFile(new Blob([text])).catch((e) => e.message)", text
    )
    assert words in said
    assert page.evaluate("book.surveys()") == []


def test_a_file_that_contradicts_the_phone_changes_nothing(phone: Phone) -> None:
    made(phone)
    add(phone.page, 300)
    said = phone.page.evaluate(
        """async () => {
          const survey2 = JSON.parse(await (await survey.exportFile()).text());
          survey2.entries[0].value = 999;
          const more = { ...survey2.entries[0], id: crypto.randomUUID() };
          survey2.entries.push(more);
          return book.importFile(new Blob([JSON.stringify(survey2)])).catch((e) => e.message);
        }"""
    )
    assert "another entry of this id" in said
    assert stored(phone.page) == [300]


def test_the_page_starts_with_a_field_book(phone: Phone) -> None:
    phone.open()
    expect(phone.page.get_by_role("heading", level=1)).to_have_text("Surveys")
    assert wait_for(lambda: phone.errors == [])
