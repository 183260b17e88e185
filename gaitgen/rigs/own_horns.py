"""Horns and antlers of a rig: what stands up on its head and is none of its ears, drawn as the rig has it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaitgen.animal.animal import Animal, Ball
from gaitgen.rigs.rig import Rig

# Of the head's length: shorter things are eyes and brows, and what does not rise so far hangs; thickness at
# the head and at the tip (estimates).
LONG, HIGH = 0.3, 0.2
THICK, THIN = 0.07, 0.03


def with_horns(rig: Rig, animal: Animal) -> Animal:
    """Draw on the head of a rig's animal what stands up on the rig's; nothing where there is no head."""
    if rig.map.head is None or animal.head is None:
        return animal
    head = rig.joint(rig.map.head)
    home = rig.places_m[head]
    long_m = float(np.linalg.norm(animal.tips_m[animal.head]))
    name = animal.joint_names[animal.head]
    balls: list[Ball] = []
    for count, line in enumerate(_lines(rig, head)):
        points = rig.places_m[line] - home
        length = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
        if length < LONG * long_m or points[-1, 2] < HIGH * long_m:
            continue
        for point, radius in zip(points, np.linspace(THICK, THIN, len(line)) * long_m, strict=True):
            x, y, z = (float(value) for value in point)
            balls.append((name, (x, y, z), float(radius), f"own_horn_{count}"))
    return replace(animal, outline=(*animal.outline, *balls))


def _lines(rig: Rig, head: int) -> list[list[int]]:
    """Rows of points from where something begins on the head to each of its tips."""
    own = rig.map
    known = {own.jaw, own.ear_left, own.ear_right, *own.neck}
    known |= {joint for part in own.hanging.values() for joint in part.joints}
    apart = {rig.joint(name) for name in known if name}
    lines: list[list[int]] = []
    waiting = [[int(joint)] for joint in np.flatnonzero(rig.rest.parents == head)]
    while waiting:
        line = waiting.pop()
        if line[-1] in apart:
            continue
        below = [int(joint) for joint in np.flatnonzero(rig.rest.parents == line[-1])]
        waiting += [[*line, joint] for joint in below]
        if not below and len(line) > 1:
            lines.append(line)
    return lines
