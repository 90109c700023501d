"""The fold: a head and a set of entries in, the survey out, whatever order they came in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.fieldbook.pointer import apply
from baywalk.fieldbook.survey import Run, Survey

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

_MARKS = ("strike", "restore")


def order(entry: Mapping[str, Any]) -> tuple[int, str, str]:
    """Return what entries are ordered by: the logical counter, the device, the id."""
    return (entry.get("n") or 0, entry.get("by") or "", entry["id"])


def fold(head: Mapping[str, Any], entries: Iterable[Mapping[str, Any]]) -> Survey:
    """Return the survey that ``head`` and ``entries`` (a set, told apart by id) amount to.

    Both must have passed the schemas. Pure: the same set gives the same survey in any order.
    """
    known = {entry["id"]: entry for entry in entries}
    ordered = sorted(known.values(), key=order)
    struck = strikes(ordered)
    outcome = _settle(head, (entry for entry in ordered if entry["id"] not in struck))
    return Survey(
        id=outcome["id"],
        title=outcome.get("title", ""),
        tape=outcome.get("tape") or {},
        runs=tuple(_run(run) for run in outcome.get("runs") or ()),
        entries=tuple(ordered),
        standing=frozenset(known.keys() - struck.keys()),
        struck=struck,
        head=outcome,
    )


def strikes(ordered: Iterable[Mapping[str, Any]]) -> dict[str, str]:
    """Return the ids of the entries that are struck out, each with the reason.

    ``ordered`` must be in the order of :func:`order`. The last strike or restore of an entry
    decides. Neither has any effect on a strike or a restore.
    """
    entries = {entry["id"]: entry for entry in ordered}
    struck: dict[str, str] = {}
    for mark in entries.values():
        target = _target(mark, entries)
        if target is None:
            continue
        if mark["kind"] == "strike":
            struck[target] = str(mark.get("reason") or "")
        else:
            struck.pop(target, None)
    return struck


def _target(mark: Mapping[str, Any], entries: Mapping[str, Mapping[str, Any]]) -> str | None:
    """Return the id of the entry that a strike or restore bears on, or None."""
    if mark.get("kind") not in _MARKS:
        return None
    target = entries.get(mark["target"])
    # A restore may name the strike that it takes back instead of the entry that was struck.
    if target and mark["kind"] == "restore" and target["kind"] == "strike":
        target = entries.get(target["target"])
    return target["id"] if target and target["kind"] not in _MARKS else None


def _settle(head: Mapping[str, Any], standing: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """Return the head after every standing ``set``, in order."""
    outcome = {key: value for key, value in head.items() if key != "entries"}
    for entry in standing:
        if entry["kind"] == "set":
            outcome = apply(outcome, entry["path"], entry["value"])
    return outcome


_FROM_NEAR = {"near": 0, "far": 2}
"""Two phones may add the tape lines in either order; the loft has them in one."""


def _run(run: Mapping[str, Any]) -> Run:
    """Return the view of one run of the head."""
    return Run(
        id=run["id"],
        title=run.get("title") or "",
        joists=run.get("joists") or 0,
        lines=tuple(sorted(run.get("lines") or (), key=lambda name: _FROM_NEAR.get(name, 1))),
        member=run.get("member") or {},
        laps=tuple((pair[0], pair[1]) for pair in run.get("laps") or ()),
    )
