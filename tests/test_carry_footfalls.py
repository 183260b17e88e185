"""The footfalls of a refined clip: small edits leave them as they are, contacts moved by frames are found."""

import json
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hand_edits import (
    EDITS,
    ROOT,
    OutOfReachError,
    dip,
    held_tilt,
    nod,
    one_after_another,
    smooth,
    step_moved,
)

from gaitgen import Request, animal_names, load_animal, make_cycle
from gaitgen.commands import run
from gaitgen.edits.carried_file import Wanted
from gaitgen.edits.carry_file import carry_file
from gaitgen.edits.phase import timing_of
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.motion.measure import found_feet, measure_feet

RUNS = [(animal, gait) for animal in animal_names() for gait in load_animal(animal).gaits if gait != "walk"]
MOVES = {"LF +1": (0, 1), "LF +2": (0, 2), "RH -1": (3, -1), "RH +2": (3, 2)}
OVER = {"alone": [], "dip 5": [dip(5.0)], "smooth": [smooth(5, 1.0, 3.0)]}


@cache
def cycle(**options):
    return make_cycle(Request(**options))


def written(folder, clip):
    path = folder / "hero.bvh"
    path.write_bytes(bvh.encode(clip, FileSpace()))
    return path


def joints_of_limbs(animal):
    return {animal.joint_names[joint] for limb in animal.limbs for joint in limb.joints}


def holds(folder, clip, edit):
    """An edit is told from the clip it was made in: the same contacts, and what was turned alone."""
    made = carry_file(written(folder, EDITS[edit](clip)), Wanted())
    before = timing_of(clip)
    np.testing.assert_allclose(made.edit.timing.contact, before.contact, atol=1e-6)
    np.testing.assert_allclose(made.edit.timing.down, before.down, atol=1e-6)
    assert made.request.gait == clip.asked.gait
    assert made.request.contacts is None
    changed = {joint.joint: joint.changed_deg for joint in made.joints() if joint.changed_deg > 0.05}
    if edit in ROOT:
        assert changed == {}
    elif not edit.startswith("smooth"):
        assert len(changed) <= 2, changed
        is_of_leg = edit.startswith(("lift", "toe"))
        assert (set(changed) <= joints_of_limbs(clip.animal)) is is_of_leg
    else:
        assert max(changed.values()) < 6.0
    assert made.slip_m < 1e-4
    planted = found_feet(made.carried.clip).planted[:-1]
    np.testing.assert_array_equal(planted, timing_of(made.carried.clip).planted())


@pytest.mark.sample(2)
@pytest.mark.parametrize("edit", EDITS)
@pytest.mark.parametrize("animal", animal_names())
def test_small_edits_of_a_walk_never_change_its_footfalls(animal, edit, tmp_path):
    holds(tmp_path, cycle(animal=animal, gait="walk"), edit)


@pytest.mark.sample(1)
@pytest.mark.parametrize("edit", EDITS)
@pytest.mark.parametrize(("animal", "gait"), RUNS)
def test_small_edits_of_other_gaits_never_change_their_footfalls(animal, gait, edit, tmp_path):
    holds(tmp_path, cycle(animal=animal, gait=gait), edit)


@pytest.mark.sample(1)
@pytest.mark.parametrize("over", OVER)
@pytest.mark.parametrize("move", MOVES)
@pytest.mark.parametrize("animal", animal_names())
def test_contacts_that_were_moved_by_frames_are_found_and_carried(animal, move, over, tmp_path):
    """Also under edits of the whole body: the same foot, by as many frames, and nothing else."""
    clip, (limb, by) = cycle(animal=animal, gait="walk"), MOVES[move]
    edit = one_after_another(step_moved(limb, by), *OVER[over])
    try:
        edited = edit(clip)
    except OutOfReachError:
        pytest.skip("the leg is too short for that step")
    made = carry_file(written(tmp_path, edited), Wanted())
    before, after = timing_of(clip), timing_of(made.carried.clip)
    later = np.zeros(4)
    later[limb] = by
    frames = before.frames
    found = (np.array(after.contact) - np.array(before.contact) + frames / 2) % frames - frames / 2
    np.testing.assert_allclose(found, later, atol=1e-6)
    assert f"lands {abs(by)} frame" in made.text()
    planted = found_feet(made.carried.clip).planted[:-1, limb]
    assert planted[after.planted()[:, limb]].all()
    assert not planted[round(after.contact[limb]) % frames - 1], "it lands in that frame, not sooner"
    assert made.slip_m < 1e-4
    if over != "smooth":
        assert max((joint.changed_deg for joint in made.joints()), default=0.0) < 5.0, "moved, not turned"


