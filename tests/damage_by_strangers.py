"""Faults as strangers make them, of any animal in any gait: nothing here knows a bone by name.

As in ``damage_by_hand``; a damage takes a clean clip and random numbers, and is as large as such a mistake
usually is.
"""

from dataclasses import replace

import numpy as np
from damage import (
    Base,
    Damaged,
    around,
    bump,
    columns,
    feet_kept,
    shifted,
    toes_brought,
    turned,
    with_rows,
)
from scipy.interpolate import CubicSpline
from scipy.spatial.transform import Rotation

from gaitgen.animal.library import load_animal
from gaitgen.check.findings.opposite import mates_of_joints
from gaitgen.check.limits import load_limits
from gaitgen.check.look import see
from gaitgen.check.tracked import place
from gaitgen.check.whose import whose
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.gait import LIMBS
from gaitgen.pipeline import Request, make_cycle

MOVES_DEG = 4.0
SLIPPED_DEG, TURN_DEG = 80.0, 30.0
PAIRS = {"F": ("LF", "RF"), "H": ("LH", "RH")}
BODY = ("whole body", "all joints", "all feet", "hips")


def start_of(animal, gait, frames=None, *, in_place=True, strides=1):
    """A clean clip of an animal in a gait."""
    clip = make_cycle(Request(animal=animal, gait=gait, frames=frames, in_place=in_place, strides=strides))
    file = read_bvh(bvh.encode(clip, FileSpace()), "clean.bvh")
    motion = place(file, whose(file, "clean.bvh", animal).map, "clean.bvh")
    limits = load_limits(load_animal(animal).limits).from_standing({})
    name = (
        f"{animal} {gait} {len(file.rows)}{'' if in_place else ' travelling'}{' x2' if strides > 1 else ''}"
    )
    return Base(name, file, motion.map, motion, see(motion, limits), (len(file.rows) - 1) // strides)


def _root(start):
    return start.file.joint_names[0]


def _body(start):
    return (*BODY, _root(start))


def _loop(start):
    """Rows of the clip without the one that repeats the first."""
    return start.frames - 1


def _row(start, rng, room=4):
    return int(rng.integers(room, start.frames - room))


def _legs(start, limb):
    """Joints of a leg that turn to speak of, and carry more than the foot itself."""
    names = start.map.limbs[limb].joints[:-1]
    wide = {name: float(np.ptp(start.file.rows[:, columns(start.file, name)["X"]])) for name in names}
    moving = [name for name in names if wide[name] > MOVES_DEG]
    return moving or [max(wide, key=wide.get)]


def _leg_joint(start, rng, letter=""):
    limbs = [limb for limb in LIMBS if letter in limb]
    limb = limbs[int(rng.integers(len(limbs)))]
    names = _legs(start, limb)
    return limb, names[int(rng.integers(len(names)))]


def _soft_joint(start, rng):
    names = [*start.map.neck, start.map.head, *start.map.tail[:3], *start.map.spine[1:]]
    return names[int(rng.integers(len(names)))]


def _curves(start, names):
    return [column for name in names for column in columns(start.file, name).values()]


def _closed(start, rows):
    """Rows whose last is the first again, as it was before."""
    rows[-1] = rows[0] + (start.file.rows[-1] - start.file.rows[0])
    return rows


def _later(start, rows, at, by):
    """Let columns run late by some rows, round the loop."""
    n = _loop(start)
    rows[:n, at] = np.roll(start.file.rows[:n, at], by, axis=0)
    return _closed(start, rows)


def _mirrored(start, rows):
    """The same poses seen in a mirror: left is right."""
    out = rows.copy()
    names = start.file.joint_names
    for name in names:
        other = _mate(name, names)
        mine, its = columns(start.file, name), columns(start.file, other)
        for axis, column in mine.items():
            out[:, column] = rows[:, its[axis]] * (1.0 if axis == "X" else -1.0)
    at = columns(start.file, names[0], "position")["X"]
    out[:, at] = -rows[:, at]
    return out


def _mate(name, names):
    for one, other in (("_L", "_R"), ("_R", "_L")):
        if name.endswith(one) and name.removesuffix(one) + other in names:
            return name.removesuffix(one) + other
    return name


# --- joints ----------------------------------------------------------------------------------------------


def noise_on_a_leg_joint(start, rng, degrees=2.0):
    limb, name = _leg_joint(start, rng)
    rows = start.file.rows.copy()
    at = _curves(start, [name])
    rows[:, at] += rng.normal(0.0, degrees, (len(rows), len(at)))
    return Damaged(with_rows(start.file, _closed(start, rows)), ("jitter",), (name, limb))


def noise_on_a_joint_of_the_body(start, rng, degrees=2.0):
    name = _soft_joint(start, rng)
    rows = start.file.rows.copy()
    at = _curves(start, [name])
    rows[:, at] += rng.normal(0.0, degrees, (len(rows), len(at)))
    return Damaged(with_rows(start.file, _closed(start, rows)), ("jitter",), (name,))


def frozen_leg_joint(start, rng):
    limb, name = _leg_joint(start, rng)
    rows = start.file.rows.copy()
    rows[:, _curves(start, [name])] = rows[0, _curves(start, [name])]
    return Damaged(with_rows(start.file, rows), ("frozen",), (name, limb))


def joint_at_rest(start, rng):
    limb, name = _leg_joint(start, rng)
    rows = start.file.rows.copy()
    rows[:, _curves(start, [name])] = 0.0
    return Damaged(with_rows(start.file, rows), ("frozen",), (name, limb))


def key_deleted(start, rng):
    """The keys of one channel are gone for a quarter of the stride: it goes straight between those beside."""
    limb, name = _leg_joint(start, rng)
    at = columns(start.file, name)["X"]
    long = max(6, start.period // 4)
    curve = start.file.rows[:, at]
    rows = start.file.rows.copy()
    off = [
        np.abs(np.linspace(curve[k], curve[k + long], long + 1) - curve[k : k + long + 1]).max()
        for k in range(len(curve) - long)
    ]
    first = int(np.argmax(off))
    rows[first : first + long + 1, at] = np.linspace(curve[first], curve[first + long], long + 1)
    kinds = ("unlike other side", "pop", "key missing")
    return Damaged(with_rows(start.file, rows), kinds, (name, limb), around(start, first, first + long), name)


def curve_late_by_three(start, rng):
    _, name = _leg_joint(start, rng)
    rows = _later(start, start.file.rows.copy(), _curves(start, [name]), 3)
    return Damaged(with_rows(start.file, rows), ("unlike other side", "joint late"), (name,), None, name)


def stepped_key(start, rng):
    """One channel holds its value for five frames, then jumps to its curve."""
    limb, name = _leg_joint(start, rng)
    at = columns(start.file, name)["X"]
    curve = start.file.rows[:, at]
    far = np.abs(curve[5:] - curve[:-5])
    row = int(np.argmax(far[1:-1])) + 1
    rows = start.file.rows.copy()
    rows[row : row + 5, at] = rows[row, at]
    kinds = ("stuck", "pop", "unlike other side", "stepped key")
    return Damaged(with_rows(start.file, rows), kinds, (name, limb), (row + 1, row + 6), name)


def euler_branch_for_a_frame(start, rng):
    """The other three angles of the same rotation, on one frame."""
    _, name = _leg_joint(start, rng)
    row, at = _row(start, rng), _curves(start, [name])
    rows = start.file.rows.copy()
    part = rows[row, at]
    rows[row, at] = [part[0] + 180.0, 180.0 - part[1], part[2] + 180.0]
    return Damaged(with_rows(start.file, rows), ("flipped rotation",), (name,), (row, row + 2))


def sign_lost_on_a_frame(start, rng):
    """One channel has the wrong sign on one frame."""
    limb, name = _leg_joint(start, rng)
    at = columns(start.file, name)["X"]
    row = 3 + int(np.abs(start.file.rows[3:-3, at]).argmax())
    rows = start.file.rows.copy()
    rows[row, at] *= -1.0
    if abs(rows[row, at]) < 5.0:
        rows[row, at] -= 10.0
    return Damaged(with_rows(start.file, rows), ("pop", "rotation jump"), (name, limb), (row, row + 2), name)


def mirrored_joint(start, rng):
    """Pitch of one leg joint with the wrong sign throughout."""
    limb, name = _leg_joint(start, rng)
    rows = start.file.rows.copy()
    rows[:, columns(start.file, name)["X"]] *= -1.0
    kinds = ("unlike other side", "joint out of range", "joint mirrored")
    return Damaged(with_rows(start.file, rows), kinds, (name, limb), None, name)


def doubled_joint(start, rng):
    """One joint's curve twice as far about its middle."""
    limb, name = _leg_joint(start, rng)
    at = columns(start.file, name)["X"]
    rows = start.file.rows.copy()
    rows[:, at] = 2.0 * rows[:, at] - rows[:-1, at].mean()
    return Damaged(with_rows(start.file, rows), ("unlike other side",), (name, limb), None, name)


def channels_of_a_joint_exchanged(start, rng):
    limb, name = _leg_joint(start, rng)
    at = columns(start.file, name)
    rows = start.file.rows.copy()
    rows[:, [at["X"], at["Y"]]] = rows[:, [at["Y"], at["X"]]]
    kinds = ("unlike other side", "joint out of range", "channels exchanged")
    return Damaged(with_rows(start.file, rows), kinds, (name, limb), None, name)


def foot_rolled_the_wrong_way(start, rng):
    limb = LIMBS[int(rng.integers(4))]
    name = start.map.limbs[limb].joints[-1]
    at = columns(start.file, name)["X"]
    rows = start.file.rows.copy()
    rows[:, at] = 2.0 * np.median(rows[:, at]) - rows[:, at]
    kinds = ("unlike other side", "foot cocks up", "sole under ground")
    return Damaged(with_rows(start.file, rows), kinds, (limb, name), None, name)


def popping_straight(start, rng):
    """A joint of the middle of a leg is straight for two frames of its stance."""
    limb, name = _leg_joint(start, rng)
    stance = start.seen.feet.of(LIMBS.index(limb))[0]
    row = (stance.first + stance.last) // 2 % _loop(start)
    row = min(max(row, 3), start.frames - 5)
    rows = start.file.rows.copy()
    rows[row : row + 2, columns(start.file, name)["X"]] += 15.0 * (1.0 if rng.random() < 0.5 else -1.0)
    kinds = ("pop", "leg locking", "unlike other side")
    return Damaged(with_rows(start.file, rows), kinds, (limb, name), (row, row + 3), name)


# --- legs ------------------------------------------------------------------------------------------------


def legs_swapped(start, rng):
    """The curves of left and right leg of a pair have changed places, mirrored."""
    pair = PAIRS["FH"[int(rng.integers(2))]]
    rows, seen = start.file.rows.copy(), _mirrored(start, start.file.rows)
    at = _curves(start, [name for limb in pair for name in start.map.limbs[limb].joints])
    rows[:, at] = seen[:, at]
    kinds = ("legs swapped", "contact order", "lag")
    return Damaged(with_rows(start.file, rows), kinds, (*pair, "hind legs", "forelegs"))


def legs_together(start, rng):
    """The right leg of a pair has the left one's curves without the half stride between."""
    pair = PAIRS["FH"[int(rng.integers(2))]]
    rows, seen = start.file.rows.copy(), _mirrored(start, start.file.rows)
    at = _curves(start, start.map.limbs[pair[1]].joints)
    rows[:, at] = seen[:, at]
    return Damaged(
        with_rows(start.file, rows), ("asymmetry", "legs together"), (*pair, "hind legs", "forelegs")
    )


def leg_late_by_three(start, rng):
    limb = LIMBS[int(rng.integers(4))]
    rows = _later(start, start.file.rows.copy(), _curves(start, start.map.limbs[limb].joints), 3)
    return Damaged(
        with_rows(start.file, rows), ("asymmetry", "unlike other side", "leg out of time"), (limb,)
    )


def leg_of_small_steps(start, rng, left=0.7):
    """All curves of a leg have seven tenths of their way."""
    limb = LIMBS[int(rng.integers(4))]
    rows, at = start.file.rows.copy(), _curves(start, start.map.limbs[limb].joints)
    middle = rows[:-1, at].mean(axis=0)
    rows[:, at] = middle + left * (rows[:, at] - middle)
    kinds = ("unlike other side", "slip", "drift")
    return Damaged(with_rows(start.file, rows), kinds, (limb,))


def held_leg(start, rng):
    """A leg holds its pose for three frames."""
    limb, row = LIMBS[int(rng.integers(4))], _row(start, rng)
    rows, at = start.file.rows.copy(), _curves(start, start.map.limbs[limb].joints)
    rows[row : row + 4, at] = rows[row, at]
    return Damaged(with_rows(start.file, rows), ("stuck",), (limb,), (row + 1, row + 4))


def toe_jumps(start, rng, percent=5.0):
    """A foot control a twentieth of the hip height off for one frame."""
    limb, row = LIMBS[int(rng.integers(4))], _row(start, rng)
    path = np.zeros((start.frames, 3))
    path[row, int(rng.integers(3))] = percent / 100.0 * start.motion.hip_height_m
    path[row, 2] = abs(path[row, 2])
    file = shifted(start, limb, path)
    own = start.map.limbs[limb].joints
    return Damaged(file, ("pop", "slip", "unlike other side"), (limb, *own), (row, row + 2))


def lifts_late(start, rng):
    """A foot is held on the ground for two frames more, as far as the leg reaches."""
    limb = LIMBS[int(rng.integers(4))]
    stance, n = start.seen.feet.of(LIMBS.index(limb))[0], _loop(start)
    toes = start.motion.toes_m[:, LIMBS.index(limb)]
    belt = np.append(start.seen.feet.belt_m_s, 0.0) / start.motion.frame_rate_hz
    target = start.motion.toes_m.copy()
    for k in range(1, 3):
        row = stance.last + k
        turn = start.motion.root_m[-1] - start.motion.root_m[0]
        there = toes[stance.last % n] + k * belt + (0.0 if row < n or stance.last >= n else -turn * [1, 1, 0])
        target[row % n, LIMBS.index(limb)] = there
    target[n] = target[0] + (start.motion.toes_m[n] - start.motion.toes_m[0])
    file = toes_brought(start, start.file, [limb], target)
    kinds = ("unlike other side", "asymmetry", "pop", "duty factor")
    own = start.map.limbs[limb].joints
    return Damaged(file, kinds, (limb, *own), around(start, stance.last, stance.last + 3))


def lands_under_ground(start, rng):
    """A foot goes under the ground as it lands, and comes up again."""
    limb = LIMBS[int(rng.integers(4))]
    first = start.seen.feet.of(LIMBS.index(limb))[0].first
    path = np.zeros((start.frames, 3))
    path[:, 2] = -0.02 * start.motion.hip_height_m * bump(start.frames, first - 2, first + 2, _loop(start))
    kinds = ("sole under ground", "unlike other side", "pop")
    return Damaged(shifted(start, limb, path), kinds, (limb,), around(start, first - 2, first + 2))


def bone_longer(start, rng, percent=10.0):
    """One bone of one leg is a tenth longer."""
    limb = LIMBS[int(rng.integers(4))]
    own = start.map.limbs[limb].joints
    lengths = [float(np.linalg.norm(start.file.offsets[start.motion.joint(name)])) for name in own]
    below = 1 + int(np.argmax(lengths[1:]))
    offsets = start.file.offsets.copy()
    offsets[start.motion.joint(own[below])] *= 1.0 + percent / 100.0
    file = replace(start.file, offsets=offsets)
    kinds = ("bone unlike other side", "sole under ground")
    return Damaged(file, kinds, (limb, own[below], own[below - 1]))


def foot_aside(start, rng, percent=12.0):
    """A key of a foot control moved aside in the middle of its swing: the foot crosses over."""
    limb = LIMBS[int(rng.integers(4))]
    stance = start.seen.feet.of(LIMBS.index(limb))[0]
    n = _loop(start)
    path = np.zeros((start.frames, 3))
    path[:, 1] = (
        percent
        / 100.0
        * start.motion.hip_height_m
        * bump(start.frames, stance.last, stance.first + start.period, n)
    )
    kinds = ("swing unlike other side", "unlike other side")
    own = start.map.limbs[limb].joints
    return Damaged(shifted(start, limb, path), kinds, (limb, *own))


# --- the body --------------------------------------------------------------------------------------------


def axes_swapped(start, rng):
    """Two position channels of the root in each other's place."""
    del rng
    at = columns(start.file, _root(start), "position")
    rows = start.file.rows.copy()
    rows[:, [at["Y"], at["Z"]]] = rows[:, [at["Z"], at["Y"]]]
    return Damaged(with_rows(start.file, rows), ("root axes swapped",), _body(start))


def root_in_another_unit(start, rng, factor=None):
    rows = start.file.rows.copy()
    rows[:, :3] *= factor or (0.01, 1.0 / 2.54, 2.54, 100.0, 0.1, 10.0)[int(rng.integers(6))]
    return Damaged(with_rows(start.file, rows), ("root in another unit",), _body(start))


def half_mirrored(start, rng):
    """Left and right are exchanged from the middle of the clip on."""
    del rng
    rows, half = start.file.rows.copy(), start.frames // 2
    rows[half:] = _mirrored(start, rows)[half:]
    return Damaged(with_rows(start.file, rows), ("mirrored",), _body(start), (half, half + 1))


def reversed_in_time(start, rng):
    del rng
    return Damaged(with_rows(start.file, start.file.rows[::-1].copy()), ("reversed in time",), _body(start))


def rotation_order_wrong(start, rng):
    """The angles are written in one order, and read in another."""
    order = ("XYZ", "YXZ", "ZYX", "YZX", "XZY")[int(rng.integers(5))]
    words = tuple(
        (*(w for w in own if w.endswith("position")), *(f"{a}rotation" for a in order))
        for own in start.file.channels
    )
    rows = start.file.rows.copy()
    for name in start.file.joint_names:
        mine = columns(start.file, name)
        first = min(mine.values())
        rows[:, first : first + 3] = start.file.rows[:, [mine[a] for a in order]]
    file = replace(start.file, channels=words, rows=rows)
    return Damaged(file, ("rotation order",), _body(start))


def way_too_long(start, rng):
    """The root goes a tenth too far."""
    del rng
    rows = start.file.rows.copy()
    stride = float(np.linalg.norm(start.seen.feet.body_m_s)) * _loop(start) / start.motion.frame_rate_hz
    rows[:, columns(start.file, _root(start), "position")["Z"]] += (
        10.0 * stride * np.linspace(0, 1, start.frames)
    )
    kinds = ("drift", "root drift")
    return Damaged(with_rows(start.file, rows), kinds, _body(start))


def root_a_frame_late(start, rng):
    """The curves of the root run two frames behind those of the joints."""
    del rng
    at, rows = columns(start.file, _root(start), "position")["Y"], start.file.rows.copy()
    rows = _later(start, rows, [at], 2)
    kinds = ("hips out of turn", "body out of turn", "body moves over planted feet")
    return Damaged(with_rows(start.file, rows), kinds, _body(start))


def root_height_doubled(start, rng):
    del rng
    at, rows = columns(start.file, _root(start), "position")["Y"], start.file.rows.copy()
    rows[:, at] = 2.0 * rows[:, at] - rows[:-1, at].mean()
    kinds = ("body moves over planted feet", "hips out of turn")
    return Damaged(with_rows(start.file, rows), kinds, _body(start))


def root_zero_for_a_frame(start, rng):
    row, rows = _row(start, rng), start.file.rows.copy()
    rows[row, :3] = 0.0
    kinds = ("pop", "body moves over planted feet")
    return Damaged(with_rows(start.file, rows), kinds, _body(start), (row, row + 2))


def root_aside(start, rng, percent=5.0):
    """A key of the root a twentieth of the hip height aside, eased into its neighbours."""
    row, rows = _row(start, rng), start.file.rows.copy()
    at = columns(start.file, _root(start), "position")["X"]
    size = percent * start.motion.hip_height_m
    rows[:, at] += size * bump(start.frames, row - 4, row + 4, _loop(start))
    kinds = ("body moves over planted feet", "body out of turn", "pop")
    return Damaged(with_rows(start.file, rows), kinds, _body(start), around(start, row - 4, row + 4))


def root_sinks(start, rng, percent=5.0):
    """The root sinks a twentieth of the hip height over the clip."""
    del rng
    rows, at = start.file.rows.copy(), columns(start.file, _root(start), "position")["Y"]
    rows[:, at] -= percent * start.motion.hip_height_m * np.linspace(0, 1, start.frames)
    kinds = ("loop not closing", "body moves over planted feet")
    return Damaged(with_rows(start.file, rows), kinds, _body(start))


def root_leans(start, rng, degrees=8.0):
    """The root is rolled to one side by eight degrees, without the feet being brought back."""
    del rng
    rows = start.file.rows.copy()
    rows[:, columns(start.file, _root(start))["Z"]] += degrees
    kinds = ("body leans", "body moves over planted feet")
    return Damaged(with_rows(start.file, rows), kinds, _body(start))


def root_turned(start, rng, degrees=15.0):
    """The root's rotation is turned aside by fifteen degrees; its path is not."""
    del rng
    rows = start.file.rows.copy()
    rows[:, columns(start.file, _root(start))["Y"]] += degrees
    return Damaged(with_rows(start.file, rows), ("crabbing", "body moves over planted feet"), _body(start))


def rest_pose_flash(start, rng):
    """One frame of the rest pose."""
    row, rows = _row(start, rng), start.file.rows.copy()
    rows[row, 3:] = 0.0
    return Damaged(with_rows(start.file, rows), ("pop",), _body(start), (row, row + 2))


def spine_counter_rotated(start, rng):
    """The middle of the back turns the other way, sideways and about its length."""
    del rng
    rows = start.file.rows.copy()
    name = start.map.spine[len(start.map.spine) // 2]
    own = columns(start.file, name)
    rows[:, [own["Y"], own["Z"]]] *= -1.0
    return Damaged(
        with_rows(start.file, rows),
        ("counter-rotated", "spine bending too much"),
        (name, "spine"),
        None,
        name,
    )


def pelvis_counter_rotated(start, rng):
    """Yaw and roll of the root have the wrong sign: the hips go back with the leg that goes ahead."""
    del rng
    rows = start.file.rows.copy()
    own = columns(start.file, _root(start))
    rows[:, [own["Y"], own["Z"]]] *= -1.0
    kinds = ("counter-rotated", "body moves over planted feet")
    return Damaged(with_rows(start.file, rows), kinds, _body(start))


def head_late(start, rng):
    """The curves of neck and head a quarter of the stride late."""
    del rng
    at = _curves(start, [*start.map.neck, start.map.head])
    rows = _later(start, start.file.rows.copy(), at, start.period // 4)
    kinds = ("head with the wrong end", "head late")
    return Damaged(with_rows(start.file, rows), kinds, ("head", "neck and head"))


def tail_frozen(start, rng):
    del rng
    rows, at = start.file.rows.copy(), _curves(start, start.map.tail)
    rows[:, at] = rows[0, at]
    return Damaged(with_rows(start.file, rows), ("frozen",), ("tail",))


def ear_frozen(start, rng):
    del rng
    rows, at = start.file.rows.copy(), _curves(start, [start.map.ear_left])
    rows[:, at] = rows[0, at]
    return Damaged(with_rows(start.file, rows), ("frozen",), (start.map.ear_left, "ears"))


def back_frozen(start, rng):
    del rng
    rows, at = start.file.rows.copy(), _curves(start, start.map.spine[1:])
    rows[:, at] = rows[0, at]
    return Damaged(with_rows(start.file, rows), ("frozen",), ("spine", *start.map.spine))


# --- frames and the loop ---------------------------------------------------------------------------------


def frames_pasted_twice(start, rng):
    """Two frames are in the clip twice, one after the other."""
    row = _row(start, rng)
    rows = np.insert(start.file.rows, row + 1, start.file.rows[row - 1 : row + 1], axis=0)
    kinds = ("frames repeated", "frames swapped", "pop", "repeated frame")
    return Damaged(with_rows(start.file, rows), kinds, ("whole body",), (row - 1, row + 3))


def first_key_off(start, rng):
    _, name = _leg_joint(start, rng)
    rows = start.file.rows.copy()
    at = columns(start.file, name)["X"]
    rows[:4, at] += 8.0 * np.array([1.0, 0.6, 0.3, 0.1])
    kinds = ("loop not closing",)
    return Damaged(with_rows(start.file, rows), kinds, (name,), (start.frames, 4))


def last_frame_twice(start, rng):
    """The last frame is there twice."""
    del rng
    rows = np.concatenate([start.file.rows, start.file.rows[-1:]])
    last = len(rows)
    return Damaged(with_rows(start.file, rows), ("repeated frame",), ("whole body",), (last - 1, last))


def cut_short(start, rng):
    """The last fifth of the loop is cut off."""
    del rng
    rows = start.file.rows[: start.frames - max(3, start.period // 5)]
    kinds = ("loop not closing", "no whole stride", "frames missing")
    return Damaged(with_rows(start.file, rows.copy()), kinds, (), None)


def slow_in_and_out(start, rng):
    """The joints of the clip are eased in and out over its time, the root is not."""
    del rng
    time = np.linspace(0.0, 1.0, start.frames)
    eased = time - 0.6 * np.sin(2 * np.pi * time) / (2 * np.pi)
    rows = start.file.rows.copy()
    for column in range(3, rows.shape[1]):
        rows[:, column] = np.interp(eased, time, start.file.rows[:, column])
    kinds = ("slip", "drift", "body moves over planted feet", "no stance", "frames missing")
    return Damaged(with_rows(start.file, rows), kinds, (*_body(start), *LIMBS))


def stretched_by_a_tenth(start, rng):
    """The joints are retimed by a tenth, and the root is left as it was."""
    del rng
    n = _loop(start)
    time = np.arange(start.frames) / 1.1
    rows = start.file.rows.copy()
    for column in range(3, rows.shape[1]):
        rows[:, column] = np.interp(time, np.arange(start.frames), start.file.rows[:, column])
    del n
    kinds = (
        "drift",
        "slip",
        "loop not closing",
        "root drift",
        "body moves over planted feet",
        "frames missing",
    )
    return Damaged(with_rows(start.file, rows), kinds, (), None)


def smoothed_too_much(start, rng, frames=5):
    """All curves are averaged over five frames: landings are rounded off."""
    del rng
    n = _loop(start)
    turn = start.file.rows[:n, 3:]
    rows = start.file.rows.copy()
    rows[:n, 3:] = np.mean([np.roll(turn, k, axis=0) for k in range(-(frames // 2), frames // 2 + 1)], axis=0)
    rows = _closed(start, rows)
    kinds = ("slip", "drift", "sole under ground", "sole floating")
    return Damaged(with_rows(start.file, rows), kinds, (*LIMBS, "all feet"))


def tail_off_at_the_end(start, rng, degrees=12.0):
    """The tail's last key is not its first."""
    del rng
    name = start.map.tail[0]
    out = degrees * np.clip((np.arange(start.frames) - start.frames + 6) / 5.0, 0, 1) ** 2
    return Damaged(turned(start, name, "Y", out), ("loop not closing",), (name, "tail"), (start.frames, 1))


def channel_from_another_joint(start, rng):
    """A joint has the curves of its neighbour in the leg."""
    limb, name = _leg_joint(start, rng)
    own = start.map.limbs[limb].joints
    other = own[own.index(name) + 1]
    rows = start.file.rows.copy()
    rows[:, columns(start.file, name)["X"]] = rows[:, columns(start.file, other)["X"]]
    kinds = ("unlike other side", "joint out of range", "curve of another joint")
    return Damaged(with_rows(start.file, rows), kinds, (name, limb), None, name)


def frame_of_the_mirror(start, rng):
    """One frame is mirrored."""
    row, rows = _row(start, rng), start.file.rows.copy()
    rows[row] = _mirrored(start, rows)[row]
    return Damaged(with_rows(start.file, rows), ("pop", "mirrored"), _body(start), (row, row + 2))


def rounded_angles(start, rng, degrees=1.0):
    """All angles are rounded to whole degrees."""
    del rng
    rows = start.file.rows.copy()
    rows[:, 3:] = degrees * np.round(rows[:, 3:] / degrees)
    return Damaged(with_rows(start.file, rows), ("jitter", "rounded angles"), ("all joints",))


def on_threes(start, rng):
    del rng
    rows = start.file.rows[np.arange(start.frames) // 3 * 3]
    return Damaged(with_rows(start.file, rows.copy()), ("on twos", "on threes", "stuck"), ("whole body",))


def held_frames(start, rng, turn):
    """Every pose is held for so many frames."""
    del rng
    rows = start.file.rows[np.arange(start.frames) // turn * turn]
    kinds = {2: ("on twos",), 4: ("on fours",)}[turn]
    return Damaged(with_rows(start.file, rows.copy()), kinds, ("whole body",))


def root_too_fast(start, rng, times):
    """The root of a clip goes so many times as far as the legs carry it."""
    del rng
    rows, at = start.file.rows.copy(), columns(start.file, _root(start), "position")["Z"]
    stride = float(np.linalg.norm(start.seen.feet.body_m_s)) * start.period / start.motion.frame_rate_hz
    rows[:, at] += 100.0 * (times - 1.0) * stride * np.linspace(0, 1, start.frames)
    kinds = ("no stance", "drift", "root drift")
    return Damaged(with_rows(start.file, rows), kinds, (*_body(start), "all feet"))


def foot_held_up(start, rng, percent):
    """A foot that is carried over the ground all the time, in steps of a tenth of their length."""
    damaged = leg_of_small_steps(start, rng, 0.1)
    here = replace(start, file=damaged.file, motion=place(damaged.file, start.map, "small steps"))
    path = np.zeros((start.frames, 3))
    path[:, 2] = percent / 100.0 * start.motion.hip_height_m
    (limb,) = damaged.limbs
    return Damaged(shifted(here, limb, path), ("no stance", "asymmetry", "sole floating", "drift"), (limb,))


def sways_late(start, rng, share):
    """The root's sway, a twentieth of the hip height more than it was, runs late by a share of the stride."""
    del rng
    at, frame = columns(start.file, _root(start), "position")["X"], np.arange(start.frames)
    sway = np.sin(2.0 * np.pi * frame / start.period)
    target = start.motion.toes_m.copy()
    size = 0.025 * start.motion.hip_height_m
    wide = start.file.rows.copy()
    wide[:, at] += 100.0 * size * sway
    file = toes_brought(start, with_rows(start.file, wide), LIMBS, target)
    rows = file.rows.copy()
    rows[:, at] = np.interp(frame - share * start.period, frame, rows[:, at], period=start.period)
    return Damaged(with_rows(start.file, rows), ("body out of turn",), _body(start))


def foot_slips(start, rng, percent, *, rows=None, comes_back=None):
    """A planted foot slips within two to four frames, aside or along, and comes back then or in its swing."""
    rows = int(rng.integers(2, 5)) if rows is None else rows
    comes_back = bool(rng.integers(2)) if comes_back is None else comes_back
    known = [s for s in start.seen.feet.stances if s.last - s.first >= rows + 5 and s.last < start.frames - 2]
    stance = known[int(rng.integers(len(known)))]
    limb, first = LIMBS[stance.limb], int(rng.integers(stance.first + 3, stance.last - rows - 1))
    here, share = np.arange(first, first + _loop(start)), np.zeros(start.frames)
    if comes_back:
        share[first : first + rows] = 1.0
    else:
        lands = np.clip((stance.last + 5 - here) / 5.0, 0.0, 1.0)  # it is back on its way early in its swing
        share[here % _loop(start)] = np.clip((here - first + 1) / rows, 0.0, 1.0) * lands
    share[-1] = share[0]
    way = np.eye(3)[int(rng.integers(2))] * rng.choice([-1.0, 1.0])
    way *= percent / 100.0 * start.motion.hip_height_m
    file = shifted(start, limb, share[:, None] * way)
    return Damaged(file, ("slide", "slip"), (limb,), around(start, first - 1, first + rows))


def half_retimed(start, rng, times):
    """The first half of a loop is scaled in time, with all keys, and the second fills what is left."""
    del rng
    n, rows = _loop(start), start.file.rows
    way, turn = rows[-1] - rows[0], np.arange(start.frames)
    poses = rows - way * (turn / n)[:, None]
    poses[-1] = poses[0]
    old = np.interp(turn, [0.0, times * n / 2.0, n], [0.0, n / 2.0, n])
    new = CubicSpline(turn, poses, bc_type="periodic")(old) + way * (old / n)[:, None]
    frames = (1, round(times * n / 2.0) + 1)
    return Damaged(with_rows(start.file, new), ("retimed",), _body(start), frames)


def root_keys_taken_out(start, rng, count):
    """So many frames between two keys of the root on the line between them, or all as the first."""
    rows, first = start.file.rows.copy(), int(rng.integers(1, start.frames - count - 1))
    at = list(columns(start.file, _root(start), "position").values())
    at += list(columns(start.file, _root(start)).values())
    last, share = first + count + 1, np.linspace(0.0, 1.0, count + 2)[:, None]
    line = (1.0 - share) * rows[first, at] + share * rows[last, at]
    rows[first : last + 1, at] = np.round(line, 6)
    if rng.integers(2):
        rows[first:last, at] = rows[first, at]
    return Damaged(
        with_rows(start.file, rows), ("root keys missing",), (_root(start),), (first + 1, last + 1)
    )


def leg_layer(start, rng, share):
    """All rotations of one leg have a share of their size, as in a layer of that weight."""
    rows, limb = start.file.rows.copy(), LIMBS[int(rng.integers(4))]
    for name in start.map.limbs[limb].joints:
        rows[:, list(columns(start.file, name).values())] *= share
    return Damaged(with_rows(start.file, rows), ("scaled curves",), (limb,))


def layer_of_all(start, rng, share):
    """All rotations have a share of their size; the root's path keeps its own."""
    del rng
    rows = start.file.rows.copy()
    for name in start.file.joint_names:
        rows[:, list(columns(start.file, name).values())] *= share
    return Damaged(with_rows(start.file, rows), ("scaled curves",), ("all joints",))


def held_at_the_end(start, rng):
    """The clip stands still for its last five frames."""
    del rng
    rows = start.file.rows.copy()
    rows[-5:] = rows[-5]
    return Damaged(with_rows(start.file, rows), ("stuck",), ("whole body",), (start.frames - 5, start.frames))


def angles_in_radians(start, rng):
    """The file has all its angles in radians."""
    del rng
    rows = start.file.rows.copy()
    at = _curves(start, start.file.joint_names)
    rows[:, at] = np.radians(rows[:, at])
    return Damaged(with_rows(start.file, rows), ("angles in radians",), _body(start))


def leg_late(start, rng, frames):
    """All curves of a leg come some frames late, where left and right differ anyway."""
    limb = LIMBS[int(rng.integers(4))]
    rows = _later(start, start.file.rows.copy(), _curves(start, start.map.limbs[limb].joints), int(frames))
    return Damaged(with_rows(start.file, rows), ("leg out of time",), (limb,))


def end_late(start, rng, frames):
    """All curves of both legs of an end come some frames late."""
    word, limbs = (("forelegs", LIMBS[:2]), ("hind legs", LIMBS[2:]))[int(rng.integers(2))]
    names = [name for limb in limbs for name in start.map.limbs[limb].joints]
    rows = _later(start, start.file.rows.copy(), _curves(start, names), int(frames))
    return Damaged(with_rows(start.file, rows), ("end out of time",), (word,))


def on_its_side(start, rng):
    """The motion is written with z up, on a skeleton with y up."""
    del rng
    rows, root = start.file.rows.copy(), _root(start)
    by = Rotation.from_euler("X", 90.0, degrees=True)
    places = list(columns(start.file, root, "position").values())
    rows[:, places] = by.apply(rows[:, places])
    at = columns(start.file, root)
    order, turns = "".join(at), list(at.values())
    turned = by * Rotation.from_euler(order, rows[:, turns], degrees=True)
    rows[:, turns] = np.degrees(np.unwrap(turned.as_euler(order), axis=0))
    return Damaged(with_rows(start.file, rows), ("clip lies on its side",), _body(start))


def root_along_z(start, rng):
    """The root's places are written with z up and one turned round, its rotations are not."""
    del rng
    at, rows = columns(start.file, _root(start), "position"), start.file.rows.copy()
    rows[:, at["Y"]], rows[:, at["Z"]] = -start.file.rows[:, at["Z"]], start.file.rows[:, at["Y"]]
    return Damaged(with_rows(start.file, rows), ("root axes swapped",), _body(start))


def leg_joint_held(start, rng, frames):
    """A joint of a leg stands still for some frames, and then goes on."""
    _, name = _leg_joint(start, rng)
    row, rows, at = _row(start, rng), start.file.rows.copy(), _curves(start, [name])
    last = min(row + int(frames), start.frames - 2)
    row = last - int(frames)
    rows[row : last + 1, at] = rows[row, at]
    return Damaged(with_rows(start.file, rows), ("stuck",), (name,), (row + 1, last + 1), name)


def feet_exchanged(start, rng):
    """Two mates have each other's curves from a joint on."""
    pair = PAIRS["FH"[int(rng.integers(2))]]
    one, other = ([*start.map.limbs[limb].joints][-2:] for limb in pair)
    rows = start.file.rows.copy()
    rows[:, _curves(start, one)] = start.file.rows[:, _curves(start, other)]
    rows[:, _curves(start, other)] = start.file.rows[:, _curves(start, one)]
    place = "forelegs" if pair == PAIRS["F"] else "hind legs"
    return Damaged(with_rows(start.file, rows), ("legs swapped",), (place,))


def root_flat(start, rng):
    """The root's height has been flattened."""
    del rng
    rows, at = start.file.rows.copy(), columns(start.file, _root(start), "position")["Y"]
    rows[:, at] = rows[:, at].mean()
    return Damaged(with_rows(start.file, rows), ("root keys missing",), (_root(start),))


def body_levelled(start, rng, percent):
    """The root's rise and fall is taken down by so much, and the legs bring all feet back."""
    del rng
    rows, at = start.file.rows.copy(), columns(start.file, _root(start), "position")["Y"]
    rows[:, at] -= percent / 100.0 * (rows[:, at] - rows[:, at].mean())
    return Damaged(feet_kept(start, with_rows(start.file, rows)), ("body on rails",), _body(start))


def pose_pasted(start, rng):
    """All rotations of another frame are pasted over a frame."""
    row, rows = _row(start, rng), start.file.rows.copy()
    at = _curves(start, start.file.joint_names)
    rows[row, at] = start.file.rows[(row + start.period // 3) % start.period, at]
    kinds = ("pop", "frames swapped")
    return Damaged(with_rows(start.file, rows), kinds, ("whole body",), (row + 1, row + 1))


# name -> (damage, unit, amounts from small to large for the table); without amounts, a damage has no size
def all_exchanged(start, rng):
    """The channels of all left and right joints are in each other's place, as they are."""
    del rng
    rows, mates = start.file.rows.copy(), mates_of_joints(start.seen)
    own = channel_columns(start.file, "rotation")
    for joint, mate in enumerate(mates.tolist()):
        if mate != joint and len(own[joint]) == len(own[mate]):
            rows[:, own[joint]] = start.file.rows[:, own[mate]]
    return Damaged(with_rows(start.file, rows), ("legs swapped",), ("all legs",))


def ear_pops(start, rng, degrees):
    """An ear is elsewhere in one frame alone."""
    ears = [name for name in (start.map.ear_left, start.map.ear_right) if name]
    return _popped(start, rng, ears[int(rng.integers(len(ears)))], degrees)


def back_pops(start, rng, degrees):
    """A joint of the back is turned in one frame alone, and takes feet along."""
    names = start.map.spine[1:]
    return _popped(start, rng, names[int(rng.integers(len(names)))], degrees)


def _popped(start, rng, name, degrees):
    row, rows = _row(start, rng), start.file.rows.copy()
    rows[row, columns(start.file, name)["XYZ"[int(rng.integers(3))]]] += degrees
    return Damaged(with_rows(start.file, rows), ("pop",), (name,), (row + 1, row + 1))


def slipped_point(start, rng, times):
    """The decimal point of an angle has slipped in a frame, by 80 degrees, and not by full turns."""
    own = channel_columns(start.file, "rotation")
    for _ in range(200):
        joint, row = int(rng.integers(len(own))), _row(start, rng)
        at = own[joint][int(rng.integers(len(own[joint])))] if own[joint] else 0
        much = (times - 1.0) * start.file.rows[row, at]
        if own[joint] and abs(much) > SLIPPED_DEG and abs((much + 180.0) % 360.0 - 180.0) > TURN_DEG:
            break
    rows = start.file.rows.copy()
    rows[row, at] = round(times * rows[row, at], 6)
    name = start.file.joint_names[joint]
    return Damaged(with_rows(start.file, rows), ("slipped decimal point",), (name,), (row + 1, row + 1))


SIZED = {
    "left and right exchanged on all joints": (all_exchanged, "", ()),
    "ear pops for a frame": (ear_pops, "degrees", (2, 4, 8, 15, 30)),
    "joint of the back pops for a frame": (back_pops, "degrees", (2, 4, 6, 12)),
    "decimal point of an angle slips": (slipped_point, "times", (10, 100)),
    "noise on a leg joint": (noise_on_a_leg_joint, "degrees", (0.5, 1.0, 1.5, 2.0, 3.0)),
    "noise on a joint of the body": (noise_on_a_joint_of_the_body, "degrees", (0.5, 1.0, 1.5, 2.0, 3.0)),
    "root rolled aside": (root_leans, "degrees", (0.5, 1.0, 1.5, 2.0, 4.0)),
    "root turned aside": (root_turned, "degrees", (4, 6, 9, 12, 15)),
    "root aside for a moment": (root_aside, "% of the hip height", (1, 2, 3, 5, 8)),
    "root sinks": (root_sinks, "% of the hip height", (0.5, 1, 2, 3, 5)),
    "root in another unit": (root_in_another_unit, "times", (2.54, 10, 100)),
    "root too small by a unit": (root_in_another_unit, "times", (0.39370079, 0.1, 0.01)),
    "bone longer": (bone_longer, "%", (2, 4, 6, 10)),
    "foot crosses over in swing": (foot_aside, "% of the hip height", (4, 6, 8, 10, 12)),
    "toe jumps for a frame": (toe_jumps, "% of the hip height", (1, 2, 3, 5, 8)),
    "tail off at the end": (tail_off_at_the_end, "degrees", (1, 2, 4, 8, 12)),
    "angles rounded": (rounded_angles, "degrees", (0.2, 0.5, 1, 2)),
    "every pose held": (held_frames, "frames", (2, 4)),
    "root goes too far": (root_too_fast, "times", (1.05, 1.1, 1.2, 1.5)),
    "foot held up": (foot_held_up, "% of the hip height", (5, 10, 15)),
    "foot slips within a few frames": (foot_slips, "% of the hip height", (0.5, 1, 2, 3, 6, 10)),
    "half of the loop retimed": (half_retimed, "times", (1.05, 1.1, 1.2, 1.3)),
    "root keys taken out": (root_keys_taken_out, "frames", (2, 3, 4, 6)),
    "layer of a leg": (leg_layer, "of its weight", (0.75, 0.5, 0.25)),
    "layer of all": (layer_of_all, "of its weight", (0.75, 0.5, 0.25)),
    "sway runs late": (sways_late, "of a stride", (0.1, 0.15, 0.25)),
    "frames pasted twice": (frames_pasted_twice, "", ()),
    "two axes of the root swapped": (axes_swapped, "", ()),
    "rotation order wrong": (rotation_order_wrong, "", ()),
    "left and right leg of a pair swapped": (legs_swapped, "", ()),
    "second half mirrored": (half_mirrored, "", ()),
    "clip reversed in time": (reversed_in_time, "", ()),
    "pelvis counter-rotated": (pelvis_counter_rotated, "", ()),
    "back counter-rotated": (spine_counter_rotated, "", ()),
    "leg joint frozen": (frozen_leg_joint, "", ()),
    "back frozen": (back_frozen, "", ()),
    "ear frozen": (ear_frozen, "", ()),
    "both legs of a pair together": (legs_together, "", ()),
    "cut before a whole stride": (cut_short, "", ()),
    "on threes": (on_threes, "", ()),
    "angles in radians": (angles_in_radians, "", ()),
    "both legs of an end late": (end_late, "frames", (1, 2, 4, 6)),
    "motion with another axis up": (on_its_side, "", ()),
    "root with another axis up": (root_along_z, "", ()),
    "leg joint held": (leg_joint_held, "frames", (3, 4, 6, 8)),
    "leg late in a run": (leg_late, "frames", (1, 2, 3)),
    "feet exchanged": (feet_exchanged, "", ()),
    "root flat": (root_flat, "", ()),
    "body rises less, feet stay": (body_levelled, "% taken away", (50, 75, 90, 100)),
    "pose pasted": (pose_pasted, "", ()),
}
IN_RUNS = frozenset({"leg late in a run"})
"""Damages that are tried on runs whose sides differ."""
IN_WALKS = frozenset({"foot slips within a few frames"})
"""Damages that are tried where stances are long."""
LISTED = {
    "noise on a leg joint": noise_on_a_leg_joint,
    "noise on a joint of the body": noise_on_a_joint_of_the_body,
    "leg joint frozen": frozen_leg_joint,
    "left and right leg of a pair swapped": legs_swapped,
    "two axes of the root swapped": axes_swapped,
    "root in another unit": root_in_another_unit,
    "second half mirrored": half_mirrored,
    "clip reversed in time": reversed_in_time,
}
UNLISTED = {
    "angles in radians": angles_in_radians,
    "motion with another axis up": on_its_side,
    "root with another axis up": root_along_z,
    "leg joint at rest": joint_at_rest,
    "keys of one channel deleted": key_deleted,
    "curve of a leg joint 3 frames late": curve_late_by_three,
    "stepped key": stepped_key,
    "Euler branch for a frame": euler_branch_for_a_frame,
    "sign lost on a frame": sign_lost_on_a_frame,
    "leg joint mirrored": mirrored_joint,
    "leg joint twice as far": doubled_joint,
    "two channels of a joint exchanged": channels_of_a_joint_exchanged,
    "foot rolled the wrong way": foot_rolled_the_wrong_way,
    "joint pops for two frames": popping_straight,
    "both legs of a pair together": legs_together,
    "leg 3 frames late": leg_late_by_three,
    "leg of small steps": leg_of_small_steps,
    "leg held for 3 frames": held_leg,
    "toe jumps for a frame": toe_jumps,
    "foot lifts 2 frames late": lifts_late,
    "foot lands under the ground": lands_under_ground,
    "bone a tenth longer": bone_longer,
    "foot crosses over in swing": foot_aside,
    "rotation order wrong": rotation_order_wrong,
    "root goes a tenth too far": way_too_long,
    "root two frames late": root_a_frame_late,
    "root rises twice as far": root_height_doubled,
    "root at zero for a frame": root_zero_for_a_frame,
    "root aside for a moment": root_aside,
    "root sinks": root_sinks,
    "layer of a leg at half": lambda start, rng: leg_layer(start, rng, 0.5),
    "root keys taken out": lambda start, rng: root_keys_taken_out(start, rng, 8),
    "root rolled aside": root_leans,
    "root turned aside": root_turned,
    "rest pose for a frame": rest_pose_flash,
    "back counter-rotated": spine_counter_rotated,
    "pelvis counter-rotated": pelvis_counter_rotated,
    "head a quarter stride late": head_late,
    "tail frozen": tail_frozen,
    "ear frozen": ear_frozen,
    "back frozen": back_frozen,
    "two frames pasted twice": frames_pasted_twice,
    "first key off": first_key_off,
    "last frame twice": last_frame_twice,
    "cut short": cut_short,
    "joints eased in and out, root not": slow_in_and_out,
    "joints a tenth slower, root not": stretched_by_a_tenth,
    "smoothed too much": smoothed_too_much,
    "tail off at the end": tail_off_at_the_end,
    "curve of another joint": channel_from_another_joint,
    "one frame mirrored": frame_of_the_mirror,
    "angles rounded to degrees": rounded_angles,
    "on threes": on_threes,
    "held at the end": held_at_the_end,
}
