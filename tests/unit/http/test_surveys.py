"""The routes of surveys, entries and the as-built: one test for each sentence of the contract."""

from __future__ import annotations

import json
import threading
import time
from typing import TYPE_CHECKING, Any

import pytest

from baywalk import places
from baywalk.fieldbook import load_survey
from baywalk.http import computed
from tests.support.sample import bare, entry, head

if TYPE_CHECKING:
    from flask.testing import FlaskClient


def put(client: FlaskClient, given: dict[str, Any]) -> Any:
    return client.put(f"/api/surveys/{given['id']}", json=given)


def post(client: FlaskClient, survey: str, *entries: object) -> Any:
    # The client's own way to send JSON would put the keys in another order.
    body = json.dumps({"entries": entries})
    path = f"/api/surveys/{survey}/entries"
    answer = client.post(path, data=body, content_type="application/json")
    assert answer.status_code == 200
    return answer.get_json()


@pytest.fixture
def survey(client: FlaskClient) -> str:
    given = head()
    assert put(client, given).status_code == 201
    return str(given["id"])


def test_the_list_of_surveys_has_their_cursors(client: FlaskClient, survey: str) -> None:
    assert client.get("/api/surveys").get_json() == {
        "surveys": [
            {
                "id": survey,
                "title": "Made up",
                "created": "2026-11-01T10:00:00+00:00",
                "cursor": 0,
            }
        ]
    }
    cursor = post(client, survey, entry())["cursor"]
    assert client.get("/api/surveys").get_json()["surveys"][0]["cursor"] == cursor > 0


def test_a_head_is_201_new_204_equal_200_merged(client: FlaskClient) -> None:
    given = head()
    new = put(client, given)
    assert (new.status_code, new.get_json()) == (201, given)
    equal = put(client, given)
    assert (equal.status_code, equal.data) == (204, b"")
    merged = put(client, given | {"title": "Other"})
    assert (merged.status_code, merged.get_json()["title"]) == (200, "Other")


def test_a_head_names_its_own_address(client: FlaskClient) -> None:
    answer = client.put(f"/api/surveys/{head()['id']}", json=head())
    assert (answer.status_code, answer.get_json()["field"]) == (422, "id")


@pytest.mark.parametrize("form", ["UPPER", "{braces}", "no-dashes", "short"])
def test_a_survey_goes_by_a_canonical_id(client: FlaskClient, form: str) -> None:
    plain = head()["id"]
    forms = {
        "UPPER": plain.upper(),
        "{braces}": f"{{{plain}}}",
        "no-dashes": plain.replace("-", ""),
        "short": plain[:-1],
    }
    answer = client.put(f"/api/surveys/{forms[form]}", json=head(id=forms[form]))
    assert (answer.status_code, answer.get_json()["field"]) == (422, "id")
    assert client.get(f"/api/surveys/{forms[form]}").status_code == 404


def test_a_head_has_no_entries(client: FlaskClient) -> None:
    answer = put(client, head(entries=[entry()]))
    assert (answer.status_code, answer.get_json()["field"]) == (422, "entries")
    assert put(client, head(entries=[])).status_code == 201


def test_a_head_of_an_unknown_version_is_refused_by_that_field(client: FlaskClient) -> None:
    answer = put(client, head(version=2))
    problem = answer.get_json()
    assert (answer.status_code, problem["field"]) == (422, "version")
    assert "version 1" in problem["detail"]


def test_a_head_over_a_megabyte_is_refused(client: FlaskClient) -> None:
    assert put(client, head(more="x" * 1_000_000)).status_code == 413
    assert put(client, head(more="x" * 900_000)).status_code == 201


def test_the_survey_comes_back_as_a_file_of_it_would_be(client: FlaskClient, survey: str) -> None:
    one, sketch = entry(n=1), bare("sketch", n=2, strokes=[[1, 2.5]], empty=None)
    post(client, survey, sketch, one, bare("set", n=3, path="/title", value="Renamed"))
    answer = client.get(f"/api/surveys/{survey}")
    exported = answer.get_json()
    assert exported["title"] == "Renamed"
    assert exported["entries"][:2] == [one, sketch]
    assert load_survey(answer.data).export() == exported


