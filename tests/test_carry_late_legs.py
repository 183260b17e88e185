"""A leg that was moved in time by its curves: told as such, and as late in the clip that it is carried to."""

import json
import re
from dataclasses import replace

import numpy as np
import pytest
from make_joined_rigs import JOINED
from make_more_rigs import MORE
from make_rigs import text

from gaitgen import Request, make_cycle
from gaitgen.commands import run
from gaitgen.edits.carried_file import Wanted
from gaitgen.edits.carry_file import carry_file
from gaitgen.edits.late_legs import late_legs, turned_later
from gaitgen.edits.phase import timing_of
from gaitgen.edits.rig_edit import limb_rows
from gaitgen.edits.seen import leg_joints, seen_in
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.formats.wanted import HandOff
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.measure import found_feet
from gaitgen.numerics.rotations import (
    axis_angle_matrix,
    continuous_sign,
    matrix_from_quaternion,
    quaternion_from_matrix,
)
from gaitgen.rigs.command import fit
from gaitgen.rigs.cycle import load_rig

pytestmark = pytest.mark.usefixtures("fits_once")

LATE = [(0, 1), (0, 2), (2, 2)]


def late(clip, limb, by):
    """Every curve of one leg, its sling included, some frames later round the loop."""
    local = matrix_from_quaternion(clip.rotations[:-1]).copy()
    leg = list(leg_joints(clip.animal.limbs[limb]))
    local[:, leg] = turned_later(local[:, leg], by)
    rotations = continuous_sign(quaternion_from_matrix(local))
    return replace(clip, rotations=np.concatenate([rotations, rotations[:1]]))


def left_behind(clip, before, limb):
    """The same with the sling of the leg as it was: nobody has to know of the joint that carries it."""
    rotations = clip.rotations.copy()
    sling = clip.animal.limbs[limb].sling
    rotations[:, sling] = before.rotations[:, sling]
    return replace(clip, rotations=rotations)


def written(path, clip):
    path.write_bytes(bvh.encode(clip, FileSpace()))
    return path


def checked(path, capsys, *options):
    capsys.readouterr()
    run(["check", str(path), *options, "--json"])
    return json.loads(capsys.readouterr().out)


def pops(findings):
    """Joints that pop, also where that follows from something else."""
    every = [each for finding in findings for each in (finding, *finding["follows"])]
    return {each["limb"] for each in every if each["kind"] == "pop"}


def later(after, before):
    """By how many frames contacts are later, (4,)."""
    apart = np.array(timing_of(after).contact) - np.array(timing_of(before).contact)
    frames = timing_of(before).frames
    return (apart + frames / 2) % frames - frames / 2


@pytest.mark.thorough
@pytest.mark.parametrize("name", ["riding_horse", "dog"])
def test_a_sling_that_was_left_behind_goes_along_with_its_late_leg(name, tmp_path):
    before = make_cycle(Request(animal=name, frames=32))
    whole = late(before, 0, 2)
    made = [
        carry_file(written(tmp_path / f"{word}.bvh", clip), Wanted(frames=48))
        for word, clip in (("whole", whole), ("left", left_behind(whole, before, 0)))
    ]
    assert "sling" in {notice.topic for notice in made[1].notices}
    assert made[1].joints() == ()
    assert "nothing was changed by hand but when feet land and leave\n" in made[1].text()
    assert "plain clip" not in made[1].text()
    np.testing.assert_allclose(made[1].carried.clip.rotations, made[0].carried.clip.rotations, atol=1e-6)


