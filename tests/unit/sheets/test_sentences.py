"""Lengths inside sentences are told in feet and inches, the same on screens and on paper.

What is expected was worked out by hand: a length [mm] over 25.4, to the nearest sixteenth.
"""

from __future__ import annotations

import ast
import json
import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import pypdfium2
import pytest

import baywalk
from baywalk.sheets import make, possible, sentences
from tests import sheet_sources
from tests.unit.sheets.test_field_sheet import printed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from baywalk.sheets import Sheet

TURNED = {
    # What was found.
    "J1–J2, near line: centres 470, 70 wider than 400.": (
        'J1–J2, near line: centres 1\' 6 1/2", 2 3/4" wider than 1\' 3 3/4".'
    ),
    "The widest centres are 633, at J4–J5 on the far line.": (
        "The widest centres are 2' 15/16\", at J4–J5 on the far line."
    ),
    "From J1 to J8 the joists creep: every bay is a bit tight, together 35 over 7 bays of 400.": (
        'From J1 to J8 the joists creep: every bay is a bit tight, together 1 3/8" over 7 bays '
        "of 1' 3 3/4\"."
    ),
    "The spacing starts anew at J9: the joists after it are 48 off the grid of those before J8.": (
        'The spacing starts anew at J9: the joists after it are 1 7/8" off the grid of those '
        "before J8."
    ),
    "End wall runs out by 24 ± 3 towards the start wall in 2898.": (
        'End wall runs out by 15/16" ± 1/8" towards the start wall in 9\' 6 1/8".'
    ),
    "The far edge is out of square with the joists by 173 ± 7 in 4796: at the end wall it lies": (
        'The far edge is out of square with the joists by 6 13/16" ± 1/4" in 15\' 8 13/16": at '
        "the end wall it lies"
    ),
    "J1–J2 is 353 at the near line and 381 at the 2 line.": (
        "J1–J2 is 1' 1 7/8\" at the near line and 1' 3\" at the 2 line."
    ),
    "J2 is bowed: at the middle line it stands 12 towards the end wall off the straight.": (
        'J2 is bowed: at the middle line it stands 1/2" towards the end wall off the straight.'
    ),
    "near line: J4 lies 14 lower than J7; a floor may be 9 out over that distance.": (
        'near line: J4 lies 9/16" lower than J7; a floor may be 3/8" out over that distance.'
    ),
    "J3, near line, is a hollow of 14 under a 2 m straightedge.": (
        'J3, near line, is a hollow of 9/16" under a 2 m straightedge.'
    ),
    "J3 has a breadth of 42, 5 less than the usual 47. Another timber?": (
        'J3 has a breadth of 1 5/8", 3/16" less than the usual 1 7/8". Another timber?'
    ),
    "J2: the usual timber's 47 stands in, and is less sure.": (
        "J2: the usual timber's 1 7/8\" stands in, and is less sure."
    ),
    # The plan and its steps.
    "The widest centres are 605 mm, at J3–J4. 22 mm boards carry only up to 600 mm, so J3a": (
        "The widest centres are 1' 11 13/16\", at J3–J4. 22 mm boards carry only up to 600 mm "
        "(1' 11 5/8\"), so J3a"
    ),
    "wedged 10 mm off the walls: 1.1 from B1, 1.2 from B2.": (
        'wedged 3/8" off the walls: 1.1 from B1, 1.2 from B2.'
    ),
    "On J1: a batten 97 mm high along the joist, for the insulation stands 82 mm above it.": (
        'On J1: a batten 97 mm high along the joist, for the insulation stands 3 1/4" above it.'
    ),
    "On J6 at the near line: pack up 5 mm, tapering": (
        'On J6 at the near line: pack up 3/16", tapering'
    ),
    "The opening is 550 mm by 600 mm. A loft hatch is at least 600 mm clear each way": (
        "The opening is 1' 9 5/8\" by 1' 11 5/8\". A loft hatch is at least 600 mm (1' 11 5/8\") "
        "clear each way"
    ),
    "Cut otherwise: 1.2 (1083 → 1085), 4.2 (its width or shape).": (
        "Cut otherwise: 1.2 (3' 6 5/8\" → 3' 6 11/16\"), 4.2 (its width or shape)."
    ),
    # The best place of a hatch.
    "600 across and 900 along the joists: J3 is cut, between J2 and J4. Its near corner lies 463.4 "
    "from J2's face and 861 beyond the tape line near.": (
        "1' 11 5/8\" across and 2' 11 7/16\" along the joists: J3 is cut, between J2 and J4. Its "
        "near corner lies 1' 6 1/4\" from J2's face and 2' 9 7/8\" beyond the tape line near."
    ),
    "Its sides stand 60 from J1 and 75 from the end wall: line it there": (
        'Its sides stand 2 3/8" from J1 and 2 15/16" from the end wall: line it there'
    ),
    "Turned, 900 across and 600 along, it would cut J3.": (
        "Turned, 2' 11 7/16\" across and 1' 11 5/8\" along, it would cut J3."
    ),
    # Refusals.
    "Course 1 lies 12 nearer to the edge. Boards are at most 5 narrower than they should be": (
        'Course 1 lies 1/2" nearer to the edge. Boards are at most 3/16" narrower than they '
        "should be"
    ),
    "Course 1 stands open by 11; boards differ by 5 at most.": (
        'Course 1 stands open by 7/16"; boards differ by 3/16" at most.'
    ),
    "Pieces 1.1 and 1.2 stand 14 apart by what was read.": (
        'Pieces 1.1 and 1.2 stand 9/16" apart by what was read.'
    ),
    "Piece 1.2 would be 2407 long, from a board of 2400.": (
        "Piece 1.2 would be 7' 10 3/4\" long, from a board of 2400 mm (7' 10 1/2\")."
    ),
    "Piece 1.2 reaches 12 beyond the deck's edge, into the gap of 10 or over an opening.": (
        'Piece 1.2 reaches 1/2" beyond the deck\'s edge, into the gap of 3/8" or over an opening.'
    ),
    "Piece 1.2 now ends 14 short of the deck's edge": (
        "Piece 1.2 now ends 9/16\" short of the deck's edge"
    ),
    "by what was read they are together 12 longer than it": (
        'by what was read they are together 1/2" longer than it'
    ),
    "Course 2: with what is laid, 90 would be left for a piece at its end, and 100 is the least.": (
        'Course 2: with what is laid, 3 9/16" would be left for a piece at its end, and 100 mm '
        '(3 15/16") is the least.'
    ),
    "course 5 would be 90 at its narrowest": 'course 5 would be 3 9/16" at its narrowest',
    "landed 7 beside its noggin": 'landed 1/4" beside its noggin',
    "landed at 1311, where neither a joist": "landed at 4' 3 5/8\", where neither a joist",
    "are 296.9 apart with what is laid, at 1749 and 2046; 300 is the least.": (
        'are 11 11/16" apart with what is laid, at 5\' 8 7/8" and 6\' 8 9/16"; 300 mm '
        '(11 13/16") is the least.'
    ),
    "Course 3, from 10 to 1200: no place for its end joints": (
        'Course 3, from 3/8" to 3\' 11 1/4": no place for its end joints'
    ),
    "No start gives every course 100 mm or more: the best leaves one 60 mm at": (
        'No start gives every course 100 mm (3 15/16") or more: the best leaves one 2 3/8" at'
    ),
    "an opening of 600 across by 900 along lie between": (
        "an opening of 1' 11 5/8\" across by 2' 11 7/16\" along lie between"
    ),
    "N1 is 5210 mm long, and the longest timber is 4800 mm, of which 4790 can be used.": (
        "N1 is 17' 1 1/8\" long, and the longest timber is 4800 mm, of which 15' 8 9/16\" can be "
        "used."
    ),
    # The load check.
    "The near end of J1 bears 47 mm. 75 mm is asked for on a timber plate and 90 mm on masonry; "
    "the span tables take 40 mm.": (
        'The near end of J1 bears 1 7/8". 75 mm (2 15/16") is asked for on a timber plate and '
        '90 mm (3 9/16") on masonry; the span tables take 40 mm (1 9/16").'
    ),
    "The deck is longer than 15000 mm and must be parted, and none is more than 36 mm broad.": (
        "The deck is longer than 15000 mm (49' 2 9/16\") and must be parted, and none is more than "
        '36 mm (1 7/16") broad.'
    ),
    "At centres up to 416 mm the table asks for 18 mm; 18 mm meets it.": (
        "At centres up to 416 mm (1' 4 3/8\") the table asks for 18 mm; 18 mm meets it."
    ),
    "The notch in J7, 2785 mm in, is outside": "The notch in J7, 9' 1 5/8\" in, is outside",
    "one for every 200 mm of its width begun. At least 25 mm from long edges, 10 mm from short": (
        'one for every 200 mm (7 7/8") of its width begun. At least 25 mm (1") from long edges, '
        '10 mm (3/8") from short'
    ),
}
"""Each kind of sentence with a length, as it is made and as it is told."""

