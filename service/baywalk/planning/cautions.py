"""Cautions: what to know before starting, and who decides."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.area import Area
    from baywalk.planning.choices import Choices
    from baywalk.planning.ground import Member
    from baywalk.planning.trimming import Opening
    from baywalk.rules import Pack


def _caution(code: str, say: str, rule: str | None = None) -> dict[str, Any]:
    return {"code": code, "say": say, "rule": rule}


def general(choices: Choices, runs: Sequence[dict[str, Any]], pack: Pack) -> list[dict[str, Any]]:
    """Return the cautions of any plan."""
    words = {"storage": "light storage", "occasional": "occasional use", "domestic": "a room"}
    use = words[choices.use]
    return [
        _caution(
            "load.not_checked",
            f"This plan says how to board the loft for {use}. It does not say that the joists carry"
            " it. See the load check, and ask a structural engineer and building control in doubt.",
        ),
        _caution(
            "loft.fragile",
            "The ceiling between joists carries nobody. Work from planks, with light, not alone.",
        ),
        _caution(
            "loft.asbestos",
            "If loose fill or old board may hold asbestos, stop and have it looked at.",
        ),
        _caution(
            "loft.lifting",
            "A board weighs up to 25 kg. Two people carry it through a hatch.",
        ),
        _caution(
            "loft.cables",
            "Cables covered by insulation and boards run hotter. Ask an electrician before covering"
            " any.",
        ),
        *_apart(runs, pack),
    ]


def _apart(runs: Sequence[dict[str, Any]], pack: Pack) -> list[dict[str, Any]]:
    """Return how the decks of runs meet that were surveyed each by itself."""
    if len(runs) < 2:
        return []
    names = " and ".join(str(run["title"] or run["id"]) for run in runs)
    open_, bearing = pack["deck.movement.gap"], pack["noggin.edge.bearing"]
    return [
        _caution(
            "runs.apart",
            f"{names} are boarded each as a deck of its own. Where two of them meet over a beam or"
            f" a wall, the edge of either lies on its own joists or noggins with {bearing:g} mm or"
            f" more, {open_:g} mm or more stay open between them, and no board goes across. To"
            " board both in one, survey them as one run with tape lines on both sides of what they"
            " share, and state the lap.",
            "deck.movement.gap",
        )
    ]


def of_deck(
    run: dict[str, Any],
    area: Area,
    added: Sequence[Member],
    cut: Sequence[Member],
    span_read: bool,  # noqa: FBT001 - a fact that is passed on, not a switch
    strutted: bool,  # noqa: FBT001 - the same
    openings: Sequence[Opening],
    pack: Pack,
) -> list[dict[str, Any]]:
    """Return the cautions of one deck; of the joists added, those ``cut`` hang from trimmers."""
    out = []
    if unknown_depths(run):
        out.append(
            _caution(
                "raise.depth_unknown",
                "The insulation's depth is known, but not the joists' beside it. Measure whether it"
                " stands above them: a deck must not press it down.",
                "raise.batten",
            )
        )
    if run["laps"]:
        pairs = ", ".join(f"the {one} and the {other} line" for one, other in run["laps"])
        out.append(
            _caution(
                "lap.taken",
                f"The joists lap between {pairs}. Every joist is taken to be two timbers there, of"
                " one breadth, each reaching well past what they lap over. Look before boarding:"
                " boards over the lap lie on whichever is there, and a top that stands lower is"
                " packed up.",
            )
        )
    out += [small for shape in openings if (small := _small(shape, pack))]
    if added:
        names = ", ".join(member.name for member in added)
        out.append(
            _caution(
                "joist.added",
                f"{names}: an added joist bears on both supports like its neighbours. Check with a"
                " structural engineer what it may rest on.",
                "deck.thickness",
            )
        )
    if cut:
        out.append(_caution("joist.trimmed", _hung(cut), "opening.trim"))
    if strutted and not span_read:
        out.append(
            _caution(
                "strutting.span_unknown",
                "No span was read, so the strutting is set for the deck's own reach.",
                "strutting.rows",
            )
        )
    if area.left_open > 0:
        out.append(
            _caution(
                "deck.left_open",
                f"Strips too narrow to board are left open, {area.left_open / 1e6:.2f} m² in all.",
                "deck.least.width",
            )
        )
    return out + _services(run)


def _hung(cut: Sequence[Member]) -> str:
    names = ", ".join(member.name for member in cut)
    return (
        f"{names}: an added joist that meets an opening is cut there. Its parts hang from the"
        " opening's trimmers, which hang on the joists beside it and load them there. The load"
        " check is of the joists as they were found and counts none of that. A structural engineer"
        " says what trimmers, hangers and trimming joists must carry; building control must know of"
        " it."
    )


def unknown_depths(run: dict[str, Any]) -> bool:
    """Say whether insulation lies beside joists of which nobody knows how deep they are."""
    read = [joist["depth"] for joist in run["joists"]] + [run["member"].get("depth")]
    deep = [f for f in run["features"] if f["feature"] == "insulation" and f.get("depth")]
    return bool(deep) and not any(read)


def _small(opening: Opening, pack: Pack) -> dict[str, Any] | None:
    x0, y0, x1, y1 = opening.polygon.bounds
    least = pack["opening.least"]
    if min(x1 - x0, y1 - y0) >= least:
        return None
    say = (
        f"The opening is {x1 - x0:.0f} mm by {y1 - y0:.0f} mm. A loft hatch is at least"
        f" {least:g} mm clear each way, so that a person gets through."
    )
    return _caution("opening.small", say, "opening.least")


def _services(run: dict[str, Any]) -> list[dict[str, Any]]:
    """Return where cables and pipes were seen, so that nobody drives a screw into one."""
    out = []
    for feature in run["features"]:
        bay = feature.get("bay")
        if feature["feature"] in ("cable", "pipe") and isinstance(bay, int):
            name = f"J{bay}–J{bay + 1}" if 0 < bay < len(run["joists"]) else "the bay at the wall"
            out.append(
                _caution(
                    f"service.{feature['feature']}",
                    f"There is a {feature['feature']} in {name}. Mark it on the boards; fit noggins"
                    " round it, never through it.",
                )
            )
    return out
