"""An animal of one's own that its gaits do not fit: what is wrong is said (common practice, no source)."""

from pathlib import Path

import numpy as np
import pytest

from gaitgen import Request, animal_names, load_animal, make_cycle
from gaitgen.motion.flesh import pose
from gaitgen.motion.trunk_room import BELLY, SAID_M, trunk_room_m

FERRET = """format = 2
base = "dachshund"
name = "ferret"

[proportions]
withers_height_m = 0.20
leg_factor = {}
back_factor = 1.3
"""


def ferret(folder: Path, legs: float) -> str:
    """Write an animal with legs of so many times a dachshund's, and return where."""
    file = folder / "ferret.toml"
    file.write_text(FERRET.format(legs), encoding="utf-8")
    return str(file)


def lowest_m(clip):
    """Lowest point of the drawn flesh of the trunk, measured another way. [m]"""
    posed = pose(clip, np.arange(clip.frames))
    low = posed.ends_m[..., 2] - posed.body.radii_m
    return float(low[:, np.array([name in {"belly", "ribs"} for name in posed.body.names])].min())


def test_a_belly_that_comes_under_the_ground_is_said(tmp_path):
    animal = ferret(tmp_path, 0.7)
    clip = make_cycle(Request(animal=animal, gait="rotary_gallop", frame_rate_hz=60.0))
    assert lowest_m(clip) < -0.005
    (said,) = [notice for notice in clip.notices if notice.topic == BELLY]
    assert "the belly is under the ground in " in said.text
    under_mm = float(said.text.split(", by ")[1].split(" mm")[0])
    assert under_mm == pytest.approx(-1e3 * lowest_m(clip), abs=1.0)
    walk = make_cycle(Request(animal=animal, gait="walk", frame_rate_hz=60.0))
    assert lowest_m(walk) > 0.0
    assert all(notice.topic != BELLY for notice in walk.notices)


@pytest.mark.sample(6)
@pytest.mark.parametrize(("animal", "gait"), [(a, g) for a in animal_names() for g in load_animal(a).gaits])
def test_no_animal_runs_with_its_belly_under_the_ground(animal, gait):
    clip = make_cycle(Request(animal=animal, gait=gait))
    room_m, names = trunk_room_m(clip)
    assert {"belly", "barrel"} & set(names)
    assert {"cheek", "skull"} & set(names)
    assert room_m.min() > SAID_M
    assert all(notice.topic != BELLY for notice in clip.notices)
