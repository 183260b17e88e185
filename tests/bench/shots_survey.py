"""Random shots: what is refused, what crashes, how far joints jump and soles sink, and how long each takes.

    PYTHONPATH=.:tests python tests/bench/shots_survey.py [SHOTS] [SEED]

Animals, gaits, ways, grounds, marks and strides of changes are drawn by lot, the same for the same seed;
turns are seldom harder than feet hold. A refusal is one of our own errors; any other is a fault. Joints are
held to the bound of tests/test_shot_joints.py.
"""

import math
import random
import re
import sys
import time
from collections import Counter
from functools import cache

import numpy as np
from test_shot_joints import LEAST_DEG, MORE, bends_deg, most_deg

from gaitgen.animal.library import animal_names, load_animal
from gaitgen.course.ground import FLAT, Ground
from gaitgen.course.surfaces import stairs
from gaitgen.errors import GaitgenError
from gaitgen.gait.request import Request
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.motion.measure import slip_m
from gaitgen.shot.asked import Mark, Passage, ShotRequest
from gaitgen.shot.cycle import laid_out
from gaitgen.shot.make import make_shot
from gaitgen.shot.report import lowest_sole_m
from gaitgen.shot.request import shot_of
from gaitgen.shot.speeding import Within
from gaitgen.shot.way import profile

SHOTS, SEED = 100, 1
HARDEST = 0.5  # of gravity inwards
WORST = 10  # shots that are named


@cache
def bound_deg(animal):
    return np.maximum(MORE * most_deg(animal), LEAST_DEG)


def drawn(lot):
    """Draw one shot, and say it in words."""
    animal = lot.choice(animal_names())
    size = load_animal(animal).withers_height_m
    passages, words = [], [animal]
    for _ in range(lot.randint(1, 3)):
        gait, strides = lot.choice(load_animal(animal).gaits), lot.randint(1, 4)
        within = Within(lot.choice([1.5, 2.0, 3.0, 6.0])) if passages and lot.random() < 0.2 else None
        passages.append(Passage(Request(animal=animal, gait=gait), strides=strides, within=within))
        words.append(f"{gait} {strides}" + (f" in {within.strides:g}" if within else ""))
        if lot.random() < 0.2:
            passages.append(Passage(halt_frames=lot.randint(0, 24)))
            words.append("halt")
    if passages[-1].cycle is None:
        passages.pop()
    fastest_m_s = max(laid_out(each.cycle).speed_m_s for each in passages if each.cycle is not None)
    tightest_m = max(2.0 * size, fastest_m_s**2 / (HARDEST * GRAVITY_M_S2))
    pieces, ground, marks = way(lot, size, tightest_m, words), ground_of(lot, size, words), ()
    if lot.random() < 0.15:
        marks = (Mark((lot.uniform(1.0, 4.0) * size, 0.0), frame=lot.randint(20, 80)),)
        words.append(f"mark {marks[0].place_m[0]:.2f} at {marks[0].frame}")
    starts, ends = lot.random() < 0.6, lot.random() < 0.6
    words.append(f"{'stands' if starts else 'goes'} to {'stands' if ends else 'goes'}")
    asked = ShotRequest(tuple(passages), starts, ends, pieces=pieces, ground=ground, marks=marks)
    return animal, asked, ", ".join(words)


def way(lot, size, tightest_m, words):
    """Draw a way: straight on, a turn, or two."""
    kind = lot.choice(["straight", "turn", "turns"])
    pieces = [(lot.uniform(0.0, 4.0) * size, 0.0)]
    for _ in range({"straight": 0, "turn": 1, "turns": 2}[kind]):
        radius, angle = lot.uniform(1.0, 5.0) * tightest_m, math.radians(lot.uniform(20.0, 120.0))
        side = lot.choice([-1.0, 1.0])
        words.append(f"turn {side * math.degrees(angle):.0f} on {radius:.2f} m")
        pieces += [(radius * angle, side / radius), (lot.uniform(0.0, 3.0) * size, 0.0)]
    return tuple(pieces) if kind != "straight" else ()


