"""Edits carried along rigs, and between rigs and animals: planted feet, closed loops, equal in phase."""

import csv
import io
import json
import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hand_edits import waves
from make_more_rigs import MORE
from make_rigs import text
from scipy.spatial.transform import Rotation

from gaitgen import Request, make_cycle
from gaitgen.commands import run
from gaitgen.edits.carried_file import Wanted
from gaitgen.edits.carry_file import carry_file
from gaitgen.edits.original import started_from
from gaitgen.edits.phase import timing_of
from gaitgen.edits.rig_edit import carry_on_rig, limb_rows, local_changes, rig_difference, tracked
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.formats.wanted import HandOff
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.kinematics import world_frames
from gaitgen.rigs.command import fit
from gaitgen.rigs.cycle import load_rig

pytestmark = pytest.mark.usefixtures("fits_once")

RIGS = ("horn", "pattes")
LENGTHS = (16, 24, 32, 48)
RANDOM = np.random.default_rng(11)
DRAWS = [
    (RIGS[k % 2], int(seed), *map(int, RANDOM.choice(LENGTHS, 2, replace=False)))
    for k, seed in enumerate(RANDOM.integers(0, 10**6, 20))
]


@pytest.fixture(scope="module")
def rigs(tmp_path_factory):
    folder = tmp_path_factory.mktemp("rigs")

    @cache
    def of(name):
        (folder / f"{name}.bvh").write_text(text(MORE[name]))
        fit(folder / f"{name}.bvh", folder / f"{name}.toml")
        path = folder / f"{name}.toml"
        path.write_text(re.sub("(?m)^unit = .*", f'unit = "{MORE[name].unit}"', path.read_text()))
        return path

    return of


@pytest.fixture(scope="module")
def cycles(rigs):
    @cache
    def of(name, frames, gait="walk"):
        return load_rig(str(rigs(name))).cycle(Request(gait=gait, frames=frames))

    return of


@pytest.fixture
def found_once(monkeypatch):
    """What a clip started from is found the first time; for tests that carry one clip over and over."""
    found = []

    def once(*given):
        found.extend([] if found else [started_from(*given)])
        return found[0]

    monkeypatch.setattr("gaitgen.edits.carry_file.started_from", once)


def refined(made, seed, degrees=2.0, millimetres=3.0):
    """A clip on a rig with a random smooth refinement of every joint, and of the body's place."""
    rng, rig, frames = np.random.default_rng(seed), made.rig, made.clip.frames - 1
    parents = rig.file.parents
    size = rig.places_m[rig.limbs[2].joints[0], 2]
    share = np.where(np.isin(np.arange(len(parents)), [rig.joint(n) for n in rig.map.spine]), 0.2, 1.0)
    share[: rig.joint(rig.map.pelvis)] = 0.0
    turns = waves(rng, frames, (len(parents), 3), np.radians(degrees) / 2.0) * share[:, None]
    local = local_changes(parents, made.motion.changes)
    local = local @ Rotation.from_rotvec(turns.reshape(-1, 3)).as_matrix().reshape(local.shape)
    changes = np.empty_like(local)
    for joint, parent in enumerate(parents.tolist()):
        changes[:, joint] = local[:, joint] if parent < 0 else changes[:, parent] @ local[:, joint]
    moved = size * waves(rng, frames, (3,), millimetres / 2000.0) * [1.0, 1.0, 0.5]
    return replace(made, motion=replace(made.motion, changes=changes, root_m=made.motion.root_m + moved))


def drift_m(made, plain):
    """How far planted toes go on the ground, in the written file."""
    clip, timing = plain.clip, timing_of(plain.clip)
    toes, planted = tracked(made).toes_m[:-1].copy(), timing.planted()
    step_m = clip.belt_m_s / clip.frame_rate_hz
    toes[..., :2] += (np.arange(timing.frames)[:, None] * step_m)[:, None]
    found = []
    for limb in range(4):
        rows = np.flatnonzero(planted[:, limb])
        path = toes[rows, limb]
        goes_round = (rows < timing.contact[limb])[:, None]  # a stance that runs on into the next stride
        path[:, :2] += goes_round * timing.frames * step_m
        found.append(float(np.ptp(path, axis=0).max()))
    return max(found)


def drawn_and_carried(made, chart, folder):
    """Draw a refined clip on a rig by its map, and carry it to 32 frames, in which planted toes stay."""
    path = folder / "refined.bvh"
    path.write_bytes(planted_edit(made, 7).bvh())
    assert run(["sheet", str(path), "--animal", str(chart), "--out", str(folder / "s.pdf")]) == 0
    carried = carry_file(path, Wanted(frames=32), None, chart)
    assert drift_m(carried.carried.made, carried.carried.plain) < 1e-3
    return carried


