"""Control curves: where feet and body are in space, for a rig with controls."""

import csv
import io
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from make_last_rigs import LAST
from make_rigs import text
from scipy.interpolate import CubicHermiteSpline
from scipy.spatial.transform import Rotation

from gaitgen import Request, animal_names, load_animal, make_cycle
from gaitgen.errors import RequestError
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh_file import world_end_sites
from gaitgen.formats.controls import control_keys, control_table, encode
from gaitgen.formats.hand_off import HandOff
from gaitgen.formats.hand_off import encode as encode_hand_off
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.controls import controls, rig_scale
from gaitgen.motion.tolerance import Tolerance
from gaitgen.rigs.command import cycle_on_rig, fit

HORSES = [name for name in animal_names() if load_animal(name).species == "horse"]
METRES = FileSpace("m", "z", "XYZ")
FEW = settings(max_examples=5, deadline=None, derandomize=True)
HOOVES = {"LF": "fore_hoof_L", "RF": "fore_hoof_R", "LH": "hind_hoof_L", "RH": "hind_hoof_R"}


@cache
def walk(**options):
    return make_cycle(Request(**options))


def columns(clip, space=METRES, scale=1.0):
    names, table = control_table(controls(clip, scale), space)
    return dict(zip(names, table.T, strict=True))


def curves(keys):
    return {
        name: CubicHermiteSpline(keys.frame[mine], keys.value[mine], keys.tangent_out[mine])
        for k, name in enumerate(keys.names)
        for mine in [keys.channel == k]
    }


@FEW
@given(st.sampled_from(HORSES), st.integers(8, 96), st.booleans(), st.booleans())
def test_splines_through_the_keys_are_the_curves(animal, frames, in_place, whole_frames):
    clip = make_cycle(Request(animal=animal, frames=frames, in_place=in_place, whole_frames=whole_frames))
    keys = control_keys(clip, controls(clip), METRES)
    for k, (name, curve) in enumerate(curves(keys).items()):
        away = np.abs(curve(np.arange(clip.frames) + 1.0) - columns(clip)[name]).max()
        assert away == pytest.approx(keys.deviation[k], abs=1e-9), name
        limit = 0.003 if name.endswith("position") else 0.01 if name.endswith(("planted", "breath")) else 0.5
        assert away <= limit, name


@FEW
@given(st.sampled_from(HORSES), st.integers(8, 96), st.sampled_from([1, 2]), st.booleans())
def test_keys_of_a_planted_foot_lie_exactly_on_the_belt(animal, frames, strides, whole_frames):
    clip = make_cycle(Request(animal=animal, frames=frames, strides=strides, whole_frames=whole_frames))
    keys = control_keys(clip, controls(clip), METRES)
    step = float(clip.belt_m_s[0]) / clip.frame_rate_hz
    by_name, dense = curves(keys), columns(clip)
    for limb in LIMBS:
        down = dense[f"{limb}.planted"] == 1.0
        both = np.flatnonzero(down[1:] & down[:-1]) + 1.0  # a frame and the next, counted from 1
        at = (both[:, None] + np.linspace(0.0, 1.0, 7)).ravel()  # between frames as well
        assert at.size
        np.testing.assert_allclose(by_name[f"{limb}.toe.Xposition"](at, 1), -step, atol=1e-9)
        for still in ("toe.Yposition", "toe.Zposition", "heading"):
            np.testing.assert_allclose(by_name[f"{limb}.{still}"](at, 1), 0.0, atol=1e-9)
        np.testing.assert_allclose(by_name[f"{limb}.planted"](at), 1.0, atol=1e-12)


def test_a_travelling_foot_stays_on_its_print():
    clip = walk(in_place=False, strides=2)
    dense = columns(clip)
    for limb in LIMBS:
        down = dense[f"{limb}.planted"] == 1.0
        both = down[1:] & down[:-1]
        for axis in "XYZ":
            np.testing.assert_array_equal(np.diff(dense[f"{limb}.toe.{axis}position"])[both], 0.0)
        assert np.ptp(dense[f"{limb}.toe.Xposition"]) > 1.0


def test_planted_frames_are_the_stances_of_the_plan():
    # Common practice, no source: 32 frames from the right hind contact, contacts at 1, 9, 17 and 25.
    dense = columns(walk())
    for limb, contact in (("RH", 1), ("RF", 9), ("LH", 17), ("LF", 25)):
        down = dense[f"{limb}.planted"]
        assert set(down.tolist()) == {0.0, 1.0}
        assert down[contact - 1] == 1.0
        assert down[(contact - 2) % 32] == 0.0
        assert down[:-1].sum() == 22  # 21 frames from contact to lift-off, both counted


@pytest.mark.parametrize("animal", HORSES)
@pytest.mark.parametrize("space", [FileSpace(), FileSpace("in", "z", "YXZ")])
def test_feet_are_where_the_bvh_has_them(animal, space):
    clip = walk(animal=animal, frames=24)
    names, table = control_table(controls(clip), space)
    motion = read_bvh(bvh.encode(clip, space), "some.bvh")
    sites = world_end_sites(motion)
    for limb, joint in HOOVES.items():
        toe = table[:, [names.index(f"{limb}.toe.{axis}position") for axis in "XYZ"]]
        site = motion.end_joints.tolist().index(motion.joint_names.index(joint))
        np.testing.assert_allclose(toe, sites[:, site], atol=1e-4 / space.metres_per_unit)


