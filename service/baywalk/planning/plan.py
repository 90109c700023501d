"""The plan (``baywalk.plan`` 1): from the as-built to every cut."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from baywalk.planning import cautions, choices
from baywalk.planning.area import areas
from baywalk.planning.asbuilt import check_settled, sound, unready
from baywalk.planning.check import check
from baywalk.planning.choice_texts import read_choices
from baywalk.planning.deck import plan_deck
from baywalk.planning.framing import framed, home
from baywalk.planning.ground import ground
from baywalk.planning.hatch import tries
from baywalk.planning.laid.before import Before, before, same_survey
from baywalk.planning.laid.changes import summed
from baywalk.planning.placed import unplaced
from baywalk.planning.quantities import together
from baywalk.planning.refused import Reason, Refused
from baywalk.planning.task import Task
from baywalk.rules import Pack, load

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from baywalk.planning.area import Area
    from baywalk.planning.choices import Choices
    from baywalk.planning.trimming import Opening

    Make = Callable[[float, int, int], Task]

FORMAT, VERSION = "baywalk.plan", 1


def plan(
    as_built: Any,
    chosen: Choices | None = None,
    pack: Pack | None = None,
    progress: Callable[[float, float], bool] | None = None,
    told: Before | None = None,
) -> dict[str, Any]:
    """Return the plan of an as-built as JSON data; lengths in mm.

    ``progress`` is told the best cost and its bound while a deck is being laid out; it returns
    False to stop there with the best so far. ``told`` is what was planned before and what is laid;
    the plan then tells what changes. Raises ``BadAsBuilt`` where the as-built is not of its
    shape, ``BadChoice`` where a choice cannot be used, ``Refused`` where nothing can be planned.
    """
    wanted, rules = chosen or choices.Choices(), pack or load()
    choices.check(wanted, rules)
    data = sound(as_built)
    unsettled = check_settled(data, anyway=wanted.anyway)
    why: Refused | None = None
    kept: dict[str, Any] | None = None
    for one in tries(data, wanted, rules):
        try:
            decks = _decks(one.data, wanted, rules, progress, told)
        except Refused as reason:
            why = why or reason
            continue
        out = _written(data, wanted, rules, unsettled, decks)
        if one.hatch:
            _tell(out, one.hatch)
        if told:
            out["changes"] = summed(told.earlier, out)
        _check(out, as_built, rules, told)
        kept = kept or out
        if not failed(out):
            return out
    if kept is None:
        raise why or Refused(Reason("survey.no_runs", "The survey has no run of joists to board."))
    return kept


def _tell(out: dict[str, Any], hatch: dict[str, Any]) -> None:
    """Put into a plan what is said of its new opening, as a whole and where it is shown."""
    out["hatch"] = hatch
    for deck in out["decks"]:
        for opening in deck["openings"]:
            if opening["feature"] == hatch["feature"]:
                opening["say"] = f"{hatch['places'][hatch['chosen']]['say']} {opening['say']}"


def _written(
    data: dict[str, Any],
    wanted: Choices,
    rules: Pack,
    told: list[str],
    decks: list[dict[str, Any]],
) -> dict[str, Any]:
    """Return the plan as JSON data but for the checks of its decks."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "survey": data["survey"],
        "title": data["title"],
        "pack": rules.id,
        "choices": choices.as_json(wanted, rules),
        "told": told,
        "decks": decks,
        "quantities": together(decks),
        "cautions": cautions.general(wanted, data["runs"], rules),
        "rules": _cited(rules),
    }