def planted_edit(made, seed, degrees=1.5):
    """A refinement as an animator leaves it: feet stand on their prints."""
    return carry_on_rig(edit_of(made, refined(made, seed, degrees)), made, made).made


def edit_of(before, after):
    timing = timing_of(before.clip)
    motions = tracked(before), tracked(after)
    return rig_difference(before.rig, before.clip.animal, *motions, timing)


def apart_deg(one, other):
    a, b = (local_changes(made.rig.file.parents, made.motion.changes) for made in (one, other))
    turn = Rotation.from_matrix((np.swapaxes(a, -1, -2) @ b).reshape(-1, 3, 3)).magnitude()
    return float(np.degrees(turn.max()))


@pytest.mark.sample(1)
@pytest.mark.parametrize(("name", "seed", "frames", "to"), DRAWS)
def test_random_refinements_keep_feet_planted_and_are_equal_in_phase(name, seed, frames, to, cycles):
    before, plain = cycles(name, frames), cycles(name, to)
    edit = edit_of(before, refined(before, seed))
    carried = carry_on_rig(edit, plain, plain)
    assert drift_m(carried.made, plain) < 1e-4
    motion = tracked(carried.made)
    np.testing.assert_allclose(motion.places_m[-1], motion.places_m[0], atol=2e-6)
    limbs = limb_rows(plain.rig)
    contacts = [np.rint(timing_of(made.clip).contact).astype(int) for made in (before, plain)]
    for there, here in zip(*contacts, strict=True):  # the same moment in both
        for k, joint in enumerate(carried.joint_names):
            if k not in limbs:
                turn = carried.trunk_share * edit.edit.turn_rad[there % frames, k]
                np.testing.assert_allclose(carried.made_rad[here % to, k], turn, atol=1e-6, err_msg=joint)
        held = [0.0, 0.0, carried.sunk_m]
        moved = carried.trunk_share * edit.edit.moved_m[there % frames] - held
        np.testing.assert_allclose(carried.moved_m[here % to], moved, atol=1e-6)


@pytest.mark.thorough
def test_most_small_edits_on_rigs_need_nothing_held_back(cycles):
    """So that the test above is about something."""
    held = 0
    for name, seed, frames, to in DRAWS[:8]:
        edit = edit_of(cycles(name, frames), refined(cycles(name, frames), seed))
        held += carry_on_rig(edit, cycles(name, to), cycles(name, to)).trunk_share < 1.0
    assert held <= 2


@pytest.mark.sample(1, 1)
@pytest.mark.parametrize(("gait", "frames", "to"), [("trot", 16, 14), ("canter", 14, 12), ("gallop", 12, 14)])
def test_refinements_of_runs_keep_their_feet_planted(gait, frames, to, cycles):
    before, plain = cycles("horn", frames, gait), cycles("horn", to, gait)
    for seed in (1, 2):
        edit = edit_of(before, refined(before, seed, 1.0))
        made = carry_on_rig(edit, plain, plain).made
        assert drift_m(made, plain) < 1e-4
        places = tracked(made).places_m
        np.testing.assert_allclose(places[-1], places[0], atol=2e-6)


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", RIGS)
def test_carried_there_and_back_an_edit_is_itself(name, cycles):
    for seed, frames, to in ((1, 32, 24), (2, 24, 48)):
        before, far = cycles(name, frames), cycles(name, to)
        start = planted_edit(before, seed, 1.0)
        there = carry_on_rig(edit_of(before, start), far, far)
        back = carry_on_rig(edit_of(far, there.made), before, before)
        assert there.sunk_m == back.sunk_m == 0.0
        assert apart_deg(start, back.made) < 1.0


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("name", "gait", "frames", "to"),
    [
        ("horn", "walk", 32, 24),
        ("pattes", "walk", 48, 16),
        ("horn", "trot", 16, 14),
        ("pattes", "trot", 16, 14),
        ("horn", "canter", 12, 14),
        ("horn", "gallop", 12, 14),
    ],
)
def test_an_edit_of_nothing_gives_the_plain_clip(name, gait, frames, to, rigs, cycles, tmp_path):
    (tmp_path / "hero.bvh").write_bytes(cycles(name, frames, gait).bvh())
    made = carry_file(tmp_path / "hero.bvh", Wanted(frames=to), map_path=rigs(name))
    assert made.joints() == ()
    assert made.request.gait == gait
    assert "nothing was changed by hand" in made.text()
    rows = [read_bvh(data, name).rows for data in (made.on_rig.bvh(), cycles(name, to, gait).bvh())]
    np.testing.assert_allclose(rows[0], rows[1], atol=2e-4)


