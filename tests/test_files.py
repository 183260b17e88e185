"""What is written, byte for byte and as independent readers see it."""

import csv
import io
import json
import shutil
import subprocess
import sys
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from hand_clip import (
    LEAVES,
    NAMES,
    OFFSETS_M,
    TIPS_M,
    about,
    busy_clip,
    clip_of,
    hand_clip,
    hand_skeleton,
    place_m,
)
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays
from scipy.spatial.transform import Rotation

from gaitgen.errors import FileFormatError, RequestError
from gaitgen.formats import bvh, channels
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh_file import world_end_sites, world_positions
from gaitgen.formats.decimals import table_text
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.numerics.rotations import (
    EULER_ORDERS,
    channel_angles,
    matrix_from_euler,
    matrix_from_quaternion,
    quaternion_angles,
    unwrapped_euler,
)

HERE = Path(__file__).parent
TOLERANCE_M = 1e-4
# Length of the unit in metres; the inch is exact by definition
# (international yard and pound agreement, 1959).
UNIT_M = {"cm": 0.01, "m": 1.0, "in": 0.0254, "mm": 0.001}
SPACES = [FileSpace(unit, up, order) for unit, up, order in product(UNIT_M, "yz", EULER_ORDERS)]


def ours_m(space, places):
    """Turn places of a file into our axes and metres, without the code under test."""
    places = np.asarray(places)
    if space.up == "y":
        places = np.stack([places[..., 2], places[..., 0], places[..., 1]], axis=-1)
    return places * UNIT_M[space.unit]


def stem(space):
    return f"{space.unit}_{space.up}_{space.rotation_order}"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Write the busy clip in every space."""
    path = tmp_path_factory.mktemp("spaces")
    for space in SPACES:
        (path / f"{stem(space)}.bvh").write_bytes(bvh.encode(busy_clip(), space))
    return path


def check_all(read, renamed=lambda name: name):
    """Compare what a reader found, {file: {joint: places}}, with our own places."""
    expected = place_m(busy_clip())
    for space in SPACES:
        found = {renamed(name): places for name, places in read[stem(space)].items()}
        assert set(found) == set(expected)
        for name, places in expected.items():
            message = f"{name} in {stem(space)}"
            np.testing.assert_allclose(
                ours_m(space, found[name]), places, rtol=0, atol=TOLERANCE_M, err_msg=message
            )


def run(*command):
    done = subprocess.run(command, capture_output=True, text=True, timeout=20, check=False)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_golden_file():
    assert bvh.encode(hand_clip(), FileSpace()) == (HERE / "golden/hand.bvh").read_bytes()


def test_same_bytes_twice():
    assert bvh.encode(busy_clip(), FileSpace()) == bvh.encode(busy_clip(), FileSpace())


@pytest.mark.sample(1)
@pytest.mark.parametrize("space", SPACES, ids=stem)
def test_our_reader(space, folder):
    file = read_bvh((folder / f"{stem(space)}.bvh").read_bytes(), "x.bvh")
    found = dict(zip(file.joint_names, np.moveaxis(world_positions(file), 1, 0), strict=True))
    tips = np.moveaxis(world_end_sites(file), 1, 0)
    found |= {f"{file.joint_names[j]} tip": tip for j, tip in zip(file.end_joints, tips, strict=True)}
    expected = place_m(busy_clip())
    assert set(found) == set(expected)
    for name, places in expected.items():
        # six decimals of the unit and of a degree, over a chain of four
        np.testing.assert_allclose(ours_m(space, found[name]), places, rtol=0, atol=3e-6, err_msg=name)


def test_bvhio(folder):
    check_all(run(sys.executable, "-W", "ignore", str(HERE / "bvhio_positions.py"), str(folder)))


def test_three_js(folder):
    node = shutil.which("node")
    if node is None or not (HERE / "js/node_modules/three").is_dir():
        pytest.skip("needs node, and 'npm install' in tests/js")
    check_all(run(node, str(HERE / "js/positions.mjs"), str(folder)))


def assimp_places(impasse, path):
    """Place every node with assimp's own matrices and keys."""
    scene = impasse.load(path)
    moves = {channel.node_name: channel for channel in scene.animations[0].channels}
    frames = len(moves["pelvis"].rotation_keys)
    places = {}

    def walk(node, above):
        local = np.tile(np.array(node.transformation, dtype=float), (frames, 1, 1))
        if node.name in moves:
            keys = np.array([key.value for key in moves[node.name].rotation_keys])
            local[:, :3, :3] = Rotation.from_quat(keys, scalar_first=True).as_matrix()
            positions = np.array([key.value for key in moves[node.name].position_keys])
            if len(positions):
                local[:, :3, 3] = positions
        world = above @ local
        places[node.name] = world[:, :3, 3]
        for child in node.children:
            walk(child, world)

    walk(scene.root_node, np.eye(4))
    return places


