"""Quantities: is what the plan says to buy what the plan needs, line by line?"""

from __future__ import annotations

import math
from collections import Counter
from typing import TYPE_CHECKING

from shapely.geometry import LineString

from baywalk.planning.check.scene import touching
from baywalk.planning.check.verdicts import EXACT

if TYPE_CHECKING:
    from baywalk.planning.check.scene import Json, Scene
    from baywalk.planning.check.verdicts import Verdicts

RULE = "plan.quantities"


def check_quantities(scene: Scene, out: Verdicts) -> None:
    """Check fixings, adhesive, finish, waste and the list of what to buy."""
    _fixings(scene, out)
    _adhesive(scene, out)
    _finish(scene, out)
    _waste(scene, out)
    lines = _expected(scene)
    told: Counter[tuple[str, str]] = Counter()
    for row in scene.deck["quantities"]:
        key = (row["kind"], row["size"])
        told[key] += row["net"]
        _row(scene, row, out)
    for key in told.keys() | lines.keys():
        where = " ".join(key)
        out.same(RULE, told[key], lines[key], where, "what is used", 0.01)


def screws_of_boards(scene: Scene) -> int:
    """Return the screws through the boards: ends, joists between, and the deck's edge."""
    edge, field = scene.pack["fixing.centres.edge"], scene.pack["fixing.centres.field"]
    total = 0
    for name, shape in scene.shapes.items():
        x0, y0, x1, y1 = shape.bounds
        width = scene.pieces[name]["width"]
        total += 2 * (_spaces(width, edge) + 1)
        middle = (y0 + y1) / 2
        between = sum(x0 + j.breadth < j.x(middle) < x1 - j.breadth for j in scene.joists)
        total += between * (_spaces(width, field) + 1)
    under = [n for n in scene.deck["noggins"] if "edge" in n["serves"]]
    return total + sum(_spaces(n["length"], edge) + 1 for n in under)


def _spaces(length: float, most: float) -> int:
    return math.ceil(length / most - 1e-9)


def _fixings(scene: Scene, out: Verdicts) -> None:
    """Check screws by what they fix: number, length and gauge."""
    told = {row["what"]: row for row in scene.deck["fixings"]}
    pack, noggins, cleats = scene.pack, scene.deck["noggins"], scene.deck["cleats"]
    ends, apart = pack["fixing.noggin"]["each_end"], pack["fixing.cleat"]["apart"]
    own = {
        "boards": (screws_of_boards(scene), "fixing.screw"),
        "noggins": (2 * ends * len(noggins), "fixing.noggin"),
        "cleats": (sum(_spaces(c["length"], apart) + 1 for c in cleats), "fixing.cleat"),
    }
    for what, (count, rule) in own.items():
        if not out.must(RULE, count == 0 or what in told, what, "their screws are missing"):
            continue
        if what in told:
            row = told[what]
            out.same(RULE, row["count"], count, what, "the number of screws", 0)
            length = pack[rule]["length"]
            if what == "boards":
                times = pack[rule]["thickness"] * scene.board["thickness"]
                length = max(length, times)
            out.at_least(rule, row["length"], length, what, "The length of their screws")
            out.must(RULE, row["rule"] == rule, what, "another rule is named")
            out.must(rule, row["gauge"] == pack[rule]["gauge"], what, "their gauge is another")
    for what in told.keys() - own.keys():
        out.must(RULE, scene.deck["raise"] or scene.deck["added_joists"], what, "not needed")


def _adhesive(scene: Scene, out: Verdicts) -> None:
    out.must(RULE, scene.deck["adhesive"]["rule"] == "adhesive.bead", "adhesive", "another rule")
    told, bead = scene.deck["adhesive"], scene.pack["adhesive.bead"]
    ends = sum(joint["y1"] - joint["y0"] for joint in scene.deck["joints"])
    joints, supports = (ends + seams(scene)) / 1000, _supports(scene) / 1000
    out.same(RULE, told["joints"], joints, "adhesive", "the joints [m]", 0.05)
    out.same(RULE, told["supports"], supports, "adhesive", "the supports [m]", 0.05)
    volume = (told["joints"] * bead["joint"] + told["supports"] * bead["support"]) / 1000
    out.same(RULE, told["volume"], volume, "adhesive", "the volume [l]", 0.01)
    out.same(RULE, told["bottle"], bead["bottle"], "adhesive", "the bottle [l]")
    bottles = math.ceil(volume / bead["bottle"] - 1e-6)
    out.same(RULE, told["bottles"], bottles, "adhesive", "the bottles", 0)


def seams(scene: Scene) -> float:
    """Return how long courses meet along their long edges [mm]."""
    rows: dict[int, list[str]] = {}
    for piece in scene.deck["pieces"]:
        rows.setdefault(piece["course"], []).append(piece["id"])
    return sum(
        abs(q[0] - p[0])
        for index, row in rows.items()
        for a in row
        for b in rows.get(index + 1, ())
        if scene.shapes[a].distance(scene.shapes[b]) <= EXACT
        for p, q in touching(scene.shapes[a], scene.shapes[b], EXACT)
    )