@pytest.mark.thorough
def test_the_command_carries_along_a_rig_from_a_rig_and_to_one(rigs, cycles, tmp_path, capsys):
    hero = tmp_path / "hero.bvh"
    hero.write_bytes(planted_edit(cycles("horn", 32), 5).bvh())
    before = hero.read_bytes()
    there = ["carry", str(hero), "--map", str(rigs("horn"))]
    for more, name, head in (
        (["--frames", "24"], "hero_horn_walk_24.bvh", "sprite"),
        (["--frames", "24", "--animal", "riding_horse"], "hero_riding_horse_walk_24.bvh", "pelvis"),
        (["--frames", "24", "--animal", str(rigs("pattes"))], "hero_pattes_walk_24.bvh", "bassin"),
    ):
        assert run([*there, *more]) == 0
        said = capsys.readouterr().out
        assert "changed" in said
        slip_mm = float(said.split("largest slip")[1].split("mm")[0])
        assert slip_mm < 0.1
        assert read_bvh((tmp_path / name).read_bytes(), name).joint_names[0] == head
    assert hero.read_bytes() == before
    horse = tmp_path / "horse.bvh"
    assert run(["cycle", "walk", "--out", str(tmp_path), "--name", "horse", "--no-keys"]) == 0
    assert run(["carry", str(horse), "--animal", str(rigs("horn")), "--frames", "24", "--no-keys"]) == 0
    made = (tmp_path / "horse_horn_walk_24.bvh").read_bytes()
    assert made.startswith(rigs("horn").with_suffix(".bvh").read_bytes().split(b"MOTION")[0])
    capsys.readouterr()
    assert run(["carry", str(horse), "--map", str(rigs("horn"))]) == 2
    assert "does not have the joints of horn" in capsys.readouterr().err


def nodded(made, degrees):
    """Turn the head of a rig down for a few frames."""
    head, changes = made.rig.joint(made.rig.map.head), made.motion.changes.copy()
    turn = np.radians(degrees) * np.maximum(np.sin(2.0 * np.pi * np.arange(33) / 32.0), 0.0) ** 2
    below = [k for k in range(len(made.rig.file.parents)) if _hangs_on(made.rig.file.parents, k, head)]
    nod = Rotation.from_rotvec(np.outer(turn, [0.0, 1.0, 0.0])).as_matrix()
    changes[:, below] = nod[:, None] @ changes[:, below]
    return replace(made, motion=replace(made.motion, changes=changes))


def test_what_is_left_of_a_nod_on_a_rig_is_a_nod_on_the_horse(rigs, cycles, tmp_path):
    """The head of the rig turned down by 8 degrees for a few frames turns the head of the horse so."""
    edited = nodded(cycles("horn", 32), 8.0)
    (tmp_path / "nod.bvh").write_bytes(edited.bvh())
    found = carry_file(tmp_path / "nod.bvh", Wanted(frames=32, animal="draft_horse"), map_path=rigs("horn"))
    joints = {joint.joint: joint for joint in found.joints()}
    assert joints["head"].carried_deg == pytest.approx(8.0, abs=0.05)
    assert set(joints) == {"head"}


def lowered(made, by_m):
    """Move the root of a clip on a rig down, in every frame, and nothing else."""
    root = made.motion.root_m - [0.0, 0.0, by_m]
    return replace(made, motion=replace(made.motion, root_m=root))


def test_a_body_that_was_lowered_on_a_rig_is_lowered_in_the_new_clip(rigs, cycles, tmp_path):
    hips = cycles("horn", 32).rig.places_m[cycles("horn", 32).rig.limbs[2].joints[0], 2]
    for by, is_carried in ((0.03 * hips, True), (0.8 * hips, False)):
        (tmp_path / "hero.bvh").write_bytes(lowered(cycles("horn", 32), by).bvh())
        made = carry_file(tmp_path / "hero.bvh", Wanted(frames=24), map_path=rigs("horn"))
        down = made.on_rig.motion.root_m - cycles("horn", 24).motion.root_m
        np.testing.assert_allclose(down, np.tile([0.0, 0.0, -by * is_carried], (25, 1)), atol=1e-5)
        assert made.slip_m < 1e-4
        said = "body and feet are" if is_carried else "the whole clip is"
        assert said in made.text()


