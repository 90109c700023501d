"""What must hold of every sheet of any loft, looked at from outside: by words, dots and readers.

Each function gives what is wrong in words, and nothing where all is well.
"""

from __future__ import annotations

import csv
import io
import json
import math
import re
from collections import Counter
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import ezdxf
import ifcopenshell
import ifcopenshell.validate
import numpy as np
import pypdfium2
from jsonschema import Draft202012Validator
from shapely import LineString, Polygon

from baywalk import places
from baywalk.sheets import drawing, lengths
from baywalk.sheets.ink import Box, Page, Words
from baywalk.sheets.paper import MARGIN
from baywalk.sheets.view import bar_length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from baywalk.sheets import Sheet, Source

Json = dict[str, Any]
Rows = list[dict[str, str]]

DOTS, MM = 300, 25.4
NEAR = 0.01
"""How near a point of a drawing must lie to what it stands for [mm]."""
ROUNDED = 0.0501
"""How far a length in a file of schedules may be from the exact one: it has one place [mm]."""


def words(page: Page) -> list[Words]:
    """Return what is written on a page."""
    return [item for item in page.items if isinstance(item, Words)]


def outside(page: Page) -> list[str]:
    """Return the words that leave the margins."""
    paper = Box(MARGIN, MARGIN, page.width - MARGIN, page.height - MARGIN)
    return [w.text for w in words(page) if not paper.holds(w.box, 0.05)]


def overlaps(page: Page) -> list[tuple[str, str]]:
    """Return the pairs of words that stand over each other, swept from left to right."""
    order = sorted(words(page), key=lambda w: w.box.left)
    open_: list[Words] = []
    found = []
    for one in order:
        open_ = [w for w in open_ if w.box.right > one.box.left]
        found += [(w.text, one.text) for w in open_ if w.box.meets(one.box, 0.05)]
        open_.append(one)
    return found


def drawn_outside(page: Page) -> float:
    """Return how far lines leave the margins [mm]; 0 where none do."""
    paper = Box(MARGIN, MARGIN, page.width - MARGIN, page.height - MARGIN)
    far = 0.0
    for item in page.items:
        for ring in getattr(item, "rings", ()):
            for x, y in ring:
                far = max(far, paper.left - x, x - paper.right, paper.top - y, y - paper.bottom)
    return far


def pages(sheet: Sheet) -> Iterator[str]:
    """Check every page as it was laid out: margins, words apart, its number, its SVG."""
    for number, page in enumerate(sheet.pages, start=1):
        where = f"{sheet.name} {number}"
        yield from (f"{where}: outside: {text[:40]}" for text in outside(page)[:3])
        yield from (f"{where}: over another: {a[:30]} | {b[:30]}" for a, b in overlaps(page)[:3])
        if drawn_outside(page) > 0.4:
            yield f"{where}: drawn {drawn_outside(page):.1f} mm outside"
        said = [w.text for w in words(page)]
        if f"{number} of {len(sheet.pages)}" not in said:
            yield f"{where}: its number is not told"
        if not any(said):
            yield f"{where}: nothing is on it"
        root = ET.fromstring(sheet.svg(number))  # noqa: S314 - our own text
        svg = [t.text or "" for t in root.iter("{http://www.w3.org/2000/svg}text")]
        if sorted(svg) != sorted(said):
            yield f"{where}: the SVG says something else"


def printed(sheet: Sheet, units: str) -> Iterator[str]:
    """Check the PDF in dots: as many pages, true size, and each scale bar as long as it says."""
    with pypdfium2.PdfDocument(sheet.pdf()) as document:
        if len(document) != len(sheet.pages):
            yield f"{sheet.name}: {len(document)} pages printed"
        for number, page in enumerate(sheet.pages):
            where, paper = f"{sheet.name} {number + 1}", document[number]
            size = [v / 72 * MM for v in paper.get_size()]
            if max(abs(size[0] - page.width), abs(size[1] - page.height)) > 0.05:
                yield f"{where}: the paper is {size[0]:.1f} x {size[1]:.1f}"
            if page.scale:
                long, want = bar(paper, page), bar_length(page.scale, units) / page.scale
                if abs(long - want) > 0.3:
                    yield f"{where}: the scale bar is {long:.2f} mm, not {want:.2f}"
                if f"1 : {page.scale}" not in {w.text for w in words(page)}:
                    yield f"{where}: the scale is not told"


