"""How fast things are against what is asked of them, by hand: prints a table of ratios.

Run: PYTHONPATH=.:tests python tests/bench/goals.py [--cores]

All is processor time, the shortest of a few runs, so that it hardly depends on what else is running; a ratio
of 1 is the goal, more is slower. To compare two checkouts, run the script in one session with PYTHONPATH
set to one and then to the other. The first line is a piece of numpy work that is the same in both: where it
differs, the machine was busy. ``--cores`` adds what two processes do, in elapsed time, for a quiet machine.
"""

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import io
from dataclasses import replace

import numpy as np

from gaitgen import Request, load_animal, make_cycle
from gaitgen.batch.plan import plan_variants
from gaitgen.batch.run import run_variants
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.hand_off import HandOff
from gaitgen.gait.style import Style
from gaitgen.limbs.animal_chains import chains_of
from gaitgen.page.desk import Desk
from gaitgen.shot.join import make_join
from gaitgen.shot.make import make_shot
from gaitgen.shot.request import shot_of
from gaitgen.shot.shot_file import read_shot

GAITS = (("riding_horse", "walk"), ("riding_horse", "trot"), ("riding_horse", "gallop"), ("cat", "walk"))


def shortest_s(action, runs):
    """Least processor time of some runs, after one that warms up. [s]"""
    action()
    spent = []
    for _ in range(runs):
        start = time.process_time()
        action()
        spent.append(time.process_time() - start)
    return min(spent)


def children_s(command, compiled, runs=5):
    """Least processor time of a command whose modules are kept compiled in a folder, as installed. [s]"""
    own = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    spent = []
    for _ in range(runs):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        env = {**own, "PYTHONPYCACHEPREFIX": compiled}
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=env)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        spent.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(spent)


def line(name, value, unit, goal):
    """Print one row: what, how much, the goal, and how many times the goal it takes."""
    rate = unit.endswith("a second")
    ratio = goal / value if rate else value / goal
    print(f"{name:<58}{value:9.2f} {unit:<16} goal {goal:6g}   {ratio:5.2f} x", flush=True)


def unit_of_work():
    x = np.linspace(0.0, 1.0, 400).reshape(100, 4)

    def work():
        for _ in range(300):
            np.maximum(np.cos(x) * x, 0.5).sum(axis=1)

    print(f"{'a piece of numpy work':<58}{1e3 * shortest_s(work, 20):9.2f} ms", flush=True)


def cycles():
    for animal, gait in GAITS:
        request = Request(animal=animal, gait=gait, frames=32 if gait == "walk" else None)
        name = f"one warm cycle, {animal} {gait}"
        line(name, 1e3 * shortest_s(lambda r=request: make_cycle(r), 15), "ms", 10.0)
        bounces = iter(np.linspace(0.9, 1.1, 20))

        def other(request=request, bounces=bounces):
            make_cycle(replace(request, style=Style(bounce=next(bounces))))

        line("  with the feet placed anew each time", 1e3 * shortest_s(other, 15), "ms", 10.0)


def cold_start():
    with tempfile.TemporaryDirectory() as folder:
        walk = [sys.executable, "-m", "gaitgen", "cycle", "walk", "--out", folder]
        ours = children_s(walk, f"{folder}/kept")
        base = children_s([sys.executable, "-c", "import numpy, scipy.optimize"], f"{folder}/kept")
    line("cold `gaitgen cycle walk` over importing numpy and scipy", ours / base, "x", 1.5)


def first_run():
    """What a page waits for where the first trot of its process is asked for, over the second."""
    code = (
        "import time; from gaitgen import Request, make_cycle; make_cycle(Request()); spent = []\n"
        "for frames in (17, 18):\n"
        "    start = time.process_time(); make_cycle(Request(gait='trot', frames=frames))\n"
        "    spent.append(time.process_time() - start)\n"
        "print(spent[0] / spent[1])"
    )
    told = [subprocess.run([sys.executable, "-c", code], check=True, capture_output=True) for _ in range(3)]
    line("the first trot after a walk over the next", min(float(done.stdout) for done in told), "x", 1.5)


def variants():
    plan = plan_variants(Request(), ["riding_horse", "draft_horse"], range(24, 44))

    def run(wanted):
        with tempfile.TemporaryDirectory() as folder:
            run_variants(plan, FileSpace(), wanted, Path(folder), workers=1)

    for name, wanted, goal in (
        ("BVH and channels", HandOff(keys=False), 50.0),
        ("keys too", HandOff(), 30.0),
    ):
        rate = len(plan) / shortest_s(lambda w=wanted: run(w), 2)
        line(f"variants with {name}", rate, "clips a second", goal)


def two_cores():
    plan = plan_variants(Request(), ["riding_horse", "draft_horse"], range(16, 76))
    spent = []
    for workers in (1, 2):
        with tempfile.TemporaryDirectory() as folder:
            start = time.perf_counter()
            run_variants(plan, FileSpace(), HandOff(), Path(folder), workers=workers)
            spent.append(time.perf_counter() - start)
    line("variants on one core over two, elapsed", spent[1] / spent[0] * 2.0, "x", 1.0)


