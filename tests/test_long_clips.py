"""The longest clips that are read: memory below a gigabyte, and time in proportion to their length."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from gaitgen import Request, make_cycle
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import MOST_PLACES

ROOT = Path(__file__).resolve().parent.parent
STATUS = Path("/proc/self/status")
CLIP = make_cycle(Request())
LONGEST = MOST_PLACES // len(CLIP.animal.joint_names)
COMMANDS = [
    ["check", "c.bvh"],
    ["check", "c.bvh", "--json"],
    ["plot", "c.bvh", "--out", "p.png"],
    ["preview", "c.bvh", "--html", "p.html"],
    ["fit", "c.bvh"],
    ["sheet", "c.bvh", "--out", "s.pdf"],
]
MEASURED = """
import resource, sys
from gaitgen.commands import run
code = run(sys.argv[1:])
used = resource.getrusage(resource.RUSAGE_SELF)
peak = [line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM:")]
print(peak[0], used.ru_utime + used.ru_stime, code, file=sys.stderr)
"""  # ru_maxrss begins with the peak of the process that starts this one, which may be larger

pytestmark = pytest.mark.skipif(not STATUS.exists(), reason="the peak of memory is read from /proc")


def repeated(frames):
    """The walk over and over, as a file."""
    head, motion = bvh.encode(CLIP, FileSpace()).split(b"Frames: 33\n")
    time_line, *rows = motion.splitlines(keepends=True)
    stride = rows[:-1]
    every = b"".join(stride) * (frames // len(stride)) + b"".join(stride[: frames % len(stride)])
    return head + b"Frames: %d\n" % frames + time_line + every


def measured(folder, frames, arguments):
    """Return memory [kB], processor time [s] and exit code of a command on a clip of so many frames."""
    (folder / "c.bvh").write_bytes(repeated(frames))
    done = subprocess.run(
        [sys.executable, "-c", MEASURED, *arguments],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=True,
    )
    memory, spent, code = done.stderr.split()[-3:]
    return int(memory), float(spent), int(code)


@pytest.mark.slow
@pytest.mark.parametrize("arguments", COMMANDS, ids=" ".join)
def test_the_longest_clip_takes_less_than_a_gigabyte_and_linear_time(tmp_path, arguments):
    memory, whole_s, code = measured(tmp_path, LONGEST, arguments)
    assert code in {0, 1}
    assert memory < 1_000_000
    _, half_s, _ = measured(tmp_path, LONGEST // 2, arguments)
    _, short_s, _ = measured(tmp_path, LONGEST // 20, arguments)
    assert whole_s - short_s < 3.0 * (half_s - short_s) + 1.0


@pytest.mark.slow
def test_the_longest_clip_that_is_made_takes_less_than_a_gigabyte(tmp_path):
    done = subprocess.run(
        [sys.executable, "-c", MEASURED, "cycle", "walk", "--strides", "375", "--controls", "--out", "made"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=True,
    )
    memory, _, code = done.stderr.split()[-3:]
    assert int(code) == 0
    assert int(memory) < 1_000_000


def test_one_frame_more_is_refused(tmp_path):
    memory, _, code = measured(tmp_path, LONGEST + 1, ["check", "c.bvh"])
    assert code == 2
    assert memory < 1_000_000