def bar(paper: Any, page: Page) -> float:
    """Return how long the scale bar of a page of a PDF is [mm], counted in dots."""
    left, right = page.area.left - 1, page.area.left + 70
    top = page.area.bottom - 5 + 0.4
    edges = (left, page.height - top - 0.8, page.width - right, top)
    cut = tuple(v / MM * 72 for v in edges)
    dots = np.asarray(paper.render(scale=DOTS / 72, crop=cut).to_pil().convert("L"))
    dark = np.flatnonzero(dots[dots.shape[0] // 2] < 128)
    return float((dark[-1] - dark[0]) * MM / DOTS) if len(dark) else 0.0


def rows(sheet: Sheet, table: int = 0) -> Rows:
    """Return a schedule of a sheet, read again from its CSV."""
    return list(csv.DictReader(io.StringIO(sheet.tables[table].csv())))


def filed(sheet: Sheet) -> Iterator[str]:
    """Check that every schedule is sound CSV (RFC 4180), whole, and runs no formula."""
    for table in sheet.tables:
        read = list(csv.reader(io.StringIO(table.csv()), strict=True))
        if len(read) != len(table.file) + 1:
            yield f"{sheet.name}: {table.name} has {len(read) - 1} rows of {len(table.file)}"
        if {len(row) for row in read} != {len(read[0])} or len(set(read[0])) != len(read[0]):
            yield f"{sheet.name}: {table.name} is ragged"
        cells = [cell for row in read for cell in row]
        bad = [c for c in cells if c[:1] in "=+-@" and c[:1] and not _number(c)]
        yield from (f"{sheet.name}: {table.name} has a formula {c[:20]}" for c in bad[:1])


def _number(text: str) -> bool:
    return bool(re.fullmatch(r"-?\d+(\.\d+)?(e-?\d+)?", text))


def texts(sheet: Sheet) -> Counter[str]:
    """Return every line of text of a sheet, and how often it stands there."""
    return Counter(w.text for page in sheet.pages for w in words(page))


def as_built(sheet: Sheet, source: Source, units: str) -> Iterator[str]:
    """Check that each running dimension is the as-built's own, rounded from the exact."""
    said = texts(sheet)
    for run in source.as_built["runs"]:
        told = [(f"J{joist['index']}", joist["at"]) for joist in run["joists"]]
        told += [("wall", run["walls"]["end"]["at"])] if "end" in run["walls"] else []
        for name, at in told:
            for line in run["lines"]:
                x = (at.get(line) or {}).get("x")
                if x is not None and not said[f"{name}: {lengths.say(x, units)}"]:
                    yield f"as-built: {name} on {line[:12]} is not told"


def bays(sheet: Sheet) -> Iterator[str]:
    """Check that gaps and breadths add up to each face, no rounding gathering, line by line."""
    joists, gaps = rows(sheet, 0), rows(sheet, 1)
    for run, line in dict.fromkeys((row["run"], row["line"]) for row in joists):
        at = 0.0
        own = [r for r in joists if (r["run"], r["line"]) == (run, line)]
        mine = [r for r in gaps if (r["run"], r["line"]) == (run, line)]
        for gap, joist in zip(mine, own, strict=False):
            if "" in (gap["gap"], joist["left_face"], joist["breadth"]):
                break
            at += float(gap["gap"])
            off = abs(float(joist["left_face"]) - at)
            if off > 0.05 * (2 * int(joist["joist"]) + 1) + 0.001:
                yield f"bays: J{joist['joist']} on {line[:12]} is {off:.2f} off the sum"
                break
            at += float(joist["breadth"])


def _near(text: str, value: float) -> bool:
    return text != "" and abs(float(text) - value) <= ROUNDED


def set_out(sheet: Sheet, source: Source, units: str) -> Iterator[str]:
    """Check every noggin and cleat: drawn with its length, listed, its marks those of the steps."""
    listed = {(r["deck"], r["noggin"]): r for r in rows(sheet)}
    cleats = {(r["deck"], r["cleat"]): r for r in rows(sheet, 1)}
    said = texts(sheet)
    told: Counter[str] = Counter()
    for deck in (source.plan or {})["decks"]:
        for kind, found in (("noggins", listed), ("cleats", cleats)):
            for one in deck[kind]:
                row = found.get((deck["id"], one["id"]))
                if row is None or not _near(row["length"], one["length"]):
                    yield f"set-out: {deck['id']} {one['id']} is not listed"
                drawn = f"{one['id']}: {lengths.say(one['length'], units)}"
                told[drawn] += kind == "noggins" or drawn in said
        yield from _marks(deck, listed)
    # One along the joists may be drawn in both the parts of its bay that it lies beside.
    yield from (f"set-out: {text} is not drawn" for text in told if said[text] < told[text])
    count = sum(len(deck["noggins"]) for deck in (source.plan or {})["decks"])
    if len(rows(sheet)) != count:
        yield f"set-out: {len(rows(sheet))} noggins listed of {count}"


def _marks(deck: Json, listed: dict[tuple[str, str], dict[str, str]]) -> Iterator[str]:
    for mark in (m for step in deck["sequence"] for m in step["marks"]):
        found = re.fullmatch(r"(N\S+), centre", mark["to"])
        row = listed.get((deck["id"], found[1])) if found else None
        if row is None or mark["hook"] != "the near wall":
            continue
        joist = mark["along"].removeprefix("along ")
        left, right = row["between"].split("–")
        side = "mark_left" if joist == left else "mark_right" if joist == right else ""
        if side and abs(float(row[side] or "nan") - mark["value"]) > 0.2:
            yield f"set-out: {row['noggin']} at {row[side]} on {joist}, not {mark['value']}"


def cutting(sheet: Sheet, source: Source) -> Iterator[str]:
    """Check that every piece and timber is on the cut list once, as long as in the plan."""
    boards, timbers = rows(sheet), rows(sheet, 2)
    said = texts(sheet)
    for deck in (source.plan or {})["decks"]:
        mine = {r["piece"]: r for r in boards if r["deck"] == deck["id"]}
        for piece in deck["pieces"]:
            row = mine.get(piece["id"])
            if row is None or not _near(row["length"], piece["length"]):
                yield f"cutting: {deck['id']} {piece['id']} is not on the cut list"
            if not said[piece["id"]]:
                yield f"cutting: {piece['id']} is not drawn"
        cuts = Counter(
            (r["item"], r["length"]) for r in timbers if r["deck"] == deck["id"] and r["item"]
        )
        wanted = [(one["id"], one["length"]) for k in ("noggins", "cleats") for one in deck[k]]
        for name, length in wanted:
            if cuts[name, str(round(float(length), 1))] != 1:
                yield f"cutting: {deck['id']} {name} is not cut once"
        yield from _stock(deck)
        yield from _saw_marks(deck, mine)
    # Each corner to be set out has its letter on the drawing.
    lettered = Counter(r["corner"] for r in rows(sheet, 1))
    yield from (f"cutting: corner {c} is not drawn" for c in lettered if said[c] < 2 * lettered[c])
    if len(boards) != sum(len(d["pieces"]) for d in (source.plan or {})["decks"]):
        yield "cutting: a piece is listed twice"


def _saw_marks(deck: Json, listed: dict[str, dict[str, str]]) -> Iterator[str]:
    """Check the saw marks on the cut list against those that the plan's steps reckon."""
    for mark in (m for step in deck["sequence"] for m in step["marks"]):
        found = re.fullmatch(
            r"(\S+), (left|right)-hand cut(?: at its (near|far) edge)?", mark["to"]
        )
        row = listed.get(found[1]) if found else None
        if not found or row is None or "laid" in row["mark_at_near_edge"]:
            continue
        edges = [found[3]] if found[3] else ["near", "far"]
        for edge in edges:
            told = [float(v) for v in row[f"mark_at_{edge}_edge"].split("; ") if v]
            if not any(abs(v - mark["value"]) <= 0.6 for v in told):
                yield f"cutting: {found[1]} is sawn at {told} ({edge}), not {mark['value']}"
    for piece in deck["pieces"]:
        row, cuts = listed.get(piece["id"]), [piece["left"], piece["right"]].count("cut")
        if row and len(piece["polygon"]) == 4 and not piece.get("laid"):
            told = [row[f"mark_at_{e}_edge"].split("; ") if row else [] for e in ("near", "far")]
            if any(len([v for v in side if v]) != cuts for side in told):
                yield f"cutting: {piece['id']} has {cuts} sawn ends, and marks {told}"


def _stock(deck: Json) -> Iterator[str]:
    """Check each length of timber by hand: 10 to square an end, 3 after each piece."""
    for timber in deck["timbers"]:
        used = 10 + sum(cut["length"] + 3 for cut in timber["cuts"])
        if used > timber["stock"] + 0.01 or abs(timber["stock"] - used - timber["offcut"]) > 0.11:
            yield f"cutting: {timber['id']} holds {used:.1f} of {timber['stock']}"


def courses(sheet: Sheet, source: Source, units: str) -> Iterator[str]:
    """Check that end joints re-add to the plan, and that every piece is drawn."""
    listed = rows(sheet)
    said = texts(sheet)
    want = [(d, j) for d in source.decks for j in d.many("joints")]
    if len(listed) != len(want):
        yield f"courses: {len(listed)} joints listed of {len(want)}"
    for row, (deck, joint) in zip(listed, want, strict=False):
        far = deck.data.get("laid_from") != "far"
        zero = deck.wall_x(joint["y1"] if far else joint["y0"]) or 0.0
        away = joint["x"] - zero
        if not _near(row["x"], joint["x"]) or not _near(row["from_start_wall"], away):
            yield f"courses: joint {joint['id']} is elsewhere"
        if not any(text.startswith(f"{lengths.say(away, units)} ") for text in said):
            yield f"courses: joint {joint['id']} is not marked"
    for deck in source.decks:
        for piece in deck.data["pieces"]:
            if not said[piece["id"]]:
                yield f"courses: {deck.data['id']} {piece['id']} is not named"


def shopping(sheet: Sheet, source: Source) -> Iterator[str]:
    """Check that what is listed is the plan's, adds up, and is what boards and timbers come to."""
    listed, plan = rows(sheet), source.plan or {}
    wanted = [(q["what"], q["size"], q["buy"]) for q in plan["quantities"]]
    if [(r["what"], r["size"], float(r["buy"])) for r in listed] != wanted:
        yield "shopping: it is not the plan's list"
    cost = sum(q["cost"] or 0 for q in plan["quantities"])
    if abs(sum(float(r["cost"] or 0) for r in listed) - cost) > 0.06 * len(listed):
        yield "shopping: the cost does not add up"
    net: Counter[str] = Counter()
    for deck in plan["decks"]:
        size = " × ".join(f"{deck['deck']['board'][k]:g}" for k in ("length", "width", "thickness"))
        net[size] += len(deck["boards"])
        for timber in deck["timbers"]:
            section = timber["section"]
            cut = f"{section['breadth']:g} × {section['depth']:g} × {timber['stock']:g}"
            net[cut] += 1
    for size, count in net.items():
        told = sum(float(r["net"]) for r in listed if r["size"] == size)
        if told != count:
            yield f"shopping: {told:g} of {size}, {count} in the plan"


def steps(sheet: Sheet, source: Source) -> Iterator[str]:
    """Check that every piece and timber comes in a step."""
    for deck in (source.plan or {})["decks"]:
        mine = {n for r in rows(sheet) if r["deck"] == deck["id"] for n in r["items"].split()}
        wanted = {one["id"] for k in ("noggins", "cleats", "pieces") for one in deck[k]}
        yield from (f"steps: {deck['id']} {name} is in none" for name in sorted(wanted - mine))


def dxf(source: Source, name: str) -> Iterator[str]:
    """Check a DXF by ezdxf: its audit, and each point, joist, board and noggin in its place."""
    document = ezdxf.read(io.StringIO(drawing(name, source, "dxf").decode("utf-8")))
    audit = document.audit()
    if audit.errors or audit.fixes:
        yield f"{name}.dxf: {[e.message for e in (*audit.errors, *audit.fixes)][:2]}"
    space = document.modelspace()
    points = sorted(
        (round(e.dxf.location.x, 6), round(e.dxf.location.y, 6)) for e in space.query("POINT")
    )
    wanted = sorted(
        (place["point"][0], place["point"][1])
        for run in source.as_built["runs"]
        for joist in run["joists"]
        for place in joist["at"].values()
        if place.get("point")
    )
    far = max((math.dist(a, b) for a, b in zip(points, wanted, strict=False)), default=0.0)
    if len(points) != len(wanted) or far > NEAR:
        yield f"{name}.dxf: {len(points)} points of {len(wanted)}, {far:.3f} off"
    if name == "as-built" or source.plan is None:
        return
    rings: dict[str, list[Any]] = {}
    for entity in space.query('LWPOLYLINE[layer=="boards" | layer=="noggins"]'):
        ring = Polygon([tuple(p) for p in entity.get_points("xy")])
        rings.setdefault(entity.dxf.layer, []).append(ring)
    for deck in source.plan["decks"]:
        wanted_boards = [piece["polygon"] for piece in deck["pieces"]]
        strips = [
            list(
                LineString(n["ends"])
                .buffer(n["section"]["breadth"] / 2, cap_style="flat")
                .exterior.coords[:-1]
            )
            for n in deck["noggins"]
        ]
        for layer, shapes in (("boards", wanted_boards), ("noggins", strips)):
            lost = sum(not _there(shape, rings.get(layer, [])) for shape in shapes)
            if lost:
                yield f"{name}.dxf: {lost} {layer} are elsewhere"


def _there(wanted: Any, found: list[Any]) -> bool:
    """Say whether a shape is among others, to a hundredth of a millimetre."""
    shape = Polygon(wanted)
    near = (one for one in found if np.abs(np.subtract(one.bounds, shape.bounds)).max() <= NEAR)
    return any(one.hausdorff_distance(shape) <= NEAR for one in near)


def ifc(source: Source, name: str) -> Iterator[str]:
    """Check a model by IfcOpenShell against its schema, and that it has every timber and deck."""
    model = ifcopenshell.file.from_string(drawing(name, source, "ifc").decode("ascii"))
    log = ifcopenshell.validate.json_logger()
    ifcopenshell.validate.validate(model, log)
    yield from (f"{name}.ifc: {one['message'][:80]}" for one in log.statements[:2])
    if name == "as-built" or source.plan is None:
        return
    want = sum(len(deck["noggins"]) + len(deck["cleats"]) for deck in source.plan["decks"])
    there = len(model.by_type("IfcMember"))
    slabs = len(model.by_type("IfcSlab"))
    if (there, slabs) != (want, len(source.plan["decks"])):
        yield f"{name}.ifc: {there} members of {want}, {slabs} decks"


_FEATURES = Draft202012Validator(
    json.loads((places.shared() / "schemas" / "features.schema.json").read_text(encoding="utf-8"))
)


def features(source: Source, name: str) -> Iterator[str]:
    """Check the features against their schema."""
    found = json.loads(drawing(name, source, "json"))
    yield from (f"{name}.json: {e.message[:80]}" for e in _FEATURES.iter_errors(found))


def figures(sheet: Sheet, source: Source, units: str) -> Iterator[str]:
    """Check what one sheet says against the as-built and the plan."""
    match sheet.name:
        case "as-built":
            yield from as_built(sheet, source, units)
        case "bays":
            yield from bays(sheet)
        case "set-out":
            yield from set_out(sheet, source, units)
        case "cutting":
            yield from cutting(sheet, source)
        case "courses":
            yield from courses(sheet, source, units)
        case "shopping":
            yield from shopping(sheet, source)
        case "steps":
            yield from steps(sheet, source)
