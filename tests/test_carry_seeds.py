"""Strides that differ by a seed are carried as such: what made them is found by name or record."""

import shutil
from pathlib import Path

import numpy as np
import pytest
from hand_edits import smooth

from gaitgen import Request, make_cycle
from gaitgen.commands import run
from gaitgen.edits.carry import carry
from gaitgen.edits.difference import difference
from gaitgen.edits.own_name import Varied, own_name, varied_in_name
from gaitgen.edits.phase import timing_of
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.motion.measure import found_feet, loop_gap, slip_m

pytestmark = pytest.mark.usefixtures("fits_once")

RIG = Path(__file__).parent / "rigs" / "plain.bvh"
SEED = ["--strides", "3", "--seed", "5"]
CASES = [
    ["walk", *SEED],
    ["trot", "--strides", "4", "--seed", "1", "--animal", "dog", "--fps", "60"],
    ["canter", *SEED, "--lead", "right", "--travel", "--fps", "48"],
    ["walk", *SEED, "--speed", "1.3", "--start", "LF"],
    ["walk", *SEED, "--style", "proud 0.5"],
]


def made(folder, name, *options):
    assert run(["cycle", *options, "--no-keys", "--out", str(folder), "--name", name]) == 0
    return folder / f"{name}.bvh"


def apart(one, other):
    """Greatest difference of two files' numbers, degrees as radians and centimetres as metres."""
    first, second = (read_bvh(path.read_bytes(), str(path)) for path in (one, other))
    off = first.rows - second.rows
    names = [name for name, channels in zip(first.joint_names, first.channels, strict=True) for _ in channels]
    assert len(names) == off.shape[1]
    return max(np.abs(off[:, :3]).max() / 100.0, np.abs(np.radians(off[:, 3:])).max())


def carried(clip, name, *options):
    line = ["carry", str(clip), *options, "--no-keys", "--out", str(clip.parent), "--name", name]
    assert run(line) == 0
    return clip.parent / f"{name}.bvh"


@pytest.mark.sample(1)
@pytest.mark.parametrize("line", CASES, ids=" ".join)
def test_a_clip_that_nobody_changed_gives_the_plain_one(line, tmp_path, capsys):
    """Named by somebody, so that only the record of the folder knows what made it.

    As with every clip, a speed that was asked for is not carried to another length.
    """
    clip = made(tmp_path, "mine", *line)
    plain = [each for k, each in enumerate(line) if "--speed" not in {each, line[k - 1]}]
    there = made(tmp_path, "there", *plain, "--frames", "28")
    capsys.readouterr()
    assert apart(carried(clip, "here", "--frames", "28"), there) < 1e-6
    assert "nothing was changed by hand" in capsys.readouterr().out
    assert apart(carried(clip, "again"), clip) < 1e-6


@pytest.mark.thorough
def test_a_copy_and_a_clip_with_gaitgens_own_name_are_known_again(tmp_path, capsys):
    """The name of a copy goes on from that of the clip, or is that which gaitgen gives, in any folder."""
    first = made(tmp_path / "in", "mine", "walk", *SEED)
    there = made(tmp_path / "in", "there", "walk", *SEED, "--frames", "24")
    copy = first.with_name("mine_v2.bvh")
    own = tmp_path / "riding_horse_walk_32_strides_3_seed_5.bvh"
    for path in (copy, own):
        shutil.copy(first, path)
        assert apart(carried(path, "here", "--frames", "24"), there) < 1e-6
    stranger = tmp_path / "stranger.bvh"
    shutil.copy(first, stranger)
    capsys.readouterr()
    assert run(["carry", str(stranger), "--frames", "24"]) == 2
    said = capsys.readouterr().err
    assert "its 3 strides differ a little" in said
    assert "--from" in said
    assert apart(carried(stranger, "here", "--frames", "24", "--from", str(first)), there) < 1e-6


@pytest.mark.thorough
def test_a_clip_on_a_rig_is_known_again(tmp_path):
    assert run(["fit", str(RIG), "--map", str(tmp_path / "rig.toml")]) == 0
    on = ["--animal", str(tmp_path / "rig.toml")]
    clip = made(tmp_path, "mine", "walk", *SEED, *on)
    there = made(tmp_path, "there", "walk", *SEED, *on, "--frames", "24")
    found = carried(clip, "here", "--map", str(tmp_path / "rig.toml"), "--frames", "24")
    assert apart(found, there) < 1e-6


