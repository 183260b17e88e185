"""Rotations against scipy, which is independent of them."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from gaitgen.numerics.rotations import (
    EULER_ORDERS,
    channel_angles,
    continuous_sign,
    euler_from_matrix,
    matrix_from_euler,
    matrix_from_quaternion,
    pitch_roll_yaw_matrix,
    pitch_roll_yaw_rad,
    quaternion_from_matrix,
    unwrapped_euler,
)

SEEDS = st.integers(0, 2**32 - 1)


@given(SEEDS)
@settings(max_examples=50, deadline=None, derandomize=True)
def test_quaternions_and_matrices(seed):
    reference = Rotation.random(20, random_state=seed)
    quaternion = quaternion_from_matrix(reference.as_matrix())
    np.testing.assert_allclose(
        Rotation.from_quat(quaternion, scalar_first=True).as_matrix(), reference.as_matrix(), atol=1e-12
    )
    np.testing.assert_allclose(matrix_from_quaternion(quaternion), reference.as_matrix(), atol=1e-12)


@pytest.mark.parametrize("order", EULER_ORDERS)
@given(SEEDS)
@settings(max_examples=20, deadline=None, derandomize=True)
def test_euler_angles_of_every_order(order, seed):
    reference = Rotation.random(20, random_state=seed)
    angles = euler_from_matrix(reference.as_matrix(), order)
    np.testing.assert_allclose(
        Rotation.from_euler(order, angles).as_matrix(), reference.as_matrix(), atol=1e-9
    )
    np.testing.assert_allclose(matrix_from_euler(angles, order), reference.as_matrix(), atol=1e-9)


def test_pitch_is_nose_up_roll_right_side_down_yaw_left():
    pitch, roll, yaw = 0.3, -0.2, 0.5
    expected = Rotation.from_euler("ZYX", [yaw, -pitch, roll]).as_matrix()
    np.testing.assert_allclose(
        pitch_roll_yaw_matrix(np.array(pitch), np.array(roll), np.array(yaw)), expected, atol=1e-12
    )
    np.testing.assert_allclose(pitch_roll_yaw_rad(expected), [pitch, roll, yaw], atol=1e-12)
    assert pitch_roll_yaw_matrix(np.array(0.1), np.array(0.0), np.array(0.0))[2, 0] > 0.0


def test_signs_and_turns_follow_on():
    angle = np.linspace(0.0, 4.0 * np.pi, 60)
    quaternion = quaternion_from_matrix(Rotation.from_euler("X", angle[:, None]).as_matrix())
    steps = np.sum(np.diff(continuous_sign(quaternion), axis=0) ** 2, axis=1)
    assert steps.max() < 0.02
    wrapped = euler_from_matrix(Rotation.from_euler("X", angle[:, None]).as_matrix(), "ZXY")
    unwrapped = unwrapped_euler(wrapped)
    np.testing.assert_allclose(unwrapped[:, 1], angle, atol=1e-6)
    assert np.abs(np.diff(unwrapped, axis=0)).max() < 0.25


@pytest.mark.parametrize("order", EULER_ORDERS)
@pytest.mark.parametrize("middle", [90.0, -90.0, 89.9999999])
def test_euler_angles_at_the_pole(order, middle):
    reference = Rotation.from_euler(order, [[30.0, middle, 20.0], [-100.0, middle, 170.0]], degrees=True)
    angles = euler_from_matrix(reference.as_matrix(), order)
    np.testing.assert_allclose(matrix_from_euler(angles, order), reference.as_matrix(), atol=1e-12)


@pytest.mark.parametrize("order", EULER_ORDERS)
@pytest.mark.parametrize("first_deg", [80.0, 100.0, -130.0])
def test_a_hinge_turns_in_its_own_channel_alone_however_far_it_is_bent_at_first(order, first_deg):
    """One that began beyond a right angle had half a turn in both other channels."""
    bent = np.radians(first_deg) * np.linspace(1.0, 0.1, 9)
    angles = np.zeros((9, 3))
    angles[:, 1] = bent
    np.testing.assert_allclose(channel_angles(matrix_from_euler(angles, order), order), angles, atol=1e-12)
