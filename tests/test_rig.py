"""The user's own rig: found by structure, mapped, and posed with its own joints.

The rigs are invented ones, made by ``make_rigs.py``; that a map names the right joints is checked against the
table they were made from. No source: what a rig looks like is common practice.
"""

import csv
import json
import re
import subprocess
import sys
import tomllib
from dataclasses import replace
from functools import cache
from pathlib import Path

import bvh as second_reader
import make_rigs
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from make_rigs import HERE, UNITS, X_UP, Z_UP, base, between, moved, odd_plans, plans, text, without, yawed
from scipy.spatial.transform import Rotation
from splines import hermite

from gaitgen.animal.library import load_animal
from gaitgen.commands import run
from gaitgen.commands.check_file import check_file
from gaitgen.course.stance import stance_state
from gaitgen.errors import GaitgenError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh import encode
from gaitgen.formats.bvh_file import world_end_sites, world_positions
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.formats.units import METRES_PER_UNIT, UNIT_WORDS
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.tolerance import Tolerance
from gaitgen.pipeline import Request, make_cycle
from gaitgen.rigs.command import cycle_on_rig, fit
from gaitgen.rigs.find import find_rig
from gaitgen.rigs.map_file import is_map, read_map
from gaitgen.rigs.rig import hierarchy_bytes

PLANS = plans()
SLIP_M = 1e-3
SIDES = {"L": "a", "R": "b"}
FORE = (
    ("blade", "scapula"),
    ("point", "humerus"),
    ("bow", "radius"),
    ("knee", "fore_cannon"),
    ("ankle", "fore_pastern"),
    ("sole", "fore_hoof"),
)
HIND = (
    ("rump", "femur"),
    ("flank", "tibia"),
    ("heelbone", "hind_cannon"),
    ("rear_ankle", "hind_pastern"),
    ("rear_sole", "hind_hoof"),
)
# What each plan leaves out of, or puts into, the limbs, by joint name: "-" follows the joint above.
LEFT_OUT = {
    "no_scapula": {"blade"},
    "small": {"blade"},
    "merged_pastern": {"sole", "rear_sole"},
    "cannon_to_hoof": {"ankle", "rear_ankle"},
}
NAMED = [name for name in PLANS if name != "nameless"]


def found_in(name):
    data = (HERE / f"{name}.bvh").read_bytes()
    return find_rig(read_bvh(data, name), name)


@pytest.fixture(scope="module")
def charts(tmp_path_factory):
    """Fit a rig, once it is asked for; the inch rig needs its unit put right in the map."""
    folder = tmp_path_factory.mktemp("charts")

    @cache
    def chart(name):
        target = folder / f"{name}.toml"
        fit(HERE / f"{name}.bvh", target)
        target.write_text(re.sub(r'unit = ".*"', f'unit = "{PLANS[name].unit}"', target.read_text()))
        return str(target)

    return chart


WALKED = ("plain", "z_up_metres")  # always, once for all tests of walks


@pytest.fixture(scope="module")
def walks(charts):
    """Walk a rig, once it is asked for."""
    return cache(lambda name: cycle_on_rig(charts(name), Request(frames=24)))


def test_a_cycle_at_another_rate_than_the_file_of_its_rig_says_so(tmp_path, capsys):
    """A scene at 25 fps plays a clip made at 24 too fast."""
    data = (HERE / "plain.bvh").read_text()
    (tmp_path / "plain.bvh").write_text(data.replace("Frame Time: 0.041667", "Frame Time: 0.04"))
    fit(tmp_path / "plain.bvh", tmp_path / "plain.toml")
    words = ["cycle", "walk", "--animal", str(tmp_path / "plain.toml"), "--no-keys", "--out", str(tmp_path)]
    for more, is_said in (([], True), (["--fps", "25", "--name", "b"], False)):
        assert run([*words, *more]) == 0
        assert ("is at 25 fps, and this is made at 24; if" in capsys.readouterr().out) == is_said


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("frame_time", "advised"),
    [("0.041708", "23.976"), ("0.0333667", "29.97"), ("0.016683", "59.94"), ("0.0125", "80")],
)
def test_the_rate_that_is_advised_gives_the_frame_time_of_the_rig(frame_time, advised, tmp_path, capsys):
    """A rate with two decimals was advised, with which the clip and its scene drift apart."""
    data = (HERE / "plain.bvh").read_text()
    (tmp_path / "plain.bvh").write_text(data.replace("Frame Time: 0.041667", f"Frame Time: {frame_time}"))
    fit(tmp_path / "plain.bvh", tmp_path / "plain.toml")
    words = ["cycle", "walk", "--animal", str(tmp_path / "plain.toml"), "--no-keys", "--out", str(tmp_path)]
    capsys.readouterr()
    assert run([*words, "--fps", "48"]) == 0
    assert f"`gaitgen cycle --fps {advised}`" in capsys.readouterr().out
    assert run([*words, "--fps", advised, "--name", "again"]) == 0
    assert "begin with a clip at it" not in capsys.readouterr().out
    (written,) = re.findall(r"Frame Time: (\S+)", (tmp_path / "again.bvh").read_text())
    assert abs(float(written) - float(frame_time)) < 5e-7


