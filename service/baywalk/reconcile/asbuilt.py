"""The as-built (``baywalk.as-built`` 1): everything the later parts may read of a survey."""

from __future__ import annotations

import gc
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from threadpoolctl import ThreadpoolController

from baywalk.reconcile import advice, geometry, nominal, outline, verdicts
from baywalk.reconcile.findings import Finding, View, findings
from baywalk.reconcile.network import BEARINGS, ENDS, READING_KINDS
from baywalk.reconcile.questions import Figure
from baywalk.reconcile.rounding import printed
from baywalk.reconcile.solve import Solved, solve
from baywalk.rules import Pack, load

if TYPE_CHECKING:
    from collections.abc import Iterator

    from baywalk.fieldbook import Survey
    from baywalk.reconcile.geometry import Geometry

FORMAT, VERSION = "baywalk.as-built", 1

_threads = ThreadpoolController()


def reconcile(survey: Survey, pack: Pack | None = None) -> dict[str, Any]:
    """Return the as-built of a survey as JSON data; lengths in mm, angles in degrees.

    It never raises for what was read: a reading that fits nowhere, or a place that nothing
    determines, becomes a finding.
    """
    # The matrices are small: threads inside the linear algebra cost many times what they save.
    with _threads.limit(limits=1, user_api="blas"), _no_search_for_cycles():
        return _reconcile(survey, pack or load())


@contextmanager
def _no_search_for_cycles() -> Iterator[None]:
    """Keep the interpreter from looking for cycles, which is a seventh of a long run's time.

    None of the many small parts made here refers back to what made it.
    """
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def _reconcile(survey: Survey, pack: Pack) -> dict[str, Any]:
    runs = [_run(survey, solved) for solved in solve(survey, pack)]
    stray = _stray(survey)
    return {
        "format": FORMAT,
        "version": VERSION,
        "survey": survey.id,
        "title": survey.title,
        "rules": pack.id,
        "runs": runs,
        "findings": [finding.json() for finding in stray],
        "settled": all(run["settled"] for run in runs),
    }


def _stray(survey: Survey) -> list[Finding]:
    """Tell of readings whose run the survey does not have."""
    runs = {run.id for run in survey.runs}
    return [
        Finding(
            "reading.no_run",
            "look",
            f"A reading ({entry['kind']}) is left out: the survey has no run “{entry.get('run')}”.",
            where={"reading": entry["id"]},
        )
        for entry in sorted(survey.entries, key=lambda e: str(e["id"]))
        if entry["kind"] in READING_KINDS
        and entry["id"] in survey.standing
        and entry.get("run") not in runs
    ]


def _run(survey: Survey, solved: Solved) -> dict[str, Any]:
    measured = geometry.measure(solved)
    family = nominal.nominal(measured, solved.network.pack)
    suspects = verdicts.suspects(solved)
    set_out = outline.features(survey, solved, measured)
    view = View(solved, measured, family, suspects, set_out)
    run = solved.run
    doubtful = {suspect.reading for suspect in suspects}
    common = verdicts.common(solved)
    doubtful |= set(common["readings"] if common else ())
    return {
        "id": run.id,
        "title": run.title,
        "lines": list(run.lines),
        "member": dict(run.member),
        **({"laps": [list(pair) for pair in run.lapped]} if run.lapped else {}),
        "walls": {"start": _wall(view, 0), "end": _wall(view, run.joists + 1)},
        "joists": [_joist(view, j) for j in range(1, run.joists + 1)],
        "bays": [_bay(view, k) for k in range(run.joists + 1)],
        "readings": verdicts.readings(survey, solved, doubtful),
        "suspects": [suspect.json() for suspect in suspects],
        "common_cause": common,
        "fit": _fit(solved),
        "nominal": _nominal(family),
        "findings": [finding.json() for finding in findings(view)],
        "next_readings": advice.next_readings(view),
        "outline": outline.outline(solved, measured),
        "features": set_out,
        "settled": not suspects and common is None,
    }


def _fit(solved: Solved) -> dict[str, Any]:
    fit = solved.fit
    return {
        "dof": fit.dof,
        "sigma0": None if fit.sigma0 is None else round(fit.sigma0, 4),
        "chi2_p": None if fit.chi2_p is None else round(fit.chi2_p, 6),
        "limit": round(solved.limits.test, 3),
    }


def _nominal(family: nominal.Nominal | None) -> dict[str, Any]:
    if family is None:
        return {"centres": None, "family": None, "confidence": 0.0}
    confidence = round(family.confidence, 4)
    return {"centres": family.centres, "family": family.family, "confidence": confidence}


def _figure(figure: Figure | None) -> dict[str, Any] | None:
    return None if figure is None else figure.json()


def _at(view: View, joist: int) -> dict[str, Any]:
    """Return a joist's or wall's place on each line; nulls where it is not determined."""
    measured: Geometry = view.geometry
    out = {}
    for line in view.solved.run.lines:
        x, point = measured.x.get((joist, line)), measured.points.get((joist, line))
        place = {"x": None, "sd": None} if x is None else x.json("x")
        out[line] = {**place, "point": None if point is None else [printed(c) for c in point]}
    return out


def _angle(view: View, joist: int) -> dict[str, Any]:
    angle = view.geometry.angles.get(joist)
    if angle is None:
        return {"angle": None, "angle_sd": None}
    return {"angle": printed(angle.value, 4), "angle_sd": printed(angle.sd, 4)}


def _wall(view: View, joist: int) -> dict[str, Any]:
    return {"index": joist, "at": _at(view, joist), **_angle(view, joist)}


def _joist(view: View, joist: int) -> dict[str, Any]:
    measured, run = view.geometry, view.solved.run
    ends = {place: f.json() for place in ENDS if (f := measured.ends.get((joist, place)))}
    bearing = {end: f.json() for end in BEARINGS if (f := measured.bearings.get((joist, end)))}
    levels = {line: f.json() for line in run.lines if (f := measured.levels.get((joist, line)))}
    return {
        "index": joist,
        "breadth": _size(view, "breadth", joist),
        "depth": _size(view, "depth", joist),
        "at": _at(view, joist),
        **_angle(view, joist),
        "span": _figure(measured.spans.get(joist)),
        "ends": ends or None,
        "bearing": bearing or None,
        "level": levels or None,
    }


def _size(view: View, name: str, joist: int) -> dict[str, Any] | None:
    """Return a joist's breadth or depth; the usual timber's, marked so, where none was read."""
    pack, member = view.solved.network.pack, view.solved.run.member
    read: Figure | None = getattr(view.geometry, name).get(joist)
    if read is not None:
        usual = {"usual": True} if name == "breadth" and joist in view.solved.assumed else {}
        return {**read.json(), **usual}
    if not member.get(name):
        return None
    common, each = pack["usual.breadth.common"], pack["usual.breadth.each"]
    sd = (common**2 + each**2) ** 0.5 if name == "breadth" else pack["usual.depth"]
    return {**Figure(float(member[name]), sd).json(), "usual": True}


def _bay(view: View, bay: int) -> dict[str, Any]:
    out: dict[str, Any] = {"bay": bay, "at": {}}
    for line in view.solved.run.lines:
        known = view.geometry.bays[bay, line]
        record: dict[str, Any] = {"gap": None, "sd": None, "centres": None, "centres_sd": None}
        if known.gap is not None:
            record |= known.gap.json("gap")
        if known.centres is not None:
            centres = known.centres.json("centres")
            record |= {"centres": centres["centres"], "centres_sd": centres["sd"]}
        out["at"][line] = record
    return out
