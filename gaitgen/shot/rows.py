"""Some moments out of what is known at all of them."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import numpy.typing as npt

from gaitgen.body.trunk import BackPose, Trunk
from gaitgen.course.stance import StanceState
from gaitgen.limbs.foot_path import FootPlan

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


def state_rows(state: StanceState, first: int, after: int) -> StanceState:
    """Take some moments out of the steps of all."""
    return moments(state, slice(first, after))


def moments(state: StanceState, here: slice | Ints) -> StanceState:
    """Take some moments out of the steps."""
    return StanceState(*(getattr(state, each.name)[here] for each in fields(state)))


def plan_rows(plan: FootPlan, rows: Ints) -> FootPlan:
    """Take some moments out of the feet."""
    return FootPlan(
        plan.animal,
        moments(plan.state, rows),
        plan.toe_m[rows],
        plan.heading_rad[rows],
        plan.normal[rows],
        plan.rolled_rad[rows],
        plan.hangs[rows],
        plan.landing_rad[rows],
    )


def back_rows(back: BackPose, here: slice | Ints) -> BackPose:
    """Take some moments out of the back."""
    return replace(
        back,
        turns_rad=back.turns_rad[here],
        pelvis_roll_rad=back.pelvis_roll_rad[here],
        chest_in_pelvis=back.chest_in_pelvis[here],
        chest_joint_m=back.chest_joint_m[here],
        link_m=back.link_m[here],
    )


def trunk_rows(trunk: Trunk, here: slice | Ints) -> Trunk:
    """Take some moments out of the trunk."""
    back = back_rows(trunk.back, here)
    return Trunk(trunk.root_m[here], trunk.pelvis[here], back)
