"""The shape of the back, from what the feet do and how the path bends."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.struts import walking_share
from gaitgen.body.trunk import BackPose, bent_back, waved_apart
from gaitgen.course.path import Path
from gaitgen.course.stance import StanceState
from gaitgen.numerics.curves import even_travel
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]

# At a walk the see-saw of chest and hips makes most of the published range of pelvic pitch; the back's own
# share is in the animal's file. At a run there is no see-saw, but the hind feet are up to 1.2 stances apart,
# and the back goes with the square of that (estimate).
RUN_FLEXION = 0.7
# How quickly roll and yaw of the trunk follow the feet, in strides^-1 (estimate).
FOLLOW_PER_STRIDE = 6.0
# What a stride is taken to last for that, at the least and at the most: a halt is a stride without an end
# (estimates).
SHORTEST_STRIDE_S, STANDING_STRIDE_S = 0.2, 1.2
# For the back a swinging foot eases out of its place and into the next over these shares of swing (estimate).
LEAVES_OVER, LANDS_OVER = 0.45, 0.5
# The back follows hind feet farther apart than in a full walk up to so many of its stances (estimate).
MOST_APART = 1.2
# So much of the roll over a lame hind leg goes through to the chest of a walking body (estimate).
HIKE_OF_CHEST = 0.40
# A back takes on the bend of its path up to this share of what its joints allow to one side (estimate).
TURN_BEND_SHARE = 0.6
# In a turn on the spot the chest is ahead of where the body has turned to, and the hips are behind, by so
# long (estimate). [s]
SPIN_BEND_S = 0.22


def on_their_way_m(state: StanceState) -> Array:
    """Say where the trunk takes feet to be as they go evenly from place to place, (samples, 4, 3). [m]"""
    swing = even_travel(state.swing_share, LEAVES_OVER, LANDS_OVER)[..., None]
    return np.asarray(state.place_m + swing * (state.next_place_m - state.place_m))


def back_of_feet(
    animal: Animal,
    grid: Grid,
    state: StanceState,
    lean_rad: Array,
    bend_rad: Array,
    hike_rad: Array | float = 0.0,
    *,
    bounce: float,
    sway: float,
) -> BackPose:
    """Bend and roll the back with the feet; total ranges from the animal. The roll of the body comes on top.

    Faber et al. 2000, AJVR 61:399 (horse, walk: flexion-extension two cycles a stride, lateral bending
    and axial rotation one). The pelvis turns towards the hind foot that reaches forward, is tucked
    while the hind feet are spread, and is carried higher over the foot that bears weight.
    """
    foot_x = on_their_way_m(state)[..., 0]  # (samples, 4)
    full = animal.tempo.stance_distance_m
    right_ahead = np.clip((foot_x[:, 3] - foot_x[:, 2]) / full, -MOST_APART, MOST_APART)
    spread = 2.0 * right_ahead**2
    feet = [animal.limb("hind").foot_joint, animal.limb("hind", "R").foot_joint]
    under = standing_positions_m(animal)[feet, 0].mean() + animal.limb("hind").foot.toe_m
    ahead = np.tanh((foot_x[:, 2:].mean(axis=1) - under) / (full / 2.0))
    lasts_s = np.mean(state.next_touchdown_s - state.touchdown_s)
    stride_s = float(np.clip(lasts_s, SHORTEST_STRIDE_S, STANDING_STRIDE_S))
    # Each end rolls in one wave, highest over the middle of a stance: it does not switch from side to side.
    over = np.where(state.planted, np.sin(np.pi * state.stance_share), 0.0)
    side = np.stack([over[:, 0] - over[:, 1], over[:, 2] - over[:, 3]], axis=1)
    side = grid.smoothed(side, FOLLOW_PER_STRIDE / stride_s)
    # A running body rolls as a whole as its forces have it; of the back's own is the twist between its ends.
    shape, walks = animal.back, walking_share(state, grid).mean(axis=1)
    if shape.over_feet > 0.0 and grid.is_periodic:
        side = side - (1.0 - walks[:, None]) * side.mean(axis=1, keepdims=True)
    if grid.is_periodic:
        spread = grid.without_mean(spread)
    own = RUN_FLEXION + (shape.walk_flexion_share - RUN_FLEXION) * walks
    gather = shape.gather_rad / 2.0 * ahead
    return bent_back(
        animal,
        flexion_rad=own * bounce * shape.flexion_rad / 2.0 * spread + gather,
        bending_rad=sway * shape.bending_rad / 2.0 * right_ahead - bend_rad,
        pelvis_roll_rad=lean_rad + hike_rad + sway * shape.pelvis_axial_rad / 2.0 * side[:, 1],
        chest_roll_rad=lean_rad
        + HIKE_OF_CHEST * walks * hike_rad
        + sway * shape.chest_axial_rad / 2.0 * side[:, 0],
        apart_rad=waved_apart(animal, grid, gather, shape.gather_wave * stride_s)
        if shape.gather_wave
        else 0.0,
    )


def bend_of_path_rad(animal: Animal, path: Path, grid: Grid) -> Array:
    """How far the chest turns to the left against the pelvis on a bent path, as the back allows. [rad]"""
    if path.is_straight:
        return np.zeros(grid.count)
    standing, distance = standing_positions_m(animal), path.distance_m(grid.time_s)
    plain = path.unspun
    fore, hind = (plain.at(distance + standing[animal.limb(end).top, 0])[1] for end in ("fore", "hind"))
    if path.spins:
        fore = fore + path.turned_rad(grid.time_s + SPIN_BEND_S)
        hind = hind + path.turned_rad(grid.time_s - SPIN_BEND_S)
    most = TURN_BEND_SHARE * float(animal.ranges_rad[list(animal.spine[1:]), 2, 1].sum())
    return np.asarray(most * np.tanh((fore - hind) / most)) if most > 0.0 else np.zeros(grid.count)
