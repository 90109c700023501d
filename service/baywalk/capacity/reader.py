"""From an as-built (``baywalk.as-built`` 1), which may come from anyone, to what is checked.

What is missing gets the safer reading and a caution that says so; what cannot be true is one
error that names its field. It is read by hand rather than by a schema object: what a field may be
comes from the rule pack, most may be missing, and what stands in for them hangs on the others.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from baywalk.capacity import features, laps, lines, widths
from baywalk.capacity.errors import BadCapacityInput
from baywalk.capacity.model import Figure, Joist, Loft, Point, Run
from baywalk.capacity.node import Node
from baywalk.fieldbook.errors import BadText
from baywalk.fieldbook.text import parse, unsound

if TYPE_CHECKING:
    from baywalk.rules import Pack

FORMAT, VERSION = "baywalk.as-built", 1


def load_as_built(text: str | bytes) -> Any:
    """Return the parsed as-built; raise BadCapacityInput where it is not JSON or not sound."""
    try:
        document = parse(text)
    except BadText as why:
        raise BadCapacityInput("", f"this file cannot be read, it is {why}") from None
    fault = unsound(document)
    if fault:
        raise BadCapacityInput(fault.field, fault.why)
    return document


def read_loft(document: Any, pack: Pack) -> Loft:
    """Return the loft of a parsed as-built; raise BadCapacityInput for the first fault."""
    root = Node(document)
    if not isinstance(document, dict):
        root.fail("must be an object")
    if root.at("format").value != FORMAT:
        root.at("format").fail(f"must be {FORMAT!r}")
    version = root.at("version")
    if isinstance(version.value, bool) or version.value != VERSION:
        version.fail(f"must be {VERSION}, the only version read here")
    if not root.at("runs"):
        root.at("runs").fail("is missing")
    runs = tuple(_Runs(run, pack).read() for run in root.at("runs").each())
    ids = [run.id for run in runs]
    if len(set(ids)) != len(ids):
        root.at("runs").fail("names a run twice")
    settled = root.at("settled")
    if settled and not isinstance(settled.value, bool):
        settled.fail("must be true or false")
    return Loft(root.at("survey").text(), root.at("title").text(), settled.value, runs)


class _Runs:
    """Reads one run."""

    def __init__(self, node: Node, pack: Pack) -> None:
        self._node, self._pack = node, pack
        self._limits: dict[str, list[float]] = pack["timber.plausible"]
        self._member = node.at("member")
        if self._member and not isinstance(self._member.value, dict):
            self._member.fail("must be an object")

    def read(self) -> Run:
        """Return the run with all its joists, in order of their numbers."""
        nodes = self._numbered()
        things = features.read(self._node.at("features"), self._limits)
        spaces = widths.spaces(self._node, nodes, self._breadths(nodes), self._limits)
        spaces.borne = frozenset(things.borne)
        joists = tuple(self._joist(j, node, spaces, things) for j, node in sorted(nodes.items()))
        return Run(
            self._node.at("id").text(),
            self._node.at("title").text(),
            joists,
            spaces.across,
            things.insulation,
            things.openings,
            things.roof,
            (*things.stray, *self._nowhere(things, nodes)),
        )

    def _breadths(self, nodes: dict[int, Node]) -> dict[int, float]:
        read = {j: self._size(node, "breadth", j, []) for j, node in nodes.items()}
        return {joist: figure.value for joist, figure in read.items() if figure is not None}

    def _nowhere(self, things: features.Things, nodes: dict[int, Node]) -> list[str]:
        """Return, in words, the joists that features name and the run does not have."""
        return [
            f"Something was written down on J{joist}, which this run does not have."
            for joist in sorted(things.joists)
            if joist not in nodes
        ]

    def _numbered(self) -> dict[int, Node]:
        nodes: dict[int, Node] = {}
        for place, node in enumerate(self._node.at("joists").each(), start=1):
            index = node.at("index")
            number = index.whole((1, 100_000)) if index else place
            if number in nodes:
                index.fail(f"joist {number} comes twice")
            nodes[number] = node
        return nodes

    def _joist(
        self, index: int, node: Node, spaces: widths.Spaces, things: features.Things
    ) -> Joist:
        cautions: list[str] = []
        own = things.on(index)
        near, far = self._bearings(node, index, cautions)
        width = spaces.width(index)
        cautions += spaces.cautions(index)
        supports = [*own.supports, *features.supports(node.at("supports"), self._limits)]
        supports = laps.over(self._node, node, index, supports, cautions)
        most = self._pack["timber.most"]
        if len(supports) > most["supports"] or len(own.cuts) > most["cuts"]:
            node.fail("has more supports or cuts than a joist can have")
        return Joist(
            index=index,
            breadth=self._size(node, "breadth", index, cautions),
            depth=self._size(node, "depth", index, cautions),
            grade=self._grade(node, own.grade, index, cautions),
            plies=self._plies(node, own.plies),
            span=self._span(node),
            near=near,
            far=far,
            left=spaces.centres(index - 1),
            right=spaces.centres(index),
            width=width,
            line=self._line(node),
            cuts=tuple(own.cuts),
            supports=features.apart(supports),
            damage=tuple(sorted(set(own.damage))),
            cautions=tuple(cautions),
            unmeasured=tuple(own.unmeasured),
        )

    def _span(self, node: Node) -> Figure | None:
        """Return the clear span, or else what lies between the supports' own places."""
        span, ends = self._figure(node.at("span"), "span"), node.at("ends")
        if span is not None or not ends:
            return span
        near, far = (self._figure(ends.at(f"{end}_support"), "x") for end in ("near", "far"))
        if near is None or far is None:
            return None
        value = Node(far.value - near.value, ends.at("far_support").path)
        return Figure(value.number(self._limits["span"]), math.hypot(near.sd, far.sd))

    def _figure(self, node: Node, name: str) -> Figure | None:
        return node.figure(self._limits[name], self._limits["sd"])

    def _size(self, node: Node, name: str, index: int, cautions: list[str]) -> Figure | None:
        """Return a joist's own size, or the usual timber's with the caution that it is so."""
        read = self._figure(node.at(name), name)
        usual = isinstance(node.at(name).value, dict) and node.at(name).at("usual").value is True
        if read is None and self._member.at(name) if self._member else False:
            # The usual size is no reading: it may be off by as much as the sawing allows.
            spread = self._pack["usual.depth"]
            read = Figure(self._member.at(name).number(self._limits[name]), spread)
            usual = True
        if usual and read is not None:
            cautions.append(
                f"The {name} of J{index} was not read; the usual {read.value:.0f} mm is taken."
            )
        return read

    def _grade(self, node: Node, written: str, index: int, cautions: list[str]) -> str:
        """Return the strength class; the lower common one, with a caution, where none is known."""
        usual = self._member.at("grade").text() if self._member else ""
        given = node.at("grade").text() or written or usual
        # A stamp is copied by hand: its case and its spaces mean nothing.
        name = given.strip().upper().replace(" ", "")
        name = self._pack["timber.class.old"].get(name, name)
        if f"timber.class.{name}" in self._pack and name not in ("OLD", "UNKNOWN"):
            return str(name)
        lower = str(self._pack["timber.class.unknown"])
        why = f"the grade {given[:20]!r} is not one known here" if given else "no grade is known"
        cautions.append(f"J{index}: {why}; {lower}, the lower common one, is taken.")
        return lower

    def _plies(self, node: Node, written: int | None) -> int:
        plies = node.at("plies")
        return plies.whole(self._pack["timber.plies"]) if plies else (written or 1)

    def _bearings(
        self, node: Node, index: int, cautions: list[str]
    ) -> tuple[Figure | None, Figure | None]:
        bearing = node.at("bearing")
        ends = []
        for end in ("near", "far"):
            read = self._figure(bearing.at(end), "bearing") if bearing else None
            if read is None:
                taken = self._pack["span.bearing.unread"]
                cautions.append(
                    f"The {end} bearing of J{index} was not read; {taken} mm is taken. "
                    "Read it: a joist that hardly bears can come off its support."
                )
            ends.append(read)
        return ends[0], ends[1]

    def _line(self, node: Node) -> tuple[Point, Point] | None:
        """Return the joist's supports in the plane, from its places on the tape lines [mm]."""
        limits = self._limits["x"]
        points: list[Point] = []
        for _, place in node.at("at").members():
            point = place.at("point")
            if point:
                both = [part.number(limits) for part in point.each()]
                if len(both) != 2:
                    point.fail("must be two numbers")
                points.append((both[0], both[1]))
        if not points:
            return None
        return lines.along(points, node.at("ends"), limits, self._figure(node.at("span"), "span"))
