"""One deck as it is laid, before it is written down: what every list of the plan is made from."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from shapely import Polygon

from baywalk.planning.raised import raised

if TYPE_CHECKING:
    from collections.abc import Sequence

    from baywalk.planning.courses import Course
    from baywalk.planning.pieces import BoardUse, Piece
    from baywalk.planning.support.build import Support
    from baywalk.planning.support.frames import Joint
    from baywalk.planning.task import Task


@dataclass(frozen=True)
class Floor:
    """One deck: its courses, their pieces and joints, the boards sawn, and what carries all that.

    ``near`` says that it is laid from the near edge.
    """

    task: Task
    courses: Sequence[Course]
    pieces: Sequence[Piece]
    boards: Sequence[BoardUse]
    joints: Sequence[Joint]
    under: Support
    near: bool

    @cached_property
    def openings(self) -> list[dict[str, Any]]:
        """Return its openings as the plan shows them."""
        task = self.task
        outline, parts = (
            Polygon(task.run["outline"]),
            [t for m in task.added for t in task.tails(m)],
        )
        return [
            opening.json(
                outline, [p.member for p in parts for t in p.trimmers if t in opening.trimmers]
            )
            for opening in task.openings
        ]

    @cached_property
    def raised(self) -> list[dict[str, Any]]:
        """Return the battens and packers that it lies on, as the plan shows them."""
        task = self.task
        return raised(task.run, task.ground, task.area.polygon, task.pack)
