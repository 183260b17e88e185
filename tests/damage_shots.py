"""Ways to damage a clip without a period, at random places, as hands do it.

A damage takes a shot, an amount and random numbers, and gives the damaged file and what must be found, as in
damage.py.
"""

from functools import cache

import numpy as np
from damage import Base, Damaged, bump, columns, root_moved, shifted, turned, with_rows

from gaitgen.check.look import see
from gaitgen.check.tracked import place
from gaitgen.check.whose import whose
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.request import Request
from gaitgen.shot.asked import Passage, ShotRequest
from gaitgen.shot.make import make_shot
from gaitgen.shot.request import shot_of
from gaitgen.shot.way import profile

ROOT = "pelvis"
BONES = {"F": ("humerus", "radius"), "H": ("femur", "tibia")}


def _passage(gait, strides, animal, **more):
    return Passage(cycle=Request(gait=gait, animal=animal, **more), strides=strides)


SHOTS = {
    "a horse over a rise, to a trot, round a bend, to a halt": ShotRequest(
        (_passage("walk", 2, "riding_horse"), _passage("trot", 4, "riding_horse")),
        pieces=((5.0, 0.0), (8.4, 0.125)),
        ground=profile([(0, 0), (3, 0), (6, 0.25)], 0.0),
    ),
    "a cat that turns right": ShotRequest(
        (_passage("walk", 4, "cat"), _passage("trot", 3, "cat")),
        pieces=((1.0, 0.0), (2.1, -0.667)),
    ),
    "a dog up a slope": ShotRequest(
        (_passage("trot", 8, "dog"),), starts=False, ground=profile([(0, 0), (2, 0), (4, 0.2), (6, 0.2)], 0.0)
    ),
    "a horse from trot to canter to walk": ShotRequest(
        (
            _passage("trot", 2, "riding_horse"),
            _passage("canter", 3, "riding_horse", lead="left"),
            _passage("walk", 2, "riding_horse"),
        ),
        starts=False,
        ends=False,
    ),
    "a deer that sets off and gallops": ShotRequest(
        (_passage("trot", 2, "red_deer"), _passage("rotary_gallop", 3, "red_deer")), ends=False
    ),
    "a draft horse that halts between": ShotRequest(
        (
            _passage("walk", 2, "draft_horse"),
            Passage(halt_frames=20),
            _passage("walk", 2, "draft_horse"),
        ),
        starts=False,
        ends=False,
    ),
}


@cache
def made_shot(name):
    return make_shot(shot_of(SHOTS[name]))


@cache
def shot_base(name):
    """Write a shot, and read it as anybody's clip."""
    file = read_bvh(bvh.encode(made_shot(name).clip, FileSpace()), "shot.bvh")
    known = whose(file, "shot.bvh")
    motion = place(file, known.map, "shot.bvh")
    return Base(name, file, known.map, motion, see(motion, known.limits), len(file.rows))


def _stance(start, rng, least=5):
    """A foot and a whole stance of it that is long enough."""
    whole = [s for s in start.seen.feet.stances if s.whole and s.last - s.first >= least]
    long = [s for s in whole if s.last - s.first < start.motion.frame_rate_hz]
    stance = long[int(rng.integers(len(long)))]
    return LIMBS[stance.limb], stance.first, stance.last


def _size(start):
    """Return hip height against the riding horse's, for which amounts are meant."""
    return start.motion.hip_height_m / 1.26


def _held(frames, first, last, ease):
    """1 from first to last, eased over some rows outside."""
    rows = np.arange(frames)
    shape = np.clip(np.minimum(rows - first + ease, last + ease - rows) / max(1, ease), 0, 1)
    return shape**2 * (3 - 2 * shape)


def _forward(start, row):
    heading = start.seen.shot.way.heading_rad[row]
    return np.array([np.cos(heading), np.sin(heading), 0.0])


def _moving_row(start, rng):
    """A row in which the body goes."""
    pace = np.linalg.norm(np.gradient(start.seen.shot.way.level_m, axis=0), axis=1)
    rows = np.flatnonzero(pace > 0.4 * np.median(pace))
    rows = rows[(rows > 8) & (rows < start.frames - 10)]
    return int(rng.choice(rows))


def _side(limb):
    return "L" if limb[0] == "L" else "R"


def slip(start, mm, rng):
    """A foot slides forward in the middle of its stance, and stays there."""
    limb, first, last = _stance(start, rng, 6)
    middle = (first + last) // 2
    rows = np.arange(start.frames)
    out = np.clip((rows - middle + 1) / 2.0, 0, 1) * np.clip((last + 6 - rows) / 6.0, 0, 1)
    path = mm / 1000 * _size(start) * out[:, None] * _forward(start, middle)
    return Damaged(shifted(start, limb, path), ("slip", "drift"), (limb,), (middle, middle + 2))


def floating(start, mm, rng):
    limb, first, last = _stance(start, rng)
    path = np.zeros((start.frames, 3))
    path[:, 2] = mm / 1000 * _size(start) * _held(start.frames, first, last, 2)
    return Damaged(shifted(start, limb, path), ("sole floating",), (limb,), (first + 1, last + 1))


def sunk(start, mm, rng):
    limb, first, last = _stance(start, rng)
    path = np.zeros((start.frames, 3))
    path[:, 2] = -mm / 1000 * _size(start) * bump(start.frames, first, last)
    return Damaged(shifted(start, limb, path), ("sole under ground",), (limb,), (first + 1, last + 1))


