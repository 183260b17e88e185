"""Figures: capsules follow joints, curves go through their balls, layers and sides are told apart."""

import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from hand_clip import about, clip_of
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from gaitgen import Request, animal_names, load_animal, make_cycle
from gaitgen.animal.flesh import LAYERS, body_of, chains_of, smooth_shares
from gaitgen.animal.standing import standing_landmark_m
from gaitgen.motion.flesh import pose
from gaitgen.motion.kinematics import landmark_m, world_frames
from gaitgen.pictures.nearness import far_limbs, limbs_by_nearness
from gaitgen.pictures.paint import paint
from gaitgen.pictures.pose_cell import extent
from gaitgen.pictures.views import VIEWS, capsule_outlines, hull, turned_view

HORSE = load_animal("riding_horse")


def standing_and_lifted(skeleton):
    """Two frames: standing, and the right foreleg folded at elbow and knee, or wrist."""
    rotations = np.tile([1.0, 0.0, 0.0, 0.0], (2, len(skeleton.joint_names), 1))
    elbow, knee = skeleton.limb("fore", "R").joints[2:4]
    rotations[1, elbow] = np.ravel(about("Y", [-40]))
    rotations[1, knee] = np.ravel(about("Y", [80]))
    return clip_of(rotations, np.tile(skeleton.offsets_m[0], (2, 1)), skeleton)


CLIP = standing_and_lifted(HORSE)


def outline_box(skeleton, view, layers=LAYERS):
    """Left, bottom, right, top of the standing animal in a view. [m]"""
    posed = pose(standing_and_lifted(skeleton), [0])
    mine = np.isin(posed.body.layers, [LAYERS.index(name) for name in layers])
    points = capsule_outlines(view.project(posed.ends_m[0, mine]), posed.body.radii_m[mine])
    return (*points.min(axis=(0, 1)), *points.max(axis=(0, 1)))


@pytest.mark.parametrize("bone", ["tibia_R", "radius_R", "fore_cannon_R", "humerus_L"])
def test_capsules_of_bones_follow_their_joints(bone):
    posed = pose(CLIP, [0, 1])
    positions, world = world_frames(HORSE, CLIP.root_path_m, CLIP.rotations)
    joint, mine = HORSE.joint(bone), posed.body.names.index(bone)
    tips = positions[:, joint] + world[:, joint] @ HORSE.tips_m[joint]
    np.testing.assert_allclose(posed.ends_m[:, mine, 0], positions[:, joint], atol=1e-12)
    np.testing.assert_allclose(posed.ends_m[:, mine, 1], tips, atol=1e-12)


def test_only_the_lifted_leg_moves():
    posed = pose(CLIP, [0, 1])
    moved = np.abs(posed.ends_m[1] - posed.ends_m[0]).max(axis=(1, 2)) > 1e-9
    assert set(posed.body.layers[moved]) == {LAYERS.index("RF")}
    np.testing.assert_allclose(np.delete(posed.feet_m[1] - posed.feet_m[0], 1, axis=0), 0.0, atol=1e-12)
    assert posed.feet_m[1, 1, :, 2].min() > 0.05
    assert posed.feet_m[1, 1, 0, 2] < posed.feet_m[1, 1, 2, 2]  # the folded foot points its toe down


@pytest.mark.parametrize("animal", animal_names())
def test_soles_stand_on_the_ground_and_no_flesh_under_it(animal):
    posed = pose(standing_and_lifted(load_animal(animal)), [0])
    np.testing.assert_allclose(posed.feet_m[0, :, :4, 2], 0.0, atol=1e-3)
    assert (posed.ends_m[..., 2] - posed.body.radii_m).min() > 0.0


@pytest.mark.parametrize("animal", animal_names())
def test_the_silhouette_reaches_the_landmarks(animal):
    skeleton = load_animal(animal)
    posed = pose(standing_and_lifted(skeleton), [0])
    near_m = 0.01875 * skeleton.withers_height_m
    landmarks = ("withers", "croup", "poll", "muzzle", "point_of_hock", "point_of_shoulder")
    for name in set(landmarks) & set(skeleton.landmarks_m):
        point = standing_landmark_m(skeleton, name)
        along = posed.ends_m[0, :, 1] - posed.ends_m[0, :, 0]
        share = np.sum((point - posed.ends_m[0, :, 0]) * along, axis=1)
        share = np.clip(share / np.maximum(np.sum(along**2, axis=1), 1e-12), 0.0, 1.0)
        nearest = posed.ends_m[0, :, 0] + share[:, None] * along
        radius = posed.body.radii_m[:, 0] + share * np.diff(posed.body.radii_m, axis=1)[:, 0]
        outside = float((np.linalg.norm(point - nearest, axis=1) - radius).min())
        assert outside < near_m, name
        if name in {"withers", "croup"}:  # the top line itself, not a point inside the body
            assert outside > -near_m, name


@pytest.mark.parametrize("animal", animal_names())
def test_both_sides_have_the_same_capsules(animal):
    posed = pose(standing_and_lifted(load_animal(animal)), [0])
    for left, right in (("LF", "RF"), ("LH", "RH")):
        one, other = (posed.body.layers == LAYERS.index(limb) for limb in (left, right))
        assert one.sum() > 15
        mirrored = posed.ends_m[0, one] * [1.0, -1.0, 1.0]
        ours = np.lexsort(np.round(mirrored.reshape(one.sum(), 6), 6).T)
        theirs = np.lexsort(np.round(posed.ends_m[0, other].reshape(other.sum(), 6), 6).T)
        np.testing.assert_allclose(mirrored[ours], posed.ends_m[0, other][theirs], atol=1e-9)


