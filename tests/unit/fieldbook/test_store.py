"""The store, the same on SQLite and PostgreSQL."""

from __future__ import annotations

import random
import threading
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import Engine, inspect, text

from baywalk.fieldbook import fingerprint, fold
from baywalk.fieldbook.store import NewerStore, Store, open_engine
from baywalk.fieldbook.store.migrations import STEPS, migrate
from baywalk.fieldbook.store.store import PAGE
from baywalk.fieldbook.store.tables import metadata
from baywalk.fieldbook.text import parse
from tests.support.sample import bare, entry, head

if TYPE_CHECKING:
    from pathlib import Path


def ids(entries: list[dict[str, Any]]) -> list[str]:
    return [one["id"] for one in entries]


def pulled(store: Store, survey: str) -> list[dict[str, Any]]:
    """Return every entry, page by page."""
    got, cursor = [], 0
    while (page := store.page(survey, cursor)) and page.entries:
        assert page.cursor > cursor
        got += [parse(body) for body in page.entries]
        cursor = page.cursor
    assert page
    assert page.cursor == cursor
    return got


@pytest.fixture
def survey(store: Store) -> str:
    made = head()
    store.put_head(made)
    return str(made["id"])


def test_a_batch_sent_twice_changes_nothing(store: Store, survey: str) -> None:
    batch = [entry() for _ in range(5)]
    first = store.add(survey, batch)
    again = store.add(survey, batch)
    assert first
    assert again
    assert (first.stored, first.known) == (ids(batch), [])
    assert (again.stored, again.known) == ([], ids(batch))
    assert first.cursor == again.cursor
    assert pulled(store, survey) == batch


def test_the_same_content_may_be_written_otherwise(store: Store, survey: str) -> None:
    one = entry(value=353)
    store.add(survey, [one])
    turned = dict(reversed(list(one.items()))) | {"value": 353.0}
    again = store.add(survey, [turned])
    assert again
    assert again.known == [one["id"]]
    assert [repr(e["value"]) for e in pulled(store, survey)] == ["353"]


def test_a_known_id_with_other_content_is_refused_and_the_first_stands(
    store: Store, survey: str
) -> None:
    one = entry(value=353)
    store.add(survey, [one])
    again = store.add(survey, [one | {"value": 335}])
    assert again
    assert [(r.id, r.index, r.field) for r in again.refused] == [(one["id"], 0, "id")]
    assert pulled(store, survey) == [one]


def test_true_is_not_one(store: Store, survey: str) -> None:
    one = bare("sketch", closed=1)
    store.add(survey, [one])
    again = store.add(survey, [one | {"closed": True}])
    assert again
    assert len(again.refused) == 1


def test_of_a_twin_in_a_batch_the_second_is_known_or_refused(store: Store, survey: str) -> None:
    one = entry(value=353)
    added = store.add(survey, [one, dict(one), one | {"value": 335}])
    assert added
    assert (added.stored, added.known) == ([one["id"]], [one["id"]])
    assert [(r.id, r.index) for r in added.refused] == [(one["id"], 2)]


def test_a_bad_entry_does_not_hold_up_the_rest(store: Store, survey: str) -> None:
    good, bad = entry(), entry(value="353")
    added = store.add(survey, [bad, good, 7])
    assert added
    assert added.stored == [good["id"]]
    assert [(r.id, r.index, r.field) for r in added.refused] == [
        (bad["id"], 0, "value"),
        (None, 2, ""),
    ]


def test_entries_of_one_id_in_two_surveys_are_two(store: Store, survey: str) -> None:
    other = head()
    store.put_head(other)
    one = entry()
    for place in (survey, other["id"]):
        added = store.add(place, [one])
        assert added
        assert added.stored == [one["id"]]


def test_there_is_no_such_survey(store: Store) -> None:
    missing = head()["id"]
    assert store.add(missing, [entry()]) is None
    assert store.page(missing, 0) is None
    assert store.whole(missing) is None
    assert store.stamp(missing) is None