STAY = (
    # A slip of the hand is seen in the digits that were read.
    "J4–J5, near line reads 536. The other readings want 563. Digits swapped? Take it again.",
    "Start wall to J3 left, far line reads 103. Hooked at 100 and not taken off?",
    "A reading of 350.25 (across) is left out: J8 is beyond the run, which has 3 joists.",
    # Goods as they are sold.
    "A sister joist of 38 × 147 mm, C16 or better. A deck of 25 mm.",
    "board: boards of 2400 × 600 mm are laid already",
    "22 mm boards need 3 added joists and cost about 34 GBP more.",
    # What is typed.
    "deck: must be one of 18, 22 mm",
    "gap: must be from 0 to 50 mm",
    # Other units, numbers of things.
    "Lay course 2 from the start wall: 2.1 from B3, 2.2 from B4.",
    "Lay course 1 along the near edge. Before course 12: fix C3, C4 under end joints.",
    "One person is 0.9 kN. It takes about 12.1 m of timber and 240 minutes.",
    "Along the joists, up to 1 kN a metre. EN 12871, a pad of 50 × 50 mm. 0.75 kN/m², 0.02 m².",
)


@pytest.mark.parametrize("text", TURNED)
def test_a_sentence_tells_its_lengths_in_feet_and_inches(text: str) -> None:
    assert sentences.said(text, "imperial") == TURNED[text]
    assert sentences.said(text, "mm") == text


