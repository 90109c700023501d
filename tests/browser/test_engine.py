"""The phone's own engine in a real browser: equal to the service's, and quick enough."""

from __future__ import annotations

import json
import random
from typing import TYPE_CHECKING, Any

import pytest

from baywalk import fieldbook, places
from baywalk.reconcile import reconcile
from tests.browser.driving import NEUTRAL
from tests.browser.walking import in_the_loft
from tests.lofts import Lines, full_loft
from tests.slips import plant
from tests.vectors.cases import folder
from tests.vectors.compare import differences

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Page, Playwright

    from tests.browser.driving import Phone

NEAR = 0.01  # mm: no figure may differ by more
LOFTS = 500
BATCH = 50
SLOWER = 4  # times: how much slower than this machine a phone is taken to be
TOUCH = 50  # ms: what a check after a touch may take
READINGS = 148

SET_UP = """async () => {
  const [{ fold }, { reconcile }, { Engine }, rules] = await Promise.all([
    import("/app/book/fold.js"), import("/app/reconcile/asbuilt.js"),
    import("/app/reconcile/engine.js"), fetch("/shared/rules/uk.json").then((r) => r.json()),
  ]);
  const folded = ({ entries, ...head }) => fold(head, entries);
  Object.assign(window, { folded, rules, Engine });
  window.check = (survey) => JSON.parse(JSON.stringify(reconcile(folded(survey), rules)));
  window.timed = (survey, times) => {
    const parts = folded(survey);
    return Array.from({ length: times }, () => {
      const start = performance.now();
      reconcile(parts, rules);
      return performance.now() - start;
    });
  };
}"""
"""Puts the engine on a page that has no screens."""

OVERTAKEN = """async (surveys) => {
  const engine = new Engine(rules);
  const answers = await Promise.all(surveys.map((survey) => engine.reconcile(folded(survey))));
  engine.close();
  return answers;
}"""

LONGEST_WAIT = """async (survey) => {
  const engine = new Engine(rules), parts = folded(survey);
  await engine.reconcile(parts);
  let longest = 0, last = performance.now(), done = false;
  const answer = engine.reconcile(parts).finally(() => (done = true));
  while (!done) {
    await new Promise((next) => { const { port1, port2 } = new MessageChannel();
      port1.onmessage = next; port2.postMessage(0); });
    longest = Math.max(longest, performance.now() - last);
    last = performance.now();
  }
  engine.close();
  return [longest, (await answer).format];
}"""
"""How long the page's own thread was kept from anything else while the worker reckons [ms]."""


@pytest.fixture(scope="module")
def phone(playwright: Playwright, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Phone]:
    """Give a phone for all of these: none leaves anything on it."""
    with in_the_loft(playwright, tmp_path_factory.mktemp("engine")) as phone:
        yield phone


@pytest.fixture
def page(phone: Phone) -> Page:
    """Give a page with the engine and without screens."""
    page = phone.open(NEUTRAL)
    page.evaluate(SET_UP)
    return page


def _random_survey(seed: int) -> dict[str, Any]:
    """Return a random loft read by a random plan, with none to three slips."""
    draw = random.Random(seed)
    survey = full_loft(seed, draw.choice([2, 3, 3, 4, 4, 5, 6, 8])).survey()
    share = draw.choice([1.0, 1.0, 0.85, 0.6, 0.35])
    dropped = draw.choice(["", "", "diagonal", "along", "breadth"])
    survey["entries"] = [
        e for e in survey["entries"] if draw.random() < share and e["kind"] != dropped
    ]
    for _ in range(draw.choice([0, 1, 1, 1, 2, 3])):
        if survey["entries"]:
            plant(survey["entries"], draw)
    return survey


def _by_python(survey: dict[str, Any]) -> dict[str, Any]:
    as_built: dict[str, Any] = json.loads(
        json.dumps(reconcile(fieldbook.load_survey(json.dumps(survey))))
    )
    return as_built


def test_every_vector(page: Page) -> None:
    """Every figure to 0.01 mm; every verdict, suspect, finding and advice word for word."""
    files = sorted(folder().glob("*.json"))
    assert len(files) >= 60
    for file in files:
        vector = json.loads(file.read_text(encoding="utf-8"))
        made = page.evaluate("(survey) => check(survey)", vector["survey"])
        assert differences(vector["as_built"], made, NEAR) == [], file.name


