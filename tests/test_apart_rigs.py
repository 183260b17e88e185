"""Ten rigs with things beside their limbs: found, walked, styled, judged, drawn, baked from edited keys."""

import csv

import numpy as np
import pytest
from make_apart_rigs import APART as PLANS
from make_apart_rigs import two_roots
from marked import marked
from rig_measures import has_styles, slip_m
from test_carry_rigs import drawn_and_carried

from gaitgen import Request
from gaitgen.commands import run
from gaitgen.commands.check_file import check_file
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.rigs.command import cycle_on_rig

pytestmark = pytest.mark.filterwarnings("ignore:Gimbal lock")  # of the writer of rigs with turned axes
SLIP_M = 1e-4
KEYS_DEG = 0.5  # of the keys against the motion, unless told otherwise
PARTS = {  # the first and the last joint of the back, the head, the left ear, the first of the tail
    "doppel": ("Leib", "Brustkorb", "Schaedel", "Lauscher_a", "Schweif1"),
    "virka": ("lantio", "rinta", "paa", "korva_a", "hanta1"),
    "hramm": ("mjodm", "bringa", "haus", "eyra_a", "skott1"),
    "zuraw": ("krzyze", "gora1", "glowka", "ucho_a", "kita1"),
    "fil": ("kuyruk_sokumu", "gogus", "kafa", "kulakUst_a", "kuyruk1"),
    "szarny": ("kereszt", "szugy", "fej", "szarv_a", "farok1"),
    "kilpi": ("kota", "etu", "nokka", None, "typpy"),
    "nula": ("1", "5", "8", "9a", "11"),
    "pajak": ("korpus", "przod", "pysk", "ush_a", "ogonek"),
    "bufalo": ("anca", "cruz", "testa", "oreja_a", "rabo1"),
}
LEGS = {  # of left limbs: what each joint turns
    ("virka", "LF"): ("scapula", "humerus", "radius", "fore_cannon", "fore_pastern", "fore_hoof"),
    ("hramm", "LF"): ("scapula", "humerus", "radius", "metacarpus", "-", "fore_paw", "-"),
    ("hramm", "LH"): ("femur", "tibia", "metatarsus", "-", "hind_paw", "-"),
    ("zuraw", "LF"): ("humerus", "radius", "fore_cannon", "fore_pastern", "fore_claw"),
    ("szarny", "LH"): ("femur", "tibia", "metatarsus", "hind_paw"),
}
# Clips that the check does not let pass, and why.
FOUND = {
    (
        "fil",
        "walk",
    ): "its elbows give 14.2 degrees as they land, of 14; with a tenth more room nothing is found",
    ("kilpi", "walk"): "the last of its fore joints turns by 93 degrees in a frame of 15, of 60",
}


@pytest.mark.sample(2)
@pytest.mark.parametrize("name", PLANS)
def test_its_parts_are_found(name, chart):
    found = chart(name)[1].map
    tail = found.tail[0] if found.tail else None
    assert (found.spine[0], found.spine[-1], found.head, found.ear_left, tail) == PARTS[name]
    for limb, own in found.limbs.items():
        if (name, limb) in LEGS:
            assert own.bones == LEGS[name, limb]
        assert {joint[-1] for joint in own.joints} == {"a" if limb[0] == "L" else "b"}


def test_a_wing_that_hangs_beside_the_hind_foot_is_no_leg(chart):
    """And no joint is in two limbs of a map, which the next command would refuse."""
    limbs = chart("szarny")[1].map.limbs
    assert limbs["LH"].joints == ("comb_a", "labsz_a", "csank_a", "ujjak_a")
    joints = [joint for own in limbs.values() for joint in own.joints]
    assert len(joints) == len(set(joints))
    assert not any("szarny" in joint or "ujj0" in joint for joint in joints)


def test_legs_that_are_there_twice_are_said_and_either_can_be_taken(chart, tmp_path):
    """No end of the second leg is called a goal; other rigs, with twists and groups, have no such leg."""
    path, found = chart("doppel")
    said = [notice.text for notice in found.notices if notice.topic == "twins"]
    assert len(said) == 1
    assert "'haut_blatt_a' and 'lenk_blatt_a'" in said[0]
    assert "goals" not in {notice.topic for notice in found.notices}
    for name in ("virka", "nula", "hramm"):
        assert "twins" not in {notice.topic for notice in chart(name)[1].notices}
    (tmp_path / "doppel.bvh").write_bytes(path.with_suffix(".bvh").read_bytes())
    (tmp_path / "other.toml").write_text(path.read_text().replace("haut_", "lenk_"))
    made = cycle_on_rig(str(tmp_path / "other.toml"), Request(frames=24))
    assert slip_m(PLANS["doppel"], made) < SLIP_M


@pytest.mark.thorough  # always `test_legs_are_put_under_the_body` of test_strange_rigs
def test_spread_legs_of_unlike_length_stand_on_one_ground(chart):
    """Put under the body, hind feet were 26 mm over the ground, a tenth of the height of the hips."""
    found = chart("kilpi")[1]
    assert found.map.legs == "under the body"
    assert not any(notice.topic == "toes" for notice in found.notices)


