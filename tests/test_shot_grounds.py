"""Grounds of shots: steps, height maps and meshes; soles that lie on them, trunks that follow them, holes."""

import os
import re
import subprocess
import sys
from dataclasses import replace
from functools import cache
from itertools import pairwise, product

import numpy as np
import pytest
import trimesh
from PIL import Image

from gaitgen.animal.library import load_animal
from gaitgen.course.ground import Ground
from gaitgen.course.stance import stance_state
from gaitgen.course.surfaces import height_map, mesh_ground, stairs
from gaitgen.errors import CourseError, ReachError, RequestError
from gaitgen.gait.request import Request
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.measure import range_margins_rad, slip_m, sole_points_m, time_s
from gaitgen.numerics.rotations import pitch_roll_yaw_rad
from gaitgen.shot.asked import Mark, Passage, ShotRequest
from gaitgen.shot.make import make_shot
from gaitgen.shot.report import lowest_sole_m
from gaitgen.shot.request import shot_of
from gaitgen.shot.shot_file import read_shot
from gaitgen.shot.sinking import sink_notices
from gaitgen.shot.snapping import turning
from gaitgen.shot.treading import cheapest

TREAD_M, RISE_M = 0.35, 0.10
UP = [(1.2 + k * TREAD_M, RISE_M) for k in range(3)]
DOWN = [(UP[-1][0] + 1.2 + k * TREAD_M, -RISE_M) for k in range(3)]


def bumps_m(x, y):
    """Low hills, a few metres apart, and a slope."""
    return 0.05 * np.sin(1.9 * x) * np.cos(2.3 * y) + 0.04 * x


def hills():
    x, y = 0.05 * np.arange(161) - 1.5, 0.05 * np.arange(81) - 2.0
    rows = bumps_m(x[None, :], y[:, None])
    return height_map(rows[::-1], 0.05, (-1.5, -2.0), "hills.png")


def hill_mesh():
    x, y = np.meshgrid(np.linspace(-1.5, 6.5, 81), np.linspace(-2.0, 2.0, 41), indexing="ij")
    grid = np.stack([x, y, bumps_m(x, y)], axis=-1)
    a, b, c, d = grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]
    faces = [np.stack(each, axis=2).reshape(-1, 3, 3) for each in ((a, b, c), (a, c, d))]
    return np.concatenate(faces)


GROUNDS = {
    "steps": lambda: stairs(UP + DOWN, 0.0, "the steps"),
    "height map": hills,
    "mesh": lambda: mesh_ground(hill_mesh(), "rocks.obj"),
    "slope": lambda: Ground(0.12, 0.0),
    "falling slope": lambda: Ground(-0.12, 0.0),
    "slope across": lambda: Ground(0.04, np.pi / 2.0),
}


@cache
def shot(name, gait="walk"):
    passage = Passage(cycle=Request(gait=gait, animal="dog"), strides=4 if gait == "walk" else 5)
    # A dog that trots to a halt at the foot of stairs turns a hind leg over itself, and is refused.
    return make_shot(shot_of(ShotRequest((passage,), ends=gait == "walk", ground=GROUNDS[name]())))


def over_m(found):
    """Corners of soles over the ground, (frames, 4, 4), and which feet are flat on it."""
    clip = found.clip
    _, soles = sole_points_m(clip.animal, *world_frames(clip.animal, clip.root_path_m, clip.rotations))
    state = stance_state(clip.steps, time_s(clip))
    over = soles[..., 2] - found.ground.known_m(soles[..., :2])
    return over, state.planted & (state.stance_share < 0.6), state.planted


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", GROUNDS)
def test_soles_lie_on_the_surface_and_no_foot_goes_through_it(name):
    found = shot(name)
    over, flat, planted = over_m(found)
    lowest = over.min(axis=2)
    assert np.abs(lowest[flat]).max() < 1e-3
    assert lowest[planted].min() > -1e-3
    assert lowest[~planted].min() > -1e-3
    assert slip_m(found.clip) < 1e-3