def test_files_are_what_the_table_makes():
    for name, plan in PLANS.items():
        assert (HERE / f"{name}.bvh").read_bytes() == text(plan).encode(), f"run {make_rigs.__file__}"


@pytest.mark.sample(4)
@pytest.mark.parametrize("name", NAMED)
def test_parts(name):
    found, _ = found_in(name)
    spine = ("hub", "loin", "girth", "brisket")
    assert found.spine == (("hub", "brisket") if name == "two_joint_spine" else spine)
    assert found.neck == ("crest_a", "crest_b")
    assert (found.head, found.jaw) == ("skull", "chin")
    assert (found.ear_left, found.ear_right) == ("lug_a", "lug_b")
    assert found.tail == ("brush_a", "brush_b", "brush_c")


@pytest.mark.sample(4)
@pytest.mark.parametrize("name", NAMED)
def test_limbs(name):
    found, _ = found_in(name)
    for limb, own in found.limbs.items():
        expected = [
            (f"{joint}_{SIDES[limb[0]]}", bone)
            for joint, bone in (FORE if limb[1] == "F" else HIND)
            if joint not in LEFT_OUT.get(name, ())
        ]
        if name == "extra_joints":
            place, extra = (3, "twirl") if limb[1] == "F" else (0, "socket")
            expected.insert(place, (f"{extra}_{SIDES[limb[0]]}", "-"))
        assert list(zip(own.joints, own.bones, strict=True)) == expected


def test_names_do_not_matter():
    """The same animal under names that say nothing has the same parts."""
    told, _ = found_in("plain")
    untold, _ = found_in("nameless")
    known = list(base().joints)

    def back(name):
        row, _, side = name[1:].partition("_")
        return known[int(row)].format(side)

    assert tuple(map(back, untold.spine + untold.neck + untold.tail)) == told.spine + told.neck + told.tail
    assert (back(untold.head), back(untold.jaw), back(untold.ear_left)) == (
        told.head,
        told.jaw,
        told.ear_left,
    )
    for limb in LIMBS:
        assert tuple(map(back, untold.limbs[limb].joints)) == told.limbs[limb].joints


@pytest.mark.sample(4)
@pytest.mark.parametrize("name", PLANS)
def test_axes_unit_and_rest(name):
    found, notices = found_in(name)
    plan = PLANS[name]
    forward, _, up = (np.array(axis, dtype=float) for axis in plan.axes)
    np.testing.assert_allclose(found.forward, forward, atol=1e-4)
    assert found.up == "xyz"[int(np.argmax(up))]
    assert found.rest == ("zero" if plan.turned is None else "first frame")
    assert ("rest" in {n.topic for n in notices}) == (plan.turned is not None)
    told = next(n.text for n in notices if n.topic == "unit")
    assert "guess" in told
    assert (
        found.unit == plan.unit or f"{UNIT_WORDS.get(plan.unit)} would fit about as well" in told
    )  # half a metre, or inches


def foot_paths_m(plan, data, made):
    """Toes of the written file in our axes and metres, (frames, 4, 3), without the code under test."""
    file = read_bvh(data, "x.bvh")
    ends = world_end_sites(file) * UNITS[plan.unit] @ np.array(plan.axes, dtype=float).T
    lasts = [file.joint_names.index(made.rig.map.limbs[limb].joints[-1]) for limb in LIMBS]
    rows = [next(e for e, joint in enumerate(file.end_joints) if joint == last) for last in lasts]
    return ends[:, rows]


def worst_slip_m(plan, made):
    """How far planted toes are from their prints: a shift of the whole plan, the rig's origin, is free."""
    clip = made.clip
    moments = np.arange(clip.frames) / clip.frame_rate_hz
    state = stance_state(clip.steps, moments)
    toes = foot_paths_m(plan, made.bvh(), made)
    toes[..., :2] += (moments[:, None] * clip.belt_m_s)[:, None]
    away = toes[..., :2] - state.place_m[..., :2]
    away = away - np.median(away[state.planted], axis=0)
    flat = np.where(state.planted, np.hypot(away[..., 0], away[..., 1]), 0.0)
    height = np.where(state.planted, np.abs(toes[..., 2]), 0.0)
    assert toes[..., 2].min() > -SLIP_M
    assert np.ptp(toes[..., 2], axis=0).min() > 0.01 * clip.animal.hip_height_m  # every foot is lifted
    return max(float(flat.max()), float(height.max()))


@pytest.mark.always(*WALKED)
@pytest.mark.parametrize("name", PLANS)
def test_feet_are_where_the_plan_puts_them(name, walks):
    assert worst_slip_m(PLANS[name], walks(name)) < SLIP_M