def table(data):
    """Read a table of controls: frame by frame, by the name of each channel."""
    rows = list(csv.reader(io.StringIO(data.decode())))
    return dict(zip(rows[0], np.array(rows[1:], dtype=float).T, strict=True))


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", RIGS)
def test_controls_are_carried_along_a_rig(name, rigs, cycles, tmp_path):
    """Of an edit of nothing they are the plain ones; of a nod the head alone is turned."""
    wanted = HandOff(keys=False, controls=True)
    plain = table(cycles(name, 24).files(wanted)[".controls.csv"])
    for made, degrees in ((cycles(name, 32), 0.0), (nodded(cycles(name, 32), 8.0), 8.0)):
        (tmp_path / "hero.bvh").write_bytes(made.bvh())
        found = carry_file(tmp_path / "hero.bvh", Wanted(frames=24), map_path=rigs(name))
        curves = table(found.files(wanted)[".controls.csv"])
        words = [f"head.{letter}rotation" for letter in "ZXY"]
        turns = [
            Rotation.from_euler("ZXY", np.stack([each[word] for word in words], axis=1), degrees=True)
            for each in (plain, curves)
        ]
        apart = np.degrees((turns[0].inv() * turns[1]).magnitude())
        carried = {joint.joint: joint.carried_deg for joint in found.joints()}
        assert apart.max() == pytest.approx(carried.get(cycles(name, 24).rig.map.head, 0.0), abs=0.02)
        assert apart.max() == pytest.approx(degrees, abs=0.2)
        others = [word for word in plain if not word.startswith(("head", "jaw", "ear"))]
        for word in others:
            np.testing.assert_allclose(curves[word], plain[word], atol=2e-3, err_msg=word)


@pytest.mark.thorough
def test_controls_of_an_edit_meet_the_toes_of_the_rig(rigs, cycles, tmp_path):
    rig = cycles("horn", 32).rig
    (tmp_path / "hero.bvh").write_bytes(planted_edit(cycles("horn", 32), 5).bvh())
    found = carry_file(tmp_path / "hero.bvh", Wanted(frames=24), map_path=rigs("horn"))
    curves = table(found.files(HandOff(keys=False, controls=True))[".controls.csv"])
    toes = tracked(found.carried.made).toes_m @ rig.axes / rig.metres_per_unit
    for k, limb in enumerate(LIMBS):
        there = np.stack([curves[f"{limb}.toe.{axis}position"] for axis in "XYZ"], axis=1)
        assert np.abs(there - toes[:, k]).max() * rig.metres_per_unit < 2e-4
    assert found.files(HandOff(controls=True))[".controls.keys.csv"]


@pytest.mark.thorough
@pytest.mark.parametrize("on", ["rig", "horse"])
def test_every_note_is_said_once(on, rigs, cycles, tmp_path):
    if on == "rig":
        (tmp_path / "hero.bvh").write_bytes(cycles("horn", 32).bvh())
        own = {"map_path": rigs("horn")}
    else:
        (tmp_path / "hero.bvh").write_bytes(bvh.encode(make_cycle(Request()), FileSpace()))
        own = {}
    for frames in (24, 16):
        made = carry_file(tmp_path / "hero.bvh", Wanted(frames=frames, animal=str(rigs("pattes"))), **own)
        topics = [notice.topic for notice in made.notices if notice.topic not in ("style", "overlap")]
        assert "rig" in topics
        assert len(topics) == len(set(topics)), made.text()


def _hangs_on(parents, joint, above):
    while joint >= 0 and joint != above:
        joint = int(parents[joint])
    return joint == above


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", RIGS)
@pytest.mark.parametrize("share", [0.005, 0.02])
def test_a_body_that_dips_on_a_rig_leaves_its_footfalls_as_they_are(name, share, rigs, cycles, tmp_path):
    made = cycles(name, 32)
    dip = (
        share * made.rig.places_m[made.rig.limbs[2].joints[0], 2] * (1.0 - np.cos(np.arange(33) * np.pi / 16))
    )
    root = made.motion.root_m - np.outer(dip / 2.0, [0.0, 0.0, 1.0])
    (tmp_path / "hero.bvh").write_bytes(replace(made, motion=replace(made.motion, root_m=root)).bvh())
    found = carry_file(tmp_path / "hero.bvh", Wanted(frames=24), map_path=rigs(name))
    assert found.edit.timing == timing_of(made.clip)
    assert max((joint.changed_deg for joint in found.joints()), default=0.0) < 0.05
    assert found.slip_m < 1e-4
    down = found.on_rig.motion.root_m - cycles(name, 24).motion.root_m
    assert down[:, 2].min() == pytest.approx(-dip.max() / 2.0, rel=0.02)