@pytest.mark.thorough
def test_a_sling_that_was_turned_by_hand_stays_an_edit(tmp_path):
    before = make_cycle(Request(animal="riding_horse", frames=32))
    clip = late(before, 0, 2)
    sling = clip.animal.limbs[0].sling
    turned = matrix_from_quaternion(clip.rotations[:, sling]) @ axis_angle_matrix("Y", np.full(33, 0.1))
    rotations = clip.rotations.copy()
    rotations[:, sling] = quaternion_from_matrix(turned)
    edited = replace(clip, rotations=continuous_sign(rotations))
    made = carry_file(written(tmp_path / "turned.bvh", edited), Wanted(frames=48))
    assert "sling" not in {notice.topic for notice in made.notices}
    found = {joint.joint: joint.changed_deg for joint in made.joints()}
    assert found[clip.animal.joint_names[sling]] == pytest.approx(np.degrees(0.1), abs=0.2)


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("limb", "by", "to"),
    [(limb, by, to) for limb, by in LATE for to in (24, 32)],
)
def test_a_late_leg_is_carried_as_late_and_nothing_else(limb, by, to, tmp_path, capsys):
    """Nothing was turned and no print moved; the foot lands later by as much, and check finds that alone."""
    path = written(tmp_path / "late.bvh", late(make_cycle(Request(frames=32)), limb, by))
    made = carry_file(path, Wanted(frames=to))
    assert f"the whole leg {LIMBS[limb]} is {by} frame" in made.text()
    assert max((joint.changed_deg for joint in made.joints()), default=0.0) < 0.2, "late, not turned"
    assert np.linalg.norm(made.carried.print_m, axis=1).max() < 1e-3
    clip = made.carried.clip
    wanted = np.zeros(4)
    wanted[limb] = np.floor(by * to / 32 + 0.5)
    plain = make_cycle(Request(frames=to))
    np.testing.assert_allclose(later(clip, plain), wanted, atol=1e-6)
    np.testing.assert_array_equal(found_feet(clip).planted[:-1], timing_of(clip).planted())
    assert made.slip_m < 1e-4
    before = checked(path, capsys)["findings"]
    found = checked(written(tmp_path / "carried.bvh", clip), capsys)["findings"]
    assert {each["kind"] for each in found} <= {"asymmetry"} | {each["kind"] for each in before}
    assert pops(found) == set()


@pytest.mark.thorough
@pytest.mark.parametrize(("limb", "by"), [(0, 2), (2, 2)])
def test_a_carried_late_leg_is_found_in_the_new_clip_and_goes_back(limb, by, tmp_path):
    path = written(tmp_path / "late.bvh", late(make_cycle(Request(frames=32)), limb, by))
    there = carry_file(path, Wanted(frames=24)).carried.clip
    back = carry_file(written(tmp_path / "there.bvh", there), Wanted(frames=32))
    assert f"the whole leg {LIMBS[limb]} is 2 frames later than in that clip" in back.text()
    assert f"the whole leg {LIMBS[limb]} is 3 frames later" in back.text(), "2 of 24 are 2.7 of 32"
    assert back.slip_m < 1e-4


@pytest.mark.parametrize("by", [-2.0, 1.0, 1.5])
def test_legs_are_told_by_all_their_joints(by):
    """Also by a fraction, and where a hand turned one joint as well; a leg alone is told, and no other."""
    clip = make_cycle(Request(animal="dog", frames=24))
    moved = late(clip, 3, by)
    foot = clip.animal.limbs[3].foot_joint
    local = matrix_from_quaternion(moved.rotations)
    turn = np.radians(2.0)
    bent = np.array([[np.cos(turn), 0, np.sin(turn)], [0, 1, 0], [-np.sin(turn), 0, np.cos(turn)]])
    local[:, foot] = local[:, foot] @ bent
    moved = replace(moved, rotations=quaternion_from_matrix(local))
    names, timing = clip.animal.joint_names, timing_of(clip)
    seen = [seen_in(each, 24, timing, names) for each in (clip, moved)]
    np.testing.assert_allclose(late_legs(*seen), [0, 0, 0, by], atol=0.05)
    np.testing.assert_array_equal(late_legs(seen[0], seen[0]), 0.0)


def test_a_leg_moved_by_a_fraction_keeps_it_in_a_clip_of_the_same_length(tmp_path):
    clip = make_cycle(Request(animal="dog", frames=24))
    made = carry_file(written(tmp_path / "late.bvh", late(clip, 0, 1.5)), Wanted())
    np.testing.assert_allclose(later(made.carried.clip, clip), [1.5, 0, 0, 0], atol=0.05)
    assert made.slip_m < 1e-4


@pytest.mark.thorough
def test_for_a_leg_that_does_not_reach_the_trunk_is_lowered(tmp_path, capsys):
    """A hind leg that is early comes down ahead, where the croup is higher; it does not snap straight."""
    path = written(tmp_path / "early.bvh", late(make_cycle(Request(frames=32)), 3, -1))
    made = carry_file(path, Wanted(frames=24))
    assert "the whole leg RH is 1 frame earlier, and the trunk is lowered by" in made.text()
    np.testing.assert_allclose(later(made.carried.clip, make_cycle(Request(frames=24))), [0, 0, 0, -1])
    assert made.slip_m < 1e-4
    found = checked(written(tmp_path / "carried.bvh", made.carried.clip), capsys)["findings"]
    every = [each for finding in found for each in (finding, *finding["follows"])]
    assert not {each["kind"] for each in every} & {"pop", "speed jumps at the loop", "leg locking"}