def test_pages_hold_five_hundred_and_end_with_an_empty_one(store: Store, survey: str) -> None:
    batch = [entry() for _ in range(2 * PAGE + 1)]
    store.add(survey, batch)
    first = store.page(survey, 0)
    assert first
    assert len(first.entries) == PAGE == 500
    assert pulled(store, survey) == batch


def test_a_page_of_large_entries_is_shorter(store: Store, survey: str) -> None:
    batch = [bare("sketch", strokes="x" * 3_000_000) for _ in range(4)]
    for one in batch:
        store.add(survey, [one])
    page = store.page(survey, 0)
    assert page
    assert len(page.entries) == 2
    assert pulled(store, survey) == batch


def test_a_cursor_of_another_store_leads_back_to_the_start(store: Store, survey: str) -> None:
    store.add(survey, [entry()])
    page = store.page(survey, 10**9)
    assert page
    assert (page.entries, page.cursor) == ([], 0)


def test_a_cursor_given_is_never_passed_by_a_later_entry(store: Store, survey: str) -> None:
    """Four phones write while one reads: the reader must miss nothing."""
    batches = [[[entry() for _ in range(3)] for _ in range(8)] for _ in range(4)]
    seen: list[str] = []
    done = threading.Event()

    def read() -> None:
        cursor = 0
        while True:
            last = done.is_set()
            page = store.page(survey, cursor)
            assert page
            seen.extend(parse(body)["id"] for body in page.entries)
            cursor = page.cursor
            if last and not page.entries:
                return

    writers = [
        threading.Thread(target=lambda mine=mine: [store.add(survey, b) for b in mine])
        for mine in batches
    ]
    reader = threading.Thread(target=read)
    for thread in [reader, *writers]:
        thread.start()
    for thread in writers:
        thread.join()
    done.set()
    reader.join()
    sent = [one["id"] for mine in batches for batch in mine for one in batch]
    assert sorted(seen) == sorted(sent)


