"""Closure: do the readings fit together, and where not, which stands out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from baywalk.reconcile import words
from baywalk.reconcile.findings.common import Finding, View
from baywalk.reconcile.questions import Figure

if TYPE_CHECKING:
    from collections.abc import Iterator

    from baywalk.reconcile.verdicts import Suspect

_CAUSES = {
    "wrong_digit": "A wrong digit?",
    "digits_swapped": "Digits swapped?",
    "digit_lost": "A digit lost?",
    "digit_added": "A digit too many?",
    "digit_doubled": "A digit twice?",
    "hundred_misread": "The hundred misread?",
    "ten_misread": "The ten misread?",
    "hooked_at_100": "Hooked at 100 and not taken off?",
    "centimetres": "Centimetres for millimetres?",
    "inches": "The inches side of the tape?",
    "wrong_face": "The wrong face of the joist?",
    "breadth_forgotten": "A joist's breadth forgotten?",
    "breadth_counted_twice": "A joist's breadth counted twice?",
    "wrong_bay": "The wrong bay?",
}

_NAMED = 3


def closure(view: View) -> Iterator[Finding]:
    """Name what disagrees, one finding a disagreement, and a scatter beyond tape and hand."""
    yield from _common(view)
    for case in sorted({suspect.case for suspect in view.suspects}):
        yield _disagreement(view, [s for s in view.suspects if s.case == case])
    yield from _kept(view)
    yield from _scatter(view)


_MISTAKES = {
    "hooked_at_100": "Was the tape hooked at 100 and the 100 not taken off?",
    "wrong_line": "Were they written to the wrong tape line?",
    "wrong_numbers": "Are the joists counted one off?",
    "numbered_from_other_wall": "Were the joists counted from the other wall?",
}


def _common(view: View) -> Iterator[Finding]:
    """Tell once of a mistake that many readings share."""
    common = view.solved.common
    if common is None:
        return
    network = view.solved.network
    first, last = (
        words.reading(network.entries[i], network.run.joists)
        for i in (common.readings[0], common.readings[-1])
    )
    yield Finding(
        "readings.common_cause",
        "settle",
        f"{len(common.readings)} readings disagree together, among them {first} and {last}. "
        f"{_MISTAKES[common.cause]} All of them are left out until you say.",
        where={"run": network.run.id, "readings": common.readings},
        rule="reading.false_alarm",
    )


def _kept(view: View) -> Iterator[Finding]:
    """Tell of readings that a person stands by although the others disagree."""
    network, fit = view.solved.network, view.solved.fit
    for reading in sorted(network.kept & network.rows.keys()):
        row = network.rows[reading]
        if not fit.used[row] or abs(fit.w[row]) <= view.solved.limits.test:
            continue
        entry = network.entries[reading]
        want = entry["value"] + float(fit.residuals[row] / fit.redundancy[row])
        name = _capital(words.reading(entry, network.run.joists))
        yield Finding(
            "reading.kept",
            "look",
            f"{name} reads {words.millimetres(entry['value'])} and was kept. "
            f"The other readings want {words.millimetres(want)}.",
            where={"run": network.run.id, "readings": [reading]},
            figure=Figure(entry["value"] - want, 0.0),
            rule="reading.false_alarm",
        )


def _disagreement(view: View, group: list[Suspect]) -> Finding:
    """Tell of one disagreement: the likeliest reading, and the others it may be instead."""
    network = view.solved.network
    joists = network.run.joists
    first = group[0]
    entry = network.entries[first.reading]
    name = words.reading(entry, joists)
    read = words.millimetres(entry["value"])
    want = "It does not fit with the others."
    if first.would_read is not None:
        want = f"The other readings want {words.millimetres(first.would_read)}."
    parts = [f"{_capital(name)} reads {read}. {want}", _asked(first.causes)]
    others = [words.reading(network.entries[s.reading], joists) for s in group[1:_NAMED]]
    if len(group) > 1:
        more = "" if len(group) <= _NAMED else " or another"
        parts.append(f"Or it is {' or '.join(others)}{more}: they cannot be told apart yet.")
    parts.append("Take it again.")
    return Finding(
        "reading.suspect",
        "settle",
        " ".join(part for part in parts if part),
        where={"run": network.run.id, "readings": [s.reading for s in group]},
        figure=None if first.slip is None else Figure(first.slip, 0.0),
        rule="reading.false_alarm",
    )


def _asked(causes: list[str]) -> str:
    """Ask for the likeliest cause, and for one nearly as likely."""
    asked = [_CAUSES[cause] for cause in causes if cause in _CAUSES][:2]
    return " Or ".join([*asked[:1], *(text[0].lower() + text[1:] for text in asked[1:])])


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _scatter(view: View) -> Iterator[Finding]:
    fit, pack = view.solved.fit, view.solved.network.pack
    chance = fit.chi2_p
    if chance is not None and chance < pack["reading.false_alarm"]:
        yield Finding(
            "readings.scatter",
            "look",
            "The readings scatter more than this tape and a careful hand explain. "
            "Is the tape's class right? Was one line read twice?",
            where={"run": view.solved.run.id},
            figure=Figure(fit.sigma0 or 0.0, 0.0),
            limit=1.0,
            rule="reading.false_alarm",
        )
