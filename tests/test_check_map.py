"""The map of the frames that a check prints: a line for each foot, all frames or which of them, said."""

import re

import numpy as np
import pytest

from gaitgen import Request, make_cycle
from gaitgen.commands import run
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.gait.gait import LIMBS


@pytest.mark.sample(2)
@pytest.mark.parametrize("strides", [1, 3, 4])
def test_the_bars_of_all_frames_are_shown_or_it_is_said_which(strides, tmp_path, capsys):
    """They stopped at frame 96, unsaid, and stances that ended later seemed to be those of a limp."""
    clip = make_cycle(Request(frames=79, frame_rate_hz=60.0, strides=strides))
    path = tmp_path / "long.bvh"
    path.write_bytes(bvh.encode(clip, FileSpace()))
    assert run(["check", str(path)]) == 0
    text = capsys.readouterr().out
    bars = {limb: "".join(re.findall(rf"(?m)^  {limb}     ([=.!]+)$", text)) for limb in LIMBS}
    rulers = [int(number) for line in re.findall(r"(?m)^  frame +(.+)$", text) for number in line.split()]
    shown = len(bars["LF"])
    assert shown == (clip.frames if strides < 4 else 96)
    assert rulers == list(range(1, shown + 1, 8))
    assert (f"(frames 1 to 96 of {clip.frames}" in text) == (strides == 4)
    assert max(map(len, text.splitlines()[9:20])) < 120
    down = clip.steps
    for limb, bar in bars.items():
        own = down.limb == LIMBS.index(limb)
        share = float(np.mean((down.liftoff_s - down.touchdown_s)[own])) * clip.frame_rate_hz / 79
        assert bar[:78].count("=") / 79 == pytest.approx(share, abs=0.03)