@pytest.mark.thorough
def test_along_a_slope_that_rises_beside_the_way_no_cycle_is_taken_as_it_is():
    """Its way is level, but not the ground under left and right feet."""
    passage = Passage(cycle=Request(gait="trot"), strides=4)
    found = make_shot(shot_of(ShotRequest((passage,), ground=Ground(0.005, np.pi / 2.0))))
    over, flat, planted = over_m(found)
    assert np.isfinite(found.clip.rotations).all()
    assert np.abs(over.min(axis=2)[planted]).max() < 1e-3
    assert np.abs(over[flat]).max() < 1e-3


def test_feet_take_the_steps_one_at_a_time_and_not_across_an_edge():
    found = shot("steps")
    over, flat, _ = over_m(found)
    assert over.max(axis=2)[flat].max() < 1e-3  # whole soles, not their tips alone
    steps = found.clip.steps
    for limb in range(4):
        mine = steps.limb == limb
        heights = np.round(steps.place_m[mine, 2], 3)
        assert heights.max() == pytest.approx(3 * RISE_M, abs=1e-9)
        assert np.abs(np.diff(heights)).max() < 2.5 * RISE_M
    landed = np.unique(np.round(steps.touchdown_s[steps.touchdown_s > 0.0] * 24.0), return_counts=True)[1]
    assert landed.max() == 1  # a walk: one foot after the other


@pytest.mark.sample(1)
@pytest.mark.parametrize("gait", ["walk", "trot"])
def test_swinging_soles_clear_the_edges_of_steps_between_frames_too(gait):
    """Whoever plays the clip sees soles go straight from frame to frame, and that must not cut an edge."""
    found = shot("steps", gait)
    clip = found.clip
    _, soles = sole_points_m(clip.animal, *world_frames(clip.animal, clip.root_path_m, clip.rotations))
    for share in np.linspace(0.0, 0.8, 5):
        between = soles[:-1] + share * (soles[1:] - soles[:-1])
        across = between[..., 0, :] + np.linspace(0.0, 1.0, 5)[:, None, None, None] * (
            between[..., 2, :] - between[..., 0, :]
        )
        for points in (between, np.moveaxis(across, 0, 2)):
            assert (points[..., 2] - found.ground.known_m(points[..., :2])).min() > -2e-3


def test_a_foot_goes_up_before_it_goes_ahead_onto_a_step():
    """Common practice, no source."""
    found = shot("steps")
    clip, steps = found.clip, found.clip.steps
    places, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    toes, _ = sole_points_m(clip.animal, places, world)
    climbs = 0
    for limb in range(4):
        mine = np.flatnonzero(steps.limb == limb)
        for one, two in pairwise(mine):
            rise = steps.place_m[two, 2] - steps.place_m[one, 2]
            first, last = (round(m * 24.0) for m in (steps.liftoff_s[one], steps.touchdown_s[two]))
            if rise < 0.05 or first < 0:
                continue
            way = toes[first : last + 1, limb] - toes[first, limb]
            half_up, half_on = (int(np.argmax(way[:, k] > way[-1, k] / 2.0)) for k in (2, 0))
            assert half_up <= half_on
            climbs += 1
    assert climbs >= 6


def test_a_fore_leg_does_not_open_and_fold_anew_as_its_foot_waits_before_a_step():
    """A pony's did: the turn of a joint changed by 28 degrees from one frame to the next."""
    passage = Passage(cycle=Request(animal="pony", gait="walk"), strides=5)
    made = make_shot(shot_of(ShotRequest((passage,), ground=stairs([(3.0, 0.15)], 0.0, "the step"))))
    assert turning(made.clip, made.timeline).roughness < 0.9


