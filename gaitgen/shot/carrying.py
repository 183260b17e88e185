"""The body of a shot with the legs that carry it: each is found from what the other needs."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.body.under import body_frames
from gaitgen.course.ground import Ground
from gaitgen.course.path import Path
from gaitgen.course.stance import StanceState, stance_state
from gaitgen.course.steps import Steps
from gaitgen.shot.bearing import borne
from gaitgen.shot.carriage import Carriage, carriage
from gaitgen.shot.held import Held, held_both
from gaitgen.shot.holding import farther_m, holding
from gaitgen.shot.manner import Manner, manner
from gaitgen.shot.needing import asked_rows, needing
from gaitgen.shot.posing import pose
from gaitgen.shot.timeline import Timeline
from gaitgen.shot.windows import Windows

Array = npt.NDArray[np.float64]

# So often a body that goes farther down and up than in its cycles is held where it does, unless it goes no
# farther than by such a share of the hip height (estimates).
HELD_ROUNDS, NEAR = 2, 0.04
LEAP_ROUNDS = 3  # so often it is found where legs reach in a shot with a leap


@dataclass(frozen=True, eq=False)
class Borne:
    """A body, feet and laws of the limbs, and how far each cycle is as it is.

    Attributes
    ----------
    carried, made
        The body, and what the limbs do.
    as_cycles
        (samples, cycles) how far each cycle is as it is.
    needs, held
        (samples, 6) what limbs and hanging parts need beside the body, and the heights it is held at; None
        for nothing.
    windows
        What solved its windows, for the same shot with other steps.
    """

    carried: Carriage
    made: Manner
    as_cycles: Array
    needs: Array | None
    held: Held | None
    windows: Windows


@dataclass(frozen=True, eq=False)
class Carrying:
    """A shot whose steps are laid.

    Attributes
    ----------
    timeline, steps, path, ground
        The shot.
    state
        Its steps as the body sees them.
    slope_rad
        (samples,) slope of the ground under the trunk. [rad]
    breath
        (samples,) breaths taken.
    edged
        Whether feet come near edges of the ground.
    """

    timeline: Timeline
    steps: Steps
    path: Path
    ground: Ground
    state: StanceState
    slope_rad: Array
    breath: Array
    edged: bool

    def over(self, timeline: Timeline) -> Carrying:
        """Return the same with stances elsewhere."""
        steps, time_s = timeline.steps(self.path, self.ground), timeline.grid.time_s
        frames = body_frames(timeline.cycles[0].animal, self.path, time_s)
        return replace(self, timeline=timeline, steps=steps, state=stance_state(steps, time_s).seen(frames))

    @property
    def without_sway(self) -> Carrying:
        """The same without what the styles of its cycles have of sway; itself if there is none."""
        cycles = tuple(cycle.without_sway for cycle in self.timeline.cycles)
        if all(one is other for one, other in zip(cycles, self.timeline.cycles, strict=True)):
            return self
        return replace(self, timeline=replace(self.timeline, cycles=cycles))

    def swayed(self, found: Borne) -> Borne:
        """Sway a body that was carried over the same steps without sway: what limbs need stays as it was.

        Beside a body that sways farther they would make it roll farther again, with more than what is asked.
        """
        windows = Windows(self.timeline, self.steps, self.path, self.ground, self.edged, found.windows.kept)
        return self._over(windows, found.needs, found.held)

    def carry(self, before: Borne | None = None) -> Borne:
        """Carry the body over its steps with what limbs and hanging parts need, as high as legs ask for.

        What they need is found from legs that are posed; strides that are as in their cycles ask for nothing.
        It is what they needed ``before``, if that is given, over other steps of the same shot.
        """
        kept = {} if before is None else before.windows.kept
        windows = Windows(self.timeline, self.steps, self.path, self.ground, self.edged, kept)
        needs = None if before is None else before.needs
        if needs is None:
            found = self._over(windows, None, None)
            if found.as_cycles.sum(axis=1).min() >= 1.0:
                return found
            needs = self._needs(found, None)
        found = self._over(windows, needs, None)
        if self.timeline.leaps:
            return self._leaping(found)
        held, farther = None, np.linalg.norm(self.farther(found))
        frames = body_frames(self.timeline.cycles[0].animal, self.path, self.timeline.grid.time_s)
        inward = frames.acceleration_m_s2[:, 1]
        for _ in range(HELD_ROUNDS):
            more = holding(self.timeline, found.carried, found.made, found.as_cycles, inward_m_s2=inward)
            if more is None:
                break
            held = held_both(held, more)
            firm = self._over(windows, needs, held)
            now = np.linalg.norm(self.farther(firm))
            if now >= farther:  # what is held in one place may throw it up and down in another
                break
            found, farther = firm, now
            if farther <= NEAR:
                break
        return found

    def again(self, found: Borne) -> Borne:
        """Carry the body once more, with what its limbs need as they are posed over it as it was found."""
        if self.edged or self.timeline.leaps or found.as_cycles.sum(axis=1).min() >= 1.0:
            return found
        return self._over(found.windows, self._needs(found, found.needs), found.held)

    def farther(self, found: Borne) -> Array:
        """Tell how much farther ends of the body go in changes and halts than in cycles, of the hip height.

        (pieces,); 0 for other pieces.
        """
        return (
            farther_m(self.timeline, found.carried, found.made) / self.timeline.cycles[0].animal.hip_height_m
        )

    def _leaping(self, found: Borne) -> Borne:
        """Carry a body that leaps: held where legs reach it, once more from how it was held before."""
        held: Held | None = None
        for _ in range(LEAP_ROUNDS):
            held = holding(self.timeline, found.carried, found.made, found.as_cycles, held)
            if held is None:
                break
            found = self._over(found.windows, found.needs, held)
        return found

    def _over(self, windows: Windows, needs: Array | None, held: Held | None) -> Borne:
        """Carry the body with what its limbs need, held at some heights."""
        carried, as_cycles = carriage(
            self.timeline, self.steps, self.path, self.ground, held=held, needs=needs, windows=windows
        )
        if self.edged:
            carried = borne(self.timeline, carried, self.state, self.path, self.ground, as_cycles)
        made = manner(self.timeline, self.state, carried, as_cycles)
        return Borne(carried, made, as_cycles, needs, held, windows)

    def _needs(self, found: Borne, before: Array | None) -> Array | None:
        """Pose the legs, and return what they and hanging parts need beside the body.

        None near edges, over which feet are lifted once the body is known.
        """
        if self.edged:
            return None
        with np.errstate(invalid="ignore"):  # legs may miss their feet
            posed = pose(
                self.timeline,
                found.carried,
                found.made,
                found.as_cycles,
                self.ground,
                self.slope_rad,
                for_needs=asked_rows(self.timeline, found.as_cycles),
            )
            return needing(self.timeline, found.carried, posed, self.breath, self.state, before)
