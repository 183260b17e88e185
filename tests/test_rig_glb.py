"""A clip on somebody's rig as glTF: the rig's own joints where the BVH has them, in a skin."""

import io

import numpy as np
import pytest
from make_more_rigs import MORE
from make_rigs import UNITS, plans
from test_glb import TOLERANCE_M, node, opened, values

from gaitgen.commands import run
from gaitgen.formats.bvh_file import placed
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.request import Request
from gaitgen.numerics.rotations import matrix_from_quaternion
from gaitgen.rigs.command import cycle_on_rig
from gaitgen.rigs.glb import encode_glb

pytestmark = pytest.mark.usefixtures("fits_once")

# In other units and axes, with few channels, with a body under a master; one that stands in frame 1.
PLANS = {
    **MORE,
    **{name: plans()[name] for name in ("plain", "few_channels", "x_up_inches", "turned_joints")},
}
UPRIGHT = {
    "-y": -np.eye(3) + 2 * np.diag([1, 0, 0]),
    "x": [[0, -1, 0], [1, 0, 0], [0, 0, 1]],
    "y": np.eye(3),
    "z": [[1, 0, 0], [0, 0, 1], [0, -1, 0]],
}
UPRIGHT["-z"] = [[1, 0, 0], [0, 0, -1], [0, 1, 0]]


def worlds(tree, turns, places):
    """Place joints by their nodes: local translations and rotations (frames, joints, ...) to the world's."""
    above = {child: k for k, each in enumerate(tree["nodes"]) for child in each.get("children", ())}
    for joint in range(turns.shape[1]):
        if joint in above:
            parent = above[joint]
            assert parent < joint
            places[:, joint] = places[:, parent] + np.einsum("fij,fj->fi", turns[:, parent], places[:, joint])
            turns[:, joint] = turns[:, parent] @ turns[:, joint]
    return places, turns


def posed(tree, binary, joints):
    """Play every frame with our own kinematics."""
    nodes, animation = tree["nodes"][:joints], tree["animations"][0]
    samplers = animation["samplers"]
    frames = tree["accessors"][samplers[0]["output"]]["count"]
    places = np.tile([each["translation"] for each in nodes], (frames, 1, 1))
    turns = np.tile(np.eye(3), (frames, joints, 1, 1))
    for channel in animation["channels"]:
        output = values(tree, binary, samplers[channel["sampler"]]["output"]).astype(float)
        joint = channel["target"]["node"]
        if channel["target"]["path"] == "rotation":
            turns[:, joint] = matrix_from_quaternion(output[:, [3, 0, 1, 2]])
        else:
            places[:, joint] = output
    return worlds(tree, turns, places)


def in_format(made, points):
    """Turn points of the rig's file into metres, y up."""
    return points @ (np.array(UPRIGHT[made.rig.map.up], dtype=float) * UNITS[made.rig.map.unit]).T


@pytest.mark.always("kaltblut")
@pytest.mark.parametrize("name", list(PLANS))
def test_joints_have_the_rigs_names_and_are_where_its_bvh_has_them(name, chart):
    made = cycle_on_rig(str(chart(name)[0]), Request(frames=24))
    tree, binary = opened(encode_glb(made, "w"))
    file = made.rig.file
    joints = len(file.joint_names)
    assert [each["name"] for each in tree["nodes"][:joints]] == list(file.joint_names)
    for joint, parent in enumerate(file.parents.tolist()):
        assert parent < 0 or joint in tree["nodes"][parent]["children"]
    bvh = read_bvh(made.bvh(), name)
    expected = in_format(made, placed(bvh)[0])
    found, turns = posed(tree, binary, joints)
    np.testing.assert_allclose(found, expected, atol=TOLERANCE_M)
    skin, mesh = tree["skins"][0], tree["meshes"][0]["primitives"][0]["attributes"]
    assert skin["joints"] == list(range(joints))
    rows, weights = (values(tree, binary, mesh[key]) for key in ("JOINTS_0", "WEIGHTS_0"))
    vertices = values(tree, binary, mesh["POSITION"]).astype(float)
    binding = np.swapaxes(
        values(tree, binary, skin["inverseBindMatrices"]).reshape(joints, 4, 4).astype(float), 1, 2
    )
    bound = np.concatenate([vertices, np.ones((len(vertices), 1))], axis=1)
    here = np.einsum("vkij,vj->vki", binding[rows.astype(int)], bound)[..., :3]
    rows, low = rows.astype(int), []
    for frame in range(len(found)):
        moved = np.einsum("vkij,vkj->vki", turns[frame][rows], here) + found[frame][rows]
        low.append(np.einsum("vk,vki->vi", weights, moved)[:, 1].min())
    height = made.clip.animal.withers_height_m
    assert np.ptp(low) < 0.1 * height
    assert np.abs(np.median(low)) < 0.05 * height  # feet on the ground