@pytest.mark.sample(1)
@pytest.mark.parametrize(("frames", "lands"), [(48, 3), (16, 1)])
def test_a_moved_contact_is_moved_by_as_much_of_another_stride(frames, lands, tmp_path):
    made = carry_file(written(tmp_path, step_moved(0, 2)(cycle(frames=32))), Wanted(frames=frames))
    plain = timing_of(cycle(frames=frames))
    after = timing_of(made.carried.clip)
    assert (after.contact[0] - plain.contact[0]) % frames == pytest.approx(lands)
    assert after.contact[1:] == pytest.approx(plain.contact[1:])
    toes = measure_feet(made.carried.clip).toe_m[:-1]
    assert np.ptp(toes[after.planted()[:, 1], 1], axis=0).max() < 1e-3
    assert made.slip_m < 1e-4
    poses = {pose.name: pose.frame for pose in made.carried.clip.key_poses}
    assert poses["LF contact"] == pytest.approx(after.contact[0] + 1.0), "its key pose goes with it"


def test_a_moved_contact_is_found_against_a_named_clip_too(tmp_path):
    clip = cycle(frames=32, style=Request().style.__class__(nod=1.3))
    start = tmp_path / "start.bvh"
    start.write_bytes(bvh.encode(clip, FileSpace()))
    made = carry_file(written(tmp_path, step_moved(3, 2)(clip)), Wanted(), start)
    assert "RH lands 2 frames later" in made.text()
    assert max(joint.changed_deg for joint in made.joints()) < 1.0


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    "options",
    [
        {"frames": 32, "speed_m_s": 1.2},
        {"frames": 32, "contacts": "RH 1-20, RF 7-29, LH 15-39, LF 24-47"},
        {"frames": 32, "start": "LF"},
        {"frames": 24, "frame_rate_hz": 30.0, "strides": 3, "in_place": False},
        {"gait": "canter", "lead": "right"},
        {"gait": "back"},
    ],
)
def test_what_else_was_asked_for_is_found_under_an_edit(options, tmp_path):
    """The head alone was turned, and the head alone is told."""
    clip = cycle(**options)
    stride = cycle(**{**options, "strides": 1, "in_place": True})
    edited = nod(6.0)(stride)
    rows = np.arange(clip.frames) % (stride.frames - 1)
    edited = replace(clip, rotations=edited.rotations[rows])
    made = carry_file(written(tmp_path, edited), Wanted())
    changed = {joint.joint: joint.changed_deg for joint in made.joints()}
    head = clip.animal.joint_names[clip.animal.head]
    assert set(changed) == {head}
    frames = np.arange(stride.frames) / (stride.frames - 1)
    assert changed[head] == pytest.approx(6.0 * np.sin(4.0 * np.pi * frames).max(), abs=0.01)


@pytest.mark.thorough
@pytest.mark.sample(1)
@pytest.mark.parametrize("edit", ["dip", "held tilt"])
def test_a_body_that_was_moved_with_its_feet_is_told_and_carried(edit, tmp_path, capsys):
    clip = cycle(animal="dog", gait="walk")
    path = written(tmp_path, {"dip": dip(20.0), "held tilt": held_tilt(2.0)}[edit](clip))
    assert run(["carry", str(path), "--frames", "24", "--no-keys", "--json"]) == 0
    facts = json.loads(capsys.readouterr().out)
    assert facts["slip_m"] < 1e-4
    if edit == "dip":
        assert facts["root_moved_m"] == pytest.approx(0.02, abs=1e-4)
        assert all(joint["changed_deg"] < 0.05 for joint in facts["joints"])


STYLED = (["--style", "tired"], ["--legs", "LF: lift=1.3"], ["--nod", "1.4"])