def test_the_head_is_low_uphill_and_high_downhill():
    """Against the trunk (common practice, no source)."""

    def nod(name):
        clip = shot(name).clip
        places, _ = world_frames(clip.animal, clip.root_path_m, clip.rotations)
        neck = places[:, clip.animal.head] - places[:, clip.animal.neck[0]]
        trunk = places[:, clip.animal.neck[0]] - places[:, 0]
        pitch = [np.arctan2(line[:, 2], np.hypot(line[:, 0], line[:, 1])) for line in (neck, trunk)]
        return np.degrees((pitch[0] - pitch[1])[50:110].mean())

    assert nod("slope") < nod("falling slope") - 4.0


@pytest.mark.sample(1)
@pytest.mark.parametrize("animal", ["dog", "riding_horse", "cat"])
def test_the_trunk_takes_on_most_of_the_slope(animal):
    """About 0.8 to 0.9 of it (common practice, no source), the level trunk taken off, up and down."""
    shares = []
    for grade in (0.12, -0.12):
        pitches = []
        for ground in (Ground(grade, 0.0), Ground()):
            passage = Passage(cycle=Request(gait="walk", animal=animal), strides=4)
            found = make_shot(shot_of(ShotRequest((passage,), starts=False, ends=False, ground=ground)))
            stride = found.timeline.cycles[0].frames
            pitches.append(pitch_roll_yaw_rad(found.clip.rotations)[stride:-stride, 0, 0].mean())
        shares.append((pitches[0] - pitches[1]) / -np.arctan(grade))
    assert 0.8 < abs(np.mean(shares)) < 0.9
    assert all(0.72 < abs(share) < 0.95 for share in shares)


def _fore_ahead(animal, gait, grade):
    """How far ahead of its shoulder a fore foot lands, over the hip height."""
    passage = Passage(cycle=Request(gait=gait, animal=animal), strides=5)
    ground = Ground(grade, 0.0)
    clip = make_shot(shot_of(ShotRequest((passage,), starts=False, ends=False, ground=ground))).clip
    places, _ = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    frame = np.round(clip.steps.touchdown_s * clip.frame_rate_hz).astype(int)
    mine = (clip.steps.limb == 1) & (frame > clip.frames // 4) & (frame < clip.frames)
    shoulder = places[frame[mine], clip.animal.limbs[1].joints[1]]
    return float((clip.steps.place_m[mine] - shoulder)[:, 0].mean()) / clip.animal.hip_height_m


@pytest.mark.sample(1)
@pytest.mark.parametrize("gait", ["walk", "trot"])
@pytest.mark.parametrize("animal", ["riding_horse", "dog", "cat"])
def test_up_a_slope_fore_feet_land_no_farther_ahead_than_on_the_level(animal, gait):
    """Short steps uphill, with the hind feet under the body (common practice, no source)."""
    level, *up = (_fore_ahead(animal, gait, grade) for grade in (0.0, 0.12, 0.2))
    assert max(up) < level + 0.005


def test_steps_are_shorter_downhill_and_on_stairs():
    """Common practice, no source."""

    def stride_m(found):
        steps = found.clip.steps
        mine = np.flatnonzero((steps.limb == 2) & (steps.touchdown_s > 2.5) & (steps.touchdown_s < 5.0))
        return np.diff(steps.place_m[mine, 0]).mean()

    level = make_shot(shot_of(ShotRequest((Passage(cycle=Request(gait="walk", animal="dog"), strides=4),))))
    assert stride_m(shot("falling slope")) < 0.9 * stride_m(level)
    assert stride_m(shot("falling slope")) < stride_m(shot("slope")) < stride_m(level)
    assert stride_m(shot("steps")) < 0.9 * stride_m(level)


def up_a_flight(animal, rise, tread, edges, way_m):
    """Walk over a flight that begins 1.5 withers heights ahead."""
    at = 1.5 * load_animal(animal).withers_height_m
    ground = stairs([(at + tread * k, rise) for k in range(edges)], 0.0, "the steps")
    passage = Passage(cycle=Request(gait="walk", animal=animal), distance_m=way_m)
    return make_shot(shot_of(ShotRequest((passage,), ground=ground))), at


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("animal", "rise", "tread"),
    [("dog", 0.09, 0.3), ("dog", -0.09, 0.3), ("cat", -0.06, 0.25), ("riding_horse", 0.15, 0.4)],
)
def test_strides_on_a_flight_take_whole_treads(animal, rise, tread):
    """One after the other alike: a dog's were .12 to .60 m on treads of .30. Common practice, no source."""
    made, at = up_a_flight(animal, rise, tread, 12, 14.0 * tread)
    laid = made.timeline.stances
    for limb in range(4):
        along = laid.along_m[(laid.limb == limb) & ~laid.stands]
        inside = along[(along > at + 2.0 * tread) & (along < at + 9.0 * tread)]
        treads = np.diff(inside) / tread
        assert inside.size > 1
        assert np.abs(treads - np.round(treads.mean())).max() < 0.15


