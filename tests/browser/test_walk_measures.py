"""The walk measured by script: sizes, places, contrast, scrolling, the time from key to paint."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.browser.walking import Walker


SIZES = [(390, 844), (360, 640), (320, 640), (320, 568)]
KEY, GAP, OTHER = 72, 8, 61
"""Least sizes [px]: a key and the space about it, any other target. For gloves: our own choice;
61 px is 9.6 mm on a phone, above which a thumb errs no less (Parhi, Karlson and Bederson 2006, from
memory)."""

CONTRAST = """() => {
  const rgb = (text) => text.match(/[\\d.]+/g).map(Number);
  const light = ([r, g, b]) => [r, g, b].map((v) => v / 255)
    .map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4))
    .reduce((sum, v, at) => sum + v * [0.2126, 0.7152, 0.0722][at], 0);
  const ground = (node) => {
    for (let at = node; at; at = at.parentElement) {
      const colour = rgb(getComputedStyle(at).backgroundColor);
      if (colour.length < 4 || colour[3] === 1) return colour;
    }
    return [255, 255, 255];
  };
  const texts = [...document.querySelectorAll(".walk *")].filter((node) =>
    [...node.childNodes].some((one) => one.nodeType === 3 && one.textContent.trim()) &&
    node.checkVisibility({ visibilityProperty: true }));
  return texts.map((node) => {
    const style = getComputedStyle(node);
    const ink = rgb(node instanceof SVGElement ? style.fill : style.color);
    const [a, b] = [light(ink), light(ground(node))].sort((x, y) => y - x);
    return { words: node.textContent.trim(), ratio: (a + 0.05) / (b + 0.05) };
  });
}"""

KEY_TO_PAINT = """() => {
  window.waits = [];
  new PerformanceObserver((list) => list.getEntries()
    .filter(({ interactionId }) => interactionId)
    .forEach(({ duration }) => window.waits.push(duration)),
  ).observe({ type: "event", durationThreshold: 0, buffered: false });
}"""


def apart(one: dict[str, Any], other: dict[str, Any]) -> float:
    """Return the space between two targets along the axis on which they lie apart [px]."""
    across = max(one["x"], other["x"]) - min(one["x"] + one["width"], other["x"] + other["width"])
    down = max(one["y"], other["y"]) - min(one["y"] + one["height"], other["y"] + other["height"])
    return max(across, down)


def dress(walker: Walker, *, theme: str = "dark", hand: str = "right") -> None:
    """Choose the theme and the hand as the settings would."""
    walker.page.evaluate(
        "([theme, hand]) => Object.assign(document.documentElement.dataset, { theme, hand })",
        [theme, hand],
    )


def lay_each_sheet(walker: Walker) -> Iterator[str]:
    """Open one sheet after the other."""
    for words in ("More", "Can't reach", "What is here", "Remark"):
        walker.tap(words)
        yield words
        walker.tap("Back")


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("size", SIZES)
def test_targets_are_large_apart_and_within_reach(
    walker: Walker, size: tuple[int, int], hand: str
) -> None:
    width, height = size
    walker.page.set_viewport_size({"width": width, "height": height})
    walker.start(joists=3).read(212, 47)
    dress(walker, hand=hand)
    targets = walker.targets()
    keys = [one for one in targets if one["key"]]
    others = [one for one in targets if not one["key"]]
    assert (len(keys), len(others)) == (16, 5)
    assert min(min(one["width"], one["height"]) for one in keys) >= KEY
    assert min(apart(one, other) for one, other in combinations(keys, 2)) >= GAP
    assert min(min(one["width"], one["height"]) for one in others) >= OTHER - 0.01
    assert min(apart(one, other) for one, other in combinations(targets, 2)) >= 1
    assert min(one["x"] for one in targets) >= 0
    assert max(one["x"] + one["width"] for one in targets) <= width
    assert max(one["y"] + one["height"] for one in targets) <= height
    # At 568 px high the keys' own size needs more than the lower 60 %; the keys win.
    reach = 0.6 if height >= 640 else 0.68
    assert min(one["y"] for one in targets) >= height * (1 - reach) - 0.5


@pytest.mark.parametrize("size", SIZES)
def test_choices_are_large_and_within_reach(walker: Walker, size: tuple[int, int]) -> None:
    width, height = size
    walker.page.set_viewport_size({"width": width, "height": height})
    walker.start(joists=3).read(212, 47)
    for sheet in lay_each_sheet(walker):
        targets = walker.targets()
        assert min(min(one["width"], one["height"]) for one in targets) >= OTHER, sheet
        assert max(one["y"] + one["height"] for one in targets) <= height, sheet
        reach = 0.6 if height >= 640 else 0.68
        assert min(one["y"] for one in targets) >= height * (1 - reach) - 0.5, sheet


def test_the_left_hand_gets_the_same_keys_mirrored(walker: Walker) -> None:
    walker.start(joists=3)
    right = {one["words"]: one for one in walker.targets()}
    dress(walker, hand="left")
    left = {one["words"]: one for one in walker.targets()}
    width = 390
    for words in ("Save", "Undo", "Can't reach", "Photo", "Running"):
        mirrored = width - right[words]["x"] - right[words]["width"]
        assert left[words]["x"] == pytest.approx(mirrored, abs=0.5), words
    assert [left[digit]["x"] < left["3"]["x"] for digit in "12"] == [True, True]


@pytest.mark.parametrize("size", SIZES)
def test_nothing_scrolls_and_nothing_moves_under_the_finger(
    walker: Walker, size: tuple[int, int]
) -> None:
    walker.page.set_viewport_size({"width": size[0], "height": size[1]})
    walker.start(joists=3)
    places = [[(one["x"], one["y"]) for one in walker.targets()]]
    for value in (212, 47, 353, 47, 361):
        walker.read(value)
        places.append([(one["x"], one["y"]) for one in walker.targets()])
    walker.type(353).tap("Erase").tap("More").tap("Back")
    places.append([(one["x"], one["y"]) for one in walker.targets()])
    assert all(place == places[0] for place in places)
    scrolled = walker.page.evaluate(
        """() => [document.scrollingElement, ...document.querySelectorAll("body, main, .walk")]
          .map((one) => [one.scrollHeight - one.clientHeight, one.scrollWidth - one.clientWidth])"""
    )
    assert all(max(over) <= 0 for over in scrolled)


@pytest.mark.parametrize("theme", ["dark", "light"])
def test_every_word_stands_out_seven_to_one(walker: Walker, theme: str) -> None:
    walker.start(joists=3).read(212, 47)
    dress(walker, theme=theme)
    walker.page.evaluate("getComputedStyle(document.body).color")
    seen = walker.page.evaluate(CONTRAST)
    walker.type(35)
    seen += walker.page.evaluate(CONTRAST)
    walker.tap("Erase").tap("Erase")
    for _ in lay_each_sheet(walker):
        seen += walker.page.evaluate(CONTRAST)
    assert len(seen) > 100
    assert [one for one in seen if one["ratio"] < 7] == []


def key_to_paint(walker: Walker) -> float:
    """Type and erase for a while and return the middle of the times from key to paint [ms]."""
    walker.page.evaluate("window.waits.length = 0")
    for _ in range(5):
        walker.type(353)
        for _ in range(3):
            walker.tap("Erase")
    walker.page.wait_for_timeout(300)
    waits = sorted(walker.page.evaluate("window.waits"))
    assert len(waits) >= 20
    return float(waits[len(waits) // 2])


def test_a_key_is_on_the_screen_within_fifty_milliseconds_on_a_slow_phone(walker: Walker) -> None:
    walker.start().read(212, 47, 353, 47)
    walker.phone.session(walker.page).send("Emulation.setCPUThrottlingRate", {"rate": 4})
    walker.page.evaluate(KEY_TO_PAINT)
    # The browser rounds to 8 ms, so 48 is the last figure that is below fifty. Whatever else this
    # machine is doing only ever adds to it, so the best of a few rounds is the page's own.
    rounds = []
    while len(rounds) < 4 and min(rounds, default=99) > 48:
        rounds.append(key_to_paint(walker))
    assert min(rounds) <= 48, f"key to paint, the middle of each round: {rounds} ms"


@pytest.mark.parametrize("size", SIZES)
def test_with_type_twice_as_large_nothing_is_cut_and_all_can_be_reached(
    walker: Walker, size: tuple[int, int]
) -> None:
    walker.page.set_viewport_size({"width": size[0], "height": size[1]})
    walker.start(joists=3).read(212, 47)
    walker.page.evaluate("document.documentElement.style.fontSize = '200%'")
    cut = walker.page.evaluate(
        """() => [...document.querySelectorAll(".walk button")]
          .filter((one) => one.scrollWidth > one.clientWidth + 1 ||
            one.scrollHeight > one.clientHeight + 1)
          .map((one) => one.textContent)"""
    )
    assert cut == []
    wide = walker.page.evaluate("document.querySelector('.walk').scrollWidth - innerWidth")
    assert wide <= 0
    walker.tap("Save")
    assert "Type the reading first" in walker.said()
