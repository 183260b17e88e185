"""What came of each mark, as the finished motion has it: when, where, and how far from what was asked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.animal.limb import LIMBS
from gaitgen.motion.measure import FeetMeasured, measure_feet
from gaitgen.shot.asked import Mark
from gaitgen.shot.make import Made
from gaitgen.shot.standing import stands

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Reached:
    """What came of one mark.

    Attributes
    ----------
    where
        Its file and line.
    what
        What had to be there: body, halt, or the name of a foot.
    asked_frame, asked_m
        When, from 1, None for whenever it comes there; and where on the ground. [m]
    frame, place_m
        The frame that counts, and where it is then. [m]
    off_mm
        How far that is from where it was asked to be. [mm]
    is_down
        Whether the foot is down then; None for the body.
    stands_from
        The frame, from 1, in which the last foot of a halt lands, before the body is at rest; None for what
        is no halt.
    """

    where: str
    what: str
    asked_frame: int | None
    asked_m: tuple[float, float]
    frame: int
    place_m: tuple[float, float]
    off_mm: float
    is_down: bool | None = None
    stands_from: int | None = None

    @property
    def text(self) -> str:
        """Say it in a line, for people."""
        x, y = self.asked_m
        what = {"body": "the body is", "halt": "it halts"}.get(self.what)
        if what is None:
            what = f"{self.what} {'stands' if self.is_down else 'swings'}"
        when = f"in frame {self.frame}"
        if self.asked_frame not in (None, self.frame):
            when += f" (asked for {self.asked_frame})"
        if self.stands_from is not None:
            when += f", at rest; its last foot is down from frame {self.stands_from}"
        line = self.where.rpartition("line ")[2]
        name = f"line {line}: " if line.isdigit() else ""
        return f"{name}{what} {self.off_mm:.0f} mm from [{x:g}, {y:g}] {when}"


def reached(made: Made, marks: tuple[Mark, ...]) -> tuple[Reached, ...]:
    """Measure on the finished motion what came of each mark."""
    if not marks:
        return ()
    body_m, _ = made.root_motion()
    feet = measure_feet(made.clip)
    return tuple(_reached(made, mark, body_m[:, :2], feet) for mark in marks)


def _reached(made: Made, mark: Mark, body_m: Array, feet: FeetMeasured) -> Reached:
    row = _nearest_halt_row(made, mark, body_m) if mark.halts or mark.frame is None else mark.frame - 1
    row = min(row, made.clip.frames - 1)
    is_down = None if mark.foot is None else bool(feet.planted[row, mark.foot])
    place = body_m[row] if mark.foot is None else feet.toe_m[row, mark.foot, :2]
    off_mm = 1000.0 * float(np.hypot(*(place - np.array(mark.place_m))))
    x, y = (round(float(value), 4) + 0.0 for value in place)
    stands_from = _stands_from(made, row) if mark.halts else None
    what = "halt" if mark.halts else "body" if mark.foot is None else LIMBS[mark.foot]
    return Reached(
        mark.where, what, mark.frame, mark.place_m, row + 1, (x, y), round(off_mm, 1), is_down, stands_from
    )


def _stands_from(made: Made, row: int) -> int | None:
    """Return the frame, from 1, in which the last foot landed before the body was at rest in a row."""
    before = [first for first, last in stands(made.timeline) if first <= row <= last]
    return before[0] + 1 if before else None


def _nearest_halt_row(made: Made, mark: Mark, body_m: Array) -> int:
    """Find the frame, from 0, in which the halt that is nearest to a mark begins."""
    rows = [piece.after for piece in made.timeline.pieces if piece.kind == "halt"] or [made.clip.frames - 1]
    away = np.linalg.norm(body_m[np.minimum(rows, len(body_m) - 1)] - np.array(mark.place_m), axis=1)
    return rows[int(np.argmin(away))]