# Where legs snapped once, and how much against what would look smooth: 1.17, 1.15, 1.14, 1.22, 2.31.
STAIRS_SNAPPED = [
    ("dog", 0.09, 0.3),
    ("dog", 0.09, 0.25),
    ("cat", -0.06, 0.25),
    ("riding_horse", -0.1, 0.4),
    ("riding_horse", -0.15, 1.0),
]


@pytest.mark.sample(1)
@pytest.mark.parametrize(("animal", "rise", "tread"), STAIRS_SNAPPED)
def test_no_leg_snaps_on_stairs_where_one_did(animal, rise, tread):
    way_m = 4.0 * load_animal(animal).withers_height_m + 4.0 * tread
    made, _ = up_a_flight(animal, rise, tread, 5, way_m)
    assert turning(made.clip, made.timeline).roughness < 1.0
    assert lowest_sole_m(made) > -1e-3


def test_an_animal_does_not_dawdle_before_a_flight():
    """A cat took steps of 1 to 8 cm for two seconds: it was slowed for a slope that was still ahead."""
    made, _ = up_a_flight("cat", -0.09, 0.3, 5, 2.2)
    steps = made.clip.steps
    for limb in range(4):
        mine = (steps.limb == limb) & (steps.touchdown_s > 1.0) & (steps.touchdown_s < 3.0)
        assert np.diff(steps.place_m[mine, 0]).min() > 0.12


@pytest.mark.sample(1)
@pytest.mark.parametrize("rise", [0.09, -0.09])
def test_a_mark_beyond_a_flight_is_met_all_the_same(rise):
    """Strides that take whole treads cannot be fitted to it: a dog missed one on the flight by 6 cm."""
    ground = stairs([(0.93 + 0.3 * k, rise) for k in range(5)], 0.0, "the steps")
    passage = Passage(cycle=Request(gait="walk", animal="dog"), distance_m=4.0)
    for mark in (Mark((3.37, 0.0), halts=True), Mark((1.68, 0.0), frame=90)):
        clip = make_shot(shot_of(ShotRequest((passage,), ground=ground, marks=(mark,)))).clip
        assert not [each.text for each in clip.notices if "not met" in each.text]


def test_feet_are_placed_so_that_all_of_it_costs_least():
    random = np.random.default_rng(5)
    ahead = np.linspace(-1.0, 1.0, 4)
    for _ in range(20):
        costs = random.uniform(0.0, 3.0, (4, 5))

        def whole(way, costs=costs):
            return costs[list(way), range(5)].sum() + (np.diff(ahead[list(way)]) ** 2).sum()

        best = min(product(range(4), repeat=5), key=whole)
        assert tuple(cheapest(costs, ahead)) == best


