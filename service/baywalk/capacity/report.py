"""The load check as a file (``baywalk.capacity`` 1): every figure with its rule and its caution."""

from __future__ import annotations

from typing import Any

from baywalk.capacity import handling, practice
from baywalk.capacity.actions import imposed
from baywalk.capacity.cautions import of_loft
from baywalk.capacity.reader import read_loft
from baywalk.capacity.run import check_run, worst_of
from baywalk.capacity.setting import Setting
from baywalk.rules import Pack, load

FORMAT, VERSION = "baywalk.capacity", 1


def capacity(
    document: Any, setting: Setting | None = None, pack: Pack | None = None
) -> dict[str, Any]:
    """Return the load check of a parsed as-built as JSON data; lengths in mm.

    Raises BadCapacityInput, naming the field, for an as-built that cannot be checked.
    """
    rules, asked = pack or load(), setting or Setting()
    loft = read_loft(document, rules)
    runs = [check_run(run, asked, rules, settled=loft.settled is not False) for run in loft.runs]
    out = {
        "format": FORMAT,
        "version": VERSION,
        "survey": loft.survey,
        "title": loft.title,
        "pack": rules.id,
        "use": _use(asked, rules),
        "runs": runs,
        "partition": practice.partition(asked, rules),
        "lifting": handling.lifting(loft, asked, rules),
        "governing": _governing(runs),
        "evidence": _evidence(runs),
        "cautions": of_loft(loft, asked, rules),
    }
    return out | {"rules": _cited(out, rules)}


def _governing(runs: list[dict[str, Any]]) -> dict[str, Any] | None:
    return worst_of([run["governing"] for run in runs])


def _evidence(runs: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return each joist's table row, the joists that stand beyond theirs first."""
    rows = [
        {"run": run["id"], "joist": joist["index"], **one}
        for run in runs
        for joist in run["joists"]
        for one in joist["evidence"]
    ]
    return sorted(rows, key=lambda row: row["within"])


def _use(setting: Setting, pack: Pack) -> dict[str, Any]:
    rule = pack.rule(f"load.use.{setting.use}")
    what = imposed(setting, pack)
    own = setting.imposed is not None or setting.point is not None
    return {
        "id": setting.use,
        "rule": rule.id,
        "distributed": what.spread,
        "concentrated": what.point,
        "own": own,
        "service_class": setting.service_class,
        "ceiling": setting.ceiling,
        "strutting": setting.strutting,
        "say": rule.say,
    }


def _cited(out: dict[str, Any], pack: Pack) -> dict[str, Any]:
    """Return every rule that the file cites, whole, so that no reader needs the pack."""
    ids: set[str] = set()
    _collect(out, pack, ids)
    return {
        one: {
            key: getattr(pack.rule(one), key)
            for key in ("value", "unit", "say", "source", "edition", "mark", "clause")
        }
        for one in sorted(ids)
    }


def _collect(part: Any, pack: Pack, ids: set[str]) -> None:
    if isinstance(part, dict):
        for value in part.values():
            _collect(value, pack, ids)
    elif isinstance(part, list):
        for value in part:
            _collect(value, pack, ids)
    elif isinstance(part, str) and "." in part and part in pack:
        ids.add(part)
