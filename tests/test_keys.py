"""Keys: the splines through them are the motion, they are few, and they sit where poses are."""

import csv
import io
import math
import subprocess
import sys
from dataclasses import replace
from functools import cache
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from read_keys_example import read_keys
from scipy.interpolate import CubicHermiteSpline
from scipy.optimize import linprog
from splines import hermite, of_channel

from gaitgen import Request, animal_names, make_cycle
from gaitgen.commands import run
from gaitgen.errors import FileFormatError
from gaitgen.formats import bvh, channels, hand_off
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.hand_off import HandOff
from gaitgen.formats.keys import (
    channel_keys,
    encode,
    encode_key_poses,
    key_pose_notices,
    played_clip,
    tolerances,
)
from gaitgen.gait.gait import load_gait
from gaitgen.motion.hermite import own_slopes
from gaitgen.motion.key_fit import fit_keys
from gaitgen.motion.key_rows import SLOPE_FREEDOM
from gaitgen.motion.keys import choose_keys
from gaitgen.motion.measure import slip_m
from gaitgen.motion.named_frames import named_frames, pose_frames
from gaitgen.motion.tolerance import Tolerance

SPACE = FileSpace()
FEW = settings(max_examples=6, deadline=None, derandomize=True)


@cache
def walk(**options):
    return make_cycle(Request(**options))


def curves_of(data, tmp_path):
    """Read a keys file with the example of the README into one spline a channel."""
    path = tmp_path / "some.keys.csv"
    path.write_bytes(data)
    keys = {}
    read_keys(path, lambda channel, *key: keys.setdefault(channel, []).append(key))
    return {name: np.array(rows) for name, rows in keys.items()}


def spline(rows):
    return hermite(*rows.T)


ANY_CLIP = (
    st.sampled_from(animal_names()),
    st.integers(8, 96),
    st.booleans(),
    st.sampled_from([1, 3]),
    st.sampled_from([Tolerance(), Tolerance(0.1, 1.0)]),
)


@pytest.mark.parametrize("examples", [2, pytest.param(6, marks=pytest.mark.thorough)])
def test_splines_of_the_file_are_the_motion_within_the_deviation_told(examples, tmp_path_factory):
    def tried(animal, frames, in_place, strides, tolerance):
        splines_are_the_motion(tmp_path_factory, animal, frames, in_place, strides, tolerance)

    settings(FEW, max_examples=examples)(given(*ANY_CLIP)(tried))()


def splines_are_the_motion(tmp_path_factory, animal, frames, in_place, strides, tolerance):
    clip = make_cycle(Request(animal=animal, frames=frames, in_place=in_place, strides=strides))
    keys = channel_keys(clip, SPACE, tolerance)
    read = curves_of(encode(keys), tmp_path_factory.mktemp("keys"))
    table = list(csv.DictReader(io.StringIO(channels.encode(clip, SPACE).decode())))
    assert list(read) == [name for name in table[0] if "." in name]
    for k, (name, rows) in enumerate(read.items()):
        dense = np.array([float(row[name]) for row in table])
        away = np.abs(spline(rows)(np.arange(clip.frames) + 1.0) - dense).max()
        assert away <= keys.deviation[k] + 1e-5, name
        most = (
            100.0 * tolerance.length_m(clip.animal.hip_height_m)
            if name.endswith("position")
            else tolerance.angle_deg
        )
        assert away <= most, name
        assert np.all(np.diff(rows[:, 0]) > 0)
        assert rows[[0, -1], 0].tolist() == [1, clip.frames]
        assert rows[0, 2:] == pytest.approx(rows[-1, 2:], abs=1e-9), "the loop goes on as it began"
    assert keys.played() == pytest.approx(
        np.stack([spline(r)(np.arange(clip.frames) + 1) for r in read.values()], 1), abs=1e-4
    )


@pytest.mark.sample(1)
@pytest.mark.parametrize("animal", animal_names())
def test_keys_fall_on_the_same_poses_at_every_length(animal):
    named = {}
    for frames in (16, 24, 32, 48, 96):
        keys = channel_keys(walk(animal=animal, frames=frames, lag=0.25), SPACE)
        poses = {(frame - 1) / frames: name for frame, name in keys.poses.items()}
        assert list(poses) == [k / 8 for k in range(9)]
        named[frames] = list(poses.values())
        for channel in range(len(keys.names)):
            assert set(keys.poses) <= set(keys.frame[keys.channel == channel].tolist())
        assert keys.notices == ()
    # Common practice, no source: contacts and down and up positions in turn, right hind first.
    assert [name for name in named[32] if "contact" in name] == [
        f"{f} contact" for f in ("RH", "RF", "LH", "LF", "RH")
    ]
    if "horse" in animal:  # how low is low changes with the length where ends hardly rise
        assert len({tuple(names) for names in named.values()}) == 1