def test_a_mesh_and_a_height_map_of_the_same_hills_agree():
    places = np.random.default_rng(3).uniform([-1.4, -1.9], [6.4, 1.9], (400, 2))
    exact = bumps_m(*places.T)
    assert np.abs(hills().height_m(places) - exact).max() < 1e-4
    assert np.abs(mesh_ground(hill_mesh()).height_m(places) - exact).max() < 2e-3  # flat between its corners
    assert np.isnan(hills().known_m(np.array([[-2.0, 0.0], [0.0, 2.5]]))).all()


def test_the_highest_face_is_stood_on():
    table = trimesh.creation.box(extents=(4.0, 4.0, 0.5)).triangles + np.array([0.0, 0.0, 0.25])
    roof = trimesh.creation.box(extents=(1.0, 1.0, 0.2)).triangles + np.array([0.0, 0.0, 0.9])
    ground = mesh_ground(np.concatenate([table, roof]))
    np.testing.assert_allclose(ground.height_m(np.array([[0.1, 0.2], [1.5, 0.3]])), [1.0, 0.5])


def test_a_hole_is_refused_by_name():
    whole = hill_mesh()
    centre = whole.mean(axis=1)
    rest = whole[~((np.abs(centre[:, 0] - 2.0) < 0.35) & (np.abs(centre[:, 1]) < 0.6))]
    ground = mesh_ground(rest, "rocks.obj")
    passage = Passage(cycle=Request(gait="walk", animal="dog"), strides=4)
    with pytest.raises(CourseError, match=r"rocks\.obj has a hole at x [12]\.\d+ m, y .*around it"):
        make_shot(shot_of(ShotRequest((passage,), ground=ground)))


def test_a_leg_that_does_not_reach_is_named_with_its_gait_and_slope():
    passage = Passage(cycle=Request(gait="trot", animal="riding_horse"), strides=6)
    with pytest.raises(
        ReachError,
        match=r"frame \d+, \d\.\d m along .*, in the trot, on a slope of \d+ per cent, the [LR][FH] leg",
    ):
        make_shot(shot_of(ShotRequest((passage,), starts=False, ends=False, ground=Ground(0.9, 0.0))))


def test_a_step_that_is_too_high_is_refused_with_what_could_be():
    passage = Passage(cycle=Request(gait="walk", animal="cat"), strides=4)
    with pytest.raises(
        CourseError, match=r"the steps go up or down by 0\.30 m at once, and cat takes at most 0\.\d+"
    ):
        make_shot(shot_of(ShotRequest((passage,), ground=stairs([(1.0, 0.3)], 0.0, "the steps"))))


@pytest.mark.thorough
def test_steps_higher_than_legs_like_are_gone_up_with_every_joint_a_number():
    """Legs that reach a foot at no moment of a window once left the body without numbers."""
    up = [(1.2, 0.16), (1.55, 0.16), (1.9, 0.16), (2.25, 0.16), (2.9, -0.15), (3.2, -0.15)]
    passage = Passage(cycle=Request(gait="walk", animal="dog", frame_rate_hz=30.0), distance_m=4.0)
    clip = make_shot(shot_of(ShotRequest((passage,), ground=stairs(up, 0.0, "the steps")))).clip
    assert np.isfinite(clip.root_path_m).all()
    assert np.isfinite(clip.rotations).all()


TEXT = 'animal = "dog"\n[[passage]]\ngait = "walk"\nstrides = 3\n\n[ground]\n'


def written(tmp_path, ground):
    path = tmp_path / "a.toml"
    path.write_text(TEXT + ground, encoding="utf-8")
    return path