@pytest.mark.always(*WALKED)
@pytest.mark.parametrize("name", PLANS)
def test_file_keeps_the_hierarchy(name, walks):
    original = (HERE / f"{name}.bvh").read_bytes()
    written = walks(name).bvh()
    above = original[: original.index(b"MOTION")]
    assert written[: len(above)] == above
    assert written[len(above) :].startswith(b"MOTION")
    line_end = b"\r\n" if b"\r\n" in above else b"\n"
    assert written.count(b"\n") == written.count(line_end) == len(written.split(line_end)) - 1
    assert written == walks(name).bvh()


@pytest.mark.always(*WALKED)
@pytest.mark.parametrize("name", PLANS)
def test_moves_smoothly_and_closes(name, walks):
    file = read_bvh(walks(name).bvh(), name)
    np.testing.assert_allclose(file.rows[-1], file.rows[0], atol=2e-6)
    places = world_positions(file) / np.ptp(world_positions(file)[0], axis=0).max()
    assert np.abs(np.diff(places, axis=0)).max() < 0.2  # of the rig's size, a frame, at 24 frames a stride
    trunk = [file.joint_names.index(joint) for joint in walks(name).rig.map.spine]
    assert np.abs(np.diff(places[:, trunk], axis=0)).max() < 0.02