@pytest.mark.parametrize("text", STAY)
def test_what_was_read_is_sold_or_is_typed_stays(text: str) -> None:
    assert sentences.said(text, "imperial") == text


def test_a_length_is_told_from_the_exact_figure_beside_it() -> None:
    """633 mm is nearest to 2' 15/16", and 632.6 mm, which it was rounded from, to 2' 7/8"."""
    finding = {"say": "The widest centres are 633, at J4–J5.", "value": 632.6, "limit": None}
    assert sentences.told(finding, "imperial") == "The widest centres are 2' 7/8\", at J4–J5."
    # A rule's own figure is no other one rounded.
    plain = sentences.said("carry up to 600 mm", "imperial", [600.45])
    assert plain == "carry up to 600 mm (1' 11 5/8\")"


PRINT = """
globalThis.localStorage = { getItem: () => '{"units": "imperial"}' };
const { inUnits, said } = await import("./app/sentences.js");
const [texts, paper] = JSON.parse(process.argv[1]);
const told = [texts.map((text) => said(text)), inUnits(paper)];
console.log(JSON.stringify(told).replaceAll("\u00a0", " "));
"""

PAPER: dict[str, Any] = {
    "choices": {"thing": "shelf 600 mm,mass=80"},
    "body": {
        "quantities": [{"what": "screws", "size": "5.0 mm × 80", "why": "Every 150 mm."}],
        "joists": [{"span": 3430.4, "evidence": [{"say": "J1 spans 3430 mm, within it."}]}],
        "checks": [{"formula": "at most 14 mm with strutting", "numbers": {"h": 147}}],
        "thickness": {"centres": 632.6, "say": "The widest centres are 633 mm, at J4–J5."},
    },
}
"""What a screen is given, with words that are not ours in it."""


def test_screen_and_paper_tell_a_sentence_alike() -> None:
    given = [*TURNED, *STAY, *(text for _, text in made())]
    assert len(given) > 150
    on_paper = [sentences.said(text, "imperial") for text in given]
    texts, paper = printed(PRINT, json.dumps([given, PAPER]))
    assert texts == on_paper
    body = PAPER["body"]
    # What was asked is asked again, and goods go by their names.
    assert paper["choices"] == PAPER["choices"]
    assert paper["body"]["checks"] == body["checks"]
    assert paper["body"]["quantities"] == [
        {**body["quantities"][0], "why": 'Every 150 mm (5 7/8").'}
    ]
    evidence = paper["body"]["joists"][0]["evidence"][0]["say"]
    assert evidence == "J1 spans 3430 mm (11' 3 1/16\"), within it."
    assert paper["body"]["thickness"]["say"] == "The widest centres are 2' 7/8\", at J4–J5."


@cache
def made() -> list[tuple[str, str]]:
    """Return every sentence of the service's code that has a figure in it, with its place.

    A figure that is rounded for a sentence stands as 1234 in it, everything else as X.
    """
    found: list[tuple[str, str]] = []
    for room in ("planning", "capacity", "reconcile/findings"):
        for file in sorted((Path(baywalk.__file__).parent / room).rglob("*.py")):
            # The checker's own words are only told of a plan that is withheld.
            if file.parent.name == "check":
                continue
            found += [
                (f"{room}/{file.name}:{node.lineno}", text)
                for node in ast.walk(ast.parse(file.read_text()))
                if isinstance(node, ast.JoinedStr) and "1234" in (text := _sample(node))
            ]
    return found


def _sample(node: ast.JoinedStr) -> str:
    return "".join(
        str(part.value)
        if isinstance(part, ast.Constant)
        else "1234"
        if isinstance(part, ast.FormattedValue)
        and (part.format_spec is not None or "millimetres" in ast.unparse(part.value))
        else "X"
        for part in node.values
    )


