"""The load check of one run: its floor, its joists, its openings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.capacity import (
    cautions,
    doubt,
    evidence,
    fixes,
    handling,
    openings,
    practice,
    verdict,
)
from baywalk.capacity import deck as decks
from baywalk.capacity.actions import layers
from baywalk.capacity.cuts import refused
from baywalk.capacity.joist import Case, Given, missing
from baywalk.capacity.sharing import sharing
from baywalk.capacity.things import loads

if TYPE_CHECKING:
    from baywalk.capacity.actions import Layer
    from baywalk.capacity.check import Check
    from baywalk.capacity.model import Joist, Run
    from baywalk.capacity.setting import Setting
    from baywalk.rules import Pack


def check_run(run: Run, setting: Setting, pack: Pack, *, settled: bool) -> dict[str, Any]:
    """Return the load check of a run as JSON data; ``settled`` says whether its survey is."""
    return _Run(run, setting, pack, settled=settled).json()


class _Run:
    """Checks one run."""

    def __init__(self, run: Run, setting: Setting, pack: Pack, *, settled: bool) -> None:
        self._settled = settled
        self._run, self._setting, self._pack = run, setting, pack
        self._deck = decks.thickness(run, setting, pack)
        self._layers = layers(run, setting, self._deck, pack)
        holes = [corners for _, corners in run.openings]
        self._cut = {j.index for hole in holes for j in openings.cut_joists(run, hole)}

    def json(self) -> dict[str, Any]:
        """Return the run's load check."""
        joists = [self._joist(joist) for joist in self._run.joists]
        cases = {joist.index: self.given(joist) for joist in self._run.joists}
        return {
            "id": self._run.id,
            "title": self._run.title,
            "dead": self._dead(),
            "deck": decks.deck(self._run, self._setting, self._pack),
            "joists": joists,
            "strutting": practice.strutting(self._run, self._pack),
            "openings": openings.openings(self._run, self._setting, cases, self._pack),
            "governing": worst_of([j["governing"] for j in joists]),
            "counts": _counts(joists),
            "cautions": [
                *self._run.cautions,
                *cautions.light(self._run, self._setting, self._pack),
            ],
        }

    def _dead(self) -> dict[str, Any]:
        """Return what the floor weighs [kN/m²], as given or layer by layer."""
        if self._setting.dead is not None:
            say = (
                f"Given, {self._setting.dead:g} kN/m²: all permanent load, joists included. "
                "Nothing is added to it."
            )
            return {"load": self._setting.dead, "given": True, "layers": [], "say": say}
        total = sum(layer.load for layer in self._layers)
        each = ", ".join(f"{layer.name} {layer.load:.2f}" for layer in self._layers)
        say = f"Built from layers, {total:.2f} kN/m²: {each}; each joist's own weight comes to it."
        return {
            "load": round(total, 4),
            "given": False,
            "layers": [layer.json() for layer in self._layers],
            "say": say,
        }

    def given(self, joist: Joist) -> Given:
        """Return what the checks of a joist need beside it."""
        return given_for(self._run, joist, self._setting, self._layers, self._deck, self._pack)

    def _joist(self, joist: Joist) -> dict[str, Any]:
        lacks, given = missing(joist), self.given(joist)
        no_rule = self._no_rule(joist, trimming=bool(given.hung[0]))
        loose = joist.index not in self._cut and self._hung(joist) is None
        # Damage and missing rules do not hide the figures; they decide what is said of them.
        checks: list[Check] = []
        case = None
        if not lacks:
            case = Case(joist, given)
            checks = doubt.with_doubt(case.checks(), joist, given)
        word = verdict.verdict(checks, joist.damage, no_rule, cut=loose or joist.index in self._cut)
        return {
            "index": joist.index,
            "span": round(sum(case.spans), 3) if case else None,
            "spans": [round(span, 3) for span in case.spans] if case else [],
            "width_carried": round(joist.width.value, 3) if joist.width else None,
            "breadth": joist.breadth.value if joist.breadth else None,
            "depth": joist.depth.value if joist.depth else None,
            "grade": joist.grade,
            "plies": joist.plies,
            "k_sys": round(given.sharing.k_sys[0], 6),
            "k_dist": round(given.sharing.k_dist, 6),
            "checks": [check.json(self._pack) for check in checks],
            "governing": self._decides(joist, verdict.governing(checks)),
            "verdict": word,
            "sure": verdict.sure(word, checks),
            "say": f"J{joist.index}. {verdict.say(word, checks)}",
            "evidence": self._evidence(joist),
            "fixes": fixes.fixes(self._run, joist, word, self._setting, self._fixer, self._pack),
            "cautions": [
                *no_rule,
                *([openings.beside_an_opening(joist)] if loose else []),
                *([openings.carries_trimmers(joist)] if given.hung[0] and not no_rule else []),
                *openings.adrift(self._run, joist),
                *_lacking(joist, lacks),
                *(cautions.lifted(joist, case.lifted(), len(case.spans) + 1) if case else []),
                *self._cautions(joist, checks),
            ],
        }

    def _hung(self, joist: Joist) -> openings.Hung | None:
        return hung_on(self._run, joist, self._setting, self._layers, self._deck, self._pack)

    def _no_rule(self, joist: Joist, *, trimming: bool) -> list[str]:
        """Return why no sum can speak for a joist, in words."""
        trussed = {**self._run.roof, **self._setting.roof}.get("trussed") == "yes"
        return [*([cautions.TRUSSED] if trussed else []), *refused(joist, trimming=trimming)]

    def _cautions(self, joist: Joist, checks: list[Check]) -> list[str]:
        return cautions.of_joist(
            joist,
            checks,
            self._setting,
            self._pack,
            cut=joist.index in self._cut,
            settled=self._settled,
        )

    def _evidence(self, joist: Joist) -> list[dict[str, Any]]:
        """Return what published tables and rules say of a joist, as a second line of evidence."""
        row = evidence.evidence(joist, self._table_dead(), self._setting, self._pack)
        old = practice.old_rule(joist, self._pack) if self._setting.use == "storage" else None
        return [one for one in (row, old) if one is not None]

    def _fixer(self, run: Run, joist: Joist, setting: Setting) -> list[Check]:
        """Return the checks of a joist as it would be after a change."""
        deck = decks.thickness(run, setting, self._pack)
        layered = layers(run, setting, deck, self._pack)
        given = given_for(run, joist, setting, layered, deck, self._pack)
        return Case(joist, given).checks()

    def _table_dead(self) -> float:
        """Return the permanent load by which a table's band is chosen [kN/m²]."""
        if self._setting.dead is not None:
            return self._setting.dead
        return sum(layer.load for layer in self._layers)

    def _decides(self, joist: Joist, check: Check | None) -> dict[str, Any] | None:
        if check is None:
            return None
        told = check.json(self._pack)
        keys = ("rule", "name", "line", "utilisation", "utilisation_95", "holds", "sure")
        return {"run": self._run.id, "joist": joist.index, **{key: told[key] for key in keys}}


