"""A sway that is asked of a shot is the sway that comes, straight ahead and on turns, on rigs too."""

from functools import cache

import numpy as np
import pytest
from make_strange_rigs import strange_plans
from rig_measures import charts

from gaitgen import Request
from gaitgen.animal.library import load_animal
from gaitgen.gait.style import Style
from gaitgen.motion.kinematics import end_middle_m, world_frames
from gaitgen.rigs.cycle import load_rig
from gaitgen.shot.asked import Passage, ShotRequest
from gaitgen.shot.make import make_shot
from gaitgen.shot.request import shot_of

WAYS = {  # length and turn of pieces, in hip heights
    "straight": ((18.0, 0.0),),
    "turn": ((2.0, 0.0), (16.0, 1.0 / 6.0)),
}


@pytest.fixture(scope="module")
def animal(tmp_path_factory):
    chart = charts(tmp_path_factory.mktemp("sways"), strange_plans())
    return cache(lambda name: load_rig(str(chart(name)[0])).animal if name == "hound" else load_animal(name))


def ends_m(animal, way, sway):
    """The middles of hips and shoulders on the ground, (frames, 2, 2)."""
    hips_m = animal.hip_height_m
    pieces = tuple((length * hips_m, turn / hips_m) for length, turn in WAYS[way])
    walk = Passage(cycle=Request(gait="walk", animal=animal, style=Style(sway=sway)), strides=7)
    clip = make_shot(shot_of(ShotRequest((walk,), pieces=pieces).of(animal))).clip
    places = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    return np.stack([end_middle_m(clip.animal, *places, end)[:, :2] for end in ("hind", "fore")], axis=1)


@pytest.mark.sample(1, 2)
@pytest.mark.parametrize("name", ["hound", "riding_horse", "dog"])
@pytest.mark.parametrize("way", ["turn", "straight"])
def test_a_sway_of_a_shot_is_what_was_asked(way, name, animal):
    """From 0.5 to 1 as far as from 1 to 1.5, in each frame."""
    little, plain, wide = (ends_m(animal(name), way, sway) for sway in (0.5, 1.0, 1.5))
    ahead = plain[:, 1] - plain[:, 0]
    across = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1) / np.linalg.norm(ahead, axis=1, keepdims=True)
    less, more = (np.einsum("fex,fx->fe", moved, across) for moved in (plain - little, wide - plain))
    assert np.abs(less).max() > 0.004 * animal(name).hip_height_m
    assert np.linalg.norm(more - less) < 0.01 * np.linalg.norm(less)