OTHERWISE = {
    "as it was read": r"(?:reads|want|A reading of) 1234",
    "goods as they are sold": (
        r"1234 mm boards|boards of 1234|batten 1234|timber is 1234|table asks for 1234 mm; 1234"
        r"|(?:×|^|: )\s?1234 × 1234|× 1234|section is 1234 × 1234|^1234$"
    ),
    "what may be typed": r"must be from .* to 1234|^1234$",
    "another unit": (
        r"1234 (?:kN|kg|m²|m |m of|m X|%|l$|X minutes|minutes)|is 1234\.$|this is 1234|up to 1234\."
    ),
    "money": r"about 1234 X X|only 1234\.",
    "a share": r"and 1234 of the joist's depth",
    "the rule's own straightedge": r"under a 1234 m straightedge",
    "a part, told as a whole above": (
        r"^(?:1234 X|1234 from(?: X)?|1234 → 1234|1234 ± X)$|1234 X than 1234|a X of 1234, 1234 X"
        r"|towards the X in 1234|by X in 1234"
    ),
}
"""Why a figure may stand as it is."""


def test_no_sentence_of_the_code_keeps_a_length_without_a_reason() -> None:
    """A new sentence is told too, or its reason is given above."""
    left = []
    for place, text in made():
        told = re.sub(r"(?:1234 × )*1234 mm \([^)]*\"\)", "", sentences.said(text, "imperial"))
        for reason in OTHERWISE.values():
            told = re.sub(reason, "", told)
        # The load check's other figures are forces, weights and shares.
        if ("1234 mm" if place.startswith("capacity") else "1234") in told:
            left.append((place, told))
    assert left == []


FEET = r"(?:\d+' )?(?:\d+(?: \d+/\d+)?|\d+/\d+)\""
METRIC = re.compile(r".{0,40}\d (?:mm|m)\b.{0,30}")

REASONS = {
    "told both ways": rf"\d+(?: × \d+)* mm \((?:{FEET})(?: × (?:{FEET}))*\)",
    "goods as they are sold": (
        r"(?:joist|deck|pad|boards) of [\d× ]+ mm|asks for \d+ mm; \d+ mm|\d+ mm boards"
        r"|[\d.]+ mm × \d+|\d+ m of (?:joints|supports|timber)"
    ),
    "a sag, in the standard's own unit": r"[\d.]+ mm [\d.]+ mm \d+ %",
    "a standard's formula": r"at most 14 mm with strutting, 12 mm without",
    "as it was typed": r"note runs along the bay, 22 mm",
    "the rule's own straightedge": r"under a 2 m straightedge",
}
"""Why a metric length may stand on a sheet in feet and inches."""


@cache
def sheets(units: str) -> tuple[Sheet, ...]:
    """Return every sheet of the demo loft."""
    source = sheet_sources.demo()
    head = sheet_sources.head(source, units=units)
    return tuple(make(name, source, head) for name in possible(source))


def test_every_metric_length_on_a_sheet_in_feet_and_inches_has_its_reason() -> None:
    for name, text in texts():
        rest = text
        for reason in REASONS.values():
            rest = re.sub(reason, "", rest)
        assert METRIC.findall(rest) == [], name


def texts() -> Iterator[tuple[str, str]]:
    """Give each page of every sheet as its PDF says it, and as its SVG does."""
    for sheet in sheets("imperial"):
        with pypdfium2.PdfDocument(sheet.pdf()) as document:
            for page in document:
                yield sheet.name, " ".join(page.get_textpage().get_text_bounded().split())
        for number in range(1, len(sheet.pages) + 1):
            root = ET.fromstring(sheet.svg(number))  # noqa: S314 - our own text
            found = root.iter("{http://www.w3.org/2000/svg}text")
            yield sheet.name, " ".join(text.text or "" for text in found)


def test_what_was_found_keeps_no_bare_length_on_a_sheet() -> None:
    """No number is left in a finding but names, counts, readings as quoted and the straightedge."""
    source = sheet_sources.demo()
    compared = 0
    for run in source.as_built["runs"]:
        for finding in run["findings"]:
            if finding["code"].startswith("reading"):
                continue
            told = re.sub(FEET, "", sentences.told(finding, "imperial"))
            told = re.sub(r"\bJ\d+|\d+ bays|2 m straightedge", "", told)
            assert not re.search(r"\d", told), finding
            compared += bool(re.search(r"\d", finding["say"]))
    assert compared > 8


def test_a_file_is_the_same_whatever_lengths_are_told_in() -> None:
    source = sheet_sources.demo()
    before = json.dumps([source.as_built, source.plan, source.capacity])
    for metric, feet in zip(sheets("mm"), sheets("imperial"), strict=True):
        assert feet.csv() == metric.csv(), feet.name
    assert json.dumps([source.as_built, source.plan, source.capacity]) == before