@pytest.mark.sample(5)
@pytest.mark.parametrize("frames", [8, 16, 24, 32, 64])
@pytest.mark.parametrize("animal", animal_names())
def test_planted_toes_hardly_drift_on_the_splines(animal, frames):
    clip = walk(animal=animal, frames=frames)
    assert slip_m(played_clip(clip, channel_keys(clip, SPACE), SPACE)) <= 3.0e-3


def greedy(dense, slopes, tolerance, rows):
    """Put a key where a spline with the curve's own slopes is farthest off until it is near enough."""
    rows, at = sorted(rows), np.arange(len(dense))
    while True:
        away = np.abs(CubicHermiteSpline(rows, dense[rows], slopes[rows])(at) - dense)
        if away.max() <= tolerance:
            return len(rows)
        rows = sorted([*rows, int(away.argmax())])


@pytest.mark.parametrize("frames", [24, 32, 64])
def test_fewer_keys_than_greedy_insertion(frames):
    clip = walk(frames=frames)
    names, table = bvh.channel_table(clip, SPACE)
    keys = choose_keys(clip, names, table, tolerances(names, SPACE, Tolerance(), clip.animal.hip_height_m))
    slopes = own_slopes(table, is_closed=True)
    rows = [frame - 1 for frame in keys.poses]
    base = [greedy(y, s, t, rows) for y, s, t in zip(table.T, slopes.T, keys.tolerance, strict=True)]
    named = len(rows) * len(keys.names)
    assert int(keys.count.sum()) - named <= 0.6 * (sum(base) - named)


@pytest.mark.parametrize("seed", range(6))
def test_as_few_keys_as_trying_every_choice(seed):
    """All subsets of rows, smallest first, each by linear programming over its slopes."""
    rng = np.random.default_rng(seed)
    rows, tolerance = 11, 0.05
    curve = np.cumsum(np.cumsum(rng.normal(size=rows))) * 0.05
    own = own_slopes(curve[:, None], is_closed=False)[:, 0]
    is_key, _ = fit_keys(
        curve[:, None],
        np.array([tolerance]),
        np.zeros((rows, 1), bool),
        np.full((rows, 1), np.nan),
        is_closed=False,
    )

    def fits(inner):
        place, unit = [0, *inner, rows - 1], np.eye(len(inner) + 2)
        at = np.arange(rows)
        base = CubicHermiteSpline(place, curve[place], np.zeros(len(place)))(at)
        weight = np.stack([CubicHermiteSpline(place, np.zeros(len(place)), e)(at) for e in unit], axis=1)
        free = np.where(np.isin(place, [0, rows - 1]), 0.0, SLOPE_FREEDOM * tolerance)
        bounds = list(zip(own[place] - free, own[place] + free, strict=True))
        limits = np.concatenate([tolerance - (base - curve), tolerance + (base - curve)])
        return (
            linprog(np.zeros(len(place)), np.concatenate([weight, -weight]), limits, bounds=bounds).status
            == 0
        )

    inner = range(1, rows - 1)
    fewest = next(n for n in range(rows) if any(fits(choice) for choice in combinations(inner, n)))
    assert fewest <= is_key.sum() - 2 <= fewest + 1


@pytest.mark.sample(1)
@pytest.mark.parametrize("frames", [24, 32, 48])
def test_between_frames_the_splines_are_no_farther_off_than_with_a_key_on_every_frame(frames):
    fine = 4
    clip = walk(frames=frames)
    fixed = {key: getattr(clip.facts, key) for key in ("duty_factor", "lag", "speed_m_s")}
    finer = make_cycle(Request(frames=frames * fine, frame_rate_hz=24.0 * fine, **fixed))
    keys = channel_keys(clip, SPACE)
    _, coarse = bvh.channel_table(clip, SPACE)
    _, truth = bvh.channel_table(finer, SPACE)
    at = np.arange(frames * fine + 1) / fine
    dense = CubicHermiteSpline(np.arange(frames + 1), coarse, own_slopes(coarse, is_closed=True))(at)
    worst = []
    for k in range(len(keys.names)):
        curve = of_channel(keys, k, first=0.0)(at)
        worst.append(np.abs(curve - truth[:, k]).max() / keys.tolerance[k])
    assert max(worst) <= (np.abs(dense - truth) / keys.tolerance).max() + 1.0


def test_strides_are_alike_and_travel_goes_on():
    clip = walk(strides=3, in_place=False)
    keys = channel_keys(clip, SPACE)
    for k in range(len(keys.names)):
        mine = keys.channel == k
        frame, slope = keys.frame[mine] - 1, keys.tangent_out[mine]
        turns = [slope[(frame >= 32 * t) & (frame < 32 * t + 32)] for t in range(3)]
        np.testing.assert_array_equal(turns[0], turns[1])
        np.testing.assert_array_equal(turns[0], turns[2])
    assert list(keys.poses) == [1 + 4 * k for k in range(25)]