@pytest.mark.sample(1)
@pytest.mark.parametrize("gait", ["walk", "trot"])
def test_a_leg_without_a_pastern_keeps_its_hock_bound_to_its_stifle(gait, charts, tmp_path):
    """The law of the animal opens the hock by .9 of what the stifle opens; `check` allows 12 degrees."""
    path = charts("merged_pastern")
    made = cycle_on_rig(str(path), Request(gait=gait))
    assert not [notice for notice in made.clip.notices if "rig's legs reach" in notice.text]
    file = read_bvh(made.bvh(), "merged_pastern")
    places, row = world_positions(file), file.joint_names.index
    stands = made.rig.places_m
    for side in "ab":
        leg = [row(f"{joint}_{side}") for joint in ("rump", "flank", "heelbone", "rear_ankle")]
        angles = [
            np.degrees(np.pi - np.arccos(np.clip(np.sum(a * b, axis=-1), -1.0, 1.0)))
            for three in (leg[:3], leg[1:])
            for where in (places, stands)
            for a, b in [unit_sides(where[..., three, :])]
        ]
        stifle, hock = angles[0] - angles[1], angles[2] - angles[3]
        assert np.ptp(stifle) > 30.0
        assert np.abs(hock - 0.9 * stifle).max() < 1.5
    (tmp_path / "a.bvh").write_bytes(made.bvh())
    assert [each.kind for each in check_file(tmp_path / "a.bvh", map_path=Path(path)).findings] == []


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", ["plain", "few_channels", "merged_pastern", "x_up_inches"])
def test_sparse_keys_of_a_rig_are_few_and_hold_its_toes_between_frames_too(name, charts):
    """At one degree about six a channel of a leg that moves; five where those are counted that rest too."""
    made = cycle_on_rig(charts(name), Request())
    keys = made.keys(Tolerance(1.0), is_sparse=True)
    lasts = [made.rig.map.limbs[limb].joints[-1] for limb in LIMBS]
    legs = {joint for limb in LIMBS for joint in made.rig.map.limbs[limb].joints}
    counts = keys.count[[channel.split(".")[0] in legs for channel in keys.names]]
    assert counts[counts > 1].mean() < 6.7
    assert counts.mean() < 5.5
    assert np.all(keys.deviation <= keys.tolerance + 1e-9)
    file = read_bvh(made.bvh(), name)
    ends = [next(k for k, j in enumerate(file.end_joints) if file.joint_names[j] == last) for last in lasts]
    whole = world_end_sites(file)[:, ends]
    at = np.arange((len(whole) - 1) * 4 + 1)
    share = (at / 4 % 1)[:, None, None]
    asked = (1 - share) * whole[at // 4] + share * whole[-(-at // 4)]
    away = world_end_sites(replace(file, rows=keys.played(4)))[:, ends] - asked
    planted = stance_state(made.clip.steps, np.arange(made.clip.frames) / made.clip.frame_rate_hz).planted
    holds = planted[at // 4] & planted[-(-at // 4)]
    assert np.linalg.norm(away, axis=2)[holds].max() * made.rig.metres_per_unit < 3.1e-3


def unit_sides(three):
    """From the first to the second and from there to the third of points (..., 3, 3), of length 1."""
    sides = np.diff(three, axis=-2)
    sides = sides / np.linalg.norm(sides, axis=-1, keepdims=True)
    return sides[..., 0, :], sides[..., 1, :]


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", ["plain", "extra_joints", "merged_pastern", "facing_away", "few_channels"])
def test_bones_keep_their_length_and_forelegs_carry_straight(name, walks):
    made = walks(name)
    file = read_bvh(made.bvh(), name)
    places = world_positions(file)
    sides = np.linalg.norm(places[:, 1:] - places[:, file.parents[1:]], axis=2)
    assert np.ptp(sides, axis=0).max() < 1e-6 * sides.max()
    if name == "few_channels":
        return
    state = stance_state(made.clip.steps, np.arange(made.clip.frames) / made.clip.frame_rate_hz)
    for side, limb in (("a", 0), ("b", 1)):
        bow, knee, ankle = (
            places[:, file.joint_names.index(f"{n}_{side}")] for n in ("bow", "knee", "ankle")
        )
        a, b = knee - bow, ankle - knee
        bend = np.degrees(
            np.arccos(np.sum(a * b, axis=1) / np.linalg.norm(a, axis=1) / np.linalg.norm(b, axis=1))
        )
        planted, heel_off = state.planted[:, limb], made.clip.animal.limbs[limb].path.heel_off_share
        locked = planted & (state.stance_share[:, limb] <= heel_off)
        assert bend[locked].max() < 4.0  # straight until the heel leaves; then it breaks with it
        assert bend[planted].max() < 15.0
        assert bend.max() > 30.0


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", odd_plans())
def test_odd_rigs(name, tmp_path):
    plan = odd_plans()[name]
    rig, target = tmp_path / "rig.bvh", tmp_path / "rig.toml"
    rig.write_text(text(plan))
    fitted = fit(rig, target)
    found, notices = fitted.map, fitted.notices
    topics = {notice.topic for notice in notices}
    assert ("names" in topics) == (name == "names that readers stumble over")
    assert ("parts" in topics) == (name == "no head and no tail")
    assert "forward" not in topics
    if name == "root between hips and chest":
        assert found.spine == ("hub", "core", "girth", "brisket")
    made = cycle_on_rig(str(target), Request(frames=24))
    assert worst_slip_m(plan, made) < SLIP_M
    assert made.bvh().startswith(rig.read_bytes().split(b"MOTION")[0])


@pytest.mark.sample(1, 1)
@pytest.mark.parametrize("name", ["plain", "facing_aside", "z_up_metres"])
def test_travelling_strides(name, charts):
    request = Request(frames=24, strides=2, in_place=False)
    made = cycle_on_rig(charts(name), request)
    assert worst_slip_m(PLANS[name], made) < SLIP_M
    file = read_bvh(made.bvh(), name)
    root = world_positions(file)[:, 0] * UNITS[PLANS[name].unit] @ np.array(PLANS[name].axes, dtype=float).T
    stride = made.clip.facts.stride_length_m
    np.testing.assert_allclose(root[-1] - root[0], [2.0 * stride, 0.0, 0.0], atol=1e-4)


@pytest.mark.thorough
@pytest.mark.parametrize("animal", ["riding_horse", "draft_horse"])
def test_our_own_file_as_a_rig(animal, tmp_path):
    """A file of ours, taken for a stranger's rig, is found by its own names and walks as it did."""
    clip = make_cycle(Request(animal=animal, frames=24))
    rig, target = tmp_path / "own.bvh", tmp_path / "own.toml"
    rig.write_bytes(encode(clip, FileSpace()))
    found = fit(rig, target).map
    own_animal = load_animal(animal)
    assert found.spine == own_animal.spine_names
    assert (found.head, found.jaw, found.ear_left, found.ear_right) == ("head", "jaw", "ear_L", "ear_R")
    for limb, own in found.limbs.items():
        assert own.joints == tuple(f"{bone}_{limb[0]}" for bone in own.bones)
        end, slings = ("fore", ("sling",)) if limb[1] == "F" else ("hind", ())
        assert own.bones == (*slings, *own_animal.bones(end))
    target.write_text(target.read_text().replace("riding_horse", animal))
    made = cycle_on_rig(str(target), Request(frames=24))
    before, after = (read_bvh(data, "x") for data in (rig.read_bytes(), made.bvh()))
    assert after.joint_names == before.joint_names
    apart = np.linalg.norm(world_positions(after) - world_positions(before), axis=2).max(axis=0) / 100.0
    by_name = dict(zip(before.joint_names, apart, strict=True))
    assert max(apart) < 0.015
    assert max(far for name, far in by_name.items() if "hoof" in name) < 0.002


def read_by_second(data):
    """Place the joints with the package bvh and scipy."""
    tree = second_reader.Bvh(data.decode())
    names = tree.get_joints_names()
    rows = np.array([[float(v) for v in row] for row in tree.frames])
    places, turns = {}, {}
    for name in names:
        words, start = tree.joint_channels(name), tree.get_joint_channels_index(name)
        values = rows[:, start : start + len(words)]
        offset = np.tile(tree.joint_offset(name), (len(rows), 1)).astype(float)
        local = Rotation.identity(len(rows))
        for k, word in enumerate(words):
            if word.endswith("position"):
                offset[:, "XYZ".index(word[0])] = values[:, k]
            else:
                local = local * Rotation.from_euler(word[0], values[:, k : k + 1], degrees=True)
        row = tree.joint_parent_index(name)
        if row < 0:
            places[name], turns[name] = offset, local
        else:
            above = names[row]
            places[name] = places[above] + turns[above].apply(offset)
            turns[name] = turns[above] * local
    return places


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", ["plain", "turned_joints", "mixed_orders", "x_up_inches"])
def test_second_reader(name, walks):
    data = walks(name).bvh()
    places = world_positions(read_bvh(data, name))
    found = read_by_second(data)
    for row, joint in enumerate(read_bvh(data, name).joint_names):
        np.testing.assert_allclose(found[joint], places[:, row], atol=1e-4 / UNITS[PLANS[name].unit])


def test_bvhio(walks, tmp_path):
    """bvhio wants three rotations a joint; it runs in its own process because it may hang."""
    for name in WALKED:
        (tmp_path / f"{name}.bvh").write_bytes(walks(name).bvh())
    script = Path(__file__).parent / "bvhio_positions.py"
    done = subprocess.run(
        [sys.executable, "-W", "ignore", str(script), str(tmp_path)],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    for name, read in json.loads(done.stdout).items():
        file = read_bvh((tmp_path / f"{name}.bvh").read_bytes(), name)
        places = world_positions(file)
        for row, joint in enumerate(file.joint_names):
            away = np.array(read[joint]) - places[:, row]
            assert np.abs(away).max() * UNITS[PLANS[name].unit] < 1e-4, f"{joint} of {name}"


def three_legs_less():
    biped = base()
    for joint in ("blade", "point", "bow", "knee", "ankle", "sole"):
        biped.joints.pop(f"{joint}_{{}}")
    biped.ends.pop("sole_{}")
    return biped


def one_leg_less():
    """Without its right fore leg; the other joints are named side by side."""
    plan = base()
    lost = tuple(f"{joint}_{{}}" for joint in ("point", "bow", "knee", "ankle", "sole"))
    joints = {}
    for name, (above, (x, y, z)) in plan.joints.items():
        for side, sign in (("l", 1.0), ("r", -1.0)) if "{}" in name else (("", 1.0),):
            if not (name in lost and side == "r"):
                joints[name.format(side)] = (above and above.format(side), (x, sign * y, z))
    ends = {}
    for name, (x, y, z) in plan.ends.items():
        for side, sign in (("l", 1.0), ("r", -1.0)) if "{}" in name else (("", 1.0),):
            if name.format(side) in joints:
                ends[name.format(side)] = (x, sign * y, z)
    plan.joints, plan.ends = joints, ends
    return plan


def six_legs():
    plan = base()
    for joint in ("rump", "flank", "heelbone", "rear_ankle", "rear_sole"):
        above, (x, y, z) = plan.joints[f"{joint}_{{}}"]
        plan.joints[f"mid_{joint}_{{}}"] = ("loin" if above == "hub" else f"mid_{above}", (x + 0.6, y, z))
    plan.ends["mid_rear_sole_{}"] = (0.45, 0.12, 0.0)
    return plan


def lopsided():
    plan = base()
    random = np.random.default_rng(3)
    plan.joints = {
        n.replace("_{}", "_x"): (p and p.replace("_{}", "_x"), tuple(np.array(at) + random.normal(0, 0.3, 3)))
        for n, (p, at) in plan.joints.items()
    }
    plan.ends = {n.replace("_{}", "_x"): at for n, at in plan.ends.items()}
    return plan


WRONG = {
    "two legs": (three_legs_less(), "only two legs reach the ground"),
    "three legs": (one_leg_less(), "3 legs reach the ground, and only two of them are a pair"),
    "six legs": (six_legs(), "6 legs reach the ground, not four"),
    "flat": (moved(base(), (1.0, 0.0, 1.0)), "flat"),
    "lying": (moved(base(), (1.0, 1.0, 0.0)), "no standing four-legged rig"),
    "no symmetry": (lopsided(), "left and right do not mirror each other"),
}


@pytest.mark.parametrize("name", WRONG)
def test_no_quadruped(name):
    plan, words = WRONG[name]
    with pytest.raises(GaitgenError) as caught:
        find_rig(read_bvh(text(plan).encode(), "rig.bvh"), "rig.bvh")
    said = str(caught.value)
    assert words in said
    assert said.startswith("rig.bvh ")
    assert "\n" not in said
    assert "give a rig that stands square on four feet" in said


def test_root_without_positions(tmp_path):
    data = (HERE / "plain.bvh").read_text()
    still = data.replace("CHANNELS 6 Xposition Yposition Zposition", "CHANNELS 3")
    rows = [
        line.split(" ", 3)[3] if i > 2 and line else line
        for i, line in enumerate(still.split("MOTION")[1].split("\n")[1:], 1)
    ]
    (tmp_path / "still.bvh").write_text(still.split("MOTION")[0] + "MOTION\n" + "\n".join(rows))
    with pytest.raises(GaitgenError, match="the root 'hub' lacks position channels"):
        fit(tmp_path / "still.bvh", None)


MAP_FAULTS = [
    ("format = 1", "format = 2", "format"),
    ('unit = "cm"', 'unit = "cn"', "unit is 'cn'; use one of cm, m, in, mm"),
    ('up = "y"', 'up = "w"', "up is 'w'"),
    ('up = "y"', 'up = "z"', "bad.toml: [rig] forward is"),
    ('rest = "zero"', 'rest = "bind"', "rest is 'bind'"),
    ('template = "riding_horse"', 'template = "riding_hors"', "did you mean 'riding_horse'"),
    ('file = "plain.bvh"', 'file = "gone.bvh"', "bad.toml: [rig] file: "),
    ('file = "plain.bvh"', 'file = "gone.bvh"', "gone.bvh is not there; give the path of a rig"),
    (
        'head = "skull"',
        'head = "skul"',
        "head has 'skul', which is no joint of the rig; did you mean 'skull'",
    ),
    ('head = "skull"', 'head = "chin"', "jaw has 'chin', which is in [parts] head too"),
    ('"crest_a", "crest_b"', '"crest_b", "crest_a"', "neck has 'crest_a' after 'crest_b'"),
    ('spine = ["hub", "loin", "girth", "brisket"]', 'spine = ["hub", "loin", "girth"]', None),
    ('spine = ["hub", "loin", "girth", "brisket"]', "spine = []", "spine is []"),
    ('spine = ["hub"', 'spine = ["brush_c"', "spine has 'loin' after 'brush_c'"),
    ('tail = ["brush_a"', 'tale = ["brush_a"', "has no tail"),
    ('"scapula", "humerus"', '"humerus", "scapula"', "bones are not at least two"),
    ('"scapula", "humerus"', '"scapula", "humorous"', "did you mean 'humerus'"),
    ('"scapula", ', "", "bones has 5 words for 6 joints"),
    ("[limbs.LF]", "[limbs.XF]", "has no table [limbs.LF]"),
    ("toe = [", "toe = [nan, ", "toe is"),
    ("toe = [0.000000, -5.500000", "toe = [0.000000, -95.500000", "correct toe in [limbs.LF]"),
    ("[parts]", "[partz]", "has no table [parts]"),
    ("[rig]", "[rig", "is not TOML"),
    ('joints = ["blade_a"', 'joints = ["rump_a"', "joints has 'point_a' after 'rump_a'"),
    ("\n[parts]", "\nsize = 3\n[parts]", "unknown key 'size'"),
]


@pytest.fixture(scope="module")
def plain_map(tmp_path_factory):
    folder = tmp_path_factory.mktemp("map")
    (folder / "plain.bvh").write_bytes((HERE / "plain.bvh").read_bytes())
    fit(folder / "plain.bvh", folder / "plain.toml")
    return folder, (folder / "plain.toml").read_text()


@pytest.mark.parametrize(("old", "new", "words"), MAP_FAULTS)
def test_faults_of_a_map(plain_map, old, new, words):
    folder, good = plain_map
    assert old in good
    bad = folder / "bad.toml"
    bad.write_text(good.replace(old, new, 1))
    if words is None:  # the fore limbs may hang further down than the chest that is named
        read_map(bad)
        return
    with pytest.raises(GaitgenError) as caught:
        cycle_on_rig(str(bad), Request(frames=16))
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


def test_map_says_what_was_found(plain_map):
    folder, _ = plain_map
    read, rig_path, data = read_map(folder / "plain.toml")
    found, _ = found_in("plain")
    assert rig_path.resolve() == (folder / "plain.bvh").resolve()
    assert data == (HERE / "plain.bvh").read_bytes()
    for limb in LIMBS:
        assert read.limbs[limb].joints == found.limbs[limb].joints
        np.testing.assert_allclose(read.limbs[limb].toe, found.limbs[limb].toe, atol=1e-6)
    assert (read.spine, read.neck, read.tail, read.head) == (found.spine, found.neck, found.tail, found.head)
    assert is_map(str(folder / "plain.toml"))
    assert not is_map(str(folder / "gone.toml"))


@pytest.mark.thorough
def test_unit_of_the_map_sets_the_size(plain_map):
    folder, good = plain_map
    other = folder / "mm.toml"
    other.write_text(good.replace('unit = "cm"', 'unit = "mm"'))
    large = cycle_on_rig(str(folder / "plain.toml"), Request(frames=16)).clip.animal.withers_height_m
    small = cycle_on_rig(str(other), Request(frames=16)).clip.animal.withers_height_m
    assert small == pytest.approx(large / 10.0, rel=1e-9)


@pytest.mark.usefixtures("fits_once")
def test_command(tmp_path, capsys):
    rig = str(HERE / "facing_aside.bvh")
    target, out = tmp_path / "m.toml", tmp_path / "out"
    assert run(["fit", rig]) == 0
    assert not list(tmp_path.iterdir())
    assert run(["fit", rig, "--map", str(target)]) == 0
    assert "rump_a (femur)" in capsys.readouterr().out
    assert tomllib.loads(target.read_text())["parts"]["head"] == "skull"
    assert run(["cycle", "walk", "--animal", str(target), "--frames", "16", "--out", str(out)]) == 0
    assert "facing_aside_walk_16.bvh" in capsys.readouterr().out
    written = (out / "facing_aside_walk_16.bvh").read_bytes()
    assert hierarchy_bytes(written) == hierarchy_bytes(Path(rig).read_bytes())
    first = (out / "facing_aside_walk_16.channels.csv").read_text().split("\n", 1)[0]
    assert first.startswith("frame,time_s,hub.Xposition")
    target.write_text(target.read_text() + "# mine\n")
    assert run(["fit", rig, "--map", str(target)]) == 2
    assert "there is a map already" in capsys.readouterr().err
    assert target.read_text().endswith("# mine\n")
    assert run(["fit", rig, "--map", str(target), "--force", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["spine"] == ["hub", "loin", "girth", "brisket"]
    spaced = tmp_path / "my rig.toml"
    assert run(["fit", rig, "--map", str(spaced)]) == 0
    assert f"next: gaitgen cycle walk --animal '{spaced}'" in capsys.readouterr().out
    for wrong, words in (
        (["--unit", "m"], "its own unit"),
        (["--withers-height", "1.4"], "its own proportions"),
    ):
        assert run(["cycle", "walk", "--animal", str(target), "--out", str(out), *wrong]) == 2
        assert words in capsys.readouterr().err
    assert run(["fit", str(tmp_path / "gone.bvh")]) == 2
    assert "is not there; give the path of a rig" in capsys.readouterr().err


NEARLY_DEG = 1.1  # a rig that faces so nearly along an axis of its file is taken to face along it


@st.composite
def invented(draw):
    """A rig of a made-up animal: other proportions, joint counts, axes, units, orders, heading."""
    stretch = draw(st.tuples(st.floats(0.8, 1.25), st.floats(0.7, 1.4), st.floats(0.85, 1.2)))
    plan = moved(base(), stretch)
    for names in draw(
        st.lists(
            st.sampled_from(
                [
                    ("blade_{}",),
                    ("loin",),
                    ("loin", "girth"),
                    ("sole_{}",),
                    ("rear_sole_{}",),
                    ("ankle_{}",),
                    ("crest_b",),
                    ("chin",),
                    ("brush_c", "brush_b"),
                ]
            ),
            max_size=3,
        )
    ):
        if all(name in plan.joints for name in names):
            plan = without(plan, *names)
    if draw(st.booleans()):
        plan = between(plan, "bow_{}", "knee_{}", draw(st.floats(0.3, 0.7)), "twirl_{}")
    if draw(st.booleans()):
        plan = between(plan, "flank_{}", "heelbone_{}", draw(st.floats(0.3, 0.7)), "rear_twirl_{}")
    plan.axes = draw(st.sampled_from([plan.axes, Z_UP, X_UP]))
    plan.unit = draw(st.sampled_from(["cm", "m", "mm"]))
    plan.order = draw(st.sampled_from(["XYZ", "XZY", "YXZ", "YZX", "ZXY", "ZYX"]))
    plan.turned = draw(st.sampled_from([None, None, 1, 2]))
    off_axis = st.floats(-44.0, 44.0).filter(lambda yaw: yaw == 0.0 or abs(yaw) > NEARLY_DEG)
    return yawed(plan, 90.0 * draw(st.integers(-2, 1)) + draw(off_axis))


@pytest.mark.thorough
@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(plan=invented(), frames=st.sampled_from([12, 24, 32]))
def test_invented_rigs(plan, frames, tmp_path):
    rig, target = tmp_path / "rig.bvh", tmp_path / "rig.toml"
    rig.write_text(text(plan))
    found = fit(rig, target, force=True).map
    assert found.unit == plan.unit
    for limb, own in found.limbs.items():
        words = dict(FORE if limb[1] == "F" else HIND)
        assert own.bones == tuple(words.get(joint.rsplit("_", 1)[0], "-") for joint in own.joints)
    np.testing.assert_allclose(found.forward, plan.axes[0], atol=1e-3)
    made = cycle_on_rig(str(target), Request(frames=frames))
    assert worst_slip_m(plan, made) < SLIP_M
    assert made.bvh().startswith(rig.read_bytes().split(b"MOTION")[0])


def one_line(error):
    assert str(error)
    assert "\n" not in str(error)


def refuses_or_works(data):
    try:
        found, _ = find_rig(read_bvh(data, "rig.bvh"), "rig.bvh")
    except GaitgenError as error:
        one_line(error)
        return None
    return found


@settings(max_examples=60, deadline=10_000)
@given(name=st.sampled_from(sorted(PLANS)), cut=st.floats(0.0, 1.0))
def test_cut_short(name, cut):
    data = (HERE / f"{name}.bvh").read_bytes()
    refuses_or_works(data[: int(cut * len(data))])


@pytest.mark.thorough
@settings(max_examples=150, deadline=10_000, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    name=st.sampled_from(sorted(PLANS)),
    damage=st.lists(
        st.tuples(
            st.floats(0.0, 1.0), st.sampled_from(["0", "-", "9e8", "1e-9", " ", "}", "{", "J", "\n", "é"])
        ),
        min_size=1,
        max_size=12,
    ),
)
def test_damaged(name, damage, tmp_path):
    data = (HERE / f"{name}.bvh").read_text()
    for place, put in damage:
        at = int(place * (len(data) - 1))
        data = data[:at] + put + data[at + 1 :]
    rig = tmp_path / "rig.bvh"
    rig.write_text(data)
    if refuses_or_works(rig.read_bytes()) is not None:
        try:
            fit(rig, tmp_path / "rig.toml", force=True)
            cycle_on_rig(str(tmp_path / "rig.toml"), Request(frames=12)).bvh()
        except GaitgenError as error:
            one_line(error)


@pytest.mark.thorough
@settings(max_examples=60, deadline=10_000)
@given(
    st.lists(
        st.tuples(st.floats(0, 1), st.sampled_from(["0 0 0", "1 1 1", "-3 2 5", "1e8 0 0"])), max_size=30
    )
)
def test_random_offsets(changes):
    """Offsets of a good file replaced: it works or is refused in one line."""
    lines = (HERE / "plain.bvh").read_text().split("\n")
    rows = [i for i, line in enumerate(lines) if "OFFSET" in line]
    for place, put in changes:
        lines[rows[int(place * (len(rows) - 1))]] = f"OFFSET {put}"
    refuses_or_works("\n".join(lines).encode())


def test_long_chain_takes_no_time():
    """A line of 1900 joints, as hair or a rope would be, is refused at once."""
    joints = 1900
    lines = [
        "HIERARCHY",
        "ROOT a",
        "{",
        "OFFSET 0 0 0",
        "CHANNELS 6 Xposition Yposition Zposition Zrotation Xrotation Yrotation",
    ]
    for k in range(joints):
        lines += [
            f"JOINT j{k}",
            "{",
            f"OFFSET {(k % 7) - 3} {k % 3} 1",
            "CHANNELS 3 Zrotation Xrotation Yrotation",
        ]
    lines += ["}"] * (joints + 1) + ["MOTION", "Frames: 0", "Frame Time: 0.04", ""]
    assert refuses_or_works("\n".join(lines).encode()) is None


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", ["plain", "mixed_orders", "x_up_inches"])
def test_planted_feet_hold_on_the_key_splines_as_the_report_says(name, tmp_path, capsys):
    rig = Path(__file__).parent / "rigs" / f"{name}.bvh"
    assert run(["fit", str(rig), "--map", str(tmp_path / "m.toml")]) == 0
    asked = ["--animal", str(tmp_path / "m.toml"), "--frames", "32", "--out", str(tmp_path), "--name", "w"]
    capsys.readouterr()
    assert run(["cycle", "walk", *asked, "--json"]) == 0
    report = json.loads(capsys.readouterr().out)
    told = report["keys"]
    file = read_bvh((tmp_path / "w.bvh").read_bytes(), "w.bvh")
    channels = [
        f"{j}.{word}" for j, words in zip(file.joint_names, file.channels, strict=True) for word in words
    ]
    keys = {channel: [] for channel in channels}
    for row in csv.DictReader((tmp_path / "w.keys.csv").read_text(encoding="utf-8").splitlines()):
        keys[row["channel"]].append([float(row[c]) for c in ("frame", "value", "tangent_in", "tangent_out")])
    table = np.stack(
        [hermite(*np.array(keys[c]).T)(np.arange(1, len(file.rows) + 1)) for c in channels], axis=1
    )
    rig_map, _, _ = read_map(tmp_path / "m.toml")
    exact, played = (world_end_sites(f) for f in (file, replace(file, rows=table)))
    metres = METRES_PER_UNIT[rig_map.unit]
    assert told["keys"] == sum(map(len, keys.values()))
    assert told["channels"] == len(channels)
    assert told["most_per_channel"] == len(keys[told["busiest_channel"]]) == max(map(len, keys.values()))
    is_length = np.array([channel.endswith("position") for channel in channels])
    off = np.abs(table - file.rows).max(axis=0)
    assert told["worst_deviation_deg"] == pytest.approx(off[~is_length].max(), abs=1e-4)
    assert told["worst_deviation_m"] == pytest.approx(off[is_length].max() * metres, abs=1e-5)
    assert told["planted_drift_m"] <= 3e-3
    worst = []
    assert {foot["foot"] for foot in report["feet"]} == set(LIMBS)
    for foot in report["feet"]:
        end = file.end_joints.tolist().index(file.joint_names.index(rig_map.limbs[foot["foot"]].joints[-1]))
        assert foot["contact_frame"] == int(foot["contact_frame"])
        down = int(foot["contact_frame"]) - 1 + np.arange(int(foot["frames_down"]) + 1)
        rows = down % (len(file.rows) - 1)  # from its landing to its lift-off: the next frame is in the air
        assert rows.size > 20
        worst.append(np.linalg.norm(played[rows, end] - exact[rows, end], axis=1).max() * metres)
    assert max(worst) <= 1.1 * told["planted_drift_m"]  # the End Site may be a little farther than the toe