def test_two_phones_that_send_the_same_batch_at_once_store_it_once(
    store: Store, survey: str
) -> None:
    batch = [entry() for _ in range(20)]
    outcomes: list[Any] = []
    threads = [
        threading.Thread(target=lambda: outcomes.append(store.add(survey, batch))) for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(len(outcome.stored) for outcome in outcomes) == [0, 0, 0, 20]
    assert len(pulled(store, survey)) == 20


def test_every_order_of_arrival_gives_the_same_survey(engine: Engine) -> None:
    store = Store(engine)
    one, two = entry(n=1), entry(n=2)
    made = [
        one,
        two,
        bare("strike", n=3, target=one["id"], reason="wrong face"),
        bare("set", n=4, path="/title", value="Renamed"),
        bare("set", n=5, path="/runs/A/joists", value=9),
        bare("restore", n=6, target=one["id"]),
        bare("sketch", n=7, strokes=[]),
    ]
    prints = set()
    for seed in range(6):
        draw, base = random.Random(seed), head(id=f"00000000-0000-4000-8000-00000000000{seed}")
        store.put_head(base)
        for part in draw.sample(made, len(made)):
            store.add(base["id"], [part, draw.choice(made)])
        survey = store.whole(base["id"])
        assert survey
        assert (survey.title, survey.runs[0].joists) == ("Renamed", 9)
        same_id = fold(survey.head | {"id": "x"}, survey.entries)
        prints.add(fingerprint(same_id))
    assert len(prints) == 1


def test_a_head_is_new_then_equal_then_merged(store: Store) -> None:
    one = head()
    assert store.put_head(one) == "new"
    assert store.put_head(one) == "equal"
    assert store.put_head(one | {"title": "Other"}) == "merged"
    assert store.put_head(one | {"title": "Other"}) == "equal"


def test_heads_merge_by_run_line_and_number_of_joists(store: Store) -> None:
    one = head(tape={"class": "II"}, weather="wet")
    store.put_head(one)
    runs = [
        {"id": "B", "title": "Other", "joists": 3, "lines": ["near"]},
        {
            "id": "A",
            "title": "Renamed",
            "joists": 2,
            "lines": ["far", "middle"],
            "member": {"breadth": 50},
        },
    ]
    store.put_head(
        head(
            id=one["id"],
            title="New",
            tape={"class": "I"},
            runs=runs,
            created="2030-01-01T00:00:00Z",
        )
    )
    survey = store.whole(one["id"])
    assert survey
    assert (survey.title, survey.tape, survey.head["weather"]) == ("New", {"class": "I"}, "wet")
    assert survey.head["created"] == one["created"]
    a, b = survey.runs
    assert (a.id, a.title, a.joists, a.lines) == ("A", "Renamed", 4, ("near", "middle", "far"))
    assert a.member == {"breadth": 50}
    assert (b.id, b.joists, b.lines) == ("B", 3, ("near",))


def test_the_head_as_exported_is_equal_too(store: Store, survey: str) -> None:
    store.add(survey, [bare("set", path="/title", value="Renamed")])
    whole = store.whole(survey)
    assert whole
    assert store.put_head(whole.head) == "equal"


def test_the_list_shows_the_outcome_and_the_cursor(store: Store, survey: str) -> None:
    wrong = bare("set", n=2, path="/title", value="Wrong")
    added = store.add(
        survey,
        [
            bare("set", n=1, path="/title", value="Renamed"),
            wrong,
            bare("strike", n=3, target=wrong["id"], reason="typed wrong"),
            entry(n=4),
        ],
    )
    assert added
    (listed,) = store.surveys()
    assert (listed["id"], listed["title"], listed["cursor"]) == (survey, "Renamed", added.cursor)


def test_signs_of_every_kind_come_back(store: Store, survey: str) -> None:
    one = bare("remark", text="\x00 \u2028 ü 😀 \\ \" ' %s :name")
    store.add(survey, [one])
    assert pulled(store, survey) == [one]


def test_a_photo_is_noted_once(store: Store) -> None:
    store.note_photo("a" * 64, "image/png", 5)
    store.note_photo("a" * 64, "image/png", 5)
    assert store.photo("a" * 64) == ("image/png", 5)
    assert store.photo("b" * 64) is None


def test_the_migrations_make_the_tables_that_the_code_reads(engine: Engine) -> None:
    found = inspect(engine)
    assert set(found.get_table_names()) == {*metadata.tables, "baywalk_store"}
    for name, table in metadata.tables.items():
        columns = {column["name"]: column for column in found.get_columns(name)}
        assert columns.keys() == {column.name for column in table.columns}
        assert all(columns[c.name]["nullable"] == c.nullable for c in table.columns)
        assert found.get_pk_constraint(name)["constrained_columns"] == [
            column.name for column in table.primary_key.columns
        ]
    uniques = found.get_unique_constraints("entries")
    assert [unique["column_names"] for unique in uniques] == [["survey", "id"]]
    assert found.get_foreign_keys("entries")[0]["referred_table"] == "surveys"


def test_opening_again_keeps_everything(store: Store, survey: str, engine: Engine) -> None:
    store.add(survey, [entry()])
    migrate(engine)
    assert len(pulled(store, survey)) == 1


def test_a_store_of_a_newer_version_is_refused(engine: Engine) -> None:
    with engine.begin() as connection:
        connection.execute(text("UPDATE baywalk_store SET version = :v"), {"v": len(STEPS) + 1})
    with pytest.raises(NewerStore, match=f"version {len(STEPS) + 1}"):
        migrate(engine)


def test_sqlite_waits_for_the_disk(tmp_path: Path) -> None:
    engine = open_engine(tmp_path)
    with engine.connect() as connection:
        pragmas = [
            connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys")
        ]
    engine.dispose()
    assert pragmas == ["wal", 2, 1]