JOINS = (("walk", "canter", "riding_horse"), ("halt", "gallop", "hare"))
MINUTE = """animal = "riding_horse"
[[passage]]
gait = "walk"
strides = 12
[[passage]]
gait = "trot"
strides = 20
[[passage]]
gait = "canter"
strides = 20
[[passage]]
gait = "walk"
strides = 18
[path]
legs = [{ straight = 15 }, { turn = 90, radius = 10 }, { straight = 30 }, { turn = -120, radius = 12 }]
"""


def shots():
    """What a shot of about a minute takes, for a minute of it, and joins of cycles that change into a run."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "minute.toml"
        file.write_text(MINUTE)
        start = time.process_time()
        clip = make_shot(shot_of(read_shot(file))).clip
        spent = time.process_time() - start
    minutes = clip.frames / clip.frame_rate_hz / 60.0
    line(f"a shot of {60.0 * minutes:.0f} s, for 60 s of it", spent / minutes, "s", 5.0)
    for before, after, animal in JOINS:
        start = time.process_time()
        make_join(before, after, Request(animal=animal))
        line(f"join {before} {after}, {animal}", time.process_time() - start, "s", 1.0)


def inverse_kinematics():
    """All limbs of a horse at random bends, as a clip needs them."""
    chains = chains_of(load_animal("riding_horse"))
    rng, count = np.random.default_rng(1), 128
    given = np.zeros((count, *chains.bones.shape))
    bend = chains.low + rng.uniform(0.4, 0.9, (count, 4)) * (chains.straight - chains.low)
    point = rng.uniform(-0.4, 0.4, (count, 4))
    if hasattr(chains, "laid"):
        laid = chains.laid(given)
        target = laid.vector(bend)[0] * np.exp(1j * point)
        spent = shortest_s(lambda: chains.laid(given).solve(target), 20)
    else:
        target = chains.vector(bend, given)[0] * np.exp(1j * point)
        spent = shortest_s(lambda: chains.solve(target, given), 20)
    line("inverse kinematics, a leg and frame", 1e6 * spent / (4 * count), "us", 5.0)


def long_file():
    clip = make_cycle(Request())
    rows = np.arange(10_000) % 32
    long = replace(
        clip, root_path_m=clip.root_path_m[rows].copy(), rotations=clip.rotations[rows].copy(), plan={}
    )
    _, table = bvh.channel_table(long, FileSpace())
    ours = shortest_s(lambda: bvh.encode(long, FileSpace()), 2)
    plain = shortest_s(lambda: np.savetxt(io.BytesIO(), table, fmt="%.6f"), 1)
    line("10,000 frames of BVH over savetxt of the same table", ours / plain, "x", 1.0)


SLIDERS = (
    ("nod", np.linspace(0.5, 1.5, 17), "", ""),
    ("lift", np.linspace(0.8, 1.2, 17), "", ""),
    ("bounce", np.linspace(0.9, 1.1, 17), "", ""),
    ("frames", np.arange(24, 58, 2), "", ""),
    ("speed", np.linspace(1.0, 1.9, 17), "", ""),
    ("reach", np.linspace(0.9, 1.1, 17), "", ""),
    ("speed", np.linspace(3.0, 4.0, 17), " at a trot", ""),
)
# More than the animal can do: each of these places is held back, and the line says where one no longer is.
HELD_BACK = (
    ("reach", np.linspace(1.42, 1.6, 10), "", ""),
    ("nod", np.linspace(2.9, 3.0, 11), "", ""),
    ("lift", np.linspace(2.7, 3.0, 10), "", ""),
    ("sway", np.linspace(2.85, 3.0, 11), "", ""),
    ("bounce", np.linspace(1.7, 2.0, 11), " at a trot", "gait=trot&"),
    ("nod", np.linspace(0.7, 1.3, 13), " beside a lift", "lift=2.9&"),
    ("frames", np.arange(28, 48, 2), " beside a lift", "lift=2.9&"),
)


def slider():
    """What the server does while a slider is drawn, to places where it has not been before.

    The middle one of all places, and the slowest, with which a place may begin that is held back. Places that
    are held back and should not be, or the other way round, are counted in the line.
    """
    with tempfile.TemporaryDirectory() as folder:
        desk = Desk(Request(), Path(folder))
        for places, held in ((SLIDERS, ""), (HELD_BACK, ", held back")):
            for name, values, where, beside in places:
                desk.clip(f"{beside}{name}={values[0]:.6g}" if not held else "frames=31")
                spent, otherwise = [], 0
                for value in values[0 if held else 1 :].tolist():
                    start = time.process_time()
                    clip = desk.clip(f"{beside}{name}={value:.6g}")
                    spent.append(1e3 * (time.process_time() - start))
                    otherwise += (b"only part of the style" in clip) != bool(held)
                told = f" (slowest {max(spent):.0f})" + (f", but {otherwise} not so" if otherwise else "")
                line(f"slider of {name}{where}{held}{told}", float(np.median(spent)), "ms", 30.0)


if __name__ == "__main__":
    unit_of_work()
    cycles()
    cold_start()
    variants()
    shots()
    inverse_kinematics()
    long_file()
    slider()
    first_run()
    if "--cores" in sys.argv:
        two_cores()
    unit_of_work()