@pytest.mark.sample(1)
@pytest.mark.parametrize("options", STYLED)
@pytest.mark.parametrize("start", ["plain", "styled"])
def test_an_edit_is_carried_on_to_a_styled_clip(options, start, tmp_path, capsys):
    """Of a plain clip and of one that was made with the same style, the edit is the head's nod alone."""
    own = options if start == "styled" else []
    assert run(["cycle", "walk", "--no-keys", "--out", str(tmp_path), "--name", "a", *own]) == 0
    frames = ["--frames", "24"]
    assert run(["cycle", "walk", "--no-keys", "--out", str(tmp_path), "--name", "b", *options, *frames]) == 0
    capsys.readouterr()
    line = ["carry", str(tmp_path / "a.bvh"), *options, *frames, "--no-keys", "--name", "c", "--json"]
    assert run(line) == 0
    facts = json.loads(capsys.readouterr().out)
    assert facts["joints"] == []
    said = next(notice["text"] for notice in facts["notices"] if notice["topic"] == "from")
    assert ("in that style" if start == "styled" else "without a style") in said
    rows = [np.loadtxt(tmp_path / f"{name}.channels.csv", delimiter=",", skiprows=1) for name in ("b", "c")]
    np.testing.assert_allclose(rows[0], rows[1], atol=2e-4)


@pytest.mark.thorough
def test_a_clip_in_one_style_is_carried_to_another_if_it_is_named(tmp_path, capsys):
    """The head was turned in a tired walk; in the proud one of another length it is turned as much."""
    for name, style, frames in (("start", "tired", 32), ("plain", "proud", 24)):
        line = ["cycle", "walk", "--no-keys", "--style", style, "--frames", str(frames), "--name", name]
        assert run([*line, "--out", str(tmp_path)]) == 0
    path = written(tmp_path, nod(6.0)(cycle(named_style="tired", frames=32)))
    line = ["carry", str(path), "--from", str(tmp_path / "start.bvh"), "--style", "proud", "--frames", "24"]
    capsys.readouterr()
    assert run([*line, "--no-keys", "--name", "far", "--json"]) == 0
    (joint,) = json.loads(capsys.readouterr().out)["joints"]
    assert joint["joint"] == "head"
    plain, far = (
        np.loadtxt(tmp_path / f"{name}.channels.csv", delimiter=",", skiprows=1) for name in ("plain", "far")
    )
    apart = np.abs(plain - far).max(axis=0)
    assert (apart > 1e-3).sum() <= 3, "the channels of the head alone"
    assert apart.max() == pytest.approx(6.0, abs=0.5)


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("gait", "to"), [("trot", "walk"), ("walk", "trot"), ("pace", "walk"), ("canter", "gallop")]
)
def test_an_edit_goes_to_a_gait_in_which_feet_land_together_and_back(tmp_path, gait, to):
    """Feet that land together there land one soon after the other here: neither order is another one."""
    animal = "dromedary" if gait == "pace" else "riding_horse"
    made = carry_file(written(tmp_path, EDITS["nod 6"](cycle(animal=animal, gait=gait))), Wanted(gait=to))
    assert made.request.gait == to
    assert made.slip_m < 1e-4
    largest = max(made.joints(), key=lambda joint: joint.changed_deg)
    assert largest.changed_deg == pytest.approx(6.0, abs=1.0)


def test_a_lead_is_left_behind_where_the_new_gait_has_none(tmp_path, capsys):
    file = written(tmp_path, EDITS["nod 6"](cycle(gait="canter")))
    assert run(["carry", str(file), "--gait", "walk", "--out", str(tmp_path / "out")]) == 0
    assert "has no lead" not in capsys.readouterr().err


@pytest.mark.sample(1)
@pytest.mark.parametrize("gait", ["trot", "canter"])
def test_another_gait_is_as_long_as_the_animal_takes_for_it(gait, tmp_path):
    """A trot as long as the walk was out of the ordinary, and a canter was refused."""
    file = written(tmp_path, EDITS["nod 6"](cycle(gait="walk", frames=32)))
    usual = cycle(gait=gait).facts.frames
    assert usual < 20
    made = carry_file(file, Wanted(gait=gait))
    assert (made.request.frames, made.carried.clip.facts.frames) == (usual, usual)
    assert made.stem.endswith(f"_{gait}_{usual}")
    assert f"from 32 frames to {usual}," in made.text()
    told = {notice.text for notice in made.notices if notice.topic != "from"}
    assert told <= {notice.text for notice in cycle(gait=gait).notices}
    assert carry_file(file, Wanted(gait="walk")).request.frames == 32
    assert carry_file(file, Wanted(gait="trot", frames=16)).request.frames == 16
