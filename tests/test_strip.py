"""Figures and strips: capsules follow joints, layers are told apart, bytes are the same each time."""

import subprocess
import sys

import numpy as np
import pytest

from gaitgen import Request, animal_names, generate
from gaitgen.errors import RequestError
from gaitgen.sheets.figure import LAYERS, VIEWS, body_of, capsule_outlines, hull, layers_by_nearness, pose
from gaitgen.sheets.paint import far_limbs
from gaitgen.sheets.strip import strip_rows, write_strip
from gaitgen.skeleton.forward_kinematics import world_frames

CLIP = generate(Request())


def test_capsules_of_bones_follow_their_joints():
    posed = pose(CLIP, [0, 7, 20])
    positions, _ = world_frames(CLIP.skeleton, CLIP.root_path_m, CLIP.rotations)
    tibia = CLIP.skeleton.joint("tibia_R")
    mine = np.flatnonzero(
        (posed.body.joints == tibia).all(axis=1) & (posed.body.offsets_m[:, 0] == 0.0).all(axis=1)
    )
    np.testing.assert_allclose(posed.ends_m[:, mine[0], 0], positions[[0, 7, 20], tibia])


def test_soles_of_planted_hooves_are_on_the_ground():
    posed = pose(CLIP, [3])
    np.testing.assert_allclose(posed.hooves_m[0, 3, :4, 2], 0.0, atol=1e-3)


def test_outlines_hold_both_discs_and_touch_them():
    outline = capsule_outlines(np.array([[[0.0, 0.0], [1.0, 0.0]]]), np.array([[0.3, 0.1]]))[0]
    away = np.linalg.norm(outline, axis=1)
    assert away.min() >= 0.1
    assert outline[:, 0].min() == pytest.approx(-0.3, abs=1e-3)
    assert outline[:, 0].max() == pytest.approx(1.1, abs=1e-3)
    assert np.abs(outline[:, 1]).max() <= 0.3 + 1e-9


def test_a_hidden_disc_leaves_the_bigger_one():
    outline = capsule_outlines(np.array([[[0.0, 0.0], [0.05, 0.0]]]), np.array([[0.3, 0.1]]))[0]
    np.testing.assert_allclose(np.linalg.norm(outline, axis=1).max(), 0.3, atol=1e-9)


def test_hull_of_a_square_with_a_point_inside():
    corners = hull(np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0], [0.5, 0.5]]))
    assert len(corners) == 4


def test_from_the_side_the_left_legs_are_far_and_under_the_body():
    posed = pose(CLIP, [0, 12])
    side = VIEWS["side"]
    for frame in (0, 1):
        assert far_limbs(posed, frame, side) == {"LF", "LH"}
        order = [LAYERS[layer] for layer in layers_by_nearness(posed, side)[frame]]
        assert order.index("LH") < order.index("barrel") < order.index("RH")
    assert far_limbs(posed, 0, VIEWS["front"]) == {"LH", "RH"}


@pytest.mark.parametrize("animal", animal_names())
def test_both_sides_have_the_same_capsules(animal):
    from gaitgen import load_animal

    body = body_of(load_animal(animal))
    counts = {name: int(np.sum(body.layers == LAYERS.index(name))) for name in LAYERS}
    assert counts["LF"] == counts["RF"] > 5
    assert counts["LH"] == counts["RH"] > 5


def test_a_strip_is_a_png_and_the_same_twice():
    first, again = write_strip(CLIP), write_strip(CLIP)
    assert first.startswith(b"\x89PNG\r\n")
    assert first == again
    assert write_strip(CLIP, 16) != first


def test_a_strip_shows_the_key_poses_of_a_travelling_clip_too():
    assert (strip_rows(CLIP, 8) + 1).tolist() == [1, 5, 9, 13, 17, 21, 25, 29]
    travelling = generate(Request(in_place=False, frames=24))
    assert write_strip(travelling) == write_strip(generate(Request(frames=24)))


def test_too_few_poses_are_refused():
    with pytest.raises(RequestError, match="poses is 2"):
        write_strip(CLIP, 2)


def test_figures_need_no_drawing_library():
    code = "import sys, gaitgen.sheets.figure; print('matplotlib' in sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout.strip() == "False"
