"""An edit carried on: the same edit at the same phase, planted feet, and back again it is itself."""

import json
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hand_edits import smooth
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from gaitgen import Request, animal_names, load_animal, make_cycle
from gaitgen.commands import run
from gaitgen.edits.carried_file import Wanted
from gaitgen.edits.carry import carry
from gaitgen.edits.carry_file import carry_file, space_of
from gaitgen.edits.difference import difference
from gaitgen.edits.phase import Timing, phases, timing_of
from gaitgen.errors import RequestError
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.formats.record import EDIT, read_record
from gaitgen.motion.measure import bone_lengths_m, found_feet, loop_gap, measure_feet, slip_m
from gaitgen.numerics.rotations import continuous_sign, matrix_from_quaternion, quaternion_from_matrix
from gaitgen.reading.strides import Unlike, even_stride

HORSES = [name for name in animal_names() if load_animal(name).species == "horse"]
LENGTHS = [16, 24, 32, 48]
LIMB_BONES = ("scapula", "sling", "humerus", "radius", "fore_", "femur", "tibia", "hind_")


@cache
def walk(**options):
    return make_cycle(Request(**options))


def refined(clip, seed, degrees=2.0, millimetres=4.0):
    """A clip with a random smooth refinement of every joint, less in the spine, and of the body's place."""
    return smooth(seed, degrees, millimetres)(clip)


def planted_edit(clip, seed, degrees=2.0):
    """A refinement as an animator leaves it: feet stand on their prints."""
    return carry(difference(clip, refined(clip, seed, degrees)), clip, clip)


def apart_deg(one, other):
    """Greatest angle between two clips, (joints,)."""
    a, b = (matrix_from_quaternion(clip.rotations) for clip in (one, other))
    turn = Rotation.from_matrix((np.swapaxes(a, -1, -2) @ b).reshape(-1, 3, 3)).magnitude()
    return np.degrees(turn.reshape(a.shape[:2]).max(axis=0))


@pytest.mark.sample(3)
@pytest.mark.parametrize("frames", LENGTHS)
@pytest.mark.parametrize("animal", HORSES)
def test_an_edit_of_nothing_gives_the_plain_clip(animal, frames):
    for length in LENGTHS:
        for other in HORSES:
            one, plain = walk(animal=animal, frames=length), walk(animal=other, frames=frames)
            made = carry(difference(one, one), plain, plain).clip
            assert np.abs(made.rotations - plain.rotations).max() < 1e-6
            assert np.abs(made.root_path_m - plain.root_path_m).max() < 1e-6


@pytest.mark.thorough
@settings(max_examples=20, deadline=None, derandomize=True)
@given(
    st.integers(0, 10**6),
    st.sampled_from(HORSES),
    st.sampled_from(HORSES),
    st.sampled_from(LENGTHS),
    st.sampled_from(LENGTHS),
    st.sampled_from([1.0, 2.0, 3.0]),  # with 4 degrees on every joint a leg may not reach, which is refused
)
def test_random_refinements_keep_feet_planted_and_the_loop_closed(seed, one, other, frames, to, degrees):
    clip, plain = walk(animal=one, frames=frames), walk(animal=other, frames=to)
    carried = carry(difference(clip, refined(clip, seed, degrees)), plain, plain)
    made = carried.clip
    assert slip_m(made) < 1e-4
    toes = measure_feet(made).toe_m  # on one place each, wherever the timeline says it is
    planted = timing_of(plain).planted()
    for limb in range(4):
        rows = np.flatnonzero(planted[:, limb])
        first = timing_of(plain).contact[limb]
        rows = rows[rows >= first] if first + timing_of(plain).down[limb] > to else rows
        assert np.ptp(toes[rows, limb], axis=0).max() < 1e-3
    assert loop_gap(made) < 1e-9
    np.testing.assert_allclose(bone_lengths_m(made), bone_lengths_m(plain), atol=1e-9)
    assert np.all(np.isfinite(made.rotations))
    np.testing.assert_array_equal(found_feet(made).planted[:-1], planted)


