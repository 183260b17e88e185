"""What every clip with a period keeps to, whatever its gait: laws as assertions."""

from itertools import pairwise as neighbours

import numpy as np

from gaitgen.formats.bvh import encode
from gaitgen.formats.bvh_file import world_end_sites, world_positions
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.motion.contacts import find_feet
from gaitgen.motion.foot_paths import FootPaths
from gaitgen.motion.loop import find_loop
from gaitgen.motion.measure import bone_lengths_m, measure_feet, range_margins_rad, slip_m

# A foot that leaves without a jerk is still within the noise of the ground a hundredth of a second later: its
# lift-off is measured back to the frame at usual rates, and to so many seconds at others.
FEW_HZ, NEAR_S = 30.0, 0.02


def assert_nothing_is_infinite(clip):
    plan = clip.plan
    curves = (
        clip.root_path_m,
        clip.rotations,
        plan.force_n,
        plan.force_horizontal_n,
        *plan.heaves_m.values(),
    )
    assert all(np.all(np.isfinite(curve)) for curve in curves)


def assert_bones_and_joints_hold(clip):
    assert np.ptp(bone_lengths_m(clip), axis=0).max() < 1e-9
    topics = {notice.topic for notice in clip.notices}
    assert range_margins_rad(clip).min() > -1e-9 or "range" in topics


def assert_feet_stand_still_on_the_ground(clip):
    feet = measure_feet(clip)
    assert slip_m(clip, feet) < 0.5e-3
    assert feet.lowest_m.min() > -1e-3


def assert_forces_obey_newton(animal, body):
    """Feet push, and only while they are down; their impulses carry the weight and nothing else."""
    force, planted = body.balance.force_n, body.state.planted
    weight = animal.body_mass_kg * GRAVITY_M_S2
    assert force[..., 2].min() >= -1e-6 * weight
    assert np.all(force[~planted] == 0.0)
    total = force.sum(axis=1)
    assert abs(total[:, 2].mean() / weight - 1.0) < 1e-9
    assert np.abs(total[:, :2].mean(axis=0)).max() < 1e-9 * weight
    carried = total[:, 2] > 1e-3 * weight
    assert (np.linalg.norm(total[carried, :2], axis=1) / total[carried, 2]).max() < 0.6 + 1e-6


def assert_steps_are_those_of_the_gait(clip, gait, lead):
    """Each foot lands within a frame of its share of the stride, counted from the mean of all four."""
    frames = clip.frames - 1
    contact = np.empty(4)
    contact[clip.steps.limb] = clip.steps.touchdown_s * clip.frame_rate_hz
    apart = (
        contact - frames * np.array(gait.touchdowns(lead or "left")) + frames / 2.0
    ) % frames - frames / 2.0
    turn = np.angle(np.exp(2j * np.pi * apart / frames).mean()) * frames / (2.0 * np.pi)
    apart = (apart - turn + frames / 2.0) % frames - frames / 2.0
    assert np.abs(apart).max() <= 1.0 + 1e-9
    assert contact[LIMBS.index(clip.asked.first_foot)] == 0.0


def asked_down(clip):
    """Frames in which each foot is to be down, both ends of a stance included: (frames, 4)."""
    frames = clip.frames - 1
    asked = np.zeros((clip.frames, 4), dtype=bool)
    for k, limb in enumerate(clip.steps.limb):
        contact = round(float(clip.steps.touchdown_s[k]) * clip.frame_rate_hz)
        down = round(float(clip.steps.liftoff_s[k]) * clip.frame_rate_hz) - contact
        asked[:, limb] = np.isin(np.arange(clip.frames) % frames, (contact + np.arange(down + 1)) % frames)
    return asked


def assert_contacts_come_back_from_the_file(clip, space):
    file = read_bvh(encode(clip, space), "clip.bvh")
    ends = space.positions_from_file(world_end_sites(file))  # (frames, ends, 3) in metres, z up
    places = space.positions_from_file(world_positions(file))
    leaves = [file.joint_names[joint] for joint in file.end_joints]
    names = [clip.animal.joint_names[limb.foot_joint] for limb in clip.animal.limbs]
    toes = ends[:, [leaves.index(name) for name in names]]
    paths = FootPaths(toes, places[:, 0], file.frame_time_s, clip.animal.hip_height_m)
    feet = find_feet(paths, find_loop(np.concatenate([places, toes], axis=1)))
    asked = asked_down(clip)
    if clip.frame_rate_hz <= FEW_HZ:
        np.testing.assert_array_equal(feet.planted, asked)
    else:
        near = round(NEAR_S * clip.frame_rate_hz)
        turns = [np.roll(asked[:-1], step, axis=0) for step in range(-near, near + 1)]
        found = feet.planted[:-1]
        assert np.all(found <= np.any(turns, axis=0))
        assert np.all(found >= np.all(turns, axis=0))


def assert_key_poses_are_in_order(clip):
    poses = clip.key_poses
    assert all(one.frame < other.frame for one, other in neighbours(poses))
    assert poses[0].frame >= 1.0
    assert poses[-1].frame <= clip.frames
    if poses[0].frame == 1.0:
        assert poses[-1] == type(poses[0])(float(clip.frames), poses[0].name)
    landings = {
        round(float(time) * clip.frame_rate_hz) % (clip.frames - 1) + 1 for time in clip.steps.touchdown_s
    }
    assert landings == {round(pose.frame) for pose in poses if "contact" in pose.name} - {clip.frames}