def ground_of(lot, size, words):
    """Draw a ground: level, a slope, a rise or steps."""
    kind = lot.choice(["level", "level", "slope", "rise", "steps"])
    words.append(kind)
    if kind == "slope":
        words[-1] += f" {100.0 * (grade := lot.uniform(-0.2, 0.2)):.0f} %"
        return Ground(grade, lot.uniform(-math.pi, math.pi))
    if kind == "rise":
        at, height = lot.uniform(1.0, 4.0) * size, lot.uniform(-0.25, 0.25) * size
        words[-1] += f" of {height:.2f} m at {at:.2f} m"
        return profile([(0.0, 0.0), (at, 0.0), (at + 2.0 * size, height), (at + 3.0 * size, height)], 0.0)
    if kind == "steps":
        rise = lot.choice([-1.0, 1.0]) * lot.uniform(0.02, 0.12) * size
        at = [lot.uniform(1.5, 3.0) * size + n * 1.2 * size for n in range(lot.randint(1, 3))]
        words[-1] += f" of {rise:.2f} m at " + " ".join(f"{each:.2f}" for each in at)
        return stairs([(each, rise) for each in at], 0.0)
    return FLAT


def found(animal, asked):
    """Make a shot: its greatest bend against the bound, which joint when, lowest sole and slip. [mm]"""
    made = make_shot(shot_of(asked))
    clip = made.clip
    if not (np.isfinite(clip.rotations).all() and np.isfinite(clip.root_path_m).all()):
        raise ArithmeticError("numbers of the clip are not finite")
    joints = [joint for limb in clip.animal.limbs for joint in limb.joints] + list(clip.animal.spine)
    over = (bends_deg(clip) / bound_deg(animal))[:, joints]
    frame, joint = np.unravel_index(over.argmax(), over.shape)
    name = clip.animal.joint_names[joints[joint]]
    return over.max(), f"{name} at {frame + 2}", 1e3 * lowest_sole_m(made), 1e3 * slip_m(clip)


def survey(shots, seed):
    """Make them all, and print what came of them."""
    lot = random.Random(seed)  # noqa: S311, not for secrets
    refused, crashed, rows, seconds = Counter(), [], [], []
    for number in range(shots):
        animal, asked, words = drawn(lot)
        begun = time.perf_counter()
        try:
            rows.append((*found(animal, asked), f"{number}: {words}"))
        except GaitgenError as error:
            refused[f"{type(error).__name__}: {re.sub(r'[-+]?[0-9][0-9.]*', '#', str(error))}"] += 1
            print(f"  refused {number}: {words}\n    {error}", flush=True)
        except Exception as error:  # noqa: BLE001, any other is a fault
            crashed.append(f"{number}: {words}: {type(error).__name__}: {error}")
            print(f"  CRASHED {crashed[-1]}", flush=True)
        seconds.append(time.perf_counter() - begun)
    print(
        f"\n{shots} shots of seed {seed}: {len(rows)} made, {refused.total()} refused, {len(crashed)} crashed"
    )
    print(f"seconds each: {np.median(seconds):.1f} in the middle, {max(seconds):.1f} at the most")
    for words, count in refused.most_common():
        print(f"  {count:3d} x {words}")
    for title, key, few in (
        ("joints beyond the bound", lambda r: -r[0], lambda r: r[0] > 1.0),
        ("soles under the ground by more than 1 mm", lambda r: r[2], lambda r: r[2] < -1.0),
        ("feet that slip by more than 1 mm", lambda r: -r[3], lambda r: r[3] > 1.0),
    ):
        some = sorted((row for row in rows if few(row)), key=key)
        print(f"{title}: {len(some)}")
        for bend, which, sole, slip, words in some[:WORST]:
            print(f"  {bend:5.2f} {which:22s} sole {sole:7.2f} mm, slip {slip:5.2f} mm  {words}")


if __name__ == "__main__":
    survey(*(int(word) for word in (*sys.argv[1:], *(str(n) for n in (SHOTS, SEED)[len(sys.argv) - 1 :]))))
