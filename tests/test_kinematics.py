"""One forward kinematics for animals and for any joint tree, against chains of scipy's rotations."""

import numpy as np
import pytest
from hand_clip import LEAVES, NAMES, busy_clip, place_m
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from gaitgen.animal.library import load_animal
from gaitgen.animal.standing import standing_landmark_m, standing_positions_m
from gaitgen.motion.kinematics import (
    fixed_points,
    forward,
    hung,
    landmark_m,
    line_above,
    tips_m,
    world_frames,
)


def random_tree(seed, joints, frames):
    """Parents, offsets, local rotations and root path; parents before children, any shape of tree."""
    rng = np.random.default_rng(seed)
    parents = np.array([-1, *(int(rng.integers(k)) for k in range(1, joints))])
    turns = Rotation.random(frames * joints, random_state=seed)
    local = turns.as_matrix().reshape(frames, joints, 3, 3)
    return parents, rng.normal(size=(joints, 3)), local, rng.normal(size=(frames, 3))


@given(st.integers(0, 2**32 - 1), st.integers(1, 12), st.integers(1, 5))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_any_tree_is_placed_as_by_hand(seed, joints, frames):
    parents, offsets, local, path = random_tree(seed, joints, frames)
    places, world = forward(parents, offsets, local, path)
    assert places.shape == (frames, joints, 3)
    assert world.shape == (frames, joints, 3, 3)
    for frame in range(frames):
        turn, at = [], []
        for joint, parent in enumerate(parents):
            own = Rotation.from_matrix(local[frame, joint])
            turn.append(own if parent < 0 else turn[parent] * own)
            at.append(path[frame] if parent < 0 else at[parent] + turn[parent].apply(offsets[joint]))
        np.testing.assert_allclose(places[frame], at, atol=1e-9)
        np.testing.assert_allclose(world[frame], [one.as_matrix() for one in turn], atol=1e-9)


@given(st.integers(0, 2**32 - 1), st.integers(1, 12), st.data())
@settings(max_examples=40, deadline=None, derandomize=True)
def test_the_joints_that_carry_some_are_placed_as_in_the_whole_tree(seed, joints, data):
    parents, offsets, local, path = random_tree(seed, joints, 2)
    wanted = data.draw(st.lists(st.integers(0, joints - 1), min_size=1, max_size=4))
    whole, _ = forward(parents, offsets, local, path)
    carriers, own, rows = line_above(parents, wanted)
    part, _ = forward(own, offsets[carriers], local[:, carriers], path)
    np.testing.assert_array_equal(part[:, rows], whole[:, wanted])
    above = {joint for one in wanted for joint in _up(parents, one)}
    assert carriers.tolist() == sorted(above)


def _up(parents, joint):
    return [] if joint < 0 else [joint, *_up(parents, int(parents[joint]))]


def test_ends_hang_on_joints_whose_rotations_are_known():
    parents, offsets, local, path = random_tree(4, 6, 3)
    places, world = forward(parents, offsets, local, path)
    ends, tips = np.array([5, 2]), np.array([[0.0, 0.1, 0.2], [0.3, 0.0, -0.1]])
    longer = hung(np.append(parents, ends), np.concatenate([offsets, tips]), world, path)
    np.testing.assert_allclose(longer[:, :6], places, atol=1e-12)
    np.testing.assert_allclose(longer[:, 6:], fixed_points(places, world, ends, tips), atol=1e-12)
    np.testing.assert_allclose(fixed_points(places, world, 2, tips[1]), longer[:, 7], atol=1e-12)


def test_an_animal_is_placed_as_by_hand():
    clip = busy_clip()
    positions, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    tips = tips_m(clip.animal, positions, world)
    expected = place_m(clip)
    for joint, name in enumerate(NAMES):
        np.testing.assert_allclose(positions[:, joint], expected[name], atol=1e-9)
    for leaf in LEAVES:
        np.testing.assert_allclose(tips[:, leaf], expected[f"{NAMES[leaf]} tip"], atol=1e-9)


@pytest.mark.parametrize("animal", ["riding_horse", "draft_horse"])
def test_without_rotations_an_animal_stands_and_its_landmarks_are_where_it_has_them(animal):
    skeleton = load_animal(animal)
    still = np.tile([1.0, 0.0, 0.0, 0.0], (2, len(skeleton.joint_names), 1))
    places = world_frames(skeleton, np.tile(skeleton.offsets_m[0], (2, 1)), still)
    np.testing.assert_allclose(places[0][1], standing_positions_m(skeleton), atol=1e-12)
    for name in skeleton.landmarks_m:
        np.testing.assert_allclose(
            landmark_m(skeleton, *places, name)[0], standing_landmark_m(skeleton, name), atol=1e-12
        )