def pop(start, degrees, rng):
    row, limb = _moving_row(start, rng), LIMBS[int(rng.integers(4))]
    bones = BONES[limb[1]]
    joint = f"{bones[int(rng.integers(2))]}_{_side(limb)}"
    out = np.zeros(start.frames)
    out[row] = degrees * (1 if rng.random() < 0.5 else -1)
    return Damaged(turned(start, joint, "X", out), ("pop",), (joint,), (row + 1, row + 1))


def root_pop(start, mm, rng):
    row = _moving_row(start, rng)
    path = np.zeros((start.frames, 3))
    path[row, 2] = mm / 1000 * _size(start)
    kinds = ("pop", "body moves over planted feet")
    return Damaged(root_moved(start, path), kinds, (ROOT, "whole body"), (row + 1, row + 1))


def jitter_all(start, degrees, rng):
    rows = start.file.rows.copy()
    turning = np.array([w.endswith("rotation") for words in start.file.channels for w in words])
    rows[:, turning] += rng.uniform(-degrees, degrees, (start.frames, int(turning.sum())))
    return Damaged(with_rows(start.file, rows), ("jitter",), ("all joints",))


def jitter_one(start, degrees, rng):
    """One joint of the body shakes through the whole shot."""
    joint = ("neck_2", "head", "lumbar_1")[int(rng.integers(3))]
    noise = rng.uniform(-degrees, degrees, start.frames)
    return Damaged(turned(start, joint, "X", noise), ("jitter",), (joint,))


def swapped(start, apart, rng):
    row = _moving_row(start, rng)
    rows = start.file.rows.copy()
    rows[[row, row + apart]] = rows[[row + apart, row]]
    kinds = ("frames swapped",)
    return Damaged(with_rows(start.file, rows), kinds, ("whole body",), (row + 1, row + apart + 1))


def repeated(start, count, rng):
    row = _moving_row(start, rng)
    rows = start.file.rows.copy()
    rows[row + 1 : row + 1 + count] = rows[row]
    kinds = ("repeated frame", "stuck", "frames missing")  # it hides what was in the others
    return Damaged(with_rows(start.file, rows), kinds, ("whole body",), (row + 1, row + 2 + count))


def turn_too_many(start, degrees, rng):
    joint = ("neck_2", "femur_L", "radius_R")[int(rng.integers(3))]
    row = _moving_row(start, rng)
    rows = start.file.rows.copy()
    rows[row:, columns(start.file, joint)["X"]] += degrees
    kinds = ("flipped rotation",)
    return Damaged(with_rows(start.file, rows), kinds, (joint,), (row, row + 1))


def body_ahead(start, mm, rng):
    """The root goes ahead and comes back, and takes the planted feet along."""
    row = _moving_row(start, rng)
    path = mm / 1000 * _size(start) * bump(start.frames, row - 6, row + 6)[:, None] * _forward(start, row)
    kinds = ("body moves over planted feet", "frames missing")
    return Damaged(root_moved(start, path), kinds, (ROOT, "whole body"), (row - 4, row + 6))


def frozen_head(start, share, rng):
    del share, rng
    rows = start.file.rows.copy()
    for name in [n for n in start.file.joint_names if n.startswith("neck_") or n in {"atlas", "head"}]:
        for column in columns(start.file, name).values():
            rows[:, column] = rows[0, column]
    return Damaged(with_rows(start.file, rows), ("frozen",), ("neck and head",))


def stretched(start, degrees, rng):
    """A hind leg locked at the hock, or folded at the stifle, for some frames."""
    row = _moving_row(start, rng)
    limb = LIMBS[2 + int(rng.integers(2))]
    word, joint = ("hock", "hind_cannon") if rng.random() < 0.5 else ("stifle", "tibia")
    joint = start.motion.angle_joints[limb, word]
    goal = degrees if word == "hock" else 40.0
    out = np.zeros(start.frames)
    angle = start.motion.angles_deg[limb, word]
    best, left = start.file, np.inf
    for sign in (1.0, -1.0):
        out = sign * (goal - angle[row]) * bump(start.frames, row - 4, row + 4)
        file = turned(start, joint, "X", out)
        miss = abs(place(file, start.map, "x").angles_deg[limb, word][row] - goal)
        best, left = (file, miss) if miss < left else (best, left)
    kinds = ("leg locking", "joint out of range", "stifle and hock parting", "sole under ground", "slip")
    return Damaged(best, kinds, (limb, joint), (row - 1, row + 3), joint)


DAMAGES = {
    "foot slips": (slip, 40.0),
    "foot stands over the ground": (floating, 25.0),
    "foot stands in the ground": (sunk, 25.0),
    "joint of a leg pops": (pop, 35.0),
    "root pops": (root_pop, 40.0),
    "all joints jitter": (jitter_all, 0.6),
    "one joint jitters": (jitter_one, 2.0),
    "frames swapped": (swapped, 1),
    "frame repeated": (repeated, 2),
    "turn too many in a curve": (turn_too_many, 360.0),
    "body goes ahead over its feet": (body_ahead, 80.0),
    "head frozen": (frozen_head, 1.0),
    "leg locked or folded": (stretched, 179.0),
}