@pytest.mark.parametrize("space", [FileSpace(), METRES, FileSpace("cm", "y", "XZY")])
def test_world_rotations_are_the_products_of_the_channels(space):
    clip = walk(frames=24)
    names, table = control_table(controls(clip), space)
    words, channel = bvh.channel_table(clip, space)
    order = space.rotation_order

    def turned(columns, values, joint):
        place = [columns.index(f"{joint}.{letter}rotation") for letter in order]
        return Rotation.from_euler(order, values[:, place], degrees=True)

    skeleton = clip.animal
    for part, joint in {"pelvis": "pelvis", "chest": "thorax_1", "head": "head", "tail_3": "tail_3"}.items():
        world, row = Rotation.identity(clip.frames), skeleton.joint(joint)
        while row >= 0:
            world = turned(words, channel, skeleton.joint_names[row]) * world
            row = int(skeleton.parents[row])
        away = turned(names, table, part).inv() * world
        assert away.magnitude().max() < 1e-9


def test_pitch_and_toe_roll_share_the_tip_of_the_sole():
    dense = columns(walk())
    for limb in LIMBS:
        pitch, roll = dense[f"{limb}.pitch"], dense[f"{limb}.toe_roll"]
        assert roll.min() == 0.0
        assert (pitch + roll).min() >= -1e-12
        planted = dense[f"{limb}.planted"] == 1.0
        early = planted & np.roll(planted, 4) & np.roll(planted, -8)
        assert np.all(pitch[early] == 0.0), "flat in the middle of stance"
        assert roll[planted].max() > 5.0, "rolls over the toe before it leaves"


def test_breath_is_the_plan_and_every_part_is_there():
    dense = columns(walk())
    np.testing.assert_array_equal(dense["breath"], walk().plan.breath)
    assert 0.0 <= dense["breath"].min() < 0.1
    assert 0.9 < dense["breath"].max() <= 1.0
    parts = {name.split(".")[0] for name in dense}
    assert parts >= {
        *LIMBS,
        "pelvis",
        "chest",
        "neck",
        "head",
        "jaw",
        "ear_L",
        "ear_R",
        "tail_1",
        "tail_5",
        "breath",
    }


def test_a_rig_of_another_size_gets_its_own_lengths_and_the_same_angles():
    clip = walk()
    plain, half = columns(clip, FileSpace()), columns(clip, FileSpace(), 0.5)
    for name, values in plain.items():
        factor = 0.5 if name.endswith("position") else 1.0
        np.testing.assert_allclose(half[name], factor * values, atol=1e-12)
    height = clip.animal.withers_height_m * 100.0 / 2.0
    by_scale, by_height = (
        encode_hand_off(clip, FileSpace(), HandOff(controls=True, **size))[0]
        for size in ({"rig_scale": 0.5}, {"rig_height": height})
    )
    assert by_scale == by_height
    size = 0.01
    keys = control_keys(clip, controls(clip, size), METRES, Tolerance(), size)
    full = control_keys(clip, controls(clip), METRES)
    assert keys.value.size == full.value.size, "a small rig gets as many keys"


@pytest.mark.thorough
def test_curves_on_a_rig_take_the_size_of_another_one(tmp_path):
    """A clip on a map, for controls of a bigger figure: its places are so many times as large."""
    (tmp_path / "gacela.bvh").write_text(text(LAST["gacela"]))
    fit(tmp_path / "gacela.bvh", tmp_path / "gacela.toml")
    made = cycle_on_rig(str(tmp_path / "gacela.toml"), Request(gait="walk", frames=12))
    height = 3.0 * made.clip.animal.withers_height_m
    plain, tall, same = (
        made.files(HandOff(controls=True, **size))
        for size in ({}, {"rig_height": height}, {"rig_scale": 3.0})
    )
    assert tall == same
    assert {end for end in plain if plain[end] != tall[end]} == {".controls.csv", ".controls.keys.csv"}
    for name, values in _table(plain[".controls.csv"]).items():
        times = 3.0 if name.endswith("position") else 1.0
        np.testing.assert_allclose(_table(tall[".controls.csv"])[name], times * values, atol=4e-6)
    with pytest.raises(RequestError, match=r"rig height in m makes the rig .* times the animal"):
        made.files(HandOff(controls=True, rig_height=1e6))


def _table(data):
    rows = list(csv.DictReader(io.StringIO(data.decode())))
    return {name: np.array([float(row[name]) for row in rows]) for name in rows[0]}


@pytest.mark.parametrize("number", [0.0, -1.0, float("nan"), float("inf"), 1e9])
def test_a_size_that_is_none_is_refused(number):
    with pytest.raises(RequestError, match=r"rig scale makes the rig .* give 0\.0001 to 10000 times"):
        rig_scale(1.6, factor=number, height_m=None)
    with pytest.raises(RequestError, match=r"rig height in in makes the rig .* times the animal"):
        rig_scale(1.6, factor=None, height_m=number, unit="in")


def test_the_dense_file_has_one_row_a_frame_and_plain_words():
    clip = walk(frames=16)
    data = encode(controls(clip), FileSpace(), clip.frame_rate_hz)
    assert data == encode(controls(clip), FileSpace(), clip.frame_rate_hz)
    rows = list(csv.reader(io.StringIO(data.decode())))
    assert len(rows) == 18
    assert rows[0][:9] == [
        "frame",
        "time_s",
        *(f"LF.toe.{a}position" for a in "XYZ"),
        *(f"LF.{w}" for w in ("heading", "pitch", "toe_roll", "planted")),
    ]
    assert rows[0][-1] == "breath"
    assert rows[3][:2] == ["3", "0.083333"]