@pytest.mark.thorough
@pytest.mark.usefixtures("found_once")
def test_the_report_names_joints_as_the_hand_knows_them(rigs, cycles, tmp_path, capsys):
    """Those of the rig, and beside them those of the animal that the edit went to, or of the other rig."""
    made = cycles("horn", 24)
    path = tmp_path / "refined.bvh"
    path.write_bytes(planted_edit(made, 5).bvh())
    line = ["carry", str(path), "--map", str(rigs("horn")), "--out", str(tmp_path)]
    head = made.rig.map.head
    assert run([*line, "--animal", "draft_horse", "--json"]) == 0
    joints = {row["joint"]: row for row in json.loads(capsys.readouterr().out)["joints"]}
    assert joints["head"]["changed_joint"] == head
    assert joints["head"]["carried_joint"] is None
    assert run([*line, "--animal", "draft_horse"]) == 0
    assert f"  {head} > head" in capsys.readouterr().out
    assert run([*line, "--frames", "32"]) == 0
    said = capsys.readouterr().out
    assert re.search(rf"(?m)^  {head}  +[0-9]", said)
    assert " > " not in said
    other = load_rig(str(rigs("pattes"))).rig.map.head
    assert run([*line, "--animal", str(rigs("pattes"))]) == 0
    assert f"  {head} > {other}" in capsys.readouterr().out


@pytest.mark.thorough
@pytest.mark.usefixtures("found_once")
def test_a_strip_of_what_was_carried_shows_the_edit(rigs, cycles, tmp_path, capsys, monkeypatch):
    """What is drawn is measured; with the animal left out of the strip it is sooner drawn."""
    monkeypatch.setattr("gaitgen.pictures.strip.paint", lambda *_, **__: None)
    made = cycles("horn", 24)
    before = planted_edit(made, 5)
    (tmp_path / "refined.bvh").write_bytes(before.bvh())
    carried = carry_file(tmp_path / "refined.bvh", Wanted(frames=24), None, rigs("horn"))
    drawn, plain = carried.shown, carried.carried.plain.clip
    row = drawn.animal.head
    turned = [
        world_frames(each.animal, each.root_path_m, each.rotations)[1][:, row] for each in (drawn, plain)
    ]
    joint = made.rig.joint(made.rig.map.head)
    hand = [each.motion.changes[:, joint] for each in (before, made)]
    shown, asked = (Rotation.from_matrix(np.swapaxes(b, -1, -2) @ a).magnitude() for a, b in (turned, hand))
    assert np.degrees(asked).max() > 1.0
    np.testing.assert_allclose(shown, asked, atol=np.radians(0.1))
    line = ["carry", str(tmp_path / "refined.bvh"), "--map", str(rigs("horn")), "--out", str(tmp_path)]
    assert run([*line, "--strip", str(tmp_path / "s.png")]) == 0
    assert (tmp_path / "s.png").stat().st_size > 1000
    assert run([*line, "--strip", str(tmp_path / "s.jpg")]) == 2
    assert "a strip is a PNG" in capsys.readouterr().err


@pytest.mark.thorough
@pytest.mark.parametrize("name", ["reiter", "kaltblut"])
def test_a_body_that_a_joint_below_the_root_carries_is_told_as_moved(name, rigs, cycles, tmp_path):
    """It sinks by 20 mm once in a stride, and the report says so of both clips."""
    made = cycles(name, 24)
    assert made.rig.body != 0
    dip_m = -0.01 * (1.0 - np.cos(2.0 * np.pi * np.arange(25) / 24))
    moved_m = dict(made.motion.moved_m)
    moved_m[made.rig.body] = moved_m[made.rig.body] + np.outer(dip_m, [0.0, 0.0, 1.0])
    path = tmp_path / "dip.bvh"
    path.write_bytes(replace(made, motion=replace(made.motion, moved_m=moved_m)).bvh())
    facts = carry_file(path, Wanted(), map_path=rigs(name)).facts()
    assert facts["root_moved_m"] == pytest.approx(0.02, abs=1e-3)
    assert facts["root_carried_m"] == pytest.approx(
        facts["root_moved_m"] + facts["trunk_lowered_m"], abs=3e-3
    )


@pytest.mark.thorough
def test_another_gait_is_as_long_as_the_rig_takes_for_it(rigs, cycles, tmp_path):
    (tmp_path / "hero.bvh").write_bytes(refined(cycles("horn", 24), 3).bvh())
    usual = cycles("horn", None, "trot").clip.facts.frames
    made = carry_file(tmp_path / "hero.bvh", Wanted(gait="trot"), map_path=rigs("horn"))
    assert made.request.frames == made.carried.clip.facts.frames == usual != 24
    assert made.stem.endswith(f"_trot_{usual}")
