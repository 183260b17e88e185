"""Faults as hands make them: keys put wrong, curves moved, frames lost; each by a known amount.

As in ``damage``, but nothing is mended afterwards: a joint that is turned takes along all that hangs on it,
and a root that is moved takes the feet along, as it does on a rig without foot controls.
"""

import numpy as np
from damage import (
    Damaged,
    _rolled,
    _side,
    a_stance,
    along,
    around,
    base,
    bump,
    columns,
    held,
    lifted_stance,
    root_moved,
    shifted,
    turned,
    with_rows,
)

from gaitgen.check.tracked import place
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.rotations import pitch_roll_yaw_rad

ROOT = "pelvis"
SPREAD = ("whole body", "all joints", "hips", "all feet", ROOT)


def _limb(rng, letter=""):
    limbs = [limb for limb in LIMBS if letter in limb]
    return limbs[int(rng.integers(len(limbs)))]


def _row(start, rng, room=4):
    return int(rng.integers(room, start.frames - room - 1))


def _looped(start, values):
    """Curves (frames, ...) whose last frame is the first again."""
    values = np.array(values, dtype=float)
    values[start.period] = values[0]
    return values


def _retimed(start, names, frames, kind="rotation"):
    """Move the curves of joints by some frames."""
    rows, n = start.file.rows.copy(), start.period
    for name in names:
        for column in columns(start.file, name, kind).values():
            curve = start.file.rows[:, column]
            steady = np.linspace(0.0, 1.0, len(curve)) * (curve[-1] - curve[0])
            turn = np.roll((curve - steady)[:n], frames)
            rows[:, column] = np.append(turn, turn[0]) + steady
    return with_rows(start.file, rows)


# --- noise -----------------------------------------------------------------------------------------------


def shaky_joints(start, degrees, rng):
    """Noise of up to so many degrees on every rotation channel."""
    rows = start.file.rows.copy()
    turning = np.array([w.endswith("rotation") for words in start.file.channels for w in words])
    rows[:, turning] += _looped(start, rng.uniform(-degrees, degrees, (start.frames, turning.sum())))
    return Damaged(with_rows(start.file, rows), ("jitter",), ("all joints",))


def shaky_root(start, mm, rng):
    path = _looped(start, rng.uniform(-mm, mm, (start.frames, 3)) / 1000)
    return Damaged(root_moved(start, path), ("jitter",), (ROOT,))


def shaky_joint(start, degrees, rng):
    name = ("neck_2", "head", "tail_2", "lumbar_1")[int(rng.integers(4))]
    noise = _looped(start, rng.uniform(-degrees, degrees, start.frames))
    return Damaged(turned(start, name, "X", noise), ("jitter",), (name,))


# --- the body --------------------------------------------------------------------------------------------


def raised_body(start, mm, rng):
    del rng
    path = along(np.full(start.frames, mm / 1000), 2)
    word = "above" if mm > 0 else "under"
    return Damaged(root_moved(start, path), (f"body {word} the ground",), ("whole body",))


def late_hips(start, share, rng):
    """The root's height runs late by a share of the stride."""
    del rng
    rows, n = start.file.rows.copy(), start.period
    column = columns(start.file, ROOT, "position")["Y"]
    turn = np.roll(start.file.rows[:n, column], round(share * n))
    rows[:, column] = np.append(turn, turn[0])
    return Damaged(with_rows(start.file, rows), ("hips out of turn",), ("hips",))


def dipped_body(start, mm, rng):
    """One key of the root too low: a dip of eight frames."""
    row = _row(start, rng, 6)
    path = along(-mm / 1000 * bump(start.frames, row - 4, row + 4, start.period), 2)
    file = root_moved(start, path)
    kinds = ("body moves over planted feet", "hips out of turn")
    return Damaged(file, kinds, SPREAD, around(start, row, row))