def test_grounds_are_read_from_files_beside_the_shot(tmp_path):
    shades = np.zeros((40, 120))
    shades[:, 60:] = 1.0
    Image.fromarray((shades * 65535).astype(np.uint16)).save(tmp_path / "deep.png")
    clear = np.full((40, 120, 2), 255, dtype=np.uint8)
    clear[10:15, 20:25, 1] = 0
    Image.fromarray(clear, mode="LA").save(tmp_path / "clear.png")
    text = 'image = "NAME.png"\nmetres_per_pixel = 0.1\nheights = [0.2, 0.7]\ncorner = [-1, -2]\n'
    ground = read_shot(written(tmp_path, text.replace("NAME", "deep"))).ground
    np.testing.assert_allclose(ground.height_m(np.array([[0.0, 0.0], [9.0, 1.0]])), [0.2, 0.7], atol=1e-6)
    ground = read_shot(written(tmp_path, text.replace("NAME", "clear"))).ground
    assert ground.height_m(np.array([0.0, 0.0])) == pytest.approx(0.7)
    assert np.isnan(ground.known_m(np.array([1.2, 0.7])))  # rows count from the top
    for suffix in ("obj", "ply", "stl", "glb"):
        mesh = trimesh.creation.box(extents=(20.0, 20.0, 1.0))
        mesh.export(tmp_path / f"box.{suffix}")
        up = "z" if suffix != "glb" else "y"
        more = 'up = "z"\n' if suffix == "obj" else ""
        ground = read_shot(written(tmp_path, f'mesh = "box.{suffix}"\nat = [1, 2, 3]\n{more}')).ground
        assert ground.height_m(np.array([2.0, 2.3])) == pytest.approx(3.5 if up == "z" else 13.0)


FAULTS = [
    ("steps = [[1, 0.1], [0.5, 0.1]]", r"line 7: .*steps: the distances of the steps do not rise"),
    ("steps = [[1, 9]]", r"line 7: .*steps: a rise is 9.*write a number from -5 to 5"),
    ("steps = []", r"line 7: .*steps is empty; give \[distance, rise\]"),
    ("profile = []", r"line 7: .*the profile has fewer than two points; give \[distance, height\]"),
    ("profile = [[1, 2]]", r"line 7: .*the profile has fewer than two points"),
    ("steps = 3", r"line 7: .*steps is 3; write a list of lists"),
    ('image = "no.png"', r"line 7: .*image is 'no.png', and there is no file"),
    ('image = "a.toml"', r"line 7: .*image is 'a.toml'; give a file that ends in \.png"),
    ('image = "bad.png"', r"line 6: .*has no metres_per_pixel"),
    ('mesh = "bad.ply"', r"line 7: .*mesh is 'bad.ply', which cannot be read"),
    ('mesh = "bad.obj"', r"line 7: .*mesh is 'bad.obj', which"),
    ('mesh = "flat.obj"', r"line 7: .*mesh is 'flat.obj', which"),
    ('mesh = "far.obj"', r"line 7: .*mesh is 'far.obj', with corners 9e\+200 m away; give a scale"),
    ('mesh = "bad.obj"\nup = "x"', r"line 8: .*up is 'x'; write one of y, z"),
    ("slope = 5\nsteps = [[1, 0.1]]", r"line 6: .*has slope and steps; give one of"),
    (
        'image = "bad.png"\nmetres_per_pixel = 0.1\nheights = [0, 1]\ncorner = [0, 0]',
        r"line 7: .*image is 'bad.png', which cannot be read .*give a PNG",
    ),
]


@pytest.mark.parametrize(("ground", "words"), FAULTS, ids=[each[0][:24] for each in FAULTS])
def test_a_fault_of_a_ground_is_told_with_its_line(tmp_path, ground, words):
    for name in ("bad.png", "bad.ply", "bad.obj"):
        (tmp_path / name).write_bytes(b"\x89PNG\r\n not one")
    (tmp_path / "flat.obj").write_text("v 0 0\nv 9 0\nv 0 9\nf 1 2 3\n", encoding="utf-8")
    (tmp_path / "far.obj").write_text("v 0 0 0\nv 9e200 0 0\nv 0 0 9e200\nf 1 2 3\n", encoding="utf-8")
    with pytest.raises(RequestError, match=words) as caught:
        read_shot(written(tmp_path, ground + "\n"))
    assert "\n" not in str(caught.value)


