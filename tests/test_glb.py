"""glTF: valid by the Khronos validator, placed by three.js and trimesh as by us, whole when it moves."""

import hashlib
import io
import json
import shutil
import struct
import subprocess
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from gaitgen import Request, animal_names, make_cycle
from gaitgen.animal.standing import standing_positions_m
from gaitgen.errors import FileFormatError
from gaitgen.formats import glb
from gaitgen.formats.foot_mesh import foot_mesh
from gaitgen.formats.round_mesh import round_mesh
from gaitgen.formats.skin import TONES, skin_of
from gaitgen.motion.kinematics import world_frames

JS = Path(__file__).parent / "js"
TOLERANCE_M = 1e-4
REQUESTS = [
    Request(),
    Request(animal="draft_horse", frames=24, in_place=False, strides=2),
    Request(frames=9, frame_rate_hz=30.0),
    Request(animal="draft_horse", frames=61, frame_rate_hz=60.0),
]


@pytest.fixture(scope="module")
def made():
    """Pairs of a clip and its file."""
    clips = [make_cycle(request) for request in REQUESTS]
    return [(clip, glb.encode(clip, f"walk {k}")) for k, clip in enumerate(clips)]


def node(script, *arguments, package):
    if not shutil.which("node") or not (JS / "node_modules" / package).is_dir():
        pytest.skip("needs node and npm install --prefix tests/js")
    done = subprocess.run(
        ["node", str(JS / script), *arguments], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def opened(data):
    """Split a file into its JSON and its binary part, by the specification's chunks."""
    magic, version, length, json_length, kind = struct.unpack("<4sIII4s", data[:20])
    assert (magic, version, length, kind) == (b"glTF", 2, len(data), b"JSON")
    tree = json.loads(data[20 : 20 + json_length])
    binary_length, kind = struct.unpack("<I4s", data[20 + json_length : 28 + json_length])
    assert kind == b"BIN\0"
    binary = data[28 + json_length :]
    assert len(binary) == binary_length
    return tree, binary


def values(tree, binary, number):
    """Read an accessor: (count, components)."""
    accessor = tree["accessors"][number]
    view = tree["bufferViews"][accessor["bufferView"]]
    kind = {5126: "<f4", 5121: "<u1", 5123: "<u2", 5125: "<u4"}[accessor["componentType"]]
    width = {"SCALAR": 1, "VEC3": 3, "VEC4": 4, "MAT4": 16}[accessor["type"]]
    start = view.get("byteOffset", 0)
    read = np.frombuffer(binary, kind, accessor["count"] * width, start).reshape(-1, width)
    return read.astype(float) / 255.0 if accessor.get("normalized") else read


def in_file(places_m):
    """Turn x forward, y left, z up into x left, y up, z forward."""
    return np.asarray(places_m)[..., [1, 2, 0]]


def skinned(clip, skin, frame):
    """Place the vertices at one frame with scipy's rotations: (vertices, 3), in our axes. [m]"""
    joints, _ = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    turn = [Rotation.from_quat(clip.rotations[frame, 0], scalar_first=True)]
    for joint in range(1, len(clip.animal.joint_names)):
        own = Rotation.from_quat(clip.rotations[frame, joint], scalar_first=True)
        turn.append(turn[clip.animal.parents[joint]] * own)
    turns = np.stack([own.as_matrix() for own in turn])
    standing = standing_positions_m(clip.animal)
    arms = skin.vertices_m[:, None] - standing[skin.joints]  # (vertices, 4, 3)
    carried = joints[frame][skin.joints] + np.einsum("vkij,vkj->vki", turns[skin.joints], arms)
    return np.einsum("vk,vki->vi", skin.weights, carried)


def test_the_khronos_validator_finds_nothing(made, tmp_path):
    files = [tmp_path / f"{k}.glb" for k in range(len(made))]
    for file, (_, data) in zip(files, made, strict=True):
        file.write_bytes(data)
    broken = tmp_path / "broken.glb"  # the check can fail
    broken.write_bytes(made[0][1].replace(b'"VEC3"', b'"VEC2"', 1))
    reports = node("validate.mjs", *map(str, [*files, broken]), package="gltf-validator")
    for file in files:
        assert reports[str(file)]["issues"]["messages"] == []
        assert reports[str(file)]["info"]["animationCount"] == 1
    assert reports[str(broken)]["issues"]["numErrors"] > 0


@pytest.mark.sample(1)
@pytest.mark.parametrize("number", [0, 1])
def test_three_js_places_joints_and_skin_as_we_do(made, number, tmp_path):
    clip, data = made[number]
    (tmp_path / "walk.glb").write_bytes(data)
    skin = skin_of(clip.animal)
    vertices = np.linspace(0, len(skin.vertices_m) - 1, 200).astype(int)
    frames = [0, 7, clip.frames - 2]
    times = [str(frame / clip.frame_rate_hz) for frame in frames]
    chosen = ",".join(map(str, vertices))
    read = node("glb_positions.mjs", str(tmp_path / "walk.glb"), chosen, *times, package="three")
    joints, _ = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    for frame, pose in zip(frames, read["poses"], strict=True):
        assert list(pose["joints"]) == list(clip.animal.joint_names)
        places = np.array(list(pose["joints"].values()))
        np.testing.assert_allclose(places, in_file(joints[frame]), atol=TOLERANCE_M)
        # Weights are whole 255ths in the file, so the skin may be off by their rounding.
        expected = in_file(skinned(clip, skin, frame)[vertices])
        np.testing.assert_allclose(pose["vertices"], expected, atol=2e-3)
    assert read["name"] == f"walk {number}"
    assert read["duration"] == pytest.approx((clip.frames - 1) / clip.frame_rate_hz, abs=1e-6)
    assert read["tracks"] == len(clip.animal.joint_names) + 1
    poses = [(pose["frame"], pose["name"]) for pose in read["extras"]["key_poses"]]
    assert poses == [(pose.frame, pose.name) for pose in clip.key_poses]


def test_three_js_turns_between_frames_as_scipy_does(made, tmp_path):
    from scipy.spatial.transform import Slerp

    clip, data = made[2]
    (tmp_path / "walk.glb").write_bytes(data)
    between = 4.5
    read = node(
        "glb_positions.mjs",
        str(tmp_path / "walk.glb"),
        "0",
        str(between / clip.frame_rate_hz),
        package="three",
    )
    turns = np.stack(
        [
            Slerp([4, 5], Rotation.from_quat(clip.rotations[4:6, joint], scalar_first=True))(between).as_quat(
                scalar_first=True
            )
            for joint in range(clip.rotations.shape[1])
        ]
    )
    joints, _ = world_frames(clip.animal, clip.root_path_m[4:6].mean(axis=0)[None], turns[None])
    places = np.array(list(read["poses"][0]["joints"].values()))
    np.testing.assert_allclose(places, in_file(joints[0]), atol=TOLERANCE_M)


def test_trimesh_loads_the_standing_figure(made):
    import trimesh

    for clip, data in made[:2]:
        scene = trimesh.load(io.BytesIO(data), file_type="glb")
        (mesh,) = scene.geometry.values()
        low, high = mesh.bounds
        assert 0.95 * clip.animal.withers_height_m < high[1] < 1.5 * clip.animal.withers_height_m
        assert low[1] == pytest.approx(0.0, abs=1e-3)  # soles on the ground
        assert high[2] - low[2] > 1.3 * clip.animal.withers_height_m  # long along z
        assert high[2] > -low[2]  # and the head in front
        assert low[0] == pytest.approx(-high[0], abs=5e-3)


def test_accessors_tell_their_limits_and_quaternions_do_not_jump(made):
    for clip, data in made:
        tree, binary = opened(data)
        for number, accessor in enumerate(tree["accessors"]):
            read = values(tree, binary, number)
            assert np.isfinite(read).all()
            if accessor.get("min"):
                assert accessor["min"] == read.min(axis=0).tolist()
                assert accessor["max"] == read.max(axis=0).tolist()
        animation = tree["animations"][0]
        for channel in animation["channels"]:
            sampler = animation["samplers"][channel["sampler"]]
            assert sampler["interpolation"] == "LINEAR"
            times = values(tree, binary, sampler["input"])[:, 0]
            np.testing.assert_allclose(times, np.arange(clip.frames) / clip.frame_rate_hz, atol=1e-6)
            assert tree["accessors"][sampler["input"]]["min"] == [0.0]
            output = values(tree, binary, sampler["output"])
            assert len(output) == clip.frames
            if channel["target"]["path"] == "rotation":
                np.testing.assert_allclose(np.linalg.norm(output, axis=1), 1.0, atol=1e-6)
                assert (np.sum(output[1:] * output[:-1], axis=1) > 0.0).all()
        names = [node["name"] for node in tree["nodes"][: len(clip.animal.joint_names)]]
        assert names == list(clip.animal.joint_names)
        assert b"-0.0," not in data[:20000]


def test_quaternions_that_flip_in_the_clip_do_not_in_the_file(made):
    clip, data = made[2]
    flipped = clip.rotations.copy()
    flipped[1::2] *= -1.0
    assert glb.encode(replace(clip, rotations=flipped), "walk 2") == data


def test_the_last_sample_repeats_the_first_and_key_poses_are_named(made):
    tree, binary = opened(made[0][1])
    animation = tree["animations"][0]
    for sampler in animation["samplers"]:
        output = values(tree, binary, sampler["output"])
        np.testing.assert_allclose(output[-1], output[0], atol=1e-6)
    assert animation["extras"]["frame_rate_hz"] == 24.0
    first, second = animation["extras"]["key_poses"][:2]
    assert first == {"frame": 1.0, "time_s": 0.0, "name": "RH contact"}
    assert (second["frame"], second["time_s"]) == (5.0, pytest.approx(4.0 / 24.0, abs=1e-6))


@pytest.mark.thorough
def test_the_same_clip_gives_the_same_bytes(made):
    code = (
        "import sys, hashlib; from gaitgen import Request, make_cycle; from gaitgen.formats import glb;"
        "print(hashlib.sha256(glb.encode(make_cycle(Request()), 'walk 0')).hexdigest(),"
        "len([m for m in ('matplotlib', 'bvhio') if m in sys.modules]))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout.split() == [hashlib.sha256(made[0][1]).hexdigest(), "0"]


@cache
def walk_in_its_skin(animal):
    """A skin takes a second or two."""
    clip = make_cycle(Request(animal=animal, frames=24))
    return clip, skin_of(clip.animal)


KNEE = pytest.mark.xfail(
    strict=True, reason="the skin over its folded stifle is longer by 0.071 of its height (0.066)"
)

THIN = pytest.mark.xfail(
    strict=True, reason="of its slim neck and narrow chest 0.899 of 0.9 look where normals do"
)
MARKS = {"brown_bear": KNEE, "greyhound": THIN}


@pytest.mark.sample(1)
@pytest.mark.parametrize("animal", [pytest.param(name, marks=MARKS.get(name, [])) for name in animal_names()])
def test_the_skin_stays_whole_in_motion(animal):
    clip, skin = walk_in_its_skin(animal)
    size_m = clip.animal.withers_height_m
    np.testing.assert_allclose(np.linalg.norm(skin.normals, axis=1), 1.0, atol=1e-9)
    np.testing.assert_allclose(skin.weights.sum(axis=1), 1.0, atol=1e-12)
    assert skin.weights.min() >= 0.0
    assert (np.diff(skin.weights, axis=1) <= 0.0).all()
    assert 10_000 < len(skin.triangles) < 60_000
    edges = np.sort(skin.triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    edges = np.unique(edges, axis=0)

    def lengths_m(places):
        return np.linalg.norm(places[edges[:, 0]] - places[edges[:, 1]], axis=1)

    standing = lengths_m(skin.vertices_m)
    area = np.cross(
        *(skin.vertices_m[skin.triangles[:, [k]]] - skin.vertices_m[skin.triangles[:, [0]]] for k in (1, 2))
    )
    facing = np.sum(area[:, 0] * skin.normals[skin.triangles].mean(axis=1), axis=1)
    assert (facing > 0.0).mean() > 0.9  # triangles look where normals do, but for some inside the body
    for frame in (0, 9, 17):
        moved = lengths_m(skinned(clip, skin, frame))
        assert (moved - standing).max() < 0.066 * size_m  # the skin over a folded knee or elbow
        assert np.mean(np.abs(moved - standing) / np.maximum(standing, 0.0125 * size_m) > 0.25) < 0.01


def test_the_skin_is_the_figure_of_the_sheets():
    from gaitgen.animal.flesh import body_of

    clip = make_cycle(Request())
    skin, body = skin_of(clip.animal), body_of(clip.animal)
    standing = standing_positions_m(clip.animal)
    ends = np.einsum("ceb,bi->cei", body.blend, standing[body.joints] + body.offsets_m)
    low = (ends - body.radii_m[..., None]).min(axis=(0, 1))
    high = (ends + body.radii_m[..., None]).max(axis=(0, 1))
    np.testing.assert_allclose(skin.vertices_m.max(axis=0)[:2], high[:2], atol=0.01)
    np.testing.assert_allclose(skin.vertices_m.min(axis=0)[:2], low[:2], atol=0.01)
    assert skin.vertices_m[:, 2].max() == pytest.approx(high[2], abs=0.01)


@pytest.mark.sample(2)
@pytest.mark.parametrize("animal", animal_names())
def test_eyes_and_nostrils_are_seen(animal):
    clip, skin = walk_in_its_skin(animal)
    near_m = 0.025 * clip.animal.withers_height_m
    dark, flesh = skin.vertices_m[skin.tones == TONES["marks"]], skin.vertices_m[skin.tones == 1.0]
    for side in (1.0, -1.0):
        mine = dark[dark[:, 1] * side > 0.0]
        eye = mine[mine[:, 2] > mine[:, 2].mean()]  # above the nostrils
        near = flesh[np.linalg.norm(flesh - eye.mean(axis=0), axis=1) < near_m]
        assert len(eye) > 10
        assert np.abs(eye[:, 1]).max() > np.abs(near[:, 1]).max()


@pytest.mark.parametrize("radii", [(0.2, 0.1), (0.1, 0.2), (0.1, 0.1), (0.5, 0.1), (0.1, 0.6)])
@pytest.mark.parametrize("end", [(0.3, 0.1, -0.2), (0.0, 0.4, 0.0), (0.0, 0.0, 0.0)])
def test_capsules_are_closed_round_and_face_outward(radii, end):
    import trimesh

    ends, radii = np.array([(1.0, 2.0, 3.0), np.add((1.0, 2.0, 3.0), end)]), np.array(radii)
    vertices, normals, along, triangles = round_mesh(ends, radii, 0.034)
    centre = ends[0] + along[:, None] * (ends[1] - ends[0])
    radius = radii[0] + along * (radii[1] - radii[0])
    np.testing.assert_allclose(vertices, centre + radius[:, None] * normals, atol=1e-12)
    mesh = trimesh.Trimesh(vertices, triangles)  # merges the poles
    assert mesh.is_watertight
    assert mesh.volume > 0.0
    hull = mesh.convex_hull
    assert mesh.volume == pytest.approx(hull.volume, rel=0.01)


def test_feet_are_closed_and_reach_the_toe():
    import trimesh

    sole = [(x, y, -0.06) for x in (0.08, -0.05) for y in (0.06, -0.06)]
    top = [(x, y, 0.03) for x in (0.03, -0.04) for y in (0.04, -0.04)]
    vertices, normals, triangles = foot_mesh(np.array(sole + top))
    mesh = trimesh.Trimesh(vertices, triangles)
    assert mesh.is_watertight
    assert 0.5 < mesh.volume / (0.09 * 0.12 * 0.13) < 0.8
    assert np.abs(vertices - [0.08, 0.0, -0.06]).max(axis=1).min() < 1e-12
    np.testing.assert_allclose(np.linalg.norm(normals, axis=1), 1.0, atol=1e-12)
    wall = np.abs(normals[:, 2]) < 0.99
    outward = np.sum(normals[wall] * (vertices[wall] - vertices.mean(axis=0)), axis=1)
    assert (outward > 0.0).all()


def test_numbers_that_are_not_finite_are_refused(made):
    clip = made[0][0]
    path = clip.root_path_m.copy()
    path[4, 1] = np.nan
    with pytest.raises(FileFormatError, match="the root path of frame 5 has a number that is not finite"):
        glb.encode(replace(clip, root_path_m=path))


def test_the_command_writes_it_beside_the_others(tmp_path, capsys):
    from gaitgen.commands import run

    assert (
        run(["cycle", "walk", "--frames", "16", "--glb", "--no-keys", "--out", str(tmp_path), "--name", "w"])
        == 0
    )
    assert {path.name for path in tmp_path.glob("w*")} == {"w.bvh", "w.channels.csv", "w.glb"}
    assert "w.glb" in capsys.readouterr().out
    tree, _ = opened((tmp_path / "w.glb").read_bytes())
    assert tree["animations"][0]["name"] == "w"
    assert run(["cycle", "walk", "--glb", "--out", "-"]) == 2
    assert "only the BVH goes to standard output" in capsys.readouterr().err