def test_assimp(folder):
    try:
        import impasse
    except (
        BaseException
    ) as fault:  # its own error for a missing library is neither importable nor an Exception
        if type(fault).__name__ not in {"AssimpError", "ImportError", "ModuleNotFoundError"}:
            raise
        pytest.skip(f"needs impasse and the assimp library (Debian: libassimp5): {fault}")
    read = {stem(space): assimp_places(impasse, str(folder / f"{stem(space)}.bvh")) for space in SPACES}
    check_all(read, lambda name: f"{name[8:]} tip" if name.startswith("EndSite_") else name)


def test_bvh_package():
    parser = pytest.importorskip("bvh")
    text = bvh.encode(hand_clip(), FileSpace()).decode()
    read = parser.Bvh(text)
    assert read.get_joints_names() == ["pelvis", "thorax_1", "head", "femur_L", "hind_hoof_L"]
    assert (read.nframes, len(read.frames), read.frame_time) == (2, 2, 0.04166667)
    for name, (x, y, z) in zip(NAMES[1:], OFFSETS_M[1:], strict=True):
        np.testing.assert_allclose(read.joint_offset(name), [100 * y, 100 * z, 100 * x], atol=1e-6)
    assert read.joint_offset("pelvis") == (0.0, 0.0, 0.0)
    assert read.frame_joint_channels(1, "hind_hoof_L", ["Zrotation", "Xrotation", "Yrotation"]) == [
        40,
        -25,
        15,
    ]


def test_end_sites_are_the_tips_of_leaves():
    file = read_bvh(bvh.encode(hand_clip(), FileSpace("m", "z")), "x.bvh")
    found = {
        file.joint_names[j]: tuple(tip) for j, tip in zip(file.end_joints, file.end_offsets, strict=True)
    }
    assert found == {NAMES[leaf]: TIPS_M[leaf] for leaf in LEAVES}


@pytest.mark.parametrize("order", EULER_ORDERS)
@pytest.mark.parametrize("side", [90.0, -90.0])
def test_right_angle_of_the_middle_axis(order, side):
    """Sweep through the pole: right there, and with no jump of any channel."""
    middle = np.linspace(0.5, 1.5, 41) * side  # the pole is row 20
    wanted = np.stack([np.full(41, 37.0), middle, np.full(41, -52.0)], axis=-1)
    matrices = Rotation.from_euler(order, wanted, degrees=True).as_matrix()
    found = channel_angles(matrices[:, None], order)[:, 0]
    np.testing.assert_allclose(Rotation.from_euler(order, found).as_matrix(), matrices, atol=2e-7)
    np.testing.assert_allclose(np.degrees(found), wanted, atol=1e-5)


@pytest.mark.parametrize("order", EULER_ORDERS)
def test_at_the_pole_with_rounding_noise(order):
    """Next to the pole the first angle is noise; the rotation must be right all the same."""
    rng = np.random.default_rng(5)
    offset = np.concatenate([rng.choice([-1, 1], 400) * 10.0 ** rng.uniform(-18, -5, 400), np.zeros(100)])
    angles = np.stack([rng.uniform(-3, 3, 500), np.pi / 2 + offset, rng.uniform(-3, 3, 500)], axis=-1)
    quaternions = Rotation.from_euler(order, angles).as_quat(scalar_first=True)
    clip = clip_of(np.repeat(quaternions[:, None], 5, axis=1), np.zeros((500, 3)))
    _, values = bvh.channel_table(clip, FileSpace("m", "z", order))
    found = matrix_from_euler(np.radians(values[:, 3:6]), order)
    expected = Rotation.from_euler(order, angles).as_matrix()
    np.testing.assert_allclose(found, expected, atol=2e-7)