LAND = "v -20 -20 0\nv 20 -20 0\nv 20 20 0\nf 1 2 3\n"
FACET = "facet normal 0 0 up\nouter loop\nvertex -20 -20 0\nvertex 20 -20 0\nvertex 20 20 0\nendloop\n"


@pytest.mark.timeout(60)
def test_what_a_mesh_names_is_not_opened(tmp_path):
    """Its material may be anybody's file, or a pipe that nobody writes to."""
    os.mkfifo(tmp_path / "pipe.mtl")
    (tmp_path / "land.obj").write_text(f"mtllib pipe.mtl\nusemtl m\n{LAND}", encoding="utf-8")
    ground = read_shot(written(tmp_path, 'mesh = "land.obj"\nup = "z"\n')).ground
    assert ground.height_m(np.array([1.0, -1.0])) == pytest.approx(0.0)


def test_the_reader_of_meshes_keeps_its_trouble_to_itself(tmp_path):
    (tmp_path / "land.stl").write_text(f"solid\n{FACET}endfacet\nendsolid\n", encoding="utf-8")
    where = str(written(tmp_path, 'mesh = "land.stl"\n'))
    code = f"import pathlib, gaitgen.shot.shot_file as s; s.read_shot(pathlib.Path({where!r}))"
    # In a process of its own: here somebody listens to what is logged.
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True)
    assert done.stderr == b""


@pytest.mark.thorough
def test_legs_that_snap_on_stairs_are_said(tmp_path):
    """A goat on stairs of 25 cm lifts its feet over them in a frame or two, so that a leg snaps."""
    goat = load_animal("goat")
    legs = {goat.joint_names[joint] for limb in goat.limbs for joint in limb.joints}
    text = 'animal = "goat"\n[[passage]]\ngait = "walk"\nstrides = 4\n[ground]\nsteps = '
    said = {}
    for rise in (0.02, 0.25):
        path = tmp_path / "stairs.toml"
        path.write_text(f"{text}[[2.0, {rise}], [2.6, {rise}], [3.2, {rise}]]\n", encoding="utf-8")
        said[rise] = [n.text for n in make_shot(shot_of(read_shot(path))).clip.notices if n.topic == "snap"]
    assert not said[0.02]
    assert len(said[0.25]) == 1
    assert any(f"turn of {name} changes" in said[0.25][0] for name in legs)


STAIRS = 'animal = "{}"\n[[passage]]\ngait = "walk"\nstrides = {}\n[ground]\nsteps = {}\n'


def climbed(tmp_path, animal, rise, tread, strides=4):
    path = tmp_path / "stairs.toml"
    at = 1.5 * load_animal(animal).withers_height_m
    steps = [[round(at + tread * k, 3), rise] for k in range(3)]
    path.write_text(STAIRS.format(animal, strides, steps), encoding="utf-8")
    return make_shot(shot_of(read_shot(path)))


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("animal", "rise", "tread"),
    [("riding_horse", 0.10, 0.5), ("dog", 0.10, 0.3), ("goat", 0.08, 0.6), ("red_deer", 0.15, 0.6)],
)
def test_kerbs_are_gone_up_within_the_ranges_of_legs(tmp_path, animal, rise, tread):
    """As far as a hand would not see it; what is more is said (common practice, no source)."""
    clip = climbed(tmp_path, animal, rise, tread).clip
    joints = [joint for limb in clip.animal.limbs for joint in limb.joints]
    assert np.degrees(range_margins_rad(clip)[joints].min()) > -10.0
    assert not [each.text for each in clip.notices if each.topic == "steps"]


