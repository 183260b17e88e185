"""Rigs with a joint for travel over the pelvis, which has its height in the positions of frame 1 alone."""

import numpy as np
import pytest

from gaitgen import Request, make_cycle
from gaitgen.commands import run
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.formats.read_bvh import read_bvh


def raised_rig(animal, bend_deg=0.0):
    """An animal's joints under a root for travel; one frame, in which a hind leg may be bent."""
    head, _, motion = bvh.encode(make_cycle(Request(animal=animal)), FileSpace()).decode().partition("MOTION")
    lines = head.splitlines()
    top = next(k for k, line in enumerate(lines) if line.startswith("ROOT"))
    channels = next(line for line in lines if "CHANNELS 6" in line)
    body = [line.replace("ROOT", "JOINT") for line in lines[top:]]
    root = ["ROOT travel", "{", "OFFSET 0 0 0", channels]
    row = np.zeros(6 + len(motion.splitlines()[3].split()))
    row[7] = float(motion.splitlines()[3].split()[1])
    text = "\n".join([*lines[:top], *root, *body, "}", "MOTION", "Frames: 1", "Frame Time: 0.041667", ""])
    file = read_bvh((text + " ".join(map(str, row)) + "\n").encode(), "rig.bvh")
    row[channel_columns(file, "rotation")[file.joint_names.index("femur_L")][1]] = bend_deg
    return text + " ".join(map(str, row)) + "\n"


@pytest.mark.parametrize("animal", ["dromedary", pytest.param("dog", marks=pytest.mark.thorough)])
def test_the_pelvis_carries_the_body_and_the_root_stays_on_the_ground(animal, tmp_path, capsys):
    rig, where = tmp_path / "rig.bvh", tmp_path / "m.toml"
    rig.write_text(raised_rig(animal))
    assert run(["fit", str(rig), "--map", str(where)]) == 0
    assert "the trunk has its height over the root in frame 1 alone" in capsys.readouterr().out
    assert 'body = "pelvis"' in where.read_text()
    assert run(["cycle", "walk", "--animal", str(where), "--out", str(tmp_path), "--name", "walk"]) == 0
    file = read_bvh((tmp_path / "walk.bvh").read_bytes(), "walk.bvh")
    rises = np.ptp(file.rows, axis=0)[[channel_columns(file, "position")[k][1] for k in (0, 1)]]
    assert rises[0] == 0.0
    assert rises[1] > 0.5


def test_where_the_rig_strides_in_frame_1_it_is_said_who_carries_the_body(tmp_path, capsys):
    rig = tmp_path / "rig.bvh"
    rig.write_text(raised_rig("dromedary", bend_deg=25.0))
    assert run(["fit", str(rig), "--map", str(tmp_path / "m.toml")]) == 0
    said = capsys.readouterr().out
    assert "so the root is taken to carry the body. Give a file that stands in frame 1." in said