@settings(max_examples=20, deadline=None, derandomize=True)
@given(
    st.integers(0, 10**6),
    st.sampled_from(HORSES),
    st.sampled_from(HORSES),
    st.sampled_from(LENGTHS),
    st.sampled_from(LENGTHS),
)
def test_joint_curves_of_the_difference_are_equal_in_phase(seed, one, other, frames, to):
    clip, plain = walk(animal=one, frames=frames), walk(animal=other, frames=to)
    edit = difference(clip, refined(clip, seed, 1.5))
    carried = carry(edit, plain, plain)
    at = phases(edit.timing, timing_of(plain))
    np.testing.assert_allclose(at.trunk, np.arange(to) * frames / to, atol=1e-9)  # a walk's contacts are even
    rows = np.arange(to)[np.arange(to) * frames % to == 0]  # moments that are frames of both
    for k, name in enumerate(edit.joint_names):
        if name.startswith(LIMB_BONES) or carried.trunk_share < 1.0:
            continue
        here = carried.made_rad[rows, carried.joint_names.index(name)]
        there = edit.turn_rad[rows * frames // to, k]
        np.testing.assert_allclose(here, there, atol=1e-6, err_msg=name)
    scale = plain.animal.hip_height_m / clip.animal.hip_height_m
    if carried.trunk_share < 1.0:
        return
    want = scale * edit.moved_m[rows * frames // to] - [0.0, 0.0, carried.sunk_m]
    np.testing.assert_allclose(carried.moved_m[rows], want, atol=1e-6)


@pytest.mark.thorough
@settings(max_examples=20, deadline=None, derandomize=True)
@given(
    st.integers(0, 10**6),
    st.sampled_from(HORSES),
    st.sampled_from(HORSES),
    st.sampled_from([(32, 24), (32, 16), (24, 48), (48, 32), (32, 48)]),
)
def test_carried_there_and_back_an_edit_is_itself(seed, one, other, lengths):
    clip, far = walk(animal=one, frames=lengths[0]), walk(animal=other, frames=lengths[1])
    start = planted_edit(clip, seed, 1.0).clip
    there = carry(difference(clip, start), far, far)
    back = carry(difference(far, there.clip), clip, clip)
    if there.sunk_m or back.sunk_m or there.trunk_share < 1.0:
        return  # the legs did not reach, which the report says
    assert apart_deg(start, back.clip).max() < 1.0
    assert np.abs(start.root_path_m - back.clip.root_path_m).max() < 1e-3


@pytest.mark.parametrize(
    ("gait", "frames", "to"), [("trot", 16, 20), ("trot", 24, 16), ("canter", 15, 12), ("gallop", 12, 16)]
)
@pytest.mark.parametrize("seed", [1, 2])
def test_refinements_of_runs_are_carried_too(gait, frames, to, seed):
    clip, plain = walk(gait=gait, frames=frames), walk(gait=gait, frames=to)
    made = carry(difference(clip, refined(clip, seed, 1.0)), plain, plain).clip
    assert slip_m(made) < 1e-4
    assert loop_gap(made) < 1e-9
    np.testing.assert_array_equal(found_feet(made).planted[:-1], timing_of(plain).planted())


@pytest.mark.sample(1)
@pytest.mark.parametrize(("gait", "lead"), [("trot", None), ("canter", "right"), ("gallop", "left")])
def test_the_gait_of_an_unchanged_run_is_found(tmp_path, gait, lead):
    path = made_by_hand(tmp_path, degrees=0.0, frames=16, gait=gait, lead=lead)
    made = carry_file(path, Wanted(frames=14))
    assert (made.request.gait, made.request.lead, made.joints()) == (gait, lead, ())
    plain = make_cycle(Request(gait=gait, lead=lead, frames=14))
    assert np.abs(made.carried.clip.rotations - plain.rotations).max() < 1e-6


@pytest.mark.thorough
def test_most_small_edits_need_nothing_held_back():
    """So that the test above is about something."""
    held = 0
    for seed in range(12):
        clip, far = walk(), walk(frames=24)
        there = carry(difference(clip, planted_edit(clip, seed, 1.0).clip), far, far)
        held += bool(there.sunk_m) or there.trunk_share < 1.0
    assert held <= 3


def test_a_higher_step_and_a_moved_print_arrive_where_they_belong():
    clip = walk()
    edit = difference(clip, clip)
    frames = np.arange(32)
    swing = ~timing_of(clip).planted()[:, 0]
    lift = np.where(swing, 0.05 * np.sin(np.pi * ((frames - 14) % 32) / 10.0) ** 2, 0.0)
    toe = edit.toe_m.copy()
    toe[:, 0, 2] = lift
    toe[:, 3] = [0.02, -0.03, 0.0]
    far = walk(animal="draft_horse", frames=24)
    made = carry(replace(edit, toe_m=toe), far, far)
    before, after = measure_feet(far).toe_m, measure_feet(made.clip).toe_m
    scale = far.animal.hip_height_m / clip.animal.hip_height_m
    raised = (after - before)[:-1, 0, 2]
    assert raised.max() == pytest.approx(0.05 * scale, rel=0.1)
    assert np.all(raised[timing_of(far).planted()[:, 0]] == pytest.approx(0.0, abs=1e-6))
    moved = (after - before)[:-1, 3]
    np.testing.assert_allclose(moved, np.tile(scale * np.array([0.02, -0.03, 0.0]), (24, 1)), atol=1e-6)


def test_phases_lead_contacts_to_contacts_and_lift_offs_to_lift_offs():
    one = Timing(32, (24.0, 8.0, 16.0, 0.0), (22.0, 22.0, 22.0, 22.0))
    other = Timing(24, (18.0, 6.0, 12.0, 0.0), (14.0, 14.0, 14.0, 14.0))
    at = phases(one, other)
    for limb in range(4):
        assert at.limbs[int(other.contact[limb]), limb] == pytest.approx(one.contact[limb] % 32)
        off = int(other.contact[limb] + other.down[limb]) % 24
        assert at.limbs[off, limb] == pytest.approx((one.contact[limb] + 22) % 32)
        assert np.all(np.diff(np.unwrap(at.limbs[:, limb], period=32)) > 0.0)
    np.testing.assert_allclose(phases(one, one).limbs[:, 0], np.arange(32), atol=1e-9)


def test_feet_that_land_in_another_order_are_refused():
    one = Timing(32, (24.0, 8.0, 16.0, 0.0), (22.0,) * 4)
    diagonal = Timing(32, (8.0, 24.0, 16.0, 0.0), (22.0,) * 4)
    with pytest.raises(RequestError, match="the same order of feet"):
        phases(one, diagonal)


def made_by_hand(folder, *, degrees=2.0, seed=3, space=None, **options):
    """Write a clip and a refinement of it as a person would: over the file, in its own space."""
    space = space or FileSpace()
    clip = make_cycle(Request(**options))
    path = folder / "hero.bvh"
    path.write_bytes(bvh.encode(clip, space))
    if degrees:
        stride = make_cycle(Request(**{**options, "strides": 1, "in_place": True}))
        edited = carry(difference(stride, refined(stride, seed, degrees)), clip, stride).clip
        path.write_bytes(bvh.encode(edited, space))
    return path


@pytest.mark.sample(1, 1)
@pytest.mark.parametrize(
    "options", [{}, {"in_place": False, "strides": 2}, {"start": "LF", "frame_rate_hz": 30.0}]
)
def test_a_file_that_was_not_changed_gives_the_plain_clip(tmp_path, options):
    path = made_by_hand(tmp_path, degrees=0.0, frames=32, **options)
    made = carry_file(path, Wanted(frames=24))
    plain = make_cycle(Request(frames=24, **options))
    assert made.joints() == ()
    assert np.abs(made.carried.clip.rotations - plain.rotations).max() < 1e-6
    assert np.abs(made.carried.clip.root_path_m - plain.root_path_m).max() < 1e-6
    assert "nothing was changed by hand" in made.text()


def shifted(folder, up_m, name="hero"):
    """Write a walk of which the root alone was moved up, or down, in every frame."""
    clip = make_cycle(Request(frames=32))
    moved = replace(clip, root_path_m=clip.root_path_m + np.array([0.0, 0.0, up_m]))
    path = folder / f"{name}.bvh"
    path.write_bytes(bvh.encode(moved, FileSpace()))
    return path


@pytest.mark.sample(1)
@pytest.mark.parametrize("named", [False, True])
def test_a_body_that_was_lowered_is_lowered_in_the_new_clip(tmp_path, named):
    original = shifted(tmp_path, 0.0, "start") if named else None
    made = carry_file(shifted(tmp_path, -0.04), Wanted(frames=24), original)
    plain = make_cycle(Request(frames=24))
    lower = made.carried.clip.root_path_m - plain.root_path_m
    np.testing.assert_allclose(lower, np.tile([0.0, 0.0, -0.04], (25, 1)), atol=1e-5)
    assert made.slip_m < 1e-4
    assert "body and feet are 40 mm lower" in made.text()
    assert "nothing was changed" not in made.text()


def test_a_clip_that_was_put_elsewhere_in_its_scene_is_not_an_edit(tmp_path):
    made = carry_file(shifted(tmp_path, 0.8), Wanted(frames=24))
    plain = make_cycle(Request(frames=24))
    assert np.abs(made.carried.clip.root_path_m - plain.root_path_m).max() < 1e-6
    assert "the whole clip is 800 mm higher" in made.text()


def nodded(folder, strides, *edited, in_place=True):
    """Write a clip of 24 frames a stride in which the head is turned in a few frames of some strides."""
    clip = make_cycle(Request(frames=24, strides=strides, in_place=in_place))
    local = matrix_from_quaternion(clip.rotations)
    rows = np.concatenate([24 * stride + np.arange(6, 15) for stride in edited])
    turn = np.radians(8.0) * np.tile(np.sin(np.pi * np.arange(1, 10) / 10.0), len(edited))
    head = clip.animal.joint("head")
    local[rows, head] = local[rows, head] @ Rotation.from_rotvec(np.outer(turn, [0.0, 1.0, 0.0])).as_matrix()
    path = folder / "hero.bvh"
    changed = replace(clip, rotations=continuous_sign(quaternion_from_matrix(local)))
    path.write_bytes(bvh.encode(changed, FileSpace()))
    return path


@pytest.mark.sample(1, 1)
@pytest.mark.parametrize("stride", [0, 1, 2])
@pytest.mark.parametrize("in_place", [True, False])
def test_the_one_stride_that_was_changed_is_carried(tmp_path, stride, in_place):
    made = carry_file(nodded(tmp_path, 3, stride, in_place=in_place), Wanted(frames=24))
    assert [joint.joint for joint in made.joints()] == ["head"]
    assert made.joints()[0].changed_deg == pytest.approx(8.0, abs=0.01)
    assert made.joints()[0].changed_at == 11
    at = 24 * stride
    assert f"stride {stride + 1} of hero.bvh differs from the others, in frames {at + 7} to {at + 15};" in (
        made.text()
    )


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("strides", "edited", "told"),
    [
        (2, (1,), "its 2 strides are not alike, they differ in frames 7 to 15 and 31 to 39; cut the clip"),
        (4, (1, 3), "its 4 strides are not alike, they differ in frames"),
        (
            5,
            (1, 3),
            "they differ in frames 31 to 39 and 79 to 87; cut the clip to the stride to carry, such as",
        ),
    ],
)
def test_which_of_several_strides_is_meant_is_not_guessed(strides, edited, told, tmp_path, capsys):
    path = nodded(tmp_path, strides, *edited)
    assert run(["carry", str(path), "--frames", "32"]) == 2
    said = capsys.readouterr().err
    assert told in said
    assert said.count("\n") == 1
    assert [each.name for each in tmp_path.iterdir()] == ["hero.bvh"]


def test_the_stride_that_is_proposed_goes_on_and_ends_as_it_began():
    """Of a clip that sets off in its first stride, comes to a stand in its third and stands in its fourth."""
    clip = make_cycle(Request(frames=24, strides=4))
    rotations = clip.rotations.copy()
    rotations[:4], rotations[60:] = rotations[4], rotations[60]
    asked = Unlike(24, 4, np.ones(clip.frames, dtype=np.bool_))
    assert even_stride(replace(clip, rotations=rotations), asked) == 1


def test_a_last_frame_that_alone_was_changed_is_told(tmp_path):
    clip = make_cycle(Request(frames=24))
    rotations = clip.rotations.copy()
    head = clip.animal.joint("head")
    rotations[-1, head] = rotations[-4, head]
    path = tmp_path / "hero.bvh"
    path.write_bytes(bvh.encode(replace(clip, rotations=rotations), FileSpace()))
    said = carry_file(path, Wanted(frames=32)).text()
    assert "the last frame of the stride is not as its first" in said
    assert "nothing was changed" not in said


@pytest.mark.thorough
def test_drawn_strides_that_differ_are_told_once(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("gaitgen.pictures.pose_cell.paint", lambda *_, **__: None)  # its words are looked at
    path = nodded(tmp_path, 3, 1)
    for line in (
        ["sheet", str(path), "--out", str(tmp_path)],
        ["preview", str(path), "--html", f"{path}.html"],
    ):
        assert run(line) == 0
        said = capsys.readouterr().out
        assert said.count("the strides differ, in frames 31 to 39; only the first is drawn") == 1
        assert said.count("first is drawn") == 1
    path = made_by_hand(tmp_path, degrees=0.0, frames=24, strides=3, in_place=False)
    assert run(["preview", str(path), "--html", str(tmp_path / "plain.html")]) == 0
    assert "strides differ" not in capsys.readouterr().out


@pytest.mark.thorough
def test_speed_contacts_and_style_of_the_start_are_found_or_given(tmp_path):
    limp = "RH 1-20, RF 7-29, LH 15-39, LF 24-47"
    for options in ({"speed_m_s": 1.0}, {"contacts": limp}):
        made = carry_file(made_by_hand(tmp_path, degrees=0.0, frames=32, **options), Wanted(frames=32))
        assert max((joint.changed_deg for joint in made.joints()), default=0.0) < 0.1, options
    style = Request().style
    path = made_by_hand(tmp_path, degrees=0.0, style=replace(style, nod=1.3))
    assert carry_file(path, Wanted(frames=24, style=replace(style, nod=1.3))).joints() == ()
    carried = {joint.joint: joint for joint in carry_file(path, Wanted(frames=24)).joints()}
    assert carried["head"].carried_deg > 1.0, "what the style does is carried as if done by hand"


@pytest.mark.sample(1, 2)
@pytest.mark.parametrize("space", [FileSpace(), FileSpace("m", "z", "XYZ"), FileSpace("in")])
def test_the_new_files_are_in_the_space_of_the_old(tmp_path, space):
    path = made_by_hand(tmp_path, space=space)
    assert space_of(path) == (space, ())
    assert run(["carry", str(path), "--frames", "24", "--name", "far", "--no-keys"]) == 0
    one, other = (read_bvh((tmp_path / f"{n}.bvh").read_bytes(), n) for n in ("hero", "far"))
    assert one.channels == other.channels
    np.testing.assert_array_equal(one.offsets, other.offsets)


def test_the_command_reports_joint_by_joint_and_keeps_what_was_refined(tmp_path, capsys):
    path = made_by_hand(tmp_path)
    before = path.read_bytes()
    line = ["carry", str(path), "--frames", "24", "--animal", "draft_horse"]
    assert run(line) == 0
    said = capsys.readouterr().out
    assert "changed" in said
    assert "neck_1" in said
    assert "hero_draft_horse_walk_24.bvh" in said
    assert path.read_bytes() == before
    assert read_record(tmp_path)["hero_draft_horse_walk_24.bvh"][1] == EDIT
    assert run([*line, "--json"]) == 0
    facts = json.loads(capsys.readouterr().out)
    assert facts["slip_m"] < 1e-4
    assert {"joint", "changed_deg", "changed_at", "carried_deg", "carried_at"} <= set(facts["joints"][0])
    again = tmp_path / "hero_draft_horse_walk_24.bvh"
    assert run(["check", str(again)]) in {0, 1}


@pytest.mark.thorough
def test_the_clip_it_started_from_may_be_named(tmp_path):
    plain = make_cycle(Request(style=replace(Request().style, nod=1.3)))
    (tmp_path / "start.bvh").write_bytes(bvh.encode(plain, FileSpace()))
    edited = planted_edit(plain, 5, 1.0).clip
    (tmp_path / "hero.bvh").write_bytes(bvh.encode(edited, FileSpace()))
    made = carry_file(tmp_path / "hero.bvh", Wanted(frames=24), tmp_path / "start.bvh")
    direct = difference(plain, edited)
    np.testing.assert_allclose(made.edit.turn_rad, direct.turn_rad, atol=1e-6)
    longer = make_cycle(Request(frames=24))
    (tmp_path / "start.bvh").write_bytes(bvh.encode(longer, FileSpace()))
    with pytest.raises(RequestError, match="give two clips of one length"):
        carry_file(tmp_path / "hero.bvh", Wanted(frames=24), tmp_path / "start.bvh")


@pytest.mark.sample(3)
@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--frames", "0"], "frames is 0; give a number from 8 to 2000"),
        (["--frames", "4"], "a walk needs at least"),
        (["--animal", "unicorn"], "unicorn"),
        (["--gait", "hop"], "unknown gait 'hop'"),
        (["--from", "nowhere.bvh"], "nowhere.bvh is not there"),
        (["--speed", "-1"], "speed is -1"),
    ],
)
def test_what_cannot_be_carried_is_one_line_and_writes_nothing(options, told, tmp_path, capsys):
    path = made_by_hand(tmp_path, degrees=0.0)
    before = {each.name: each.read_bytes() for each in tmp_path.iterdir()}
    assert run(["carry", str(path), *options]) == 2
    said = capsys.readouterr().err
    assert told in said
    assert said.count("\n") == 1
    assert {each.name: each.read_bytes() for each in tmp_path.iterdir()} == before
