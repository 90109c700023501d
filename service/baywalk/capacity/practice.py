"""Published practice beside the checks: strutting, bearing, partitions, the old rule of thumb."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baywalk.capacity.cuts import longest

if TYPE_CHECKING:
    from baywalk.capacity.model import Joist, Run
    from baywalk.capacity.setting import Setting
    from baywalk.rules import Pack

ENGINEER = "Ask a structural engineer."


def strutting_rows(span: float, pack: Pack) -> int:
    """Return how many rows of strutting a clear span [mm] has by the published table."""
    (none, few), (one, more) = pack["strutting.rows"]
    if span < none:
        return int(few)
    return int(more) if span <= one else int(more) + 1


def strutting(run: Run, pack: Pack) -> dict[str, Any] | None:
    """Return what a run's strutting should be, by its longest clear span; None where unknown."""
    spans = [longest(joist, pack) for joist in run.joists if joist.span]
    if not spans:
        return None
    rows = strutting_rows(max(spans), pack)
    thick, deep = pack["strutting.breadth"], pack["strutting.depth"]
    where = {0: "none is asked for", 1: "one row at mid-span", 2: "two rows, evenly spaced"}[rows]
    tail = (
        f" Solid strutting is at least {thick} mm thick and {deep:g} of the "
        "joist's depth, blocked to the wall at both ends, and in before the deck."
    )
    return {
        "rule": "strutting.rows",
        "rows": rows,
        "rules": ["strutting.breadth", "strutting.depth"],
        "say": f"Spans up to {max(spans):.0f} mm: {where}.{tail if rows else ''}",
    }


def bearing_cautions(joist: Joist, pack: Pack) -> list[str]:
    """Return, in words, the ends of a joist that bear on less than is published."""
    least = pack["span.bearing.least"]
    out = []
    for end, read in (("near", joist.near), ("far", joist.far)):
        if read is None or read.value >= least["plate"]:
            continue
        short = f"The {end} end of J{joist.index} bears {read.value:.0f} mm."
        if read.value < least["old"]:
            out.append(f"{short} No published figure is as low. {ENGINEER}")
        else:
            out.append(
                f"{short} {least['plate']} mm is asked for on a timber plate and "
                f"{least['masonry']} mm on masonry; the span tables take {least['table']} mm."
            )
    return out


def partition(setting: Setting, pack: Pack) -> dict[str, Any] | None:
    """Return what is published of a partition on the floor; None where none was asked about."""
    if setting.partition is None:
        return None
    way, weight = setting.partition
    if way == "along":
        return _along(weight, pack)
    load = spread(setting, pack)
    holds = load is not None
    say = (
        f"Across the joists it counts as {load:g} kN/m² more on the whole floor, and tabulated "
        "spans lose a tenth."
        if holds
        else f"It is heavier than what may be spread over a floor. {ENGINEER}"
    )
    return {"rule": "load.partition.spread", "way": way, "weight": weight, "holds": holds,
            "spread": load, "table_span": pack["load.partition.across"],
            "rules": ["load.partition.across"], "say": say}  # fmt: skip


def _along(weight: float, pack: Pack) -> dict[str, Any]:
    now, before = pack["load.partition.joists"], pack["load.partition.joists.2006"]
    holds = weight <= now
    say = (
        f"Along the joists, up to {now:g} kN a metre, it needs one or two more joists right under "
        "it. Without them do not build it."
        if holds
        else f"Along the joists it is heavier than {now:g} kN a metre, the most that is published. "
        f"{ENGINEER}"
    )
    if holds and weight > before:
        say += f" An earlier edition allowed only {before:g}."
    return {"rule": "load.partition.joists", "way": "along", "weight": weight, "holds": holds,
            "held_2006": weight <= before, "rules": ["load.partition.joists.2006"],
            "say": say}  # fmt: skip


def spread(setting: Setting, pack: Pack) -> float | None:
    """Return what a partition across the joists adds to the imposed load [kN/m²].

    0 where there is none; None where it is too heavy for that.
    """
    if setting.partition is None or setting.partition[0] != "across":
        return 0.0
    # The rows rise; the first that covers the weight is the one.
    rows = sorted((float(k), float(v)) for k, v in pack["load.partition.spread"].items())
    return next((load for most, load in rows if setting.partition[1] <= most), None)


def old_rule(joist: Joist, pack: Pack) -> dict[str, Any] | None:
    """Return what the old rule for ceiling joists says, where its centres allow it.

    Its depth is in inches, for a bearing in feet and a breadth in inches.
    """
    rule = pack["span.old_ceiling"]
    apart = max(joist.left or 0.0, joist.right or 0.0)
    if joist.breadth is None or joist.depth is None or joist.span is None:
        return None
    if not 0 < apart <= rule["centres"]:
        return None
    wanted = old_depth(longest(joist, pack), joist.breadth.value, pack)
    within = joist.depth.value >= wanted
    return {
        "table": "span.old_ceiling",
        "depth": round(wanted, 1),
        "within": within,
        "say": (
            f"The old rule for ceiling joists, which carried a ceiling and nothing on it, asks for "
            f"{wanted:.0f} mm of depth; J{joist.index} has {joist.depth.value:.0f} mm."
        ),
    }


def old_depth(span: float, breadth: float, pack: Pack) -> float:
    """Return the depth that the old rule asks for a bearing and a breadth, all in mm."""
    inch = 25.4
    feet, wide = span / (12 * inch), breadth / inch
    return float(pack["span.old_ceiling"]["factor"]) * feet / float(wide ** (1 / 3)) * inch
