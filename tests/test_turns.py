"""Single turns against scipy, which is independent of them."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation, Slerp

from gaitgen.numerics.rotations import channel_angles, matrix_from_euler
from gaitgen.numerics.turns import (
    least_turn,
    mixed,
    mixed_turn,
    nearest_angle_rad,
    turn_about,
    turn_between_rad,
)
from gaitgen.rigs.fitted import fitted_angles_rad

SEEDS = st.integers(0, 2**32 - 1)
SOME = settings(max_examples=30, deadline=None, derandomize=True)


@given(SEEDS)
@SOME
def test_the_least_turn_brings_one_direction_onto_the_other_and_is_the_least(seed):
    a, b = np.random.default_rng(seed).normal(size=(2, 20, 3))
    turn = least_turn(a, b)
    cosine = np.sum(a * b, axis=1) / np.linalg.norm(a, axis=1) / np.linalg.norm(b, axis=1)
    brought = (turn @ a[:, :, None])[..., 0] / np.linalg.norm(a, axis=1, keepdims=True)
    np.testing.assert_allclose(brought, b / np.linalg.norm(b, axis=1, keepdims=True), atol=1e-7)
    np.testing.assert_allclose(Rotation.from_matrix(turn).magnitude(), np.arccos(cosine), atol=1e-6)


@given(SEEDS)
@SOME
def test_turns_about_an_axis_and_between_two(seed):
    rng = np.random.default_rng(seed)
    axis, angle = rng.normal(size=(20, 3)), rng.uniform(-3.0, 3.0, 20)
    axis /= np.linalg.norm(axis, axis=1, keepdims=True)
    turn = turn_about(axis, angle)
    np.testing.assert_allclose(turn, Rotation.from_rotvec(angle[:, None] * axis).as_matrix(), atol=1e-12)
    first = Rotation.random(20, random_state=seed).as_matrix()
    np.testing.assert_allclose(turn_between_rad(first, first @ turn), np.abs(angle), atol=1e-6)


def test_half_the_way_is_the_middle_and_both_signs_mean_the_same():
    first, second = Rotation.from_euler("ZYX", [[10, 20, 30], [40, -10, 55]], degrees=True)
    middle = Slerp([0.0, 1.0], Rotation.concatenate([first, second]))(0.5).as_matrix()
    np.testing.assert_allclose(mixed_turn(first.as_matrix(), second.as_matrix(), 0.5), middle, atol=1e-12)
    a, b = (turn.as_quat(scalar_first=True) for turn in (first, second))
    np.testing.assert_allclose(mixed(a, -b, 0.25), mixed(a, b, 0.25), atol=1e-15)
    np.testing.assert_allclose(mixed(a, b, 0.0), a, atol=1e-15)
    np.testing.assert_allclose(mixed(a, -b, 1.0), b, atol=1e-15)


@pytest.mark.parametrize("letter", "XYZ")
def test_no_other_angle_about_the_axis_comes_nearer(letter):
    wanted = Rotation.random(10, random_state=7).as_matrix()
    angle = nearest_angle_rad(wanted, letter)

    def away(angles):
        made = Rotation.from_euler(letter, angles[:, None]).as_matrix()
        return np.linalg.norm(made - wanted, axis=(1, 2))

    for other in np.linspace(-np.pi, np.pi, 50):
        assert np.all(away(angle) <= away(np.full(10, other)) + 1e-9)


@pytest.mark.parametrize("letters", ["", "Z", "XY", "YXZ"])
def test_any_number_of_letters_composes(letters):
    angles = np.random.default_rng(1).uniform(-2.0, 2.0, (5, len(letters)))
    made = matrix_from_euler(angles, letters)
    expected = Rotation.from_euler(letters, angles).as_matrix() if letters else np.tile(np.eye(3), (5, 1, 1))
    np.testing.assert_allclose(made, expected, atol=1e-12)
    if len(letters) == 3:
        np.testing.assert_allclose(
            matrix_from_euler(channel_angles(made, letters), letters), made, atol=1e-12
        )


@pytest.mark.parametrize("order", ["XYZ", "ZYX", "ZXY", "YXZ"])
@pytest.mark.parametrize("frames", [8, 13, 24, 48])
@pytest.mark.parametrize("away", [1.02, 1.1, 1.5, 3.0])
def test_a_loop_beside_the_pole_ends_with_the_angles_it_began_with(order, frames, away):
    phase = 2.0 * np.pi * np.arange(frames) / (frames - 1)
    at_the_pole = Rotation.from_euler(order, [40.0, 90.0, 0.0], degrees=True)
    third = np.eye(3)["XYZ".index(order[2])]
    beside = np.eye(3)["XYZ".index(order[1])]
    circle = 0.25 * (
        np.outer(np.cos(phase) + away, beside) + np.outer(np.sin(phase), np.cross(beside, third))
    )
    loop = (at_the_pole * Rotation.from_rotvec(circle)).as_matrix()
    rest = Rotation.from_matrix(loop[0]).as_euler(order)
    found = fitted_angles_rad(loop, order, rest)
    np.testing.assert_allclose(matrix_from_euler(found, order), loop, atol=1e-12)
    np.testing.assert_allclose(found[-1], found[0], atol=1e-9)