@pytest.fixture(scope="module")
def files(chart, tmp_path_factory):
    """One file in centimetres, y up, and one in metres, z up, as the command writes them."""
    out = tmp_path_factory.mktemp("written")
    for name in ("kaltblut", "lagarto"):
        line = ["cycle", "walk", "--animal", str(chart(name)[0]), "--frames", "24", "--no-keys", "--glb"]
        assert run([*line, "--out", str(out), "--name", name]) == 0
    return {name: out / f"{name}.glb" for name in ("kaltblut", "lagarto")}


def test_the_khronos_validator_finds_nothing(files):
    reports = node("validate.mjs", *map(str, files.values()), package="gltf-validator")
    for file in files.values():
        assert reports[str(file)]["issues"]["messages"] == []
        assert reports[str(file)]["info"]["animationCount"] == 1


@pytest.mark.parametrize("name", ["kaltblut", "lagarto"])
def test_three_js_plays_its_joints_where_the_bvh_has_them(name, chart, files):
    made = cycle_on_rig(str(chart(name)[0]), Request(frames=24))
    there = in_format(made, placed(read_bvh(made.bvh(), name))[0])
    frames = [0, 7, 23]
    read = node(
        "glb_positions.mjs", str(files[name]), "0", *(str(each / 24.0) for each in frames), package="three"
    )
    for frame, pose in zip(frames, read["poses"], strict=True):
        found = np.array(list(pose["joints"].values()))
        np.testing.assert_allclose(found, there[frame], atol=TOLERANCE_M)


def test_trimesh_finds_it_standing_on_the_ground(files):
    import trimesh

    for name, file in files.items():
        scene = trimesh.load(io.BytesIO(file.read_bytes()), file_type="glb")
        (mesh,) = scene.geometry.values()
        low, high = mesh.bounds
        assert low[1] == pytest.approx(0.0, abs=0.02)
        assert 0.5 < high[1] < 3.0, name


def test_a_shot_on_a_rig_has_the_joints_of_the_rig_too(chart, tmp_path):
    path = tmp_path / "short.toml"
    path.write_text('start = "going"\nend = "going"\n[[passage]]\ngait = "walk"\nstrides = 1\n')
    line = [
        "shot",
        str(path),
        "--map",
        str(chart("kaltblut")[0]),
        "--glb",
        "--no-keys",
        "--out",
        str(tmp_path),
    ]
    assert run([*line, "--name", "s"]) == 0
    tree, binary = opened((tmp_path / "s.glb").read_bytes())
    file = read_bvh((tmp_path / "s.bvh").read_bytes(), "s")
    joints = len(file.joint_names)
    assert [each["name"] for each in tree["nodes"][:joints]] == list(file.joint_names)
    found, _ = posed(tree, binary, joints)
    np.testing.assert_allclose(found, UNITS["cm"] * placed(file)[0], atol=TOLERANCE_M)