@pytest.mark.sample(1)
@pytest.mark.parametrize("named", [True, False])
def test_a_clip_without_a_period_has_keys_too(named):
    cycle = walk(strides=4)
    steps = cycle.steps.unrolled(-3.0, 9.0)
    later = [replace(pose, frame=pose.frame + 64.0) for pose in cycle.key_poses]
    clip = replace(cycle, steps=steps, key_poses=tuple(later) if named else ())
    keys = channel_keys(clip, SPACE)
    assert list(keys.poses) == ([65 + 4 * k for k in range(9)] if named else [])
    assert np.all(keys.deviation <= keys.tolerance)
    _, table = bvh.channel_table(clip, SPACE)
    np.testing.assert_allclose(np.abs(keys.played() - table).max(axis=0), keys.deviation, atol=1e-12)


@pytest.mark.sample(14)
@pytest.mark.parametrize("frames", [11, 12, 18, 27, 29])
@pytest.mark.parametrize("animal", animal_names())
def test_the_plan_names_whole_frames_at_any_length(animal, frames):
    clip = walk(animal=animal, frames=frames)
    poses, notices = named_frames(clip)
    # Between contacts one frame apart there is no whole frame for a pose: that is said, and only that.
    apart = round(load_gait("walk").as_used_by(clip.animal).lag * frames)
    assert bool(notices) == (apart < 2)
    if notices:
        return
    assert [pose.frame for pose in clip.key_poses] == list(poses)
    assert [pose.name for pose in clip.key_poses] == list(poses.values())


def test_poses_between_frames_move_to_whole_frames_and_are_told():
    poses, notices = named_frames(walk(frames=13, lag=0.25, whole_frames=False))
    assert list(poses) == [1, 3, 4, 6, 8, 9, 11, 12, 14]
    assert "frame 2.625 to 3" in notices[0].text
    assert "a stride of 8, 16, 24, ... frames avoids that" in notices[0].text
    _, notices = named_frames(walk(frames=28, lag=0.13, whole_frames=False))
    assert "these poses move" in notices[0].text
    assert "8, 16" not in notices[0].text, "no length helps contacts that are not even"
    crowded, _ = named_frames(
        replace(walk(), key_poses=(*walk().key_poses, replace(walk().key_poses[1], frame=5.2)))
    )
    assert crowded[5] == "hips low, chest high; hips low, chest high"


def test_a_curve_that_is_not_a_number_is_refused_by_name_and_frame():
    table = np.zeros((33, 1))
    table[6] = np.inf
    with pytest.raises(FileFormatError, match=r"jaw\.Xrotation is inf at frame 7; keys need finite numbers"):
        choose_keys(walk(), ("jaw.Xrotation",), table, np.array([0.5]))


def test_straight_pieces_are_straight_between_frames_too():
    clip = walk()
    frame = np.arange(33.0)
    table = np.where(frame < 20, 3.0 - 0.7 * frame, 0.0)
    table[20:] = table[19] + (3.0 - table[19]) * (1 - np.cos(np.pi * (frame[20:] - 19) / 13)) / 2
    is_straight = (frame < 20)[:, None]
    keys = choose_keys(
        clip,
        ("a",),
        table[:, None],
        np.array([0.5]),
        is_straight=is_straight,
        straight_slope=np.array([-0.7]),
    )
    at = np.linspace(1, 20, 500)
    curve = of_channel(keys, 0)
    np.testing.assert_allclose(curve(at), 3.0 - 0.7 * (at - 1), atol=1e-12)
    assert {1, 20} <= set(keys.frame.tolist())


def test_the_same_request_gives_the_same_bytes():
    wanted = HandOff(controls=True, key_poses=True)
    first, second = (hand_off.encode(make_cycle(Request(frames=24)), SPACE, wanted)[0] for _ in range(2))
    assert first == second
    assert sorted(first) == [
        ".bvh",
        ".channels.csv",
        ".controls.csv",
        ".controls.keys.csv",
        ".keys.csv",
        ".poses.bvh",
    ]
    for data in first.values():
        assert data.endswith(b"\n")
        assert b"\r" not in data
        assert b",-0.000000" not in data


def test_rows_of_the_file_name_channel_frame_and_pose():
    rows = list(csv.reader(io.StringIO(encode(channel_keys(walk(), SPACE)).decode())))
    assert rows[0] == ["channel", "frame", "value", "tangent_in", "tangent_out", "pose"]
    assert rows[1][:2] == ["pelvis.Xposition", "1"]
    assert rows[1][5] == "RH contact"
    assert any(row[5] == "" for row in rows), "keys that only the curve needs have no pose"
    assert any(row[5] == "hips low, chest high" for row in rows)


