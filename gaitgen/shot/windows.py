"""The body in stretches of a shot like no cycle: one balance each, which begins early and ends late."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.mixed import between_gaits, mixed
from gaitgen.body.body import Body, swayed
from gaitgen.course.ground import Ground
from gaitgen.course.path import Path
from gaitgen.course.steps import Steps
from gaitgen.gait.style import Style
from gaitgen.numerics.grid import Grid
from gaitgen.pipeline.carry import Carried, Course, body_over, carry
from gaitgen.pipeline.solve import solve_body
from gaitgen.shot.cycle import Cycle
from gaitgen.shot.held import Held
from gaitgen.shot.layers import Layer
from gaitgen.shot.near import near
from gaitgen.shot.piece import Piece
from gaitgen.shot.section import JUMP
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]
Tables = tuple[npt.NDArray[Any], ...]

# A window is solved at this rate, but with at least so many samples in a stance, roughly or to be kept: legs
# that leave the ground in a run kick the body for no longer than some hundredths of a second.
WINDOW_HZ, ROUGH_SAMPLES, STANCE_SAMPLES = 48.0, 9, 14
LEAP_ROUNDS = 3  # of a window with a leap, in which legs fold and swing far
STEPS = 6  # tables of a window that tell its steps; those after them tell what it is held at
MOST_KEPT = 16  # windows whose matrices are kept, free and held; some 20 MB each


@dataclass(eq=False)
class _Kept:
    """A window of some steps, held at some heights, as it was solved last, and for what needs."""

    tables: Tables
    needs: Array | None
    carried: Carried


@dataclass(eq=False)
class Windows:
    """Solves windows of one shot, again and again for other needs and heights.

    Attributes
    ----------
    timeline, steps, path, ground
        The shot.
    alone
        Whether each poses limbs of its own for what they need, as it does where it leaps.
    kept
        Windows by their piece and the rows that count, as they were solved last: for their steps and what
        they are held at; those of the same shot with other steps may be handed on.
    """

    timeline: Timeline
    steps: Steps
    path: Path
    ground: Ground
    alone: bool = False
    kept: dict[tuple[Piece, tuple[int, int]], list[_Kept]] = field(default_factory=dict)

    def body(
        self, layer: Layer, rows: tuple[int, int], held: Held | None, needs: Array | None, *, rough: bool
    ) -> tuple[Body, Grid]:
        """Solve a window whose ``rows`` count, and return its body, and the moments that it is solved at.

        As in `solve_motion`, without the style's sway, which is laid over the body in the end.

        Parameters
        ----------
        layer, rows
            The window, and the first sample that counts and the one after the last.
        held
            Heights at which the body is held.
        needs
            (samples, 6) what limbs and hanging parts need beside the body.
        rough
            Whether it is found with fewer samples, and not kept.
        """
        grid, timeline = self.timeline.grid, self.timeline
        a, b = (timeline.cycles[k] for k in layer.piece.cycles)
        part = self._part(layer, rows, a, b, rough=rough)
        held_here = None if held is None else held.at(grid.time_s, part.time_s)
        course = Course(_between(a, b), near(self.steps, part), self.path, part, self.ground, held=held_here)
        style = _style(a, b)
        plain = replace(style, sway=1.0)
        if rough:
            body = body_over(course, plain)
        elif layer.piece.kind == JUMP or self.alone:
            body = self._alone(course, plain, LEAP_ROUNDS if layer.piece.kind == JUMP else 1)
        else:
            body = self._again((layer.piece, rows), course, plain, needs)
        if style.sway != plain.sway:
            body = swayed(course.animal, part, body, bounce=style.bounce, sway=style.sway)
        return body, part

    def _again(
        self, window: tuple[Piece, tuple[int, int]], course: Course, style: Style, needs: Array | None
    ) -> Body:
        """Solve a window, from what is kept of it if it was solved for the same steps, heights or needs."""
        grid, part = self.timeline.grid, course.grid
        beside = None
        if needs is not None:
            beside = np.stack([np.interp(part.time_s, grid.time_s, column) for column in needs.T], axis=1)
        here = self.kept.setdefault(window, [])
        tables = (*_fields(course.steps), *(course.held or ()))
        known = next((each for each in here if _alike(each.tables, tables)), None)
        if known is not None and _same(known.needs, beside):
            return known.carried.body
        elsewhere = known or next(
            (each for each in here if _alike(each.tables[:STEPS], tables[:STEPS])), None
        )
        before = None if elsewhere is None else elsewhere.carried
        carried = carry(course, style, beside, before, is_reheld=before is not None and known is None)
        if known is not None:
            known.needs, known.carried = beside, carried
        elif sum(map(len, self.kept.values())) < MOST_KEPT:
            here.append(_Kept(tables, beside, carried))
        return carried.body

    def _part(self, layer: Layer, rows: tuple[int, int], a: Cycle, b: Cycle, *, rough: bool) -> Grid:
        """Return the moments at which a window is solved: some of the shot's, its margins too."""
        grid, rate = self.timeline.grid, self.timeline.frame_rate_hz
        frame = grid.time_s * rate
        first = min(int(np.searchsorted(frame, layer.span[0])), rows[0])
        after = max(int(np.searchsorted(frame, layer.span[1])), rows[1])
        whole = grid.part(first, after)
        shortest_s = min(float(c.down.min()) for c in (a, b)) / rate
        every = max(1, int(shortest_s / ((ROUGH_SAMPLES if rough else STANCE_SAMPLES) * grid.step_s)))
        every = min(every, max(1, round(1.0 / (WINDOW_HZ * grid.step_s))))
        return Grid(whole.start_s, whole.step_s * every, -(-whole.count // every) + 1, is_periodic=False)

    def _alone(self, course: Course, style: Style, rounds: int) -> Body:
        """Solve a window in which limbs are posed by themselves for what they need, so many times."""
        with np.errstate(invalid="ignore"):
            body = solve_body(course, style, np.zeros(course.grid.count), rounds)
        if not np.isfinite(body.ends.hips_m).all():  # legs that miss by more than a trunk say nothing
            body = body_over(course, style)
        return body


def _same(one: Array | None, other: Array | None) -> bool:
    return one is other or (one is not None and other is not None and np.array_equal(one, other))


def _alike(one: Tables, other: Tables) -> bool:
    """Tell whether windows have the same steps and are held at the same heights, or both free."""
    return len(one) == len(other) and all(map(np.array_equal, one, other))


def _fields(steps: Steps) -> Tables:
    """Return what tells steps apart."""
    return steps.limb, steps.touchdown_s, steps.liftoff_s, steps.place_m, steps.heading_rad, steps.normal


def _between(a: Cycle, b: Cycle) -> Animal:
    return between_gaits(a.animal, b.animal, 0.5)


def _style(a: Cycle, b: Cycle) -> Style:
    return mixed(a.style, b.style, 0.5)