def test_angles_do_not_jump_over_time():
    turn = [about("ZYX", 15.0 * i, 0, 0).ravel() for i in range(100)]  # four whole turns and more
    clip = clip_of(np.repeat(np.array(turn)[:, None], 5, axis=1), np.zeros((100, 3)))
    names, values = bvh.channel_table(clip, FileSpace())
    np.testing.assert_allclose(values[:, names.index("head.Yrotation")], 15.0 * np.arange(100), atol=1e-9)


@pytest.mark.parametrize("order", EULER_ORDERS)
def test_angles_of_quaternions_are_those_of_matrices(order):
    rng = np.random.default_rng(3)
    start = Rotation.random(7, rng=rng)
    steps = [Rotation.from_rotvec(0.03 * i * np.ones(3)) for i in range(9)]
    slow = [(step * start).as_quat(scalar_first=True) for step in steps]
    jumps = Rotation.random(63, rng=rng).as_quat(scalar_first=True).reshape(9, 7, 4)
    for turns in (np.array(slow), jumps):
        found = quaternion_angles(turns, order)
        np.testing.assert_allclose(found, channel_angles(matrix_from_quaternion(turns), order), atol=1e-12)
        np.testing.assert_allclose(unwrapped_euler(found), found, atol=1e-12)
        made = Rotation.from_euler(order, found.reshape(-1, 3))
        away = made.inv() * Rotation.from_quat(turns.reshape(-1, 4), scalar_first=True)
        assert away.magnitude().max() < 1e-9


def test_channels_are_those_of_the_bvh_file():
    for space in (FileSpace(), FileSpace("in", "z", "XYZ")):
        text = channels.encode(busy_clip(), space).decode()
        head, *rows = csv.reader(io.StringIO(text))
        file = read_bvh(bvh.encode(busy_clip(), space), "x.bvh")
        words = [
            f"{name}.{word}" for name, w in zip(file.joint_names, file.channels, strict=True) for word in w
        ]
        assert head == ["frame", "time_s", *words]
        assert [row[0] for row in rows] == [str(i + 1) for i in range(30)]
        assert [row[1] for row in rows[:3]] == ["0.000000", "0.041667", "0.083333"]
        np.testing.assert_array_equal(np.array([row[2:] for row in rows], dtype=float), file.rows)
        assert text.endswith("\n")
        assert "\r" not in text


def test_profile_of_the_text():
    text = bvh.encode(busy_clip(), FileSpace()).decode("ascii")
    assert text.endswith("\n")
    for forbidden in ("\r", "  ", " \n", "-0.000000 ", "e-", "nan", "\n\n"):
        assert forbidden not in text


@given(arrays(np.float64, array_shapes(min_dims=2, max_dims=2, max_side=6), elements=st.floats(-9e8, 9e8)))
@settings(max_examples=80, deadline=None)
def test_decimals_against_formatting_each(table):
    rounded = np.round(table, 6) + 0.0
    expected = "".join(" ".join(f"{value:.6f}" for value in row) + "\n" for row in rounded)
    assert table_text(table, [""] * table.shape[1]).decode() == expected


def test_decimals_at_the_edges():
    table = np.array([[0.0, -0.0, -4e-7, 6e-7, -6e-7, 999999999.0, -1.5, 10.0, 0.1, 1000.001]])
    zeros, others = (
        "0.000000,0.000000,0.000000,0.000001,-0.000001",
        "-1.500000,10.000000,0.100000,1000.001000",
    )
    expected = f"{zeros},999999999.000000,{others}\n".encode()
    assert table_text(table, ["x"] * 10, b",") == expected
    assert table_text(np.empty((0, 2)), ["x", "y"]) == b""


def test_decimals_around_every_number_of_digits():
    sizes = 10.0 ** np.arange(-6, 9)
    values = np.concatenate([sizes, sizes - 1e-6, sizes + 1e-6, 9.0 * sizes])
    table = np.concatenate([values, -values])[:, None] * [1.0, 1.0]
    for rows in (table, table[np.abs(table[:, 0]) < 1e3], table[np.abs(table[:, 0]) < 1e6]):
        expected = "".join(f"{a:.6f},{b:.6f}\n" for a, b in np.round(rows, 6) + 0.0)
        assert table_text(rows, ["x", "y"], b",").decode() == expected


def test_what_would_be_rounded_to_ten_digits_is_refused():
    nearest = np.nextafter(1e9, 0.0)
    with pytest.raises(FileFormatError, match=r"x is .* only finite numbers below 1e\+09"):
        table_text(np.array([[nearest]]), ["x"])
    assert table_text(np.array([[1e9 - 1e-6]]), ["x"]) == b"999999999.999999\n"