def test_key_poses_alone_have_the_numbers_of_the_full_file():
    clip = walk(strides=2)
    full, alone = (
        data.decode().splitlines() for data in (bvh.encode(clip, SPACE), encode_key_poses(clip, SPACE))
    )
    start = full.index("MOTION")
    assert alone[:start] == full[:start]
    assert alone[start + 1 : start + 3] == ["Frames: 17", "Frame Time: 0.16666667"]  # 4 frames at 24 fps
    assert alone[start + 3 :] == full[start + 3 :: 4]


@pytest.mark.parametrize(
    ("options", "rows"),
    [
        ({"frames": 12}, [1, 2, 4, 5, 7, 8, 10, 11, 13]),
        ({"gait": "gallop", "frames": 16}, None),
        ({"frames": 32, "lag": 0.2, "strides": 2}, None),
        ({"frames": 12, "whole_frames": False}, None),
    ],
)
def test_key_poses_that_are_not_evenly_spaced_say_their_frames(options, rows):
    clip = make_cycle(Request(**{"gait": "walk"} | options))
    (told,) = key_pose_notices(clip)
    full, alone = (
        data.decode().splitlines() for data in (bvh.encode(clip, SPACE), encode_key_poses(clip, SPACE))
    )
    start = full.index("MOTION")
    named = sorted({math.floor(frame + 0.5) for frame, _ in pose_frames(clip)})
    assert alone[start + 3 :] == [full[start + 2 + frame] for frame in named]
    assert rows is None or named == rows
    assert f"are frames {', '.join(map(str, named[:9]))}" in told.text
    count, time_s = int(alone[start + 1].split()[1]), float(alone[start + 2].split()[2])
    assert count == len(alone) - start - 3 == len(named)
    length_s = (named[-1] - named[0]) / clip.frame_rate_hz
    assert time_s * (count - 1) == pytest.approx(length_s, abs=1e-6 * count)


def test_key_poses_that_are_evenly_spaced_need_no_word():
    assert key_pose_notices(walk(frames=32)) == ()


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--tolerance-deg", "nan"], "tolerance in degrees is nan; give a number from 0.001 to 45"),
        (["--tolerance-mm", "-1"], "tolerance in mm is -1; give a number from 0.001 to 1000"),
        (["--rig-scale", "2"], "the size of a rig changes the control curves only; add --controls"),
        (
            ["--controls", "--rig-scale", "0"],
            "rig scale makes the rig 0 times the animal; give 0.0001 to 10000 times",
        ),
        (["--controls", "--rig-scale", "1", "--rig-height", "9"], "both given; give one of them"),
        (["--controls", "--out", "-"], "only the BVH goes to standard output; for other files give --out"),
    ],
)
def test_bad_requests_are_one_line_and_write_nothing(options, told, tmp_path, capsys):
    folder = tmp_path / "out"
    out = [] if "--out" in options else ["--out", str(folder)]
    assert run(["cycle", "walk", *out, *options]) == 2
    said = capsys.readouterr().err
    assert told in said
    assert said.count("\n") == 1
    assert not folder.exists()


def test_the_report_counts_keys_and_tells_how_far_feet_drift_on_them(tmp_path, capsys):
    assert run(["cycle", "walk", "--out", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    clip = walk()
    keys = channel_keys(clip, SPACE)
    drift_m = keys.drift / 100.0
    assert slip_m(played_clip(clip, keys, SPACE)) <= drift_m + 1e-6
    assert f"{keys.value.size} in {len(keys.names)} channels, at most {keys.count.max()} in one" in said
    assert f"planted toes drift by at most {drift_m * 1000:.1f} mm" in said
    closer = channel_keys(clip, SPACE, Tolerance(0.1, 1.0))
    assert slip_m(played_clip(clip, closer, SPACE)) < min(1e-3, 0.6 * drift_m)
    assert run(["cycle", "walk", "--out", str(tmp_path), "--name", "bare", "--no-keys"]) == 0
    assert not (tmp_path / "bare.keys.csv").exists()
    assert "splines" not in capsys.readouterr().out


@pytest.mark.thorough
def test_keys_need_no_heavy_import(tmp_path):
    code = (
        "import sys; from gaitgen.commands import run; "
        "code = run(['cycle', 'walk', '--controls', '--out', sys.argv[1]]); "
        "sys.exit(code or ('scipy' in sys.modules) or ('matplotlib' in sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code, str(tmp_path)], check=False, capture_output=True)
    assert done.returncode == 0
