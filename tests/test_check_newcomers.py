"""Faults of whole ends, axes and roots, as somebody made them who had read nothing but the README."""

import json

import numpy as np
import pytest
from damage import columns, seen_again, with_rows
from damage_by_strangers import end_late, on_its_side, root_along_z, start_of
from damage_shots import shot_base
from scipy.spatial.transform import Rotation

from gaitgen.check.check import check
from gaitgen.check.facts import facts
from gaitgen.check.findings.trunk import _turning
from gaitgen.check.look import see
from gaitgen.check.tracked import place
from gaitgen.check.whose import whose
from gaitgen.commands.check_file import check_file
from gaitgen.commands.source import shot_made
from gaitgen.commands.style_told import style_notices
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.formats.record import REQUEST, with_records
from gaitgen.gait.style import Style
from gaitgen.pipeline import Request, make_cycle
from gaitgen.shot.shot_file import read_shot

CLIPS = (("dog", "walk", 30, True), ("cow", "walk", 32, False), ("red_deer", "trot", None, True))


def made(clip):
    animal, gait, frames, in_place = clip
    return start_of(animal, gait, frames, in_place=in_place)


def after(start, file):
    return check(seen_again(start, file))


@pytest.mark.sample(1)
@pytest.mark.parametrize("clip", CLIPS, ids=lambda clip: f"{clip[0]} {clip[1]}")
@pytest.mark.parametrize("frames", [1, 3, 5])
def test_an_end_that_is_late_is_told_by_how_many_frames_and_nothing_else_is(clip, frames):
    start = made(clip)
    damaged = end_late(start, np.random.default_rng(frames), frames)
    found = after(start, damaged.file)
    assert [(f.kind, f.limb, f.amount) for f in found] == [("end out of time", damaged.limbs[0], frames)]
    assert f" {frames} frame{'s' if frames > 1 else ''} earlier: then all feet stand" in found[0].do


@pytest.mark.parametrize("clip", CLIPS, ids=lambda clip: f"{clip[0]} {clip[1]}")
def test_a_clip_on_its_side_is_told_which_axis_is_up_and_how_to_turn_it(clip):
    start = made(clip)
    first = after(start, on_its_side(start, np.random.default_rng(1)).file)[0]
    assert first.kind == "clip lies on its side"
    assert first.do.startswith(
        "the motion has +Z up, its skeleton +Y: turn the root's places and rotations by -90 degrees about X"
    )


def test_turned_as_it_says_a_clip_on_its_side_is_as_it_was():
    start = made(CLIPS[1])
    rows = on_its_side(start, np.random.default_rng(1)).file.rows
    places = list(columns(start.file, start.file.joint_names[0], "position").values())
    back = Rotation.from_euler("X", -90.0, degrees=True).apply(rows[:, places])
    np.testing.assert_allclose(back, start.file.rows[:, places], atol=1e-6)


@pytest.mark.parametrize("clip", CLIPS[1:2], ids=lambda clip: f"{clip[0]} {clip[1]}")
def test_a_root_along_other_axes_is_told_with_its_signs(clip):
    start = made(clip)
    first = after(start, root_along_z(start, np.random.default_rng(1)).file)[0]
    assert first.kind == "root axes swapped"
    assert "as Y = Z, Z = -Y" in first.do


def test_a_root_that_steps_down_and_stays_is_told_so_and_one_that_is_off_in_a_frame_is_not():
    start = shot_base("a cat that turns right")
    at = columns(start.file, start.file.joint_names[0], "position")["Y"]
    part = next(part.stretch for part in start.seen.parts if part.stretch.what == "goes")
    row = (part.first + part.last) // 2
    words = []
    for rows_off in (slice(row, None), slice(row, row + 1)):
        rows = start.file.rows.copy()
        rows[rows_off, at] -= 3.0
        pops = [f for f in after(start, with_rows(start.file, rows)) if f.kind == "pop"]
        assert [(f.limb, f.first_frame) for f in pops] == [(start.file.joint_names[0], row + 1)]
        words.append(pops[0].do)
    assert words[0].startswith("a step that stays: from here on the root is 3")
    assert "mm lower than before" in words[0]
    assert words[1].startswith("take the key at this frame out")


def test_a_body_that_bobs_once_a_stride_is_no_clip_that_plays_too_slowly():
    start = made(CLIPS[0])
    rows = start.file.rows.copy()
    at = columns(start.file, start.file.joint_names[0], "position")["Y"]
    rows[:, at] += 3.0 * np.sin(2.0 * np.pi * np.arange(len(rows)) / 30.0)
    seen = seen_again(start, with_rows(start.file, rows))
    found = check(seen)
    assert [(f.kind, f.unit, round(f.amount)) for f in found] == [("body moves over planted feet", "mm", 60)]
    assert json.loads(json.dumps(facts(seen, found)["frame_rate_doubt"])) is None


# For its mark the trot keeps its pace round the bend; legs snap as it halts in few strides.
HARD = """animal = "draft_horse"
fps = 25
[[passage]]
gait = "walk"
strides = 2
[[passage]]
gait = "trot"
strides = 6
[[passage]]
halt = 25
change_strides = 1.6
[[mark]]
at = [2.03, 0]
frame = 76
[path]
legs = [{ straight = 3 }, { turn = 150, radius = 5.5 }]
"""


