"""Benchmarks, run by hand: prints times and ratios of one run. Reads as plus or minus 30 %."""

import io
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from goals import cold_start
from scipy.optimize import least_squares

from gaitgen import Request, load_animal, make_cycle
from gaitgen.batch.plan import plan_variants
from gaitgen.batch.run import run_variants
from gaitgen.course.stance import stance_state
from gaitgen.formats import bvh, channels, hand_off, keys
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.hand_off import HandOff
from gaitgen.formats.key_feet import feet_of
from gaitgen.limbs.animal_chains import chains_of
from gaitgen.motion.hermite import own_slopes, spline_rows
from gaitgen.motion.measure import time_s


def best(action, times=5):
    """Shortest of a few runs. [s]"""
    runs = []
    for _ in range(times):
        start = time.perf_counter()
        action()
        runs.append(time.perf_counter() - start)
    return min(runs)


def inverse_kinematics():
    """All limbs of a horse at random bends against a general solver that takes one leg at a time."""
    chains = chains_of(load_animal("riding_horse"))
    rng, count = np.random.default_rng(1), 128
    given = np.zeros((count, *chains.bones.shape))
    bend = chains.low + rng.uniform(0.4, 0.9, (count, 4)) * (chains.straight - chains.low)
    point = rng.uniform(-0.4, 0.4, (count, 4))
    laid = chains.laid(given)
    target = laid.vector(bend)[0] * np.exp(1j * point)
    ours = best(lambda: chains.laid(given).solve(target))
    error = np.abs(laid.solve(target)[1] - bend).max()

    one_moment = chains.laid(given[:1])

    def one(k, limb):
        def miss(x):
            bends = np.zeros((1, 4))
            bends[0, limb] = x[1]
            gap = one_moment.vector(bends)[0][0, limb] * np.exp(1j * x[0]) - target[k, limb]
            return [gap.real, gap.imag]

        return least_squares(miss, [0.0, 0.0], xtol=1e-12, ftol=1e-12, gtol=1e-12)

    few = 32
    theirs = best(lambda: [one(k, limb) for k in range(few) for limb in range(4)], times=1)
    each, other = ours * 1e6 / (4 * count), theirs * 1e6 / (4 * few)
    print(
        f"legs, {4 * count} leg-frames: {each:.2f} us each (angle error {error:.1e} rad), "
        f"least_squares {other:.0f} us each: {other / each:.0f} x faster"
    )


def writing():
    clip = make_cycle(Request())
    rows = np.arange(10_000) % 32
    long = replace(
        clip, root_path_m=clip.root_path_m[rows].copy(), rotations=clip.rotations[rows].copy(), plan={}
    )
    space = FileSpace()
    ours = best(lambda: bvh.encode(long, space), times=3)
    data = bvh.encode(long, space)
    _, table = bvh.channel_table(long, space)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "long.bvh"
        plain = best(lambda: np.savetxt(file, table, fmt="%.6f"), times=2)
        file.write_bytes(data)
        import bvhio

        start = time.perf_counter()
        motion = bvhio.readAsBvh(str(file))
        read = time.perf_counter() - start
        start = time.perf_counter()
        bvhio.writeBvh(str(Path(folder) / "again.bvh"), motion)
        theirs = time.perf_counter() - start
    print(
        f"10,000 frames of BVH: {ours:.2f} s; savetxt of it {plain:.2f} s ({plain / ours:.1f} x); "
        f"bvhio's writer {theirs:.2f} s ({theirs / ours:.1f} x), its reader {read:.2f} s"
    )


def encoding():
    """One warm cycle of 32 frames, each part against savetxt of its table of channels."""
    clip, space = make_cycle(Request()), FileSpace()
    _, table = bvh.channel_table(clip, space)
    chosen = keys.channel_keys(clip, space)
    plain = best(lambda: np.savetxt(io.BytesIO(), table, fmt="%.6f"), times=20)
    parts = {
        "BVH": lambda: bvh.encode(clip, space),
        "channels": lambda: channels.encode(clip, space),
        "both": lambda: hand_off.encode(clip, space, HandOff(keys=False)),
        "keys chosen": lambda: keys.channel_keys(clip, space),
        "keys written": lambda: keys.encode(chosen),
        "all": lambda: hand_off.encode(clip, space, HandOff()),
    }
    times = {name: best(part, times=20) for name, part in parts.items()}
    told = ", ".join(f"{name} {1e3 * t:.2f} ms ({t / plain:.2f} x)" for name, t in times.items())
    print(f"one cycle: savetxt {1e3 * plain:.2f} ms; {told}; {int(chosen.count.sum())} keys")


def between_frames():
    """How far planted toes get from their prints at quarter frames, on the keys and with one a frame."""
    space, steps = FileSpace(), 4
    for frames in (12, 16, 24, 32, 64):
        clip = make_cycle(Request(frames=frames))
        _, table = bvh.channel_table(clip, space)
        planted = stance_state(clip.steps, time_s(clip)).planted
        toes = feet_of(clip.animal, space).toes
        row = np.arange(frames * steps + 1)
        before, after = row // steps, -(-row // steps)
        share = (row / steps - before)[:, None, None]
        ground = (1.0 - share) * toes(table)[before] + share * toes(table)[after]
        down = planted[before] & planted[after]

        def off_mm(played, ground=ground, down=down, toes=toes):
            away = np.where(down, np.linalg.norm(toes(played) - ground, axis=2), 0.0)
            return 1e3 * space.metres_per_unit * away.max()

        chosen = keys.channel_keys(clip, space)
        own = own_slopes(table, is_closed=True)
        every = spline_rows(table, own, np.ones(table.shape, bool), steps)
        print(
            f"{frames} frames: {int(chosen.count.sum())} keys, planted toes off between frames by "
            f"{off_mm(chosen.played(steps)):.2f} mm; {off_mm(every):.2f} with a key on every frame"
        )


def growth():
    times = {n: best(lambda n=n: make_cycle(Request(frames=n)), times=3) for n in (32, 320, 1600)}
    print("generate: " + ", ".join(f"{n} frames {1e3 * t:.0f} ms" for n, t in times.items()))


def batch():
    plan = plan_variants(Request(), ["riding_horse", "draft_horse"], range(16, 76))
    times = {}
    for workers in (1, 2):
        with tempfile.TemporaryDirectory() as folder:
            start = time.perf_counter()
            run_variants(plan, FileSpace(), HandOff(), Path(folder), workers=workers)
            times[workers] = time.perf_counter() - start
    print(
        f"{len(plan)} variants with keys: {len(plan) / times[1]:.1f} a second on one core, "
        f"{len(plan) / times[2]:.1f} on two: {times[1] / times[2]:.2f} x"
    )


if __name__ == "__main__":
    cold_start()
    inverse_kinematics()
    writing()
    encoding()
    between_frames()
    growth()
    batch()