def rolled(made, joints, by, path):
    """Write a clip on a rig with the channels of some joints some frames later round the loop."""
    lines = made.bvh().decode().splitlines()
    first = next(k for k, line in enumerate(lines) if line.startswith("Frame Time")) + 1
    counts = [int(line.split()[1]) for line in lines if line.strip().startswith("CHANNELS")]
    ends = np.cumsum(counts)
    columns = np.concatenate([np.arange(ends[joint] - counts[joint], ends[joint]) for joint in joints])
    rows = np.array([line.split() for line in lines[first:] if line.strip()], dtype=object)
    rows[:-1, columns] = np.roll(rows[:-1, columns], by, axis=0)
    rows[-1, columns] = rows[0, columns]
    path.write_text("\n".join([*lines[:first], *(" ".join(row) for row in rows)]) + "\n")
    return path


@pytest.mark.thorough
@pytest.mark.parametrize("limb", [0, 1])
def test_a_sling_of_a_rig_that_was_left_behind_goes_along_with_its_late_leg(limb, tmp_path):
    """A strap between body and leg, a sling in the map, is as late whether a hand knew of it or not."""
    (tmp_path / "rig.bvh").write_text(text(JOINED["draig"]))
    map_path = tmp_path / "rig.toml"
    fit(tmp_path / "rig.bvh", map_path)
    loaded = load_rig(str(map_path))
    before, rig = loaded.cycle(Request(frames=32)), loaded.rig
    sling = rig.limbs[limb].joints[rig.limbs[limb].sling]
    leg = [joint for joint, row in limb_rows(rig).items() if row == limb]
    whole = rolled(before, leg, 2, tmp_path / "whole.bvh")
    left = rolled(before, [joint for joint in leg if joint != sling], 2, tmp_path / "left.bvh")
    made = [carry_file(path, Wanted(frames=24), map_path=map_path) for path in (whole, left)]
    said = [{notice.topic: notice.text for notice in each.notices} for each in made]
    assert "sling" not in said[0]
    assert said[1]["sling"].startswith(f"{rig.file.joint_names[sling]} of {LIMBS[limb]} only lets")
    assert made[1].joints() == ()
    assert f"the whole leg {LIMBS[limb]} is 2 frames later" in made[1].text()
    rows = [read_bvh(each.on_rig.bvh(), "rig").rows for each in made]
    np.testing.assert_allclose(rows[1], rows[0], atol=1e-3)
    turned = rolled(before, [sling], 2, tmp_path / "turned.bvh")  # alone: an edit, as it is
    alone = carry_file(turned, Wanted(frames=24), map_path=map_path)
    assert "sling" not in {notice.topic for notice in alone.notices}


@pytest.mark.thorough
@pytest.mark.parametrize(("name", "to"), [("horn", 24), ("horn", 32), ("pattes", 24), ("pattes", 32)])
def test_a_late_leg_on_a_rig_is_carried_as_late(name, to, tmp_path, capsys):
    (tmp_path / "rig.bvh").write_text(text(MORE[name]))
    map_path = tmp_path / "rig.toml"
    fit(tmp_path / "rig.bvh", map_path)
    map_path.write_text(re.sub("(?m)^unit = .*", f'unit = "{MORE[name].unit}"', map_path.read_text()))
    loaded = load_rig(str(map_path))
    leg = [joint for joint, row in limb_rows(loaded.rig).items() if row == 0]
    path = rolled(loaded.cycle(Request(frames=32)), leg, 2, tmp_path / "late.bvh")
    made = carry_file(path, Wanted(frames=to), map_path=map_path)
    assert "the whole leg LF is 2 frames later than in that clip" in made.text()
    assert max((joint.changed_deg for joint in made.joints()), default=0.0) < 0.2, "late, not turned"
    plain = loaded.cycle(Request(frames=to)).clip
    np.testing.assert_allclose(later(made.carried.clip, plain), [2.0, 0, 0, 0], atol=1e-6)
    assert made.slip_m < 2e-3
    assert np.linalg.norm(made.carried.print_m, axis=1).max() < 0.01
    files = made.files(HandOff(keys=False))
    out = tmp_path / "carried.bvh"
    out.write_bytes(files[".bvh"])
    before, found = (checked(each, capsys, "--map", str(map_path))["findings"] for each in (path, out))
    amounts = [e["amount"] for f in found for e in (f, *f["follows"]) if e["kind"] == "pop"]
    assert pops(found) <= pops(before), amounts