def _supports(scene: Scene) -> float:
    _, y0, _, y1 = scene.area.bounds
    lines = [LineString([(j.x(y), y) for y in j.kinks(y0, y1)]) for j in scene.joists]
    under = sum(line.intersection(scene.area).length for line in lines)
    return float(under + sum(n["length"] for n in scene.deck["noggins"]))


def _finish(scene: Scene, out: Verdicts) -> None:
    told, rule = scene.deck["finish"], scene.pack["finish.coats"]
    out.must(RULE, told["rule"] == "finish.coats", "finish", "another rule is named")
    area = scene.area.area / 1e6
    out.same(RULE, told["area"], area, "finish", "the area [m²]", 0.002)
    out.same(RULE, told["coats"], rule["coats"], "finish", "the coats", 0)
    volume = area * rule["coats"] / rule["cover"]
    out.same(RULE, told["volume"], volume, "finish", "the volume [l]", 0.01)
    held = sum(tin["size"] * tin["count"] for tin in told["tins"])
    out.at_least(RULE, held, volume, "finish", "What the tins hold [l]")
    sold = all(tin["size"] in rule["tins"] for tin in told["tins"])
    out.must(RULE, sold, "finish", "no such tin is sold")
    # No tin may be left out: else one too many is bought.
    smallest = min((tin["size"] for tin in told["tins"]), default=0)
    out.must(RULE, held - smallest < volume, "finish", "a tin more is bought than is needed")


def _waste(scene: Scene, out: Verdicts) -> None:
    bought = len(scene.deck["boards"]) * scene.board["length"] * scene.board["width"]
    laid = sum(shape.area for shape in scene.shapes.values())
    own = 1 - laid / bought if bought else 0.0
    out.same(RULE, scene.deck["waste"]["share"], own, "waste", "its share", 0.001)


def _size(*lengths: float) -> str:
    return " × ".join(f"{length:g}" for length in lengths)


def _expected(scene: Scene) -> Counter[tuple[str, str]]:
    """Return what the plan uses of each thing to buy, by kind and size."""
    deck, board = scene.deck, scene.board
    out: Counter[tuple[str, str]] = Counter()
    size = _size(board["length"], board["width"], board["thickness"])
    out["board", size] = len(deck["boards"])
    for timber in deck["timbers"]:
        section = timber["section"]
        out["timber", _size(section["breadth"], section["depth"], timber["stock"])] += 1
    for row in deck["fixings"]:
        out[row["kind"], f"{row['gauge']} × {row['length']:g}"] += row["count"]
    if deck["adhesive"]["bottles"]:
        out["adhesive", f"{deck['adhesive']['bottle']:g} l"] = deck["adhesive"]["bottles"]
    for tin in deck["finish"]["tins"]:
        out["finish", f"{tin['size']:g} l"] += tin["count"]
    for opening in deck["openings"]:
        for hanger in opening["hangers"]:
            out["hanger", _size(hanger["breadth"], hanger["depth"])] += hanger["count"]
            nails = scene.pack["opening.nails"]
            size = f"{nails['gauge']} × {nails['length']:g}"
            out["nail", size] += hanger["count"] * nails["each"]
    for batten in deck["raise"]:
        if batten["kind"] == "packer":
            out["packer", f"{batten['thickness']:g}"] += 1
    return out


def _row(scene: Scene, row: Json, out: Verdicts) -> None:
    """Check one line: spare by its rule, what to buy, and what that costs."""
    where, net = f"{row['kind']} {row['size']}", row["net"]
    spare = 0.0
    if row["kind"] == "board":
        rule = scene.pack["board.spare"]
        spoilt = scene.told.spoilt_whole if scene.told else 0
        spare = max(rule["least"], _spaces(rule["share"] * net, 1), spoilt)
    elif row["kind"] == "screw":
        spare = _spaces(scene.pack["fixing.spare"] * net, 1)
    out.same(RULE, row["spare"], spare, where, "the spare", 0)
    had = scene.plan["choices"]["had"] if row["kind"] == "board" else 0
    # What is there already need not be bought.
    used = min(had, sum(board["had"] for board in scene.deck["boards"])) if had else 0
    buy = net + spare - used
    low, high = (buy - (had - used), buy) if had else (buy, buy)
    held = max(low, 0) <= row["buy"] <= high
    out.must(RULE, held, where, f"to buy is given as {row['buy']:g}, not {buy:g}")
    if row["price"] is None:
        out.must(RULE, row["cost"] is None, where, "it has a cost and no price")
    else:
        cost = row["price"] * row["buy"]
        told = math.nan if row["cost"] is None else row["cost"]
        out.same(RULE, told, cost, where, "its cost", 0.01)
