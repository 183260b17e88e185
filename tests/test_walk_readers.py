"""The walk, placed by libraries that are not ours: scipy's rotations, and readers of the written file."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from gaitgen import Request, make_cycle
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.motion.kinematics import tips_m, world_frames

HERE = Path(__file__).parent
TOLERANCE_M = 1e-4


@pytest.fixture(scope="module")
def walk():
    return make_cycle(Request())


def test_forward_kinematics_against_scipy(walk):
    skeleton = walk.animal
    positions, world = world_frames(skeleton, walk.root_path_m, walk.rotations)
    turns = [Rotation.from_quat(walk.rotations[:, 0], scalar_first=True)]
    places = [walk.root_path_m]
    for joint in range(1, len(skeleton.joint_names)):
        parent = skeleton.parents[joint]
        places.append(places[parent] + turns[parent].apply(skeleton.offsets_m[joint].copy()))
        turns.append(turns[parent] * Rotation.from_quat(walk.rotations[:, joint], scalar_first=True))
    np.testing.assert_allclose(np.stack(places, axis=1), positions, atol=1e-12)
    np.testing.assert_allclose(turns[-1].as_matrix(), world[:, -1], atol=1e-12)


def _expected_cm(walk):
    """Every joint and tip in the file's space: x left, y up, z forward, centimetres."""
    positions, world = world_frames(walk.animal, walk.root_path_m, walk.rotations)
    tips = tips_m(walk.animal, positions, world)
    names = walk.animal.joint_names
    return {
        **{name: 100.0 * positions[:, k][:, [1, 2, 0]] for k, name in enumerate(names)},
        **{f"{name} tip": 100.0 * tips[:, k][:, [1, 2, 0]] for k, name in enumerate(names)},
    }


def _compare(read, walk):
    expected = _expected_cm(walk)
    assert {"pelvis", "hind_hoof_R", "hind_hoof_R tip", "ear_L tip", "fore_hoof_L tip"} <= set(read)
    for name, places in read.items():
        np.testing.assert_allclose(np.array(places), expected[name], atol=100.0 * TOLERANCE_M, err_msg=name)


def _read_by(command):
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)["walk"]


@pytest.fixture(scope="module")
def folder(walk, tmp_path_factory):
    place = tmp_path_factory.mktemp("walk")
    (place / "walk.bvh").write_bytes(bvh.encode(walk, FileSpace()))
    return place


def test_bvhio_places_the_walk_as_we_do(folder, walk):
    _compare(_read_by([sys.executable, str(HERE / "bvhio_positions.py"), str(folder)]), walk)


def test_three_js_places_the_walk_as_we_do(folder, walk):
    if not shutil.which("node") or not (HERE / "js" / "node_modules" / "three").is_dir():
        pytest.skip("needs node and npm install --prefix tests/js")
    _compare(_read_by(["node", str(HERE / "js" / "positions.mjs"), str(folder)]), walk)


def test_the_bvh_package_reads_the_walk(folder):
    package = pytest.importorskip("bvh")
    read = package.Bvh((folder / "walk.bvh").read_text(encoding="ascii"))
    assert read.nframes == 33
    assert read.frame_time == pytest.approx(1.0 / 24.0, abs=1e-8)
    assert len(read.get_joints_names()) == 44
