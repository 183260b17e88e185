"""A clip that was written, and perhaps refined by hand, is read back with its plan, and can be drawn."""

import json
import re
import urllib.error
import urllib.request
from dataclasses import asdict, replace
from functools import cache
from itertools import product
from pathlib import Path
from threading import Thread

import numpy as np
import pytest
from ink import greys, ink, part
from pages import unpacked

from gaitgen import GaitgenError, KeyPose, Request, make_cycle
from gaitgen.animal.proportions import Proportions
from gaitgen.commands import run
from gaitgen.course.named_gait import summarise
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh import encode
from gaitgen.motion.kinematics import tips_m, world_frames
from gaitgen.motion.measure import slip_m
from gaitgen.motion.report import report
from gaitgen.motion.report_text import as_text
from gaitgen.numerics.rotations import (
    EULER_ORDERS,
    axis_angle_matrix,
    matrix_from_quaternion,
    quaternion_from_matrix,
)
from gaitgen.page.clip_desk import ClipDesk
from gaitgen.page.server import TOKEN_HEADER, Server
from gaitgen.reading.read import clip_from_bvh, first_stride

RIGS = Path(__file__).resolve().parent / "rigs"
# Every animal, length and number of strides, in place and travelling; units, axes and orders by turns.
CASES = [
    (animal, frames, in_place, strides, ("cm", "m", "in")[k % 3], "yz"[k // 3 % 2], EULER_ORDERS[k % 6])
    for k, (animal, frames, in_place, strides) in enumerate(
        product(("riding_horse", "draft_horse"), (8, 11, 32, 64), (True, False), (1, 2, 3))
    )
]
BUILDS = [
    {"withers_height_m": 1.2},
    {"neck_factor": 1.4},
    {"back_factor": 1.2},
    {"head_factor": 1.3},
    {"leg_factor": 1.15},
    {"leg_factor": 0.85, "withers_height_m": 1.3, "neck_factor": 1.2},
    {"cannon_ratio": 0.15},
    {"withers_height_m": 1.45, "neck_factor": 0.8, "cannon_ratio": 0.18, "back_factor": 0.9},
]


@cache
def walk(**options):
    return make_cycle(Request(**options))


def read_back(clip, folder, space=None):
    file = folder / "clip.bvh"
    file.write_bytes(encode(clip, space or FileSpace()))
    return clip_from_bvh(file)


def bones_m(clip):
    positions, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    return np.stack([positions, tips_m(clip.animal, positions, world)])


def assert_same(clip, back):
    assert back.animal.name == clip.animal.name
    assert back.frames == clip.frames
    assert back.frame_rate_hz == clip.frame_rate_hz
    assert np.linalg.norm(bones_m(back) - bones_m(clip), axis=-1).max() < 1e-4
    here, there = clip.steps, back.steps
    np.testing.assert_array_equal(there.limb, here.limb)
    np.testing.assert_allclose(there.touchdown_s * 24, here.touchdown_s * 24, atol=1e-4)
    np.testing.assert_allclose(there.liftoff_s * 24, here.liftoff_s * 24, atol=1e-4)
    np.testing.assert_allclose(there.place_m, here.place_m, atol=1e-4)
    np.testing.assert_allclose(there.travel_m_s, here.travel_m_s, atol=1e-3)
    np.testing.assert_allclose(back.belt_m_s, clip.belt_m_s, atol=1e-3)
    assert back.key_poses == clip.key_poses
    for name, value in asdict(clip.facts).items():
        if not name.endswith("_drop_m"):
            assert getattr(back.facts, name) == pytest.approx(value, abs=1e-3), name
    for end in ("hips", "chest"):  # a file shows the sum of what was lowered and of the rise and fall
        shown, made = (
            each.plan.heaves_m[end] - getattr(each.facts, f"{end}_drop_m") for each in (back, clip)
        )
        np.testing.assert_allclose(shown, made, atol=1e-3)
    assert slip_m(back) < 2e-4


def words(clip):
    return [notice.text for notice in clip.notices]


# What gaitgen wrote


def is_even(case):
    """Whether a case is in the half that has every pair of values."""
    animal, frames, in_place, strides = case[:4]
    return ((animal == "draft_horse") + (8, 11, 32, 64).index(frames) + in_place + strides) % 2 == 0


@pytest.mark.sample(5)
@pytest.mark.parametrize(
    "case",
    [case if is_even(case) else pytest.param(case, marks=pytest.mark.slow) for case in CASES],
    ids=lambda case: "-".join(map(str, case)),
)
def test_a_written_clip_comes_back(case, tmp_path):
    animal, frames, in_place, strides, unit, up, order = case
    clip = walk(animal=animal, frames=frames, in_place=in_place, strides=strides)
    assert_same(clip, read_back(clip, tmp_path, FileSpace(unit, up, order)))


@pytest.mark.sample(3)
@pytest.mark.parametrize("animal", ["riding_horse", "draft_horse"])
@pytest.mark.parametrize("build", BUILDS, ids=str)
def test_other_proportions_are_found(animal, build, tmp_path):
    clip = walk(animal=animal, frames=16, proportions=Proportions(**build))
    back = read_back(clip, tmp_path)
    assert_same(clip, back)
    assert back.animal.withers_height_m == pytest.approx(clip.animal.withers_height_m, abs=1e-3)
    assert back.animal.body_mass_kg == pytest.approx(clip.animal.body_mass_kg, abs=0.5)
    shapes = zip(back.animal.outline, clip.animal.outline, strict=True)
    assert all(np.allclose(a[1], b[1], atol=2e-3) for a, b in shapes)


@pytest.mark.parametrize(
    "options",
    [
        {"contacts": "RH 3-25, RF 11-33, LH 19-41, LF 27-49"},
        {"contacts": "RH 1-21, RF 9-33, LH 18-41, LF 25-49"},
        {"start": "LF", "frames": 20},
        {"duty_factor": 0.8, "lag": 0.15},
    ],
    ids=str,
)
def test_other_timings_come_back(options, tmp_path):
    clip = walk(**options)
    back = read_back(clip, tmp_path)
    assert_same(clip, back)
    assert summarise(back.steps).name == summarise(clip.steps).name


@pytest.mark.sample(1)
@pytest.mark.parametrize(("frames", "apart"), [(32, 0.09), (64, 0.045)])
def test_each_force_comes_back(frames, apart, tmp_path):
    """The plan foresees what limbs and neck need, the reader sees it: little apart, in body weights."""
    clip = walk(frames=frames)
    back = read_back(clip, tmp_path)
    weight = clip.animal.body_mass_kg * 9.81
    for name in ("force_n", "force_horizontal_n"):
        there, here = getattr(back.plan, name) / weight, getattr(clip.plan, name) / weight
        np.testing.assert_allclose(there, here, atol=apart)


@pytest.mark.sample(1)
@pytest.mark.parametrize(("frames", "apart"), [(24, 0.06), (32, 0.04), (64, 0.015)])
def test_forces_that_were_read_carry_the_clip_by_a_rigid_body_library(frames, apart, tmp_path):
    """Their sum is what inverse dynamics asks of the ground, by so many body weights (mean square)."""
    pytest.importorskip("mujoco")
    import dynamics

    back = read_back(walk(frames=frames), tmp_path)
    asked = dynamics.ground_wrench(back)[0][:, 2]
    made = back.plan.force_n[:-1].sum(axis=1)
    weight = back.animal.body_mass_kg * 9.81
    assert np.sqrt(np.mean((asked - made) ** 2)) / weight < apart


@pytest.mark.sample(1)
@pytest.mark.parametrize("frames", [8, 12, 32, 64])
def test_forces_are_those_of_newton(frames, tmp_path):
    """The mean of the forces is the weight, and the two ends move as they did."""
    clip = walk(frames=frames)
    back = read_back(clip, tmp_path)
    weight = clip.animal.body_mass_kg * 9.81
    carried = [each.plan.force_n[:-1].sum(axis=1).mean() / weight for each in (back, clip)]
    assert carried[0] == pytest.approx(carried[1], abs={8: 0.05, 12: 0.02}.get(frames, 0.005))
    if frames >= 32:  # between fewer frames the kinks of the forces at contacts are lost
        assert carried[0] == pytest.approx(1.0, abs=0.005)
    for end, heave_m in clip.plan.heaves_m.items():
        np.testing.assert_allclose(np.diff(back.plan.heaves_m[end]), np.diff(heave_m), atol=1e-3)
    assert any("forces are estimated" in text for text in words(back))


def test_the_animal_can_be_named(tmp_path):
    clip = walk()
    read_back(clip, tmp_path)
    named = clip_from_bvh(tmp_path / "clip.bvh", "draft_horse")
    assert named.animal.name == "draft_horse"
    np.testing.assert_allclose(named.animal.offsets_m[1:], clip.animal.offsets_m[1:], atol=1e-6)
    assert any("joints are up to" in text for text in words(named))


# What was done to it since


def refined(clip, *, nod=1.0, noise_deg=0.0, seed=0):
    """Scale the swing of the neck and head, and let every rotation jitter."""
    data = encode(clip, FileSpace()).decode()
    head, motion = re.split(r"(?<=\n)(?=Frame Time)", data)
    first, *lines = motion.splitlines()
    rows = np.array([[float(word) for word in line.split()] for line in lines])
    names = re.findall(r"(?:ROOT|JOINT) (\w+)", head)
    for joint, name in enumerate(names):
        if name.startswith(("neck_", "atlas", "head")):
            own = rows[:, 3 + 3 * joint : 6 + 3 * joint]
            own[:] = own.mean(axis=0) + nod * (own - own.mean(axis=0))
    rows[:, 3:] += np.random.default_rng(seed).normal(0.0, noise_deg, rows[:, 3:].shape)
    text = "\n".join(" ".join(f"{value:.6f}" for value in row) for row in rows)
    return f"{head}{first}\n{text}\n".encode()


@pytest.mark.sample(1)
@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("frames", [16, 32])
def test_a_clip_refined_by_hand_still_reads(frames, seed, tmp_path):
    clip = walk(frames=frames)
    file = tmp_path / "refined.bvh"
    file.write_bytes(refined(clip, nod=1.5, noise_deg=0.1, seed=seed))
    back = clip_from_bvh(file)
    off = (back.steps.touchdown_s - clip.steps.touchdown_s) * 24
    assert np.abs(off).max() <= 1.01
    assert back.facts.duty_factor == pytest.approx(clip.facts.duty_factor, abs=2.01 / frames)
    assert [pose.name for pose in back.key_poses] == [pose.name for pose in clip.key_poses]
    assert any("rotations jitter" in text for text in words(back))
    assert as_text(report(back))


@pytest.mark.parametrize(("frames", "apart"), [(24, 0.2), (32, 0.12)])
def test_the_forces_of_each_end_come_back_from_a_clip_with_noise(frames, apart, tmp_path):
    clip = walk(frames=frames)
    file = tmp_path / "noisy.bvh"
    file.write_bytes(refined(clip, noise_deg=0.1, seed=0))
    back = clip_from_bvh(file)
    weight = clip.animal.body_mass_kg * 9.81
    pairs = [each.plan.force_n.reshape(-1, 2, 2).sum(axis=2) / weight for each in (back, clip)]
    np.testing.assert_allclose(*pairs, atol=apart)


def test_a_larger_nod_alone_leaves_the_feet_as_they_were(tmp_path):
    clip = walk()
    file = tmp_path / "refined.bvh"
    file.write_bytes(refined(clip, nod=1.5))
    back = clip_from_bvh(file)
    assert back.key_poses == clip.key_poses
    np.testing.assert_allclose(back.steps.liftoff_s, clip.steps.liftoff_s, atol=1e-6)


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("written", "rate"), [("0.041667", 24.0), ("0.041708", 24000 / 1001), ("0.05", 20.0)]
)
def test_a_rounded_frame_time_stands_for_a_usual_rate(written, rate, tmp_path):
    file = tmp_path / "clip.bvh"
    file.write_bytes(encode(walk(), FileSpace()).replace(b"0.04166667", written.encode()))
    assert clip_from_bvh(file).frame_rate_hz == pytest.approx(rate, abs=1e-8)


def cut(clip, first, last):
    return replace(
        clip,
        root_path_m=clip.root_path_m[first:last].copy(),
        rotations=clip.rotations[first:last].copy(),
        plan={},
    )


def test_without_the_frame_that_repeats_the_first(tmp_path):
    back = read_back(cut(walk(), 0, 32), tmp_path)
    assert_same(walk(), back)
    assert any("frame 33 is added" in text for text in words(back))


def test_a_loop_cut_elsewhere_keeps_its_own_frames(tmp_path):
    back = read_back(cut(walk(strides=2), 6, 39), tmp_path)
    contacts = [(pose.frame, pose.name) for pose in back.key_poses if pose.name.endswith("contact")]
    assert contacts == [
        (3.0, "RF contact"),
        (11.0, "LH contact"),
        (19.0, "LF contact"),
        (27.0, "RH contact"),
    ]
    assert back.facts.duty_factor == walk().facts.duty_factor


def test_a_clip_that_is_no_loop(tmp_path):
    clip = walk(frames=24, strides=2, in_place=False)
    back = read_back(cut(clip, 4, 40), tmp_path)
    assert back.facts.frames == 24
    assert back.key_poses[0] == KeyPose(3.0, "RF contact")
    assert any("is no loop" in text for text in words(back))


def test_one_that_heads_elsewhere_and_stands_higher(tmp_path):
    clip = walk(frames=24, in_place=False)
    turn = axis_angle_matrix("Z", np.array(np.pi / 2.0))
    matrices = matrix_from_quaternion(clip.rotations)
    matrices[:, 0] = turn @ matrices[:, 0]
    moved = replace(
        clip,
        root_path_m=(clip.root_path_m + np.array([3.0, 1.0, 0.1])) @ turn.T,
        rotations=quaternion_from_matrix(matrices),
    )
    back = read_back(moved, tmp_path)
    assert back.key_poses == clip.key_poses
    assert back.facts.speed_m_s == pytest.approx(clip.facts.speed_m_s, abs=1e-3)
    away = bones_m(back) - bones_m(clip)
    np.testing.assert_allclose(away - away[0, 0, 0], 0.0, atol=2e-3)
    assert any("heads 90 degrees" in text for text in words(back))
    assert any("ground was found at +10.0 cm" in text for text in words(back))


@pytest.mark.sample(1)
@pytest.mark.parametrize("turn", [("X", 90), ("Y", 180), ("Z", -90)], ids=str)
def test_axes_of_another_package(turn, tmp_path):
    """The whole rig, offsets and all, turned about an axis of the file."""
    clip = walk(frames=16)
    matrix = np.rint(axis_angle_matrix(turn[0], np.radians(np.array(float(turn[1])))))
    local = matrix @ matrix_from_quaternion(clip.rotations) @ matrix.T
    rig = replace(
        clip.animal, offsets_m=clip.animal.offsets_m @ matrix.T, tips_m=clip.animal.tips_m @ matrix.T
    )
    turned = replace(
        clip,
        animal=rig,
        root_path_m=clip.root_path_m @ matrix.T,
        rotations=quaternion_from_matrix(local),
    )
    assert_same(clip, read_back(turned, tmp_path, FileSpace("m", "z", "XYZ")))


# What cannot be drawn


def still(clip):
    rotations = np.repeat(clip.rotations[:1], clip.frames, axis=0)
    return replace(
        clip, root_path_m=np.repeat(clip.root_path_m[:1], clip.frames, axis=0), rotations=rotations
    )


def askew(clip):
    turn = axis_angle_matrix("Z", np.array(0.5))
    rig = replace(clip.animal, offsets_m=clip.animal.offsets_m @ turn.T)
    return replace(clip, animal=rig)


def spoilt():
    data = encode(walk(), FileSpace())
    return [
        (encode(still(walk()), FileSpace()), "no stride was found"),
        (encode(cut(walk(), 0, 16), FileSpace()), "shorter than a stride"),
        (encode(cut(walk(), 0, 5), FileSpace()), "5 frames; give a clip of at least 8"),
        (data[: len(data) // 2], "says Frames: 33"),
        (data[:2000], "line 70"),
        (b"", "line 1"),
        ((RIGS / "plain.bvh").read_bytes(), "give the rig's map .* `gaitgen check` reads the clip as it is"),
        (data.replace(b"JOINT carpus", b"JOINT x").replace(b"radius_L", b"forearm"), "lacks 1 of the 44"),
        (encode(askew(walk()), FileSpace()), "not where the animal has them"),
    ]


@pytest.mark.parametrize("case", range(9))
def test_refused_in_one_line(case, tmp_path, capsys):
    data, reason = spoilt()[case]
    file = tmp_path / "clip.bvh"
    file.write_bytes(data)
    with pytest.raises(GaitgenError, match=reason):
        clip_from_bvh(file)
    assert run(["sheet", str(file), "--out", str(tmp_path / "sheet.pdf")]) == 2
    said = capsys.readouterr().err
    assert said.startswith(f"gaitgen: {file}")
    assert said.count("\n") == 1
    assert not (tmp_path / "sheet.pdf").exists()


@pytest.mark.parametrize(
    ("arguments", "reason"),
    [
        (["sheet", "walk.bvh", "--frames", "32"], "leave out --frames"),
        (["plot", "walk.bvh", "--bounce", "1.2", "--what", "trunk"], "leave out --bounce"),
        (["preview", "walk.bvh", "--withers-height", "1.5"], "leave out --withers-height"),
        (["preview", "walk.bvh", "--html", "x.html", "--open"], "--html writes a file and serves nothing"),
        (["preview", "walk.bvh", "--html", "x.txt"], "a name that ends in .html"),
        (["sheet", "walk.bvh"], "walk.bvh is not there"),
    ],
    ids=str,
)
def test_options_that_make_a_cycle_do_not_go_with_a_clip(arguments, reason, capsys):
    assert run(arguments) == 2
    said = capsys.readouterr().err
    assert reason in said
    assert said.count("\n") == 1


# Drawn


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "my_walk.bvh").write_bytes(encode(walk(), FileSpace()))
    return tmp_path


def first_page(file):
    from pypdf import PdfReader

    return PdfReader(file).pages[0].extract_text()


@pytest.mark.thorough
@pytest.mark.usefixtures("folder")
def test_the_sheet_shows_what_that_of_the_request_shows(capsys, monkeypatch):
    monkeypatch.setattr("gaitgen.pictures.pose_cell.paint", lambda *_, **__: None)  # its words are compared
    assert run(["sheet", "my_walk.bvh"]) == 0
    said = capsys.readouterr().out
    assert "note: read from my_walk.bvh: contacts found by position and speed" in said
    assert "wrote my_walk_sheet.pdf" in said
    assert run(["sheet", "walk", "--out", "asked.pdf"]) == 0
    read, asked = first_page("my_walk_sheet.pdf"), first_page("asked.pdf")
    assert "hips low, chest high" in asked
    assert read.replace("my_walk.bvh", "walk") == asked


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    "what",
    [  # of the plan, of the forces worked out anew, of the joints; the rest is made of the same
        "footfalls",
        "forces",
        "joints",
        pytest.param("trunk", marks=pytest.mark.slow),
        pytest.param("spectrum", marks=pytest.mark.slow),
    ],
)
def test_plots(what, folder, capsys):
    assert run(["plot", "my_walk.bvh", "--what", what]) == 0
    assert capsys.readouterr().out.endswith(f"wrote my_walk_{what}.png\n")
    assert run(["plot", "walk", "--what", what, "--out", "asked.png"]) == 0
    read, asked = (greys((folder / name).read_bytes()) for name in (f"my_walk_{what}.png", "asked.png"))
    assert read.shape == asked.shape
    below = [part(picture, 0.0, 0.0, 1.0, 0.9) for picture in (read, asked)]  # the headings differ
    # Forces are worked out anew from the clip, the rest is in it.
    assert ink(below[0]) == pytest.approx(ink(below[1]), rel=0.03 if what == "forces" else 0.02)
    assert ink(below[0]) > 0.02
    apart = 0.5 if what == "forces" else 0.1  # their thin lines lie a little beside each other
    assert (np.abs(below[0] - below[1]) > 0.2).mean() < apart * ink(below[0])


@pytest.mark.sample(1)
@pytest.mark.parametrize("in_place", [True, False])
def test_the_page_plays_the_first_stride_in_place(in_place, folder):
    (folder / "long.bvh").write_bytes(encode(walk(strides=3, in_place=in_place), FileSpace("m", "z", "XYZ")))
    assert run(["preview", "long.bvh", "--html", "page.html"]) == 0
    page = (folder / "page.html").read_text(encoding="utf-8")
    data = json.loads(re.search(r'<script type="application/json" id="clip">(.*?)</script>', page).group(1))
    assert data["frames"] == 32
    assert len(unpacked(data["balls"])) == 33
    assert data["gait"] == "long.bvh"
    asked = walk()
    assert [(p["frame"], p["name"]) for p in data["key_poses"]] == [
        (p.frame, p.name) for p in asked.key_poses
    ]
    assert data["belt_m_per_frame"] * 32 == pytest.approx(asked.facts.stride_length_m, abs=1e-3)


def test_the_first_stride_is_the_clip_of_one_stride(tmp_path):
    back = first_stride(read_back(walk(strides=3, in_place=False), tmp_path))
    assert_same(walk(), back)


def test_the_served_page_of_a_clip_changes_and_writes_nothing(tmp_path):
    server = Server(ClipDesk(b"<p>walk</p>"))
    Thread(target=server.serve_forever, daemon=True).start()
    try:
        with urllib.request.urlopen(server.url, timeout=5) as answer:  # noqa: S310
            assert answer.read() == b"<p>walk</p>"
        write = urllib.request.Request(  # noqa: S310
            f"{server.url}write", data=b"{}", headers={TOKEN_HEADER: server.desk.token}
        )
        for asked in (f"{server.url}clip?frames=24", write):
            with pytest.raises(urllib.error.HTTPError, match="400") as refused:
                urllib.request.urlopen(asked, timeout=5)  # noqa: S310
            assert "as it is" in refused.value.read().decode()
            refused.value.close()
    finally:
        server.shutdown()
        server.finish()
    assert not list(tmp_path.iterdir())