@pytest.fixture(scope="module")
def hard(tmp_path_factory):
    """Make a trot that keeps its pace round a bend of 5.5 m: what is said while it is made, and its clip."""
    path = tmp_path_factory.mktemp("hard") / "hard.toml"
    path.write_text(HARD, encoding="utf-8")
    clip = shot_made(read_shot(path)).clip
    file = read_bvh(bvh.encode(clip, FileSpace()), "hard.bvh")
    known = whose(file, "hard.bvh", "draft_horse")
    return clip, check(see(place(file, known.map, "hard.bvh"), known.limits))


def test_a_trot_round_a_hard_bend_is_said_while_it_is_made_and_its_snap_is_found(hard):
    clip, found = hard
    said = {notice.topic: notice.text for notice in clip.notices}
    assert said["turn"].startswith("on a bend of 5.5 m radius at ")
    assert "or a slower gait, would be easier" in said["turn"]
    frame = int(said["snap"].partition("in frame ")[2].partition(",")[0])
    snaps = [f for f in found if f.kind == "pop"]
    assert [f.unit for f in snaps] == ["times what would look smooth"]
    assert abs(snaps[0].first_frame - frame) <= 1
    assert snaps[0].limb in said["snap"]


def test_a_back_that_bends_to_the_side_of_its_way_is_not_bent_too_much(hard):
    kinds = {f.kind for f in hard[1]}
    assert kinds.isdisjoint({"spine bending too much", "hips and chest out of time"})


def test_frames_of_hips_and_chest_are_those_of_the_clip():
    start = shot_base("a cat that turns right")
    seen = next(p.seen for p in start.seen.parts if p.seen.gait is not None and p.seen.first_row > 0)
    words = _turning(seen, "hips", seen.waves["hips"])
    first = int(words.removeprefix("hips low at ").partition(",")[0])
    assert first == seen.first_row + seen.waves["hips"].lows[0]


@pytest.mark.parametrize("name", ["own", "riding_horse_walk_32_lift_1p6"])
def test_a_style_that_record_or_name_tells_is_no_fault_and_is_said(name, tmp_path):
    clip = make_cycle(Request(animal="riding_horse", gait="walk", style=Style(lift=1.6)))
    path = tmp_path / f"{name}.bvh"
    path.write_bytes(bvh.encode(clip, FileSpace()))
    if name == "own":
        other = tmp_path / "other.bvh"
        other.write_bytes(path.read_bytes())
        assert [f.kind for f in check_file(other).findings] == ["joint turns back too often"] * 2
        records = with_records({path: path.read_bytes()}, REQUEST, {path: "riding_horse_walk_32_lift_1p6"})
        for record, data in records.items():
            record.write_bytes(data)
    checked = check_file(path)
    assert checked.findings == ()
    assert "in the style lift 1.6, as its name tells, shows too is no fault" in checked.text()


def test_a_pop_is_no_style_whatever_a_name_tells(tmp_path):
    clip = make_cycle(Request(animal="riding_horse", gait="walk", style=Style(lift=1.6)))
    data = bvh.encode(clip, FileSpace())
    column = columns(read_bvh(data, "x"), "femur_L")["X"]
    lines = data.decode().splitlines()
    words = lines[-33 + 9].split()  # frame 10 of 33
    words[column] = f"{float(words[column]) + 12.0:.6f}"
    lines[-33 + 9] = " ".join(words)
    path = tmp_path / "riding_horse_walk_32_lift_1p6.bvh"
    path.write_text("\n".join(lines) + "\n", encoding="ascii")
    assert [(f.kind, f.first_frame) for f in check_file(path).findings] == [("pop", 10)]


@pytest.mark.parametrize("style", [None, "lame RH"])
def test_a_foot_that_is_lifted_higher_lands_no_harder(style):
    """A pony at 50 frames a second: its last frame before landing, against the plain walk."""
    drops = []
    for named, lift in ((None, 1.0), (style, 1.3)):
        clip = make_cycle(
            Request(animal="pony", gait="walk", frame_rate_hz=50.0, named_style=named, style=Style(lift=lift))
        )
        file = read_bvh(bvh.encode(clip, FileSpace()), "x")
        motion = place(file, whose(file, "x", "pony").map, "x")
        drops.append(float((-np.diff(motion.toes_m[:, 2, 2])).max()))
    assert drops[1] < 1.02 * drops[0]


@pytest.mark.parametrize(
    ("animal", "style", "kind"),
    [
        ("riding_horse", Style(lift=1.6), "joint turns back too often"),
        ("pony", Style(lift=2.5), "joint out of range"),
        ("riding_horse", Style(lift=1.2), ""),
        ("riding_horse", Style(), ""),
    ],
)
def test_what_a_check_would_find_in_legs_of_a_style_is_said_while_it_is_made(animal, style, kind):
    said = style_notices(make_cycle(Request(animal=animal, gait="walk", style=style)))
    assert len(said) == bool(kind)
    if kind:
        assert f"lets through: {kind}, LF at " in said[0].text