def test_many_rows_stay_in_order():
    table = np.arange(5000, dtype=float)[:, None] * [1.0, -1.0]
    found = np.loadtxt(io.BytesIO(table_text(table, ["x", "y"])))
    np.testing.assert_array_equal(found, table)


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf, 1e9])
@pytest.mark.parametrize("encode", [bvh.encode, channels.encode])
def test_unusable_numbers_are_refused(value, encode):
    path = np.zeros((3, 3))
    path[1, 0] = value  # our x is the file's z
    clip = clip_of(np.tile([1.0, 0, 0, 0], (3, 5, 1)), path)
    message = (
        r"pelvis\.Zposition is \S+ at frame 2; only finite numbers below 1e\+09 can be written, so check .*"
    )
    with pytest.raises(FileFormatError, match=message):
        encode(clip, FileSpace("m"))


def test_unusable_offset_is_refused():
    offsets = np.array(OFFSETS_M, dtype=float)
    offsets[3, 1] = np.nan
    with pytest.raises(FileFormatError, match=r"offset of head is .*; give three finite numbers below"):
        bvh.encode(hand_clip(hand_skeleton(offsets_m=offsets)), FileSpace())


@pytest.mark.parametrize("name", ["left hip", "", "hip:L", "hip.L", "hüfte", "head\n", "²"])
def test_names_that_readers_stumble_over_are_refused(name):
    clip = hand_clip(hand_skeleton(names=("pelvis", "thorax_1", "femur_L", name, "hind_hoof_L")))
    with pytest.raises(FileFormatError, match="of hand cannot be written to BVH; use only A to Z") as caught:
        bvh.encode(clip, FileSpace())
    assert "\n" not in str(caught.value)


def test_trees_that_are_no_tree_are_refused():
    doubled = hand_clip(hand_skeleton(names=("pelvis", "head", "femur_L", "head", "hind_hoof_L")))
    with pytest.raises(FileFormatError, match="hand has two joints named 'head'; give each its own name"):
        bvh.encode(doubled, FileSpace())
    stray = hand_clip(hand_skeleton(parents=(-1, 0, 0, 1, -1)))
    with pytest.raises(FileFormatError, match="joint 'hind_hoof_L' of hand does not hang from 'pelvis'"):
        channels.encode(stray, FileSpace())


@pytest.mark.parametrize(
    ("choice", "message"),
    [
        ({"unit": "ft"}, "unit 'ft' is not known; use one of cm, m, in, mm"),
        ({"up": "x"}, "up axis 'x' is not known; use one of y, z"),
        (
            {"rotation_order": "zxy"},
            "rotation order 'zxy' is not known; use one of XYZ, XZY, YXZ, YZX, ZXY, ZYX",
        ),
        (
            {"rotation_order": "ZXZ"},
            "rotation order 'ZXZ' is not known; use one of XYZ, XZY, YXZ, YZX, ZXY, ZYX",
        ),
    ],
)
def test_unknown_spaces_are_refused(choice, message):
    with pytest.raises(RequestError) as caught:
        FileSpace(**choice)
    assert str(caught.value) == message


@pytest.mark.parametrize("space", SPACES[::6], ids=stem)
def test_spaces_there_and_back(space):
    points = np.random.default_rng(1).normal(size=(4, 5, 3))
    turns = Rotation.random(20, rng=np.random.default_rng(2)).as_matrix().reshape(4, 5, 3, 3)
    np.testing.assert_allclose(space.positions_from_file(space.positions_to_file(points)), points, atol=1e-15)
    np.testing.assert_array_equal(space.rotations_from_file(space.rotations_to_file(turns)), turns)
    quaternions = Rotation.from_matrix(turns.reshape(20, 3, 3)).as_quat(scalar_first=True).reshape(4, 5, 4)
    np.testing.assert_allclose(
        matrix_from_quaternion(space.quaternions_to_file(quaternions)),
        space.rotations_to_file(turns),
        atol=1e-14,
    )
    np.testing.assert_allclose(ours_m(space, space.positions_to_file(points)), points, atol=1e-15)
    # turning a point and going over to the file may be done in either order
    turned = space.positions_to_file((turns @ points[..., None])[..., 0])
    in_file = (space.rotations_to_file(turns) @ space.positions_to_file(points)[..., None])[..., 0]
    np.testing.assert_allclose(in_file, turned, atol=1e-12)