@pytest.mark.parametrize("first", [True, False])
def test_a_second_root_is_refused_with_what_to_do(first, tmp_path, capsys):
    (tmp_path / "two.bvh").write_text(two_roots("doppel", first, (10.0, 20.0, 30.0)), encoding="utf-8")
    assert run(["fit", str(tmp_path / "two.bvh"), "--map", str(tmp_path / "two.toml")]) == 2
    assert "keep one ROOT" in capsys.readouterr().err
    assert not (tmp_path / "two.toml").exists()


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("name", "gait"),
    [
        marked(name, gait, why=FOUND.get((name, gait)), name=f"{name}-{gait}")
        for name in PLANS
        for gait in ("walk", "trot")
    ],
)
def test_nothing_is_found_in_what_it_does(name, gait, clip, chart, tmp_path):
    (tmp_path / "a.bvh").write_bytes(clip(name, gait).bvh())
    assert not check_file(tmp_path / "a.bvh", map_path=chart(name)[0]).findings


@pytest.mark.thorough
@pytest.mark.parametrize("gait", ["walk", "trot"])
@pytest.mark.parametrize("name", PLANS)
def test_it_goes_without_slip_on_its_own_joints(name, gait, clip, chart):
    made = clip(name, gait)
    assert slip_m(PLANS[name], made) < SLIP_M
    own = chart(name)[0].with_suffix(".bvh").read_bytes().split(b"MOTION")[0]
    assert made.bvh().startswith(own)


@pytest.mark.thorough
@pytest.mark.parametrize("name", PLANS)
def test_styles_have_their_effect(name, clip):
    assert has_styles(PLANS[name], clip, name)


@pytest.mark.thorough
@pytest.mark.parametrize("name", PLANS)
def test_a_refined_clip_is_drawn_and_carried_to_another_length(name, clip, chart, tmp_path):
    carried = drawn_and_carried(clip(name, frames=24), chart(name)[0], tmp_path)
    assert chart(name)[1].map.head in {joint.joint for joint in carried.joints()}


def walked(chart, folder):
    """Write a walk with keys on the rig with goals of the feet; return the path of its keys, and the rows."""
    line = ["cycle", "walk", "--animal", str(chart("nula")[0]), "--frames", "24", "--out", str(folder)]
    assert run([*line, "--name", "w"]) == 0
    path = folder / "w.keys.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return path, list(csv.DictReader(file))


def baked(path, rows, name):
    """Save rows of keys as a hand does, bake them on the clip, and return what is in the new one."""
    edited = path.with_name(f"{name}.keys.csv")
    with edited.open("w", encoding="utf-8", newline="") as file:
        out = csv.DictWriter(file, rows[0].keys())
        out.writeheader()
        out.writerows(rows)
    assert run(["bake", str(edited), "--bvh", str(path.with_name("w.bvh")), "--out", str(path.parent)]) == 0
    return read_bvh((path.parent / f"{name}.bvh").read_bytes(), name)


@pytest.mark.parametrize(
    ("channel", "by"), [("8.Zrotation", 10.0), ("25a.Xrotation", 15.0), ("1.Yposition", 0.2)]
)
def test_an_edited_key_of_a_rig_is_met_and_changes_nothing_beyond_its_neighbours(
    channel, by, chart, tmp_path
):
    """Of the head, a wrist and the height of the body: its own channel, up to the keys on both sides."""
    path, rows = walked(chart, tmp_path)
    plain = baked(path, rows, "plain").rows
    keys = [row for row in rows if row["channel"] == channel]
    at = len(keys) // 2
    frame, before, after = (int(float(keys[k]["frame"])) for k in (at, at - 1, at + 1))
    keys[at]["value"] = f"{float(keys[at]['value']) + by:.6f}"
    file = baked(path, rows, "edited")
    joint, word = channel.split(".")
    kind = "rotation" if word.endswith("rotation") else "position"
    row = file.joint_names.index(joint)
    column = channel_columns(file, kind)[row][[w for w in file.channels[row] if kind in w].index(word)]
    assert file.rows[frame - 1, column] == pytest.approx(float(keys[at]["value"]), abs=1e-6)
    off = np.abs(file.rows - plain)
    assert {*np.flatnonzero(off.max(axis=0) > 1e-6)} == {column}
    touched = np.flatnonzero(off[:, column] > 1e-6) + 1
    assert before < touched.min() <= frame <= touched.max() < after
    assert off[:, column].max() == pytest.approx(abs(by), abs=1e-5), "no more than was asked for"


def test_an_edited_wrist_is_told_of_the_foot_and_not_of_its_goal(chart, tmp_path):
    """The goal of the foot, which stands as it was, went with the foot in all other frames."""
    path, rows = walked(chart, tmp_path)
    key = [row for row in rows if row["channel"] == "25a.Xrotation"]
    key = min(key, key=lambda row: abs(float(row["frame"]) - 13.0))
    key["value"] = f"{float(key['value']) + 15.0:.6f}"
    baked(path, rows, "edited")
    found = check_file(tmp_path / "edited.bvh", map_path=chart("nula")[0]).findings
    assert [(each.kind, each.limb) for each in found] == [("pop", "25a")]


def test_a_goal_that_leaves_its_foot_for_a_frame_is_told(chart, clip, tmp_path):
    made = clip("nula", frames=24)
    lines = made.bvh().decode().splitlines()
    first = next(k for k, line in enumerate(lines) if line.startswith("Frame Time")) + 1
    column = channel_columns(made.rig.file, "rotation")[made.rig.file.joint_names.index("40a")][0]
    values = lines[first + 19].split()
    values[column] = f"{float(values[column]) + 20.0:.6f}"
    lines[first + 19] = " ".join(values)
    (tmp_path / "a.bvh").write_text("\n".join(lines) + "\n")
    found = check_file(tmp_path / "a.bvh", map_path=chart("nula")[0]).findings
    assert "40a" in {each.limb for each in found}
