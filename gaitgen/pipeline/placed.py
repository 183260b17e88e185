"""Where the feet of a cycle were put, and when."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from gaitgen.course.cycle import CycleTiming
from gaitgen.course.path import Path
from gaitgen.course.varied import VariedStrides
from gaitgen.errors import Notice
from gaitgen.gait.gait import LIMBS
from gaitgen.pipeline.backwards import steps_in_reverse, timing_in_reverse
from gaitgen.pipeline.carry import Carried, Course


@dataclass(frozen=True)
class Placed:
    """Contacts in frames, and the stances on the ground.

    Attributes
    ----------
    timing
        The stances in frames.
    course
        The same in seconds and metres, with the path of the body and the moments to solve.
    carried
        The body on its feet.
    per_frame
        Moments of the grid for each frame.
    notices
        What was changed.
    varied
        Strides that differ, where they are asked for; the timing is the even one behind them.
    """

    timing: CycleTiming
    course: Course
    carried: Carried
    per_frame: int
    notices: tuple[Notice, ...]
    varied: VariedStrides | None = None

    def in_reverse(self, start: str) -> tuple[Placed, int]:
        """Return the same steps backwards from when a foot left, and that sample of the grid."""
        foot, rate = LIMBS.index(start), 1.0 / (self.course.grid.step_s * self.per_frame)
        last = round((self.timing.contact[foot] + self.timing.down[foot]) * self.per_frame)
        frame = last / self.per_frame
        course = replace(
            self.course,
            steps=steps_in_reverse(self.course.steps, frame / rate),
            path=Path.straight(-float(self.course.path.distance_m(np.zeros(1), 1)[0])),
        )
        return replace(self, timing=timing_in_reverse(self.timing, frame), course=course), last

    @property
    def loop_frames(self) -> int:
        """Frames after which all repeats: of one stride, or of all that differ."""
        strides = 1 if self.varied is None else self.varied.lift.size // len(self.timing.contact)
        return self.timing.frames * strides