def assert_planted_but_beside_contacts(clip, timing):
    """Feet are found down where they are; contacts lie between frames, and frames beside them are free."""
    differ = found_feet(clip).planted[:-1] != timing.planted()
    for row, limb in np.argwhere(differ).tolist():
        ends = np.array([timing.contact, np.add(timing.contact, timing.down)])[:, limb::4]
        assert (np.abs((row - ends + timing.frames / 2) % timing.frames - timing.frames / 2) < 1.0).any()


@pytest.mark.thorough
@pytest.mark.parametrize("gait", ["walk", "trot", "canter"])
@pytest.mark.parametrize("seed", [1, 2])
def test_an_edit_of_all_strides_goes_there_and_back(seed, gait):
    """Every stride has its own edit; feet stand still, and back again it is itself within a degree.

    Also by way of gaits in which feet land together that come one after the other in a walk.
    """
    there = make_cycle(Request(frames=32, strides=3, seed=4))
    here = make_cycle(Request(gait=gait, frames=24 if gait == "walk" else None, strides=3, seed=4))
    edit = difference(there, smooth(seed, 1.0, 3.0)(there))
    planted = carry(edit, there, there).clip
    to = carry(difference(there, planted), here, here)
    assert slip_m(to.clip) < 1e-4
    assert loop_gap(to.clip) < 1e-9
    assert_planted_but_beside_contacts(to.clip, timing_of(here))
    back = carry(difference(here, to.clip), there, there)
    asked = difference(there, planted).turn_rad
    turned = difference(there, back.clip).turn_rad
    if to.trunk_share == back.trunk_share == 1.0 and to.sunk_m == back.sunk_m == 0.0:
        assert np.degrees(np.linalg.norm(turned - asked, axis=2).max()) < 1.0
    strides = asked.reshape(3, 32, *asked.shape[1:])
    assert np.degrees(np.abs(strides[0] - strides[1]).max()) > 0.5  # it is one edit a stride


@pytest.mark.thorough
def test_a_clip_that_was_changed_is_told_joint_by_joint(tmp_path, capsys):
    clip = make_cycle(Request(strides=3, seed=5))
    changed = smooth(3, 1.0, 3.0)(clip)
    path = tmp_path / f"{clip.stem}.bvh"
    path.write_bytes(bvh.encode(changed, FileSpace()))
    assert run(["carry", str(path), "--frames", "24", "--no-keys"]) == 0
    said = capsys.readouterr().out
    assert "the edit carried from 3 strides of 32 frames to 24" in said
    assert "in 3 strides that differ by seed 5" in said
    assert "nothing was changed" not in said
    assert [path.name for path in tmp_path.glob("*_24_strides_3_seed_5.bvh")]


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("dog_canter_right_14_strides_3_seed_12_tired", Varied(3, 12, "canter", "right")),
        ("dog_rotary_gallop_14_fps_48_strides_2_seed_0.2", Varied(2, 0, "rotary_gallop")),
        ("x_walk_32_strides_4_seed_3_dog_trot_20_strides_4_seed_9", Varied(4, 9, "trot")),
        ("a_strides_4_seed_3", Varied(4, 3)),
        ("dog_walk_24_strides_4", None),
        ("dog_walk_24_strides_99_seed_1", None),
    ],
)
def test_names_are_read_as_they_are_written(name, told):
    assert varied_in_name(name.partition(".")[0]) == told


def test_the_record_tells_the_name_that_a_clip_would_have(tmp_path):
    path = made(tmp_path, 'od"d näme', "walk", "--frames", "24")
    assert own_name(path) == "riding_horse_walk_24"
    assert own_name(path.with_name('od"d näme_v2.bvh')) == "riding_horse_walk_24_v2"
    made(tmp_path, "riding_horse_walk_24", "walk", "--frames", "24")
    assert own_name(tmp_path / "riding_horse_walk_24.bvh") == "riding_horse_walk_24"
    assert own_name(tmp_path / "else.bvh") == "else"
