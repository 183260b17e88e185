"""Rigs of company: a rider's legs are no legs, one of three heads is the head, groups do not turn."""

import re

import numpy as np
import pytest
from make_eleven_rigs import ELEVEN as PLANS
from make_eleven_rigs import SCRIPT
from rig_measures import has_styles, nod_rad, slip_m, tracks_m
from test_carry_rigs import drawn_and_carried

from gaitgen.commands.check_file import check_file
from gaitgen.formats.bvh_file import channel_columns, world_end_sites
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.rigs.cycle import load_rig
from gaitgen.rigs.fit_report import fit_text
from gaitgen.rigs.pose import pose_rig

SLIP_M = 1e-4


def script(name):
    return "".join(SCRIPT.get(letter, letter) for letter in name)


@pytest.mark.sample(1)
@pytest.mark.parametrize("gait", ["walk", "trot"])
@pytest.mark.parametrize("name", PLANS)
def test_it_goes_without_slip_and_passes_the_check(name, gait, clip, chart, tmp_path):
    made = clip(name, gait)
    assert slip_m(PLANS[name], made) < SLIP_M
    (tmp_path / "a.bvh").write_bytes(made.bvh())
    assert [each.kind for each in check_file(tmp_path / "a.bvh", map_path=chart(name)[0]).findings] == []


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", ["mounted", "three_headed", "grouped"])
def test_styles_have_their_effect(name, clip):
    assert has_styles(PLANS[name], clip, name)


@pytest.mark.thorough
@pytest.mark.parametrize("name", PLANS)
def test_a_refined_clip_is_drawn_and_carried_to_another_length(name, clip, chart, tmp_path):
    assert drawn_and_carried(clip(name, frames=24), chart(name)[0], tmp_path).joints()


def test_what_is_in_a_group_turns_and_the_group_does_not(clip, chart):
    """Groups over every joint at its place, named in letters of no language: the map has the joints alone."""
    found = chart("grouped")[1]
    own = found.map
    assert own.limbs["LF"].joints == tuple(
        f"{script(name)}_a" for name in ("blade", "point", "bow", "knee", "ankle", "sole")
    )
    assert (own.jaw, own.spine[1:]) == (script("chin"), tuple(map(script, ("loin", "girth", "brisket"))))
    groups = tuple(f"{script(stem)}." for stem in ("pre", "ctl", "sdk"))
    named = [*own.spine, *own.neck, own.head, own.jaw, own.ear_left, *own.tail]
    assert not [name for name in named if name.startswith(groups)]
    made = clip("grouped")
    file = read_bvh(made.bvh(), "grouped")
    columns = channel_columns(file, "rotation")
    turns = {
        name: float(np.ptp(file.rows[:, rows], axis=0).max())
        for name, rows in zip(file.joint_names, columns, strict=True)
    }
    assert max(turn for name, turn in turns.items() if name.startswith(groups)) < 1e-4
    assert min(turns[name] for limb in own.limbs.values() for name in limb.joints) > 1.0
    drawn = fit_text(found, None).split("from the left:")[0]
    assert all(sum(letter in row for row in drawn.split("\n")) > 8 for letter in "FB")


def test_a_rider_sits_still(clip, chart):
    own = chart("mounted")[1].map
    assert (own.head, own.limbs["LF"].joints[0], own.limbs["LH"].joints[0]) == ("skull", "blade_a", "rump_a")
    joints, _ = tracks_m(PLANS["mounted"], clip("mounted"))
    for name in ("ylt", "rt_a", "ro_b"):  # head, a hand and a foot, as far from the saddle as they were
        assert np.ptp(np.linalg.norm(joints[name] - joints["seat"], axis=1)) < 1e-6


def test_the_middle_one_of_three_heads_nods(clip, chart):
    own = chart("three_headed")[1].map
    assert (own.neck, own.head, own.jaw) == (("krkm1", "krkm2"), "hlavam", "celm")
    assert np.degrees(nod_rad(PLANS["three_headed"], clip("three_headed"))) > 5.0


def test_a_tail_that_comes_under_the_ground_is_turned_up(clip, chart):
    """It stands on it; of the others none hangs as low. Its first joint turns, as much in all frames.

    The animal that stands for it, which sheets and pictures draw, turns its own as much.
    """
    for name in ("dragging", "three_headed"):
        made = clip(name)
        said = [each.text for each in made.clip.notices if each.topic == "ground"]
        if name == "three_headed":
            assert said == []
            continue
        file = read_bvh(made.bvh(), name)
        row = list(file.end_joints).index(file.joint_names.index("519"))
        turn = np.array(PLANS[name].axes, dtype=float).T
        low = (world_end_sites(file) @ turn)[:, row, 2]
        assert -1e-4 < low.min() < 1e-3
        found = re.match(
            r"the tail is turned up by (\S+) degrees at 500 in all frames: 519, its end, would come (\d+) mm",
            said[0],
        )
        assert float(found[1]) > 0.5
        animals = load_rig(str(chart(name)[0])).animals_cycle(made.clip.asked)
        plain = pose_rig(animals, made.rig)
        away = np.swapaxes(plain.changes, -1, -2) @ made.motion.changes
        branch = [file.joint_names.index(joint) for joint in made.rig.map.tail]
        others = [joint for joint in range(len(file.joint_names)) if joint < branch[0]]
        assert np.abs(away[:, others] - np.eye(3)).max() < 1e-12
        angles = np.degrees(np.arccos((np.trace(away[:, branch[-1]], axis1=1, axis2=2) - 1.0) / 2.0))
        assert np.ptp(angles) < 1e-6
        assert angles[0] == pytest.approx(float(found[1]), abs=0.06)
        # About the side of what carries it, which on the rig is turned to its shoulders: .02 degrees.
        np.testing.assert_allclose(pose_rig(made.clip, made.rig).changes, made.motion.changes, atol=5e-4)
        joints = np.flatnonzero((made.clip.rotations != animals.rotations).any(axis=(0, 2)))
        assert joints.tolist() == [made.clip.animal.part("tail").joints[0]]
