"""Print how long the check takes from start to exit, and its parts, for clips of 33 and 10,000 frames.

Run: PYTHONPATH=. python tests/bench/check_speed.py
"""

import subprocess
import sys
import tempfile
import time
from itertools import pairwise
from pathlib import Path

from gaitgen.check.check import check
from gaitgen.check.load import load_motion
from gaitgen.check.look import see
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.pipeline import Request, make_cycle

GOAL_S = 3.0


def long_clip(frames):
    """Repeat a walk until it has enough frames."""
    text = bvh.encode(make_cycle(Request(frames=32)), FileSpace()).decode()
    head, motion = text.split("MOTION\n")
    _, step, *rows = motion.rstrip("\n").split("\n")
    turns = (rows[:-1] * (frames // 32 + 1))[:frames]
    return f"{head}MOTION\nFrames: {frames}\n{step}\n" + "\n".join(turns) + "\n"


def main():
    with tempfile.TemporaryDirectory() as folder:
        for frames in (33, 10_000):
            path = Path(folder) / f"walk_{frames}.bvh"
            path.write_text(long_clip(frames))
            command = [sys.executable, "-m", "gaitgen", "check", str(path)]
            began = time.perf_counter()
            subprocess.run(command, check=False, stdout=subprocess.DEVNULL)
            whole = time.perf_counter() - began
            marks = [time.perf_counter()]
            motion, own = load_motion(path)
            marks.append(time.perf_counter())
            seen = see(motion, own)
            marks.append(time.perf_counter())
            check(seen)
            marks.append(time.perf_counter())
            read, look, find = (b - a for a, b in pairwise(marks))
            print(
                f"{frames:>6} frames: whole command {whole:.2f} s (goal {GOAL_S:g} s for 10,000); "
                f"read and place {read:.2f}, see {look:.2f}, find {find:.2f} s"
            )


if __name__ == "__main__":
    main()
