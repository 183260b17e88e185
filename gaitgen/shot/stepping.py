"""Steps that are high for an animal: said, or refused, with their line and a height that it takes better."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.course.ground import Ground, Heights
from gaitgen.errors import CourseError, Notice, ReachError
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import pitch_roll_yaw_rad

Array = npt.NDArray[np.float64]

# Steps of more than this share of the hip height no animal here takes in its stride (estimate: a cat is made
# up steps of 12 cm; on what is higher legs snap, and then do not reach).
HIGHEST_RISE = 0.48
# Past its range by so much a joint of a leg is said, and by so much it is refused (estimates).
SAID_RAD, BROKEN_RAD = np.radians(10.0), np.radians(70.0)
# Steps that a leg does not reach from are tried again at such a share of their height (estimate).
LOWER_SHARE = 0.7
STEPS = "steps"  # topic of the notice


def rise_of(ground: Ground) -> float | None:
    """Return the highest step of a ground; None for one without steps. [m]"""
    return ground.rise_m if isinstance(ground, Heights) else None


def refuse_high(animal: Animal, ground: Ground) -> None:
    """Refuse steps that are too high to be taken.

    Raises
    ------
    CourseError
        With the highest that could be.
    """
    rise, most = rise_of(ground), HIGHEST_RISE * animal.hip_height_m
    if rise is not None and rise > most:
        raise CourseError(
            f"{_goes(ground)} up or down by {rise:.2f} m at once, and {animal.name} takes at most "
            f"{np.floor(100.0 * most) / 100.0:.2f} m in its stride; give lower steps, or a larger animal"
        )


@contextmanager
def reached_on(ground: Ground) -> Iterator[None]:
    """Say what legs do not reach of the steps that are in their way, if there are any.

    Raises
    ------
    CourseError
        With the steps, and what could be.
    """
    try:
        yield
    except ReachError as error:
        rise = rise_of(ground)
        if rise is None:
            raise
        words = str(error).split(";", maxsplit=1)[0]
        raise CourseError(
            f"{_goes(ground)} up or down by {rise:.2f} m at once: {words}; give steps of "
            f"{LOWER_SHARE * rise:.2f} m, longer treads, or a larger animal"
        ) from None


def range_notices(clip: Motion, ground: Ground) -> tuple[Notice, ...]:
    """Say how far past its range a joint of a leg turns on steps.

    Parameters
    ----------
    clip, ground
        The motion, and what it goes over.

    Raises
    ------
    CourseError
        If that is farther than can be used, with a height that could be.
    """
    rise, animal = rise_of(ground), clip.animal
    if rise is None:
        return ()
    joints = np.array([joint for limb in animal.limbs for joint in limb.joints])
    turned = pitch_roll_yaw_rad(clip.rotations[:, joints])
    ranges = animal.ranges_rad[joints]
    past = np.maximum(ranges[..., 0] - turned, turned - ranges[..., 1]).max(axis=2)  # (frames, joints)
    row, column = np.unravel_index(int(past.argmax()), past.shape)
    most = float(past[row, column])
    if most <= SAID_RAD:
        return ()
    lower_m = rise * float(np.sqrt(SAID_RAD / most))  # what it is past grows with the square, and faster
    name = animal.joint_names[joints[column]]
    said = (
        f"{_goes(ground)} up or down by {rise:.2f} m at once, for which {name} of {animal.name} turns "
        f"{np.degrees(most):.0f} degrees past its range in frame {row + 1}"
    )
    if most > BROKEN_RAD:
        raise CourseError(f"{said}; give steps of {lower_m:.2f} m, longer treads, or a larger animal")
    return (Notice(STEPS, f"{said}; on steps of {lower_m:.2f} m it hardly would."),)


def _goes(ground: Ground) -> str:
    """Say with its line that a ground goes, or steps go."""
    where = ground.where if isinstance(ground, Heights) else ""
    goes = f"{ground.called} {'go' if ground.called.endswith('s') else 'goes'}"
    return f"{where}: {goes}" if where else goes