def jumped_body(start, mm, rng):
    """The root jumps ahead at a frame and comes back at another."""
    row = _row(start, rng, 5)
    path = np.zeros(start.frames)
    path[row : row + start.frames // 3] = mm / 1000
    kinds = ("body moves over planted feet", "pop", "frames missing")
    return Damaged(root_moved(start, along(path, 0)), kinds, SPREAD, (row, row + 2))


def popped_pelvis(start, degrees, rng):
    row = _row(start, rng)
    out = np.zeros(start.frames)
    out[row] = degrees
    return Damaged(turned(start, ROOT, "X", out), ("pop",), (ROOT,), (row + 1, row + 1))


def slow_root(start, percent, rng):
    """The root goes slower than the feet."""
    del rng
    stride = float(np.linalg.norm(start.seen.feet.body_m_s)) * start.period / start.motion.frame_rate_hz
    file = root_moved(start, along(-percent / 100 * stride * np.linspace(0, 1, start.frames), 0))
    return Damaged(file, ("drift", "root drift"), (ROOT, "all feet"))


def swaying_root(start, mm, rng):
    """The whole body sways to and fro over its feet, three times a stride."""
    wave = np.sin(2 * np.pi * 3 * np.arange(start.frames) / start.period + float(rng.uniform(0, 6)))
    file = root_moved(start, along(mm / 1000 * _looped(start, wave), 0))
    kinds = ("body moves over planted feet", "body out of turn", "no stance")
    return Damaged(file, kinds, SPREAD)


# --- parts -----------------------------------------------------------------------------------------------


def _frozen(start, names):
    rows = start.file.rows.copy()
    for name in names:
        for column in columns(start.file, name).values():
            rows[:, column] = rows[0, column]
    return with_rows(start.file, rows)


def frozen_head(start, share, rng):
    del share, rng
    file = _frozen(start, (*start.map.neck, start.map.head))
    return Damaged(file, ("frozen",), ("neck and head",))


def frozen_tail(start, share, rng):
    del share, rng
    return Damaged(_frozen(start, start.map.tail), ("tail does not trail", "frozen"), ("tail",))


def frozen_leg(start, share, rng):
    del share
    limb = _limb(rng)
    return Damaged(_frozen(start, start.map.limbs[limb].joints), ("frozen",), (limb,))


def late_nod(start, share, rng):
    del rng
    names = (*start.map.neck, start.map.head)
    return Damaged(
        _retimed(start, names, round(share * start.period)), ("head with the wrong end",), ("head",)
    )


def leading_tail(start, frames, rng):
    """Each joint of the tail a frame or more before the one above it."""
    del rng
    rows, n = start.file.rows.copy(), start.period
    for k, name in enumerate(start.map.tail):
        column = columns(start.file, name)["X"]
        rows[:, column] = 5.0 * np.cos(4 * np.pi * (np.arange(start.frames) + k * frames) / n)
    return Damaged(with_rows(start.file, rows), ("tail does not trail",), ("tail",))


def bent_back(start, degrees, rng):
    """One joint of the back keyed too far, once a stride."""
    wave = degrees / 2 * np.sin(2 * np.pi * np.arange(start.frames) / start.period + float(rng.uniform(0, 6)))
    file = turned(start, start.map.spine[len(start.map.spine) // 2], "Y", wave)
    return Damaged(file, ("spine bending too much",), ("spine",))


def railed_head(start, mm, rng):
    """The head slides from side to side without turning."""
    del rng
    wave = np.sin(2 * np.pi * np.arange(start.frames) / start.period)
    neck, head = start.map.neck, start.map.head
    places = start.motion.places_m
    long = float(np.linalg.norm(places[0, start.motion.joint(head)] - places[0, start.motion.joint(neck[0])]))
    file = turned(start, neck[0], "Y", np.degrees(mm / 1000 / 2 / long) * wave)
    rows = file.rows.copy()
    at = columns(file, head)
    for _ in range(4):  # the head stays level and straight
        turn = place(with_rows(file, rows), start.map, "x").changes[:, start.motion.joint(head)]
        _, roll, yaw = np.degrees(pitch_roll_yaw_rad(turn)).T
        rows[:, at["Y"]] -= yaw
        rows[:, at["Z"]] -= roll
    return Damaged(with_rows(file, rows), ("head on rails",), ("head",))


# --- frames ----------------------------------------------------------------------------------------------


def swapped_frames(start, apart, rng):
    row = _row(start, rng)
    rows = start.file.rows.copy()
    rows[[row, row + apart]] = rows[[row + apart, row]]
    return Damaged(
        with_rows(start.file, rows), ("frames swapped",), ("whole body",), (row + 1, row + 1 + apart)
    )


def repeated_frame(start, count, rng):
    """A frame pasted over the next ones."""
    row = _row(start, rng)
    rows = start.file.rows.copy()
    rows[row + 1 : row + 1 + count] = rows[row]
    kinds = ("repeated frame", "stuck", "frames missing")
    return Damaged(with_rows(start.file, rows), kinds, ("whole body",), (row + 1, row + 1 + count))


def strayed_pose(start, frames, rng):
    """The pose of another frame pasted in, root and all."""
    row = _row(start, rng)
    rows = start.file.rows.copy()
    other = (row + round(frames)) % start.period
    rows[row, 3:] = rows[other, 3:]
    return Damaged(with_rows(start.file, rows), ("pop",), ("whole body",), (row + 1, row + 1))


def lost_frame(start, count, rng):
    row = _row(start, rng, 5)
    rows = np.delete(start.file.rows, np.arange(row, row + count), axis=0)
    return Damaged(with_rows(start.file, rows), ("frames missing",), ("whole body",), (row, row + 1))


def open_leg(start, degrees, rng):
    """The last key of a leg's joint is not the first."""
    limb = _limb(rng)
    name = start.map.limbs[limb].joints[1 + int(rng.integers(2))]
    out = degrees * np.clip((np.arange(start.frames) - start.frames + 6) / 5.0, 0, 1) ** 2
    return Damaged(turned(start, name, "X", out), ("loop not closing",), (name,), (start.frames, 1))


def turned_curve(start, degrees, rng):
    """A whole turn more from a frame on."""
    name = ("head", "neck_1", "tail_1", "femur_L", "humerus_R")[int(rng.integers(5))]
    row = _row(start, rng)
    out = np.zeros(start.frames)
    out[row:] = degrees
    return Damaged(turned(start, name, "Y", out), ("flipped rotation",), (name,), (row, row + 1))


# --- legs ------------------------------------------------------------------------------------------------

FORE = {"elbow": "radius", "carpus": "fore_cannon", "fetlock": "fore_pastern"}
HIND = {"stifle": "tibia", "hock": "hind_cannon", "fetlock": "hind_pastern"}


def _joint(rng):
    limb = _limb(rng)
    table = FORE if limb[1] == "F" else HIND
    word = list(table)[int(rng.integers(len(table)))]
    return limb, f"{table[word]}_{_side(limb)}"


def bad_key(start, degrees, rng):
    """One key of a leg joint too far, with its neighbours eased into it: a bump of seven frames."""
    limb, name = _joint(rng)
    row = _row(start, rng)
    sign = 1.0 if rng.random() < 0.5 else -1.0
    file = turned(start, name, "X", sign * degrees * bump(start.frames, row - 3, row + 3, start.period))
    return Damaged(file, ("unlike other side", "pop"), (limb, name), around(start, row - 3, row + 3), name)


def spiked_key(start, degrees, rng):
    """One key of a leg joint too far, for a single frame."""
    limb, name = _joint(rng)
    row = _row(start, rng)
    out = np.zeros(start.frames)
    out[row] = degrees
    return Damaged(turned(start, name, "X", out), ("pop",), (name, limb), (row + 1, row + 1), name)


def offset_joint(start, degrees, rng):
    """A leg joint turned for the whole clip."""
    limb, name = _joint(rng)
    file = turned(start, name, "X", np.full(start.frames, float(degrees)))
    return Damaged(file, ("unlike other side",), (limb,), None, name)


def offset_in_stance(start, degrees, rng):
    """A leg joint turned through a stance."""
    limb, first, last = a_stance(start, rng)
    table = FORE if limb[1] == "F" else HIND
    name = f"{list(table.values())[int(rng.integers(2))]}_{_side(limb)}"
    file = turned(start, name, "X", degrees * held(start.frames, first + 2, last - 2, 2, start.period))
    return Damaged(file, ("unlike other side",), (limb,), around(start, first, last), name)


def late_leg(start, share, rng):
    """All curves of one leg late by a share of the stride, without a foot control."""
    limb = _limb(rng)
    file = _retimed(start, start.map.limbs[limb].joints, round(share * start.period))
    return Damaged(file, ("asymmetry", "leg out of time", "slip", "drift"), (limb,))


def swapped_legs(start, share, rng):
    """Fore feet that take each other's turn, in time."""
    del share, rng
    return Damaged(_rolled(start, LIMBS[:2], start.period // 2), ("contact order", "lag"), LIMBS[:2])


def early_lift(start, frames, rng):
    """A foot lifted some frames before its time by its control."""
    limb, _, last = a_stance(start, rng)
    path = 0.03 * held(start.frames, last - round(frames) + 1, last, 1, start.period)
    file = shifted(start, limb, along(path, 2))
    return Damaged(
        file, ("asymmetry", "sole floating", "unlike other side"), (limb,), around(start, last - frames, last)
    )


def sliding_foot(start, mm, rng):
    """A foot control keyed at two places in one stance."""
    limb, first, last = a_stance(start, rng)
    path = mm / 1000 * held(start.frames, (first + last) // 2, last, 3, start.period)
    file = shifted(start, limb, along(path, int(rng.integers(2))))
    return Damaged(file, ("slide", "slip", "drift"), (limb,), around(start, first, last))


def dragged_toe(start, mm, rng):
    """The arc of a swing keyed too low."""
    limb, _, last = a_stance(start, rng)
    n = start.period
    first = next(s.first for s in start.seen.feet.of(LIMBS.index(limb))) + n
    heights = start.motion.toes_m[:, LIMBS.index(limb), 2]
    path = -bump(start.frames, last, first, n) * (mm / 1000 + heights)
    file = shifted(start, limb, along(path, 2))
    return Damaged(file, ("sole under ground",), (limb,), around(start, last, first))


def straight_carpus(start, degrees, rng):
    """The carpus keyed straight up to lift-off."""
    limb, _, last = a_stance(start, rng, LIMBS[:2])
    angle = start.motion.angles_deg[limb, "carpus"][: start.period]
    rows = np.arange(last - 3, last + 1)
    out = np.zeros(start.frames)
    out[rows % start.period] = np.maximum(0.0, degrees - angle[rows % start.period])
    out[start.period] = out[0]
    name = f"fore_cannon_{_side(limb)}"
    file = turned(start, name, "X", -out)
    kinds = ("joint locked at lift-off", "unlike other side")
    return Damaged(file, kinds, (limb,), around(start, last, last), name)


def folding_leg(start, degrees, rng):
    """A hind leg that folds under the weight after it lands."""
    limb, first, last = a_stance(start, rng, LIMBS[2:])
    by = max(3, (last - first) // 4)
    wave = bump(start.frames, first + 1, first + 2 * by, start.period)
    side = _side(limb)
    rows = start.file.rows.copy()
    rows[:, columns(start.file, f"tibia_{side}")["X"]] += degrees * wave
    rows[:, columns(start.file, f"hind_cannon_{side}")["X"]] -= degrees * wave
    rows[:, columns(start.file, f"femur_{side}")["X"]] -= degrees * wave / 2
    # The body does not sink with it: what gives takes the foot off the ground.
    kinds = ("leg gives under weight", "unlike other side", "swing unlike other side", "slip")
    return Damaged(with_rows(start.file, rows), kinds, (limb,), around(start, first, first + 2 * by))


def shuddering_leg(start, degrees, rng):
    """A leg joint that goes to and fro through its swing."""
    limb, _, last = a_stance(start, rng)
    table = FORE if limb[1] == "F" else HIND
    name = f"{list(table.values())[int(rng.integers(2))]}_{_side(limb)}"
    n = start.period
    first = next(s.first for s in start.seen.feet.of(LIMBS.index(limb))) + n
    rows = np.arange(last + 1, first)
    out = np.zeros(start.frames)
    out[rows % n] = degrees * np.sin(np.pi * (rows - last) / 2.0 + 0.4)
    out[n] = out[0]
    kinds = ("joint turns back too often", "unlike other side", "pop", "jitter")
    return Damaged(turned(start, name, "X", out), kinds, (limb, name), around(start, last, first), name)


def cocked_foot(start, degrees, rng):
    """A foot that snaps toe up right after lift-off."""
    limb, _, last = a_stance(start, rng)
    end = "fore" if limb[1] == "F" else "hind"
    name = f"{end}_hoof_{_side(limb)}"
    wave = bump(start.frames, last, last + max(4, start.period // 5), start.period)
    kinds = ("foot cocks up", "unlike other side")
    file = turned(start, name, "X", -degrees * wave)
    return Damaged(file, kinds, (limb,), around(start, last, last + 4), name)


def limping(start, share, rng):
    """One foot down shorter, made as a whole."""
    limb, n = _limb(rng), start.period
    down = {name: round(0.70 * n) for name in LIMBS}
    down[limb] = round((0.70 - share) * n)
    first = {"RH": 1, "RF": 1 + n // 4, "LH": 1 + n // 2, "LF": 1 + 3 * n // 4}
    text = ", ".join(f"{name} {first[name]}-{first[name] + down[name]}" for name in LIMBS)
    clip = base(start.name.split(maxsplit=1)[0], n, contacts=text)
    return Damaged(clip.file, ("asymmetry",), (limb,))


# name -> (damage, amount for the test, unit, amounts from small to large for the table)
BY_HAND = {
    "jitter on all joints": (shaky_joints, 0.5, "degrees", (0.3, 0.4, 0.5, 0.7, 1.0)),
    "jitter on the root": (shaky_root, 10, "mm", (2, 3, 4, 6, 10)),
    "jitter on one joint of the body": (shaky_joint, 2.0, "degrees", (0.5, 1.0, 1.5, 2.0)),
    "body over the ground": (raised_body, 30, "mm", (10, 14, 20, 30, 200)),
    "body far over the ground": (raised_body, 200, "mm", (200,)),
    "body under the ground": (raised_body, -30, "mm", (-10, -14, -20, -30, -200)),
    "body far under the ground": (raised_body, -200, "mm", (-200,)),
    "hips late": (late_hips, 0.125, "of a stride", (0.04, 0.07, 0.1, 0.125)),
    "hips the wrong way up": (late_hips, 0.25, "of a stride", (0.25,)),
    "body dips once": (dipped_body, 30, "mm", (10, 15, 20, 30)),
    "body jumps ahead and back": (jumped_body, 40, "mm", (10, 15, 20, 40)),
    "pelvis pops for a frame": (popped_pelvis, 6, "degrees", (2, 4, 6)),
    "root slower than the feet": (slow_root, 4, "% of a stride", (0.5, 1, 2, 4)),
    "body sways over its feet": (swaying_root, 60, "mm", (20, 40, 60, 200)),
    "neck and head frozen": (frozen_head, 1.0, "", (1.0,)),
    "tail frozen": (frozen_tail, 1.0, "", (1.0,)),
    "leg frozen": (frozen_leg, 1.0, "", (1.0,)),
    "nod half a step late": (late_nod, 0.25, "of a stride", (0.13, 0.18, 0.25)),
    "tail's end leads": (leading_tail, 1, "frames a joint", (0.25, 0.5, 1)),
    "back bent too far": (bent_back, 24, "degrees", (10, 14, 18, 24)),
    "head on rails": (railed_head, 60, "mm", (30, 60)),
    "two frames swapped": (swapped_frames, 1, "frames", (1,)),
    "frames swapped across one": (swapped_frames, 2, "frames", (2,)),
    "frame pasted over the next": (repeated_frame, 1, "frames", (1, 2)),
    "frame pasted over three": (repeated_frame, 3, "frames", (3,)),
    "pose of another moment": (strayed_pose, 6, "frames", (3, 6)),
    "frame lost": (lost_frame, 1, "frames", (1, 2)),
    "leg's loop open": (open_leg, 5, "degrees", (2, 3, 5)),
    "whole turn in a curve": (turned_curve, 360, "degrees", (360,)),
    "key of a leg too far": (bad_key, 15, "degrees", (4, 6, 8, 10, 15)),
    "key of a leg too far for a frame": (spiked_key, 12, "degrees", (4, 6, 8, 12)),
    "joint of a leg turned": (offset_joint, 8, "degrees", (3, 4, 6, 8)),
    "joint of a leg turned in stance": (offset_in_stance, 8, "degrees", (3, 4, 6, 8)),
    "leg late": (late_leg, 0.125, "of a stride", (0.06, 0.125)),
    "forelegs take each other's turn": (swapped_legs, 0.5, "of a stride", (0.5,)),
    "foot lifted early": (early_lift, 4, "frames", (2, 3, 4)),
    "foot stands over the ground": (lifted_stance, 20, "mm", (9, 12, 15, 20)),
    "foot slides in stance": (sliding_foot, 40, "mm", (10, 15, 20, 40)),
    "toe dragged": (dragged_toe, 20, "mm", (7, 10, 15, 20)),
    "carpus straight to lift-off": (straight_carpus, 180, "degrees", (176, 178, 180)),
    "hind leg folds after landing": (folding_leg, 25, "degrees", (15, 20, 25)),
    "leg shudders in swing": (shuddering_leg, 6, "degrees", (3, 4, 6)),
    "foot cocks up": (cocked_foot, 30, "degrees", (10, 20, 30)),
    "one foot down too short": (limping, 0.15, "of a stride", (0.08, 0.12, 0.15)),
}
