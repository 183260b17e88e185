"""Ramps and solvers against scipy and closed forms."""

import numpy as np
import pytest
from scipy import ndimage
from scipy.spatial.transform import Rotation

from gaitgen.numerics.curves import derivative, even_travel, largest_around, mean_around, oscillate
from gaitgen.numerics.grid import Grid
from gaitgen.numerics.rotations import (
    EULER_ORDERS,
    euler_from_matrix,
    matrix_from_euler,
    matrix_from_quaternion,
    quaternion_from_matrix,
)


@pytest.mark.parametrize("order", EULER_ORDERS)
def test_euler_angles_and_quaternions_against_scipy(order):
    rotation = Rotation.random(500, rng=np.random.default_rng(1))
    matrix = rotation.as_matrix()
    angles = euler_from_matrix(matrix, order)
    np.testing.assert_allclose(matrix_from_euler(angles, order), matrix, atol=1e-12)
    np.testing.assert_allclose(Rotation.from_euler(order, angles).as_matrix(), matrix, atol=1e-12)
    np.testing.assert_allclose(matrix_from_quaternion(quaternion_from_matrix(matrix)), matrix, atol=1e-12)


def test_even_travel_ends_and_middle():
    np.testing.assert_allclose(even_travel([0.0, 0.5, 1.0], 0.4, 0.4), [0.0, 0.5, 1.0], atol=1e-12)


@pytest.mark.parametrize("is_periodic", [True, False])
def test_smoothed_again_and_again_is_smoothed_by_one_spring_after_the_other(is_periodic):
    grid = Grid(0.0, 0.01, 96, is_periodic=is_periodic)
    values = np.random.default_rng(2).normal(size=(96, 3))
    felt = grid.smoothed_on(values, (4.0, 2.0, 2.0), 0.7, 4)
    for k in range(4):
        values = grid.smoothed(values, (4.0, 2.0, 2.0), 0.7)
        np.testing.assert_allclose(felt[:, k], values, atol=1e-12)


def test_the_oscillator_satisfies_its_equation():
    step, time = 0.01, np.arange(100) * 0.01
    drive = np.cos(2 * np.pi * 2 * time)
    swing = oscillate(drive, 1.0, 0.3, step, periodic=True)
    w = 2 * np.pi
    left = (
        derivative(swing, step, 2, periodic=True)
        + 0.6 * w * derivative(swing, step, 1, periodic=True)
        + w * w * swing
    )
    np.testing.assert_allclose(left, drive, atol=1e-9)


def test_what_is_around_each_sample_of_a_loop_against_scipy():
    for count in (1, 2, 5, 96, 501):
        for width in (1, 2, 3, 8, 31, 200):
            values = np.random.default_rng(width).normal(size=(count, 3))
            largest = ndimage.maximum_filter1d(values, 2 * width + 1, axis=0, mode="wrap")
            np.testing.assert_array_equal(largest_around(values, width, periodic=True), largest)
            mean = ndimage.uniform_filter1d(values, width, axis=0, mode="wrap")
            np.testing.assert_allclose(mean_around(values, width, periodic=True), mean, atol=1e-13)
