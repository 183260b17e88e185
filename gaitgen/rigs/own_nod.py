"""How far the neck of a rig nods: as far as lifts its head like the template's, whatever way it points."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.hanging_part import HangingPart

Array = npt.NDArray[np.float64]

# A neck turns by no more than so many times as far as the template's, however short and steep it is, and is
# pushed by so many times as much at the least and at the most, as the trunk gives way to it (estimates).
MOST_TURN = 1.25
LEAST_PUSH, MOST_PUSH = 0.3, 1.6


def with_own_nod(animal: Animal, template: Animal) -> Animal:
    """Drive the neck of a rig's animal so that it lifts the head by as much of the height as the template's.

    Muscles nod a neck, and what the template's file has for them goes with the way its neck points: a rod at
    an angle a to the ground is pushed by cos(a) of what lifts its base, and lifts its end by cos(a) of its
    turn.

    Parameters
    ----------
    animal, template
        The animal that stands for a rig, and the one that lends its manner, both in one gait.
    """
    if template.head is None or not template.neck:
        return animal
    necks = {part.name: part for part in template.hanging if set(part.joints) <= set(template.neck)}
    size = animal.hip_height_m / template.hip_height_m
    hanging = tuple(
        replace(
            part, drive=part.drive * _times(_row_m(animal, part), size * _row_m(template, necks[part.name]))
        )
        if part.name in necks
        else part
        for part in animal.hanging
    )
    return replace(animal, hanging=hanging)


def _times(own_m: Array, model_m: Array) -> float:
    """How many times as much a neck is pushed as the template's; both (3,), in the rig's size. [m]"""
    (own, long_m), (model, model_long_m) = _ahead(own_m), _ahead(model_m)
    steeper = model / own
    times = min(steeper**2, MOST_TURN * steeper * long_m / model_long_m)
    return float(np.clip(times, LEAST_PUSH, MOST_PUSH))


def _row_m(animal: Animal, part: HangingPart) -> Array:
    """From the first joint of a row to its end, standing: (3,). [m]"""
    return np.asarray(animal.offsets_m[list(part.joints[1:])].sum(axis=0) + animal.tips_m[part.joints[-1]])


def _ahead(row_m: Array) -> tuple[float, float]:
    """Cosine of the angle between a row and the ground, and its length. [m]"""
    long_m = max(float(np.linalg.norm(row_m)), 1e-9)
    return max(abs(float(row_m[0])) / long_m, 1e-6), long_m
