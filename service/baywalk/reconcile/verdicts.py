"""What is said of each reading: agrees, suspect, unchecked, struck; and the suspects in order."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from baywalk.reconcile.rounding import printed, steady

if TYPE_CHECKING:
    from baywalk.fieldbook import Survey
    from baywalk.reconcile.solve import Solved


@dataclass(frozen=True)
class Suspect:
    """A reading that may be wrong.

    Attributes:
        reading: its id.
        slip: how far it is off: read minus what it would be [mm].
        causes: the likeliest slip of the hand (see ``reconcile/slips/causes.py``), and those
            nearly as likely.
        would_read: what it would read [mm]; it and ``slip`` are None where no other reading tells.
        likelihood: 0 to 1, among those that explain the same disagreement.
        case: which disagreement it explains, counted from 0.
        alike: how many readings explain that disagreement, itself among them.

    """

    reading: str
    slip: float | None
    causes: list[str]
    would_read: float | None
    likelihood: float
    case: int
    alike: int

    def json(self) -> dict[str, Any]:
        """Return it for a file."""
        return {
            "reading": self.reading,
            "slip": _rounded(self.slip),
            "cause": self.causes[0],
            "causes": self.causes,
            "would_read": _rounded(self.would_read),
            "likelihood": round(self.likelihood, 4),
            "case": self.case,
            "alike": self.alike,
        }


def _rounded(length: float | None) -> float | None:
    return None if length is None else printed(length)


def suspects(solved: Solved) -> list[Suspect]:
    """Return the readings that may be wrong, most likely first, each with its best cause."""
    ids = {row: i for i, row in solved.network.rows.items()}
    least = solved.network.pack["suspect.least"]
    found: dict[str, Suspect] = {}
    for number, guesses in enumerate(solved.guesses):
        likely = [g for i, g in enumerate(guesses) if i == 0 or g.likelihood >= least]
        for guess in likely:
            read, name = solved.network.equations.read[guess.row], ids[guess.row]
            suspect = Suspect(
                name,
                None if guess.would_read is None else read - guess.would_read,
                guess.causes,
                guess.would_read,
                guess.likelihood,
                number,
                len(likely),
            )
            known = found.get(name)
            if known is None or steady(known.likelihood) < steady(suspect.likelihood):
                found[name] = suspect
    return sorted(found.values(), key=_rank)


def _rank(suspect: Suspect) -> tuple[float, float, str]:
    return (-steady(suspect.likelihood), -steady(abs(suspect.slip or 0.0)), suspect.reading)


def common(solved: Solved) -> dict[str, Any] | None:
    """Return the one mistake behind many disagreements, for a file, or None."""
    if solved.common is None:
        return None
    would = {i: printed(v) for i, v in sorted(solved.common.would_read.items())}
    return {
        "cause": solved.common.cause,
        "readings": solved.common.readings,
        "would_read": would,
    }


def readings(survey: Survey, solved: Solved, doubtful: set[str]) -> list[dict[str, Any]]:
    """Return one record for each reading of the run, ordered by id."""
    network = solved.network
    out = []
    for reading in sorted(network.entries):
        if reading in network.rows:
            out.append(_placed(solved, reading, suspect=reading in doubtful))
        else:
            struck = reading in survey.struck
            record = _unplaced(reading, "struck" if struck else "unchecked")
            if not struck:
                record["why"] = network.misplaced[reading]
            out.append(record)
    return out


def _placed(solved: Solved, reading: str, *, suspect: bool) -> dict[str, Any]:
    fit, row = solved.fit, solved.network.rows[reading]
    redundancy = float(fit.redundancy[row])
    checked = redundancy > solved.network.pack["reading.unchecked"]
    sigma = solved.network.equations.sigmas[row]
    delta0 = solved.network.pack["reading.mdb.delta0"]
    # Set aside, and no other reading tells of it: what the figure makes of it means nothing.
    untold = not fit.used[row] and redundancy == 0.0
    verdict = "suspect" if suspect else "agrees" if checked else "unchecked"
    return {
        "id": reading,
        "computed": None if untold else printed(float(fit.computed[row])),
        "residual": None if untold else printed(float(fit.residuals[row])),
        "sd": round(sigma, 4),
        "redundancy": round(redundancy, 4) if checked else 0.0,
        "w": printed(float(fit.w[row])) if checked else None,
        "mdb": round(delta0 * sigma / math.sqrt(redundancy), 3) if checked else None,
        "verdict": verdict,
        **({"kept": True} if reading in solved.network.kept else {}),
    }


def _unplaced(reading: str, verdict: str) -> dict[str, Any]:
    empty = dict.fromkeys(("computed", "residual", "sd", "redundancy", "w", "mdb"))
    return {"id": reading, **empty, "verdict": verdict}
