"""A nod that is asked for is seen, on every animal."""

import numpy as np
import pytest

from gaitgen import Request, Style, animal_names, load_animal, make_cycle
from gaitgen.motion.kinematics import world_frames

NODDING = [name for name in animal_names() if any(part.kind == "nod" for part in load_animal(name).hanging)]


def nod_rad(clip):
    """Range of the pitch of the line from the neck's base to the head against the back."""
    animal = clip.animal
    joints, _ = world_frames(animal, clip.root_path_m, clip.rotations)
    base = next(part.joints[0] for part in animal.hanging if part.kind == "nod")
    lines = joints[:, animal.head] - joints[:, base], joints[:, animal.chest] - joints[:, animal.spine[0]]
    neck, back = (np.arctan2(line[:, 2], np.hypot(line[:, 0], line[:, 1])) for line in lines)
    return float(np.ptp(neck - back))


def test_every_animal_nods():
    assert set(NODDING) == set(animal_names())


@pytest.mark.sample(4, 3)
@pytest.mark.parametrize("name", NODDING)
def test_a_nod_of_1_4_nods_so_much_more(name):
    plain, more = (make_cycle(Request(animal=name, style=Style(nod=nod))) for nod in (1.0, 1.4))
    assert 1.3 <= nod_rad(more) / nod_rad(plain) <= 1.5