def test_entries_come_back_exactly_as_first_posted(client: FlaskClient, survey: str) -> None:
    sent = [entry(value=353.0), bare("sketch", z=1, a=[True, None, 1e-7], by="x")]
    post(client, survey, *sent)
    page = client.get(f"/api/surveys/{survey}/entries?after=0")
    assert page.get_json()["entries"] == sent
    assert json.dumps(json.loads(page.data)["entries"]) == json.dumps(sent)


def test_after_names_the_cursor_to_go_on_from(client: FlaskClient, survey: str) -> None:
    first, second = entry(), entry()
    cursor = post(client, survey, first)["cursor"]
    post(client, survey, second)
    page = client.get(f"/api/surveys/{survey}/entries?after={cursor}").get_json()
    assert page["entries"] == [second]
    end = client.get(f"/api/surveys/{survey}/entries?after={page['cursor']}").get_json()
    assert end == {"entries": [], "cursor": page["cursor"]}


def test_without_after_the_first_page_is_given(client: FlaskClient, survey: str) -> None:
    post(client, survey, entry())
    assert len(client.get(f"/api/surveys/{survey}/entries").get_json()["entries"]) == 1


def test_every_entry_sent_is_in_exactly_one_list(client: FlaskClient, survey: str) -> None:
    known, new, bad = entry(), entry(), entry(value="353")
    post(client, survey, known)
    twin = dict(new)
    other = known | {"value": 1}
    outcome = post(client, survey, known, new, bad, twin, other, None)
    assert outcome["stored"] == [new["id"]]
    assert outcome["known"] == [known["id"], new["id"]]
    assert [(r["id"], r["index"], r["field"]) for r in outcome["refused"]] == [
        (bad["id"], 2, "value"),
        (known["id"], 4, "id"),
        (None, 5, ""),
    ]
    assert all(r["why"] for r in outcome["refused"])


def test_an_empty_batch_is_a_batch(client: FlaskClient, survey: str) -> None:
    assert post(client, survey) == {"stored": [], "known": [], "refused": [], "cursor": 0}


@pytest.mark.parametrize("route", ["", "/entries", "/as-built"])
def test_a_survey_that_is_not_here_is_404(client: FlaskClient, route: str) -> None:
    answer = client.get(f"/api/surveys/{head()['id']}{route}")
    assert answer.status_code == 404
    assert answer.get_json()["type"].endswith("#no-such-survey")


def test_entries_of_a_survey_that_is_not_here_are_404(client: FlaskClient) -> None:
    answer = client.post(f"/api/surveys/{head()['id']}/entries", json={"entries": [entry()]})
    assert answer.status_code == 404


def test_a_joist_beyond_the_run_and_an_unknown_run_or_line_are_stored(
    client: FlaskClient, survey: str
) -> None:
    far = entry(**{"from": [900, "right"], "to": [901, "left"]})
    outcome = post(client, survey, far, entry(run="Z"), entry(line="middle"))
    assert len(outcome["stored"]) == 3
    findings = client.get(f"/api/surveys/{survey}/as-built").get_json()
    assert findings["format"] == "baywalk.as-built"