def test_the_demo_loft(page: Page) -> None:
    """The loft that the service shows is the same loft on the phone."""
    survey = json.loads((places.fixtures() / "demo-loft.json").read_text(encoding="utf-8"))
    made = page.evaluate("(survey) => check(survey)", survey)
    assert differences(_by_python(survey), made, NEAR) == []
    assert made["runs"][0]["suspects"]


@pytest.mark.parametrize("batch", range(LOFTS // BATCH))
def test_random_lofts(page: Page, batch: int) -> None:
    """Five hundred random lofts, plans and slips: the same as-built on both sides."""
    seeds = range(batch * BATCH, (batch + 1) * BATCH)
    surveys = [_random_survey(seed) for seed in seeds]
    # As one text: the driver takes longer over many small values than the phone over the lofts.
    texts = "(surveys) => JSON.stringify(JSON.parse(surveys).map(check))"
    made = json.loads(page.evaluate(texts, json.dumps(surveys)))
    for seed, survey, phone in zip(seeds, surveys, made, strict=True):
        assert differences(_by_python(survey), phone, NEAR) == [], f"seed {seed}"


def _three_lines(seed: int) -> dict[str, Any]:
    """Return a loft of three tape lines that no diagonal ties, with none to four slips."""
    loft, draw = Lines(seed), random.Random(seed)
    for _ in range(draw.choice([0, 1, 2, 2, 3, 3, 4])):
        plant(loft.entries, draw)
    return loft.survey()


def test_lines_tied_by_lengths_alone(page: Page) -> None:
    """Lengths along joists leave a line free across them: both sides rest at the same place.

    The first five seeds once parted them.
    """
    seeds = [77, 118, 129, 148, 186, *range(25)]
    surveys = [_three_lines(seed) for seed in seeds]
    made = page.evaluate("(surveys) => surveys.map(check)", surveys)
    for seed, survey, phone in zip(seeds, surveys, made, strict=True):
        assert differences(_by_python(survey), phone, NEAR) == [], f"seed {seed}"


@pytest.mark.parametrize("slip", [None, 0, 2, 4, 24, 29])
def test_quick_enough_for_a_touch(page: Page, phone: Phone, slip: int | None) -> None:
    """Twenty joists and two lines, fully read, at a quarter of this machine's speed.

    Without a slip, and with one: a digit lost, wrong digits of all sizes, a digit added, a breadth.
    The quickest of some runs counts, for other tests run beside this one.
    """
    survey = full_loft(1, 20).survey()
    assert len(survey["entries"]) == READINGS
    if slip is not None:
        plant(survey["entries"], random.Random(slip))
    session = phone.session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    spent = page.evaluate("(survey) => timed(survey, 40)", survey)
    session.detach()
    print(f"slip {slip}: {min(spent):.1f} ms, middle {sorted(spent)[20]:.1f} ms")
    assert min(spent) < TOUCH


def test_the_latest_request_wins(page: Page) -> None:
    """Requests that a later one overtakes are answered with nothing; the last with its as-built."""
    surveys = [_random_survey(seed) for seed in (3, 5, 8)]
    *earlier, last = page.evaluate(OVERTAKEN, surveys)
    assert earlier == [None, None]
    assert differences(_by_python(surveys[-1]), last, NEAR) == []


def test_the_page_is_never_kept_waiting(page: Page) -> None:
    """While the worker reckons a long run the page's own thread stays free for a key.

    The quietest of some runs counts, for other tests run beside this one; a thread that were kept
    from its work by the page itself would be kept from it in every run.
    """
    name = next(file for file in folder().glob("*-long.json"))
    survey = json.loads(name.read_text(encoding="utf-8"))["survey"]
    runs = [page.evaluate(LONGEST_WAIT, survey) for _ in range(8)]
    assert {what for _, what in runs} == {"baywalk.as-built"}
    print(f"longest waits: {sorted(round(longest) for longest, _ in runs)} ms")
    assert min(longest for longest, _ in runs) < TOUCH
