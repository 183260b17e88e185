"""Running legs of a shot carry their feet between its cycles as they do in these."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.body.trunk import Trunk
from gaitgen.limbs.foot_path import Feet, FootPlan
from gaitgen.limbs.given import Given
from gaitgen.limbs.leg_swing import carried_joints_m, carries, off_ground_m
from gaitgen.limbs.legs import Aimed, aim_legs, within_reach_m
from gaitgen.limbs.reach import reach_from, tops_m
from gaitgen.numerics.curves import ramp
from gaitgen.pipeline.carry import RUNS_LEAST
from gaitgen.pipeline.on_legs import CARRY_ROUNDS
from gaitgen.shot.manner import Manner, quick_lifts
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# A foot that swings for such a share of its time in the cycles there is not carried, and for such a one is so
# wholly (estimate): there is no time to swing, fold and open a leg.
HURRIES, HAS_TIME = 0.5, 0.8


@dataclass(frozen=True, eq=False)
class Swinging:
    """Where running legs carry their feet beside the cycles that are as they are.

    Attributes
    ----------
    share
        (samples, 4) how far each foot is carried so.
    joints_m
        (samples, 4, 3) where its joint is carried to, times that. [m]
    """

    share: Array
    joints_m: Array

    @classmethod
    def of(cls, timeline: Timeline, made: Manner, trunk: Trunk, other: Array) -> Swinging | None:
        """Carry feet under a trunk as each cycle does; ``other`` (samples, 1) is how far none is as it is.

        None if no foot is carried. Feet that swing over an obstacle are led by this.
        """
        if made.runs.max() < RUNS_LEAST:
            return None
        state, grid = made.plan.state, timeline.grid
        has_time = ramp((quick_lifts(timeline, state) - HURRIES) / (HAS_TIME - HURRIES))
        free = other * has_time * ~state.planted * ~_over_obstacles(timeline, made)
        share, joints = np.zeros_like(free), np.zeros((*free.shape, 3))
        top_m = tops_m(trunk, made.given)
        for k, cycle in enumerate(timeline.cycles):
            own = free * timeline.solved_share[:, k, None] * carries(cycle.animal, made.runs)
            if own.any():
                plan = replace(made.plan, animal=cycle.animal)
                goes = carried_joints_m(plan, grid, top_m, made.given, made.lift)
                reach = reach_from(top_m, goes, plan.goes, made.given)
                goes = within_reach_m(goes, reach, made.given, state.swing_share)
                share, joints = share + own, joints + own[..., None] * goes
        return cls(share, joints) if share.any() else None

    def aimed(
        self,
        plan: FootPlan,
        toe_m: Array,
        rows: Ints,
        trunk: Trunk,
        given: Given,
        aimed: Aimed,
        floors: Callable[[Feet, Array], Array] | None = None,
    ) -> Aimed:
        """Aim legs at feet that they carry, at samples ``rows``.

        Parameters
        ----------
        plan, toe_m
            Feet that are not carried yet, and where toes were before cycles moved them, (rows, 4, 3). [m]
        rows
            The samples.
        trunk, given
            The trunk and the laws there.
        aimed
            Legs that do not carry them.
        floors
            How high toes (rows, 4, 3) of feet must be, (rows, 4), over ground that is not even. [m]
        """
        share = self.share[rows]
        for _ in range(CARRY_ROUNDS):
            by = self.joints_m[rows] - share[..., None] * (toe_m + aimed.feet.arms_m)
            carried = plan.moved(by)
            floor_m = -np.inf if floors is None else floors(aimed.feet, carried.toe_m)
            up_m = off_ground_m(carried, carried.toe_m, share, aimed.feet.pitch_rad, floor_m)
            carried = carried.raised(up_m)
            aimed = aim_legs(plan.animal, trunk, carried, given, aimed.near_rad)
        return aimed


def _over_obstacles(timeline: Timeline, made: Manner) -> npt.NDArray[np.bool_]:
    """Tell feet that swing over an obstacle, (samples, 4)."""
    state = made.plan.state
    found = np.zeros_like(state.planted)
    for laid in timeline.leaps:
        over_s = (laid.at_frame + laid.leap.over_frames) / timeline.frame_rate_hz
        found |= (state.liftoff_s < over_s) & (state.next_touchdown_s > over_s)
    return found