def plan_again(
    as_built: Any,
    earlier: Any,
    as_laid: Any = None,
    asked: Mapping[str, Sequence[str]] | None = None,
    pack: Pack | None = None,
    progress: Callable[[float, float], bool] | None = None,
    seconds: float | None = None,
) -> dict[str, Any]:
    """Return the plan for what is still to be laid, as JSON data; lengths in mm.

    Args:
        as_built: the as-built as it is now; it may have changed since.
        earlier: the plan that was laid by.
        as_laid: what is laid of it and where it landed (``baywalk.as-laid`` 1); None for nothing.
        asked: choices asked for by name, each as a text; the others are the earlier plan's.
        pack: the rules; None for the pack that is delivered.
        progress: as for :func:`plan`.
        seconds: the longest that the layout may be improved; None leaves it to the choices.

    Raises:
        BadEarlier: the earlier plan is none that can be gone on from.
        BadAsLaid: what is laid is not of its form, or not of that plan.
        Refused: what is laid breaks a rule that nothing cures where it lies, or nothing can be
            planned from it; and whatever :func:`plan` raises.
    """
    rules = pack or load()
    told = before(earlier, as_laid, rules)
    same_survey(told, as_built)
    wanted = read_choices(asked or {}, choices.of_plan(told.earlier["choices"]))
    if seconds is not None:
        wanted = replace(wanted, seconds=min(choices.seconds(wanted, rules), seconds))
    return plan(as_built, wanted, rules, progress, told)


def _check(out: dict[str, Any], as_built: Any, pack: Pack, told: Before | None) -> None:
    """Put into each deck what the independent checker makes of it."""
    # The checker makes good for itself what an as-built leaves out: one slip fools not both.
    again = (told.earlier, told.as_laid) if told else None
    rows = check(out, as_built, pack, again)
    for number, deck in enumerate(out["decks"]):
        deck["checks"] = [
            row
            for row in rows
            if row["deck"] == deck["id"] or (row["deck"] is None and number == 0)
        ]


def failed(out: dict[str, Any]) -> list[str]:
    """Return, in words, every hard rule that a plan does not keep."""
    return [row["say"] for deck in out["decks"] for row in deck["checks"] if not row["holds"]]


def _decks(
    data: dict[str, Any],
    wanted: Choices,
    pack: Pack,
    progress: Callable[[float, float], bool] | None,
    told: Before | None,
) -> list[dict[str, Any]]:
    tasks = [
        task
        for run in data["runs"]
        for own in (told.choices(wanted, run["id"]) if told else wanted,)
        for task in _tasks(run, own, pack, progress)
    ]
    if not tasks:
        raise Refused(Reason("survey.no_runs", "The survey has no run of joists to board."))
    share = choices.seconds(wanted, pack) / len(tasks)
    out: list[dict[str, Any]] = []
    left = wanted.had
    for number, make in enumerate(tasks, start=1):
        # What is left of the boards that are there goes to the last deck, its spare ones too.
        task, name = make(share, left, len(tasks) - number), f"D{number}"
        out.append(plan_deck(replace(task, held=told.deck(name)) if told else task, name))
        left -= sum(board["had"] for board in out[-1]["boards"])
    return out


def _tasks(
    run: dict[str, Any],
    wanted: Choices,
    pack: Pack,
    progress: Callable[[float, float], bool] | None,
) -> list[Make]:
    """Return what makes the task of each deck of a run, once its share of the time is known.

    It is told how many of the boards there are left as well, and how many decks come after.
    """
    reasons = unready(run) or unplaced(run, pack)
    if reasons:
        raise Refused(*reasons)
    there = ground(run)
    _, width = choices.size(wanted, pack)
    parts = areas(run, there, wanted, pack, width)
    holes, choice = framed(run, there, parts, wanted, pack)

    def make(part: Area, mine: tuple[Opening, ...]) -> Make:
        def task(seconds: float, left: int, after: int) -> Task:
            own = replace(wanted, had=left)
            return Task(run, part, choice, own, pack, seconds, progress, mine, after)

        return task

    return [make(part, tuple(o for o in holes if home(o, parts) is part)) for part in parts]


def _cited(pack: Pack) -> dict[str, Any]:
    """Return every rule of planning with its source, so that no reader needs the pack."""
    families = re.compile(
        r"(deck|board|joint|laid|noggin|strutting|timber|fixing|adhesive|finish|raise|opening|price|plan)\."
    )
    return {
        name: {
            "value": rule.value,
            "unit": rule.unit,
            "say": rule.say,
            "source": rule.source,
            "edition": rule.edition,
            "mark": rule.mark,
        }
        for name in pack.ids()
        if families.match(name)
        for rule in (pack.rule(name),)
    }
