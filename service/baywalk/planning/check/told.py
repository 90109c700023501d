"""What the plan says as a whole: its choices, the rules it cites, the sum of what to buy."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from baywalk.planning.check.scene import Json
    from baywalk.planning.check.verdicts import Verdicts
    from baywalk.rules import Pack


def check_told(plan: Json, pack: Pack, out: Verdicts) -> None:
    """Check what belongs to no single deck."""
    out.must("plan.form", plan["decks"], "the plan", "it has no deck")
    ids = Counter(deck["id"] for deck in plan["decks"])
    out.must("plan.form", max(ids.values(), default=1) == 1, "the decks", "two have one id")
    _rules(plan, pack, out)
    _choices(plan, pack, out)
    _quantities(plan, out)


def _rules(plan: Json, pack: Pack, out: Verdicts) -> None:
    """Check that every rule cited is the pack's, word for word."""
    out.looked("plan.rules")
    for name, cited in plan["rules"].items():
        if out.must("plan.rules", name in pack, name, "the pack has no such rule"):
            rule = pack.rule(name)
            same = all(cited[field] == getattr(rule, field) for field in cited)
            out.must("plan.rules", same, name, "it is not what the pack says")
    used = {deck["thickness"]["rule"] for deck in plan["decks"]}
    used |= {row["rule"] for deck in plan["decks"] for row in deck["quantities"] if row["rule"]}
    for name in used:
        out.must("plan.rules", name in plan["rules"], name, "it is used and its source not given")


def _choices(plan: Json, pack: Pack, out: Verdicts) -> None:
    """Check that the decks are what was asked for."""
    choices = plan["choices"]
    out.must("plan.choices", choices["use"] in pack["deck.uses"], "the use", "no such use")
    asked = choices["board"]
    for deck in plan["decks"]:
        board, where = deck["deck"]["board"], deck["id"]
        for name, value in (asked or {}).items():
            if value is not None and name in board:
                out.same("plan.choices", board[name], value, where, f"the board's {name}")
        if not asked:
            size = [board["length"], board["width"]]
            first = pack["board.sizes"][0]
            out.must("plan.choices", size == first, where, "it is not the usual board")
        out.must("plan.choices", board["grade"] == pack["deck.grade"], where, "another grade")
        goes_on = deck["deck"]["continues"]
        from_side = goes_on or deck["laid_from"] == choices["start_wall"]
        out.must("plan.choices", from_side, where, "it starts from another edge")
    # Boards that are there already are used before any is bought.
    boards = [board for deck in plan["decks"] for board in deck["boards"]]
    had, first = sum(b["had"] for b in boards), min(choices["had"], len(boards))
    out.same("plan.choices", had, first, "the boards", "how many of those there are used", 0)


def _quantities(plan: Json, out: Verdicts) -> None:
    """Check that what to buy for the whole plan is what its decks add up to."""
    told: dict[tuple[str, str], dict[str, float]] = {}
    own: dict[tuple[str, str], dict[str, float]] = {}
    for rows, into in (
        (plan["quantities"], told),
        *((d["quantities"], own) for d in plan["decks"]),
    ):
        for row in rows:
            _add(row, into)
    for key in told.keys() | own.keys():
        for name in ("net", "spare", "buy", "cost"):
            text = f"{name} of all decks"
            figure, sum_ = told.get(key, {}).get(name, 0), own.get(key, {}).get(name, 0)
            out.same("plan.quantities", figure, sum_, " ".join(key), text, 0.02)
    lines = {(r["kind"], r["size"], r["rule"], r["price"]) for r in plan["quantities"]}
    same = lines == {
        (r["kind"], r["size"], r["rule"], r["price"])
        for d in plan["decks"]
        for r in d["quantities"]
    }
    out.must("plan.quantities", same, "the plan", "its lines are not those of its decks")


def _add(row: Json, into: dict[tuple[str, str], dict[str, float]]) -> None:
    sums = into.setdefault((row["kind"], row["size"]), {})
    for name in ("net", "spare", "buy", "cost"):
        sums[name] = sums.get(name, 0) + (row[name] or 0)