def given_for(
    run: Run, joist: Joist, setting: Setting, layered: list[Layer], deck: float, pack: Pack
) -> Given:
    """Return what the checks of a joist need beside it, under a ``deck`` of a thickness [mm]."""
    extra = [one for thing in setting.things for one in loads(thing, joist, pack)[0]]
    return Given(
        setting,
        pack,
        layered,
        sharing(run, joist, deck, pack, strutted=setting.strutting == "yes"),
        tuple(extra),
        handling.carried(run, joist, setting, pack),
        run.across,
        hung_on(run, joist, setting, layered, deck, pack) or ((), ()),
    )


def hung_on(
    run: Run, joist: Joist, setting: Setting, layered: list[Layer], deck: float, pack: Pack
) -> openings.Hung | None:
    """Return what openings hang on a joist [mm, N]; None where it is not known."""

    def bare(cut: Joist) -> Given:
        strutted = setting.strutting == "yes"
        return Given(setting, pack, layered, sharing(run, cut, deck, pack, strutted=strutted))

    return openings.hung(run, joist, bare, pack)


def _lacking(joist: Joist, lacks: list[str]) -> list[str]:
    if not lacks:
        return []
    return [f"J{joist.index} is not checked: {', '.join(lacks)} must be measured."]


def worst_of(found: list[dict[str, Any] | None]) -> dict[str, Any] | None:
    """Return the check with the greatest utilisation; one without any capacity before all."""
    known = [one for one in found if one is not None]

    def weight(one: dict[str, Any]) -> float:
        return float("inf") if one["utilisation"] is None else float(one["utilisation"])

    return max(known, key=weight, default=None)


def _counts(joists: list[dict[str, Any]]) -> dict[str, int]:
    return {word: sum(j["verdict"] == word for j in joists) for word in verdict.SAYINGS}