def test_every_group_and_limb_bone_is_drawn():
    names = {chain.name for chain in chains_of(HORSE)}
    assert {ball[3] for ball in HORSE.outline} <= names
    assert {"radius_L", "radius_R", "tibia_L", "tibia_R"} <= names
    assert {LAYERS[k] for k in body_of(HORSE).layers} == set(LAYERS) - {"flap"}


def test_curves_go_through_their_balls_and_straight_lines_stay_straight():
    shares = smooth_shares(5)
    np.testing.assert_allclose(shares.sum(axis=1), 1.0, atol=1e-12)
    np.testing.assert_allclose(shares[::4], np.eye(5), atol=1e-12)
    np.testing.assert_allclose(shares @ np.arange(5.0), np.linspace(0.0, 4.0, 17), atol=1e-12)
    np.testing.assert_array_equal(smooth_shares(2), np.eye(2))


def test_the_heavy_horse_is_heavier():
    draft = load_animal("draft_horse")
    scale = draft.withers_height_m / HORSE.withers_height_m
    front, thin = VIEWS["front"], outline_box(HORSE, VIEWS["front"], ("trunk", "LF", "RF"))
    thick = outline_box(draft, front, ("trunk", "LF", "RF"))
    assert (thick[2] - thick[0]) / (thin[2] - thin[0]) > 1.08 * scale


def test_outlines_hold_both_discs_and_touch_them():
    outline = capsule_outlines(np.array([[[0.0, 0.0], [1.0, 0.0]]]), np.array([[0.3, 0.1]]))[0]
    assert np.linalg.norm(outline, axis=1).min() >= 0.1
    assert outline[:, 0].min() == pytest.approx(-0.3, abs=5e-3)
    assert outline[:, 0].max() == pytest.approx(1.1, abs=5e-3)
    assert np.abs(outline[:, 1]).max() <= 0.3 + 1e-9
    hidden = capsule_outlines(np.array([[[0.0, 0.0], [0.05, 0.0]]]), np.array([[0.3, 0.1]]))[0]
    np.testing.assert_allclose(np.linalg.norm(hidden, axis=1).max(), 0.3, atol=1e-9)


def test_hull_of_a_square_with_a_point_inside():
    corners = hull(np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0], [0.5, 0.5]]))
    assert len(corners) == 4


def test_views_are_right_handed_and_look_where_they_say():
    for view in VIEWS.values():
        axes = np.array([view.right, view.up, view.towards])
        np.testing.assert_allclose(axes @ axes.T, np.eye(3), atol=1e-12)
        assert np.linalg.det(axes) == pytest.approx(1.0)
    np.testing.assert_allclose(VIEWS["side"].right, [1.0, 0.0, 0.0], atol=1e-12)  # faces right
    np.testing.assert_allclose(VIEWS["side"].towards, [0.0, -1.0, 0.0], atol=1e-12)  # its right side
    np.testing.assert_allclose(VIEWS["front"].right, [0.0, 1.0, 0.0], atol=1e-12)


@pytest.mark.parametrize(
    ("azimuth_deg", "far"),
    [
        (90.0, {"LF", "LH"}),
        (40.0, {"LF", "LH"}),
        (0.0, {"LH", "RH"}),
        (-90.0, {"RF", "RH"}),
        (180.0, {"LF", "RF"}),
    ],
)
def test_far_limbs_change_with_the_view(azimuth_deg, far):
    view = turned_view("any", azimuth_deg, 0.0)
    posed = pose(CLIP, [0, 1])
    assert far_limbs(posed, 0, view) == far_limbs(posed, 1, view) == far
    if abs(azimuth_deg) == 90.0:
        assert set(limbs_by_nearness(posed, 0, view)[:2]) == far


def test_sides_are_told_by_the_body_not_by_where_it_walks():
    rotations = CLIP.rotations.copy()
    rotations[:, 0] = np.ravel(about("Z", [180]))  # it walks the other way
    turned = pose(replace(CLIP, rotations=rotations), [0])
    assert far_limbs(turned, 0, VIEWS["side"]) == {"RF", "RH"}


def test_figures_need_no_drawing_library():
    code = "import sys, gaitgen.motion.flesh, gaitgen.pictures.views; print('matplotlib' in sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout.strip() == "False"


def solid(grey, tone):
    """Where a tone is and stays for three pixels downward: no blurred edge of a line."""
    is_tone = np.abs(grey - tone) < 3
    return is_tone[:-2] & is_tone[1:-1] & is_tone[2:]


@pytest.mark.sample(1)
@pytest.mark.parametrize(("animal", "row"), [("cat", 0), ("cat", 5), ("dog", 3), ("big_cat", 3)])
def test_no_far_grey_shows_above_the_back(animal, row):
    """A shoulder blade of the far side that rises above the back is back, not a bead of the far leg."""
    clip = make_cycle(Request(animal=animal))
    posed = pose(clip, [row])
    positions, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    back = [landmark_m(clip.animal, positions, world, name)[row, 0] for name in ("croup", "withers")]
    back[1] += 0.2 * clip.animal.withers_height_m
    left, right, low, high = extent(posed, VIEWS["side"])
    figure = Figure(figsize=(8.0, 8.0 * (high - low) / (right - left)))
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0), xlim=(left, right), ylim=(low, high))
    axes.axis("off")
    paint(axes, posed, 0, VIEWS["side"])
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    grey = np.asarray(canvas.buffer_rgba())[..., 0].astype(int)
    columns = slice(*(int((x - left) / (right - left) * grey.shape[1]) for x in back))
    far, body = (solid(grey[:, columns], tone) for tone in (128, 237))
    rows = np.arange(len(far))[:, None]
    tops = [np.where(tone, rows, len(far)).min(axis=0) for tone in (body, far)]
    assert (tops[0] <= tops[1]).all()