@pytest.mark.thorough
def test_a_joint_that_steps_turn_past_its_range_is_said_with_line_and_height(tmp_path):
    """And on steps of the height that is named it is within 10 degrees of it."""
    said = [each.text for each in climbed(tmp_path, "goat", 0.3, 0.6).clip.notices if each.topic == "steps"]
    assert len(said) == 1
    found = re.search(
        r"stairs\.toml: line 6: the steps go up or down by 0\.30 m at once, for which \w+ of goat turns "
        r"\d+ degrees past its range in frame \d+; on steps of (0\.\d+) m it hardly would",
        said[0],
    )
    lower = climbed(tmp_path, "goat", float(found.group(1)), 0.6).clip
    assert not [each.text for each in lower.notices if each.topic == "steps"]


def test_steps_that_are_too_high_are_refused_with_line_and_height(tmp_path):
    with pytest.raises(CourseError, match=r"stairs\.toml: line 6: the steps .* by 0\.30 m.* takes at most"):
        climbed(tmp_path, "cat", 0.30, 0.4)
    with pytest.raises(
        CourseError,
        match=r"stairs\.toml: line 6: the steps go up or down by 0\.20 m at once: about frame \d+, .* "
        r"the [LR][FH] leg of dog does not reach its foot; give steps of 0\.14 m, longer treads, or a larger",
    ):
        climbed(tmp_path, "dog", -0.20, 0.3, 6)


@pytest.mark.thorough
def test_legs_that_miss_by_more_than_a_trunk_is_long_are_no_riddle(tmp_path):
    """A dog on three stairs of 16 cm, each 30 cm long, ended in a complaint about numbers."""
    path = tmp_path / "stairs.toml"
    path.write_text(
        'animal = "dog"\n[[passage]]\ngait = "walk"\nstrides = 4\n[ground]\n'
        "steps = [[2.0, 0.16], [2.3, 0.16], [2.6, 0.16]]\n",
        encoding="utf-8",
    )
    assert np.isfinite(make_shot(shot_of(read_shot(path))).clip.rotations).all()


def test_soles_under_the_ground_are_said_with_their_foot_and_depth():
    clip = lawn().clip
    assert not sink_notices(clip, Ground(0.0, 0.0))
    sunk = replace(clip, root_path_m=clip.root_path_m - [0.0, 0.0, 0.005])
    (said,) = sink_notices(sunk, Ground(0.0, 0.0))
    assert re.search(r"a sole is under the ground in \d+ frames.* the [LR][FH] foot by 5\.\d mm", said.text)


def test_soles_that_swing_through_the_ground_are_said_so():
    clip = lawn().clip
    sunk = replace(clip, root_path_m=clip.root_path_m - [0.0, 0.0, 0.025])
    stands, swings = sink_notices(sunk, Ground(0.0, 0.0))
    assert "no room there" in stands.text
    assert re.search(r"the [LR][FH] foot by \d+\.\d mm: it swings through it there; slower", swings.text)
    assert lowest_sole_m(replace(lawn(), clip=sunk)) < -0.024


@pytest.mark.thorough  # always a dog over a rise, in test_shots
def test_feet_that_legs_carry_swing_over_the_brink_of_a_slope(tmp_path):
    """A bear goes down a slope, from an amble into a canter, its hind feet went 22 mm through the ground."""
    path = tmp_path / "slope.toml"
    gaits = "".join(
        f'[[passage]]\ngait = "{gait}"\nstrides = 0\nspeed = {speed}\n'
        for gait, speed in (("walk", 0.9), ("amble", 1.79), ("canter", 2.76), ("walk", 0.9))
    )
    profile = "[ground]\nprofile = [[0, 0], [4, 0], [8, -0.6], [30, -0.6]]\n"
    path.write_text(f'animal = "brown_bear"\n{gaits}{profile}', encoding="utf-8")
    assert lowest_sole_m(make_shot(shot_of(read_shot(path)))) > -2e-3


def lawn():
    """Make two strides of a walk on level ground."""
    walk = Passage(cycle=Request(gait="walk"), strides=2)
    return make_shot(shot_of(ShotRequest((walk,), False, False)))