class TestAsBuilt:
    @pytest.fixture
    def demo(self, client: FlaskClient) -> tuple[str, list[dict[str, Any]]]:
        whole = json.loads((places.fixtures() / "demo-loft.json").read_text(encoding="utf-8"))
        entries = whole.pop("entries")
        put(client, whole)
        return whole["id"], entries

    def tag(self, client: FlaskClient, survey: str) -> str:
        answer = client.get(f"/api/surveys/{survey}/as-built")
        assert answer.status_code == 200
        return str(answer.headers["ETag"])

    def test_the_tag_is_of_the_set_not_of_the_order(
        self, client: FlaskClient, demo: tuple[str, list[dict[str, Any]]]
    ) -> None:
        survey, entries = demo
        bodies = set()
        for place, order in enumerate((entries, entries[::-1]), 2):
            other = head(id=survey[:-1] + f"{place}", created="2026-10-17T09:00:00+01:00")
            put(client, other)
            for one in order:
                post(client, other["id"], one)
            bodies.add(client.get(f"/api/surveys/{other['id']}/as-built").data)
        # The two differ in nothing but the survey's own id, at the start of the text.
        assert len({body.partition(b'"title"')[2] for body in bodies}) == 1

    def test_the_tag_changes_with_the_set_and_with_the_head_only(
        self, client: FlaskClient, demo: tuple[str, list[dict[str, Any]]]
    ) -> None:
        survey, entries = demo
        post(client, survey, *entries[:-1])
        first = self.tag(client, survey)
        post(client, survey, *entries[:-1])
        assert self.tag(client, survey) == first
        post(client, survey, entries[-1])
        second = self.tag(client, survey)
        assert second != first
        whole = client.get(f"/api/surveys/{survey}").get_json()
        put(client, {k: v for k, v in whole.items() if k != "entries"} | {"title": "Other"})
        assert self.tag(client, survey) not in (first, second)

    def test_who_has_it_is_told_so_without_it(
        self, client: FlaskClient, demo: tuple[str, list[dict[str, Any]]]
    ) -> None:
        survey, entries = demo
        post(client, survey, *entries)
        path, tag = f"/api/surveys/{survey}/as-built", self.tag(client, survey)
        for given in (tag, f'"other", {tag}', f"W/{tag}", "*"):
            same = client.get(path, headers={"If-None-Match": given})
            assert (same.status_code, same.data, same.headers["ETag"]) == (304, b"", tag)
        assert client.get(path, headers={"If-None-Match": '"other"'}).status_code == 200

    @pytest.mark.parametrize(
        "runs",
        [
            [{"id": str(i), "joists": 10_000, "lines": ["near"]} for i in range(6)],
            [{"id": str(i)} for i in range(25_001)],
            [{"id": "A", "lines": [str(i) for i in range(201)]}],
        ],
        ids=["joists", "runs", "lines"],
    )
    def test_too_large_a_survey_is_told_so(
        self, client: FlaskClient, runs: list[dict[str, Any]]
    ) -> None:
        given = head(runs=runs)
        put(client, given)
        answer = client.get(f"/api/surveys/{given['id']}/as-built")
        assert answer.status_code == 422
        assert answer.get_json()["type"].endswith("#too-much-to-work-out")

    def test_the_longest_run_is_worked_out(self, client: FlaskClient) -> None:
        given = head(runs=[{"id": "A", "joists": 10_000, "lines": ["near", "far"]}])
        put(client, given)
        assert client.get(f"/api/surveys/{given['id']}/as-built").status_code == 200

    def test_who_waits_for_too_long_is_asked_to_come_again(
        self, client: FlaskClient, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        given = head()
        put(client, given)
        free = threading.Event()
        monkeypatch.setattr(computed, "PATIENCE", 0.05)
        monkeypatch.setattr(computed, "_work_out", lambda _: free.wait(10) and ("tag", "{}"))
        path = f"/api/surveys/{given['id']}/as-built"
        first = threading.Thread(target=client.application.test_client().get, args=(path,))
        first.start()
        time.sleep(0.3)
        answer = client.get(path)
        free.set()
        first.join()
        assert answer.status_code == 503
        assert answer.headers["Retry-After"] == "10"


def test_an_if_match_of_another_state_is_a_problem(client: FlaskClient, survey: str) -> None:
    """RFC 9110, section 13.1.1; and every refusal has one shape."""
    post(client, survey, entry())
    path = f"/api/surveys/{survey}/as-built"
    own = client.get(path).headers["ETag"]
    assert client.get(path, headers={"If-Match": own}).status_code == 200
    for asked in (path, f"/api/surveys/{survey}/sheets/as-built.svg"):
        answer = client.get(asked, headers={"If-Match": '"another"'})
        assert answer.status_code == 412
        assert answer.content_type == "application/problem+json"
        assert answer.get_json()["type"].endswith("#not-the-same")
