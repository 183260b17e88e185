"""Clips on rigs with two joints a leg, drawn from the file: feet lie as flat as the leg lets them."""

import numpy as np
import pytest
from make_newest_rigs import newest_text

from gaitgen import Request
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.measure import sole_points_m
from gaitgen.numerics.turns import turn_between_rad
from gaitgen.reading.on_rig import clip_on_rig
from gaitgen.rigs.command import cycle_on_rig, fit

pytestmark = pytest.mark.usefixtures("fits_once")

SUNK_SHARE = 0.01  # of the hip height: a sole that is drawn deeper is seen to sink (estimate)
TOE_M = 2e-3  # as far as a leg of other bones reaches in its swing: 1.2 mm
SNAP_RAD = np.radians(40.0)  # of a sole in a frame


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    folder = tmp_path_factory.mktemp("rig")
    rig, chart, clip = (folder / name for name in ("rig.bvh", "rig.toml", "walk.bvh"))
    rig.write_text(newest_text("knirps"), encoding="utf-8")
    fit(rig, chart)
    made = cycle_on_rig(str(chart), Request(frames=32))
    clip.write_bytes(made.bvh())
    return made, clip_on_rig(clip, str(chart))


def soles(clip):
    places, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    feet = [limb.foot_joint for limb in clip.animal.limbs]
    return (*sole_points_m(clip.animal, places, world), world[:, feet])


def test_no_sole_sinks_and_toes_are_where_the_rig_has_them(drawn):
    made, clip = drawn
    toes, corners, _ = soles(clip)
    assert corners[..., 2].min() > -SUNK_SHARE * clip.animal.hip_height_m
    away = toes - made.motion.toes_m
    assert np.abs(away - away[0, 0]).max() < TOE_M


def test_feet_are_flat_in_the_middle_of_their_stances_and_roll_without_a_snap(drawn):
    _, clip = drawn
    _, corners, turns = soles(clip)
    frames = clip.frames - 1
    for limb, (down, up) in enumerate(zip(clip.steps.touchdown_s, clip.steps.liftoff_s, strict=True)):
        row = round((down + up) / 2.0 * clip.frame_rate_hz) % frames
        own = clip.steps.limb[limb]
        assert np.ptp(corners[row, own, :, 2]) < 0.1 * clip.animal.limbs[own].foot.heel_m + 2e-3
    assert turn_between_rad(turns[1:], turns[:-1]).max() < SNAP_RAD
