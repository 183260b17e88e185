"""Print what the check tells of clips drawn at random of every animal and gait, each damaged in a plain way.

Run: PYTHONPATH=.:tests python tests/bench/sparse.py [CLIPS [SEED [WORD ...]]]; with words, those kinds alone.
As a stranger meets it: whose clip it is, is found out. Lengths as usual and a fifth longer, 24 and 30 frames
a second, both leads, in place and travelling, one stride and two. ``right`` is the first finding of a kind
that such a damage is, at its place; ``later`` one that is among the first three. What is no fault is drawn
too: another unit, another order of rotations, the mirror image with its names.
"""

import sys
from collections import Counter, defaultdict
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from damage import Base, along, columns, feet_kept, held, root_moved, shifted, turned, with_rows
from damage_by_strangers import _mirrored

from gaitgen.animal.library import animal_names, load_animal
from gaitgen.check.check import check
from gaitgen.check.finding_words import grouped
from gaitgen.check.frame_rate import frame_rate_doubt
from gaitgen.check.load import motion_of
from gaitgen.check.look import see
from gaitgen.errors import GaitgenError
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.gait import LIMBS, load_gait
from gaitgen.pipeline import Request, make_cycle

PAIRS = (("LF", "RF"), ("LH", "RH"))
BODY = ("whole body", "all joints", "all feet", "hips", "spine", "pelvis")
FEET = (*LIMBS, "all feet", "all legs", "forelegs", "hind legs", "hind feet", "fore feet")
MOVED = ("slip", "slide", "drift", "body moves over planted feet")


def clip_of(animal, gait, longer, rate_hz, lead, in_place, strides):
    """A clean clip, and what the check finds in it; None where it cannot be made."""
    asked = Request(
        animal=animal, gait=gait, frame_rate_hz=rate_hz, lead=lead, in_place=in_place, strides=strides
    )
    try:
        made = make_cycle(asked)
        if longer:
            long = round(1.2 * (made.frames - 1) / strides)
            made = make_cycle(replace(asked, frames=long))
    except GaitgenError:
        return None
    file = read_bvh(bvh.encode(made, FileSpace()), "clip")
    motion, limits = motion_of(file, "clip", "clip")
    seen = see(motion, limits)
    period = (len(file.rows) - 1) // strides
    name = f"{animal} {gait}{' right' if lead == 'right' else ''} {period} at {rate_hz:g}"
    name += f"{'' if in_place else ' going'}{'' if strides == 1 else ' x2'}"
    return Base(name, file, motion.map, motion, seen, period)


@cache
def cached(*which):
    return clip_of(*which)


def drawn(rng):
    """What a clip is asked for."""
    animal = animal_names()[int(rng.integers(len(animal_names())))]
    gaits = load_animal(animal).gaits
    gait = gaits[int(rng.integers(len(gaits)))]
    right = bool(rng.integers(2)) and load_gait(gait).has_lead
    return (
        animal,
        gait,
        bool(rng.integers(2)),
        (24.0, 30.0)[int(rng.integers(2))],
        "right" if right else None,
        bool(rng.integers(2)),
        1 + int(rng.integers(2)),
    )


# --- damages: each returns file, kinds, places and frames (None: anywhere) ---------------------------------


def _size_m(start, metres):
    """A length as it looks on a horse, at the size of the animal."""
    return metres * float(np.clip(start.motion.hip_height_m / 1.4, 0.2, 1.3))


def _own(start, limb):
    return start.map.limbs[limb].joints


def _limb(rng):
    return LIMBS[int(rng.integers(4))]


def _at(start, names):
    own = channel_columns(start.file, "rotation")
    return [k for name in names for k in own[start.file.joint_names.index(name)]]


def _stance(start, rng):
    limb = _limb(rng)
    own = start.seen.feet.of(LIMBS.index(limb))
    return limb, own[int(rng.integers(len(own)))]


def _round(start, rows):
    turns = _at(start, start.file.joint_names)
    height = channel_columns(start.file, "position")[0][1]
    rows[-1, [*turns, height]] = rows[0, [*turns, height]]
    return rows


def _row(start, rng, room=4):
    return int(rng.integers(room, start.frames - room))


def _smooth(start, rows, at, wide):
    half, n = wide // 2, len(rows) - 1
    turn = start.file.rows[:, at].copy()
    step = turn[-1] - turn[0]
    long = np.concatenate([turn[n - half : n] - step, turn, turn[1 : half + 1] + step])
    rows[:, at] = sum(long[k : k + n + 1] for k in range(wide)) / wide
    return rows


def foot_slips(start, rng):
    """A foot that slips 1 cm a frame while it stands."""
    limb, stance = _stance(start, rng)
    n, long = start.frames - 1, stance.last - stance.first
    rows = np.arange(stance.first, stance.first + start.period)
    path = np.zeros(start.frames)
    reach = _size_m(start, 0.01) * long
    slide = np.interp(rows - stance.first, [0, long, start.period], [0.0, reach, 0.0])
    path[rows % n] = slide
    path[n] = path[0]
    file = shifted(start, limb, along(path, int(rng.integers(2))))
    return file, MOVED[:3], (limb,), None


def foot_sinks(start, rng):
    """A foot 2 cm under the ground for a stance."""
    limb, stance = _stance(start, rng)
    shape = held(start.frames, stance.first, stance.last, 2, start.frames - 1)
    file = shifted(start, limb, along(-_size_m(start, 0.02) * shape, 2))
    return file, ("sole under ground",), (limb,), None


def foot_floats(start, rng):
    """A foot 2 cm over the ground for a stance."""
    limb, stance = _stance(start, rng)
    shape = held(start.frames, stance.first, stance.last, 2, start.frames - 1)
    file = shifted(start, limb, along(_size_m(start, 0.02) * shape, 2))
    return file, ("sole floating",), (limb,), None


def knee_pops(start, rng):
    """A middle joint of a leg 10 degrees off in one frame."""
    limb, row = _limb(rng), _row(start, rng)
    name = _own(start, limb)[2 if limb[1] == "F" else 1]
    out = np.zeros(start.frames)
    out[row] = 10.0 * rng.choice([-1.0, 1.0])
    return turned(start, name, "X", out), ("pop", "unlike other side"), (name,), (row, row + 2)


def root_smoothed(start, rng):
    """Root averaged over nine frames; the legs go on."""
    del rng
    at = [*channel_columns(start.file, "position")[0], *_at(start, start.file.joint_names[:1])]
    rows = _smooth(start, start.file.rows.copy(), at, 9)
    return (
        with_rows(start.file, rows),
        ("smoothed", *MOVED, "root keys missing", "hips out of turn"),
        BODY,
        None,
    )


def joint_smoothed(start, rng):
    """A joint of a leg averaged over seven frames."""
    limb = _limb(rng)
    names = _own(start, limb)
    name = names[int(rng.integers(1, len(names)))]
    rows = _smooth(start, start.file.rows.copy(), _at(start, [name]), 7)
    return with_rows(start.file, rows), None, (limb, name), None


def legs_swapped(start, rng):
    """Left and right leg of a pair have each other's curves, mirrored."""
    pair = PAIRS[int(rng.integers(2))]
    rows = start.file.rows.copy()
    image = _mirrored(start, rows)
    at = _at(start, [name for limb in pair for name in _own(start, limb)])
    rows[:, at] = image[:, at]
    kinds = ("legs swapped", "contact order", "lag", "end out of time")
    return with_rows(start.file, rows), kinds, (*pair, *FEET, *BODY), None


def leg_late(start, rng):
    """A leg an eighth of a stride late."""
    limb = _limb(rng)
    rows, n = start.file.rows.copy(), start.frames - 1
    at = _at(start, _own(start, limb))
    rows[:n, at] = np.roll(start.file.rows[:n, at], max(2, round(start.period / 8)), axis=0)
    return with_rows(start.file, _round(start, rows)), ("leg out of time", "asymmetry"), (limb,), None


def loop_open_by_a_degree(start, rng):
    """The last frame of a joint a degree off the first, led into over five frames."""
    names = [*_own(start, _limb(rng)), *start.map.spine[1:], *start.map.neck]
    name = names[int(rng.integers(len(names)))]
    out = np.clip((np.arange(start.frames) - start.frames + 6) / 5.0, 0.0, 1.0)
    kinds = ("loop not closing", "speed jumps at the loop")
    return turned(start, name, "X", out), kinds, (name,), None


def loop_open_by_a_centimetre(start, rng):
    """The root a centimetre higher at the end than at the beginning."""
    del rng
    out = np.linspace(0.0, _size_m(start, 0.01), start.frames)
    file = root_moved(start, along(out, 2))
    return file, ("loop not closing",), BODY, None


def no_weight(start, rng):
    """The root does not rise and fall; its feet are brought back by their legs."""
    del rng
    rows = start.file.rows.copy()
    at = columns(start.file, start.file.joint_names[0], "position")["Y"]
    rows[:, at] = rows[:, at].mean()
    file = feet_kept(start, with_rows(start.file, rows))
    return file, ("body on rails", "root keys missing", "hips out of turn"), BODY, None


def no_weight_legs_alone(start, rng):
    """The root does not rise and fall; the legs are as they were."""
    del rng
    rows = start.file.rows.copy()
    at = columns(start.file, start.file.joint_names[0], "position")["Y"]
    rows[:, at] = rows[:, at].mean()
    kinds = (
        "root keys missing",
        "hips out of turn",
        "hips and chest out of time",
        "body moves over planted feet",
    )
    return with_rows(start.file, rows), (*kinds, "body on rails"), BODY, None


def _stilled(start, names):
    rows = start.file.rows.copy()
    at = _at(start, names)
    rows[:, at] = rows[:, at].mean(axis=0)
    return with_rows(start.file, rows)


def head_stilled(start, rng):
    """Neck and head do not turn."""
    del rng
    places = ("neck and head", "head", *start.map.neck)
    return _stilled(start, (*start.map.neck, start.map.head)), ("frozen",), places, None


def back_stilled(start, rng):
    """The back does not bend."""
    del rng
    return _stilled(start, start.map.spine[1:]), ("frozen",), ("spine", *start.map.spine), None


def tail_stilled(start, rng):
    """The tail does not turn."""
    del rng
    places = ("tail", *start.map.tail)
    return _stilled(start, start.map.tail), ("frozen", "tail does not trail"), places, None


def backwards(start, rng):
    """Frames from last to first."""
    del rng
    return with_rows(start.file, start.file.rows[::-1].copy()), ("reversed in time",), ("whole body",), None


def double_speed(start, rng):
    """Every second frame alone."""
    del rng
    kinds = ("retimed", "too fast", "impossible support force", "frames missing")
    return with_rows(start.file, start.file.rows[::2].copy()), kinds, BODY, None


def frames_repeated(start, rng):
    """Two frames that are shown twice more."""
    row = _row(start, rng)
    rows = np.insert(start.file.rows, row, np.repeat(start.file.rows[row : row + 1], 2, axis=0), axis=0)
    return with_rows(start.file, rows), ("repeated frame", "stuck"), ("whole body",), (row, row + 4)


def frame_dropped(start, rng):
    """A frame is cut out."""
    row = _row(start, rng)
    file = with_rows(start.file, np.delete(start.file.rows, row, axis=0))
    return file, ("frames missing",), ("whole body",), (row - 1, row + 2)


def mirrored_in_part(start, rng):
    """From a frame on the clip is its own mirror image."""
    row = _row(start, rng, start.frames // 4)
    rows = start.file.rows.copy()
    rows[row:] = _mirrored(start, rows)[row:]
    return with_rows(start.file, rows), ("mirrored", "legs swapped"), BODY, None


def root_in_another_unit(start, rng):
    """The root's place in metres, or inches, where the rig has centimetres."""
    by = (0.01, 1.0 / 2.54, 10.0)[int(rng.integers(3))]
    rows = start.file.rows.copy()
    rows[:, channel_columns(start.file, "position")[0]] *= by
    return with_rows(start.file, rows), ("root in another unit",), BODY, None


def root_with_axes_exchanged(start, rng):
    """The root's place written as Z up where the rig is Y up."""
    del rng
    rows = start.file.rows.copy()
    at = columns(start.file, start.file.joint_names[0], "position")
    y, z = start.file.rows[:, at["Y"]], start.file.rows[:, at["Z"]]
    rows[:, at["Y"]], rows[:, at["Z"]] = -z, y
    return with_rows(start.file, rows), ("root axes swapped",), BODY, None


def euler_flip(start, rng):
    """A whole turn more from a frame on, of one channel."""
    names = [*_own(start, _limb(rng)), *start.map.neck, *start.map.spine[1:]]
    name, row = names[int(rng.integers(len(names)))], _row(start, rng)
    out = np.zeros(start.frames)
    out[row:] = 360.0
    return turned(start, name, "XYZ"[int(rng.integers(3))], out), ("flipped rotation",), (name,), None


def ends_out_of_time(start, rng):
    """Both hind legs a quarter of a stride late."""
    del rng
    rows, n = start.file.rows.copy(), start.frames - 1
    at = _at(start, [name for limb in LIMBS[2:] for name in _own(start, limb)])
    rows[:n, at] = np.roll(start.file.rows[:n, at], round(start.period / 4), axis=0)
    kinds = ("end out of time", "contact order", "lag")
    return with_rows(start.file, _round(start, rows)), kinds, (*FEET, *BODY), None


def root_drifts(start, rng):
    """The root goes off by a tenth of the hip height a stride."""
    del rng
    share = 0.1 * start.motion.hip_height_m * (start.frames - 1) / start.period
    file = root_moved(start, along(share * np.linspace(0.0, 1.0, start.frames), 0))
    return file, ("root drift", "drift"), (*BODY, "all feet"), None


def hind_feet_pitched(start, rng):
    """The last joint of both hind legs 12 degrees off all along."""
    del rng
    rows, places = start.file.rows.copy(), ["hind legs", "hind feet", "hips", *LIMBS[2:]]
    for limb in LIMBS[2:]:
        rows[:, columns(start.file, _own(start, limb)[-1])["X"]] += 12.0
        places.append(_own(start, limb)[-1])
    return (
        with_rows(start.file, rows),
        ("sole under ground", "sole floating", "unlike other side"),
        places,
        None,
    )


def one_foot_pitched(start, rng):
    """The last joint of a leg 12 degrees off all along."""
    limb = _limb(rng)
    file = turned(start, _own(start, limb)[-1], "X", np.full(start.frames, 12.0))
    return file, None, (limb, _own(start, limb)[-1]), None


def shudder(start, rng):
    """A joint of a leg goes to and fro by 9 degrees for a third of a stride."""
    limb, row = _limb(rng), _row(start, rng)
    name, n = _own(start, limb)[2], start.frames - 1
    rows, out = np.arange(row, row + max(6, start.period // 3)), np.zeros(start.frames)
    out[rows % n] = 9.0 * np.sin(np.pi * (rows - row) / 2.0 + 0.4)
    out[n] = out[0]
    return (
        turned(start, name, "X", out),
        ("joint turns back too often", "pop", "jitter", "unlike other side"),
        (limb, name),
        None,
    )


# --- what is no fault --------------------------------------------------------------------------------------


def other_unit(start, rng):
    """The whole rig in metres or inches."""
    by = (0.01, 1.0 / 2.54, 10.0)[int(rng.integers(3))]
    rows = start.file.rows.copy()
    rows[:, channel_columns(start.file, "position")[0]] *= by
    ends = start.file.end_offsets * by
    return replace(start.file, offsets=start.file.offsets * by, end_offsets=ends, rows=rows), (), (), None


def mirror_image(start, rng):
    """The mirror image, names and all."""
    del rng
    return with_rows(start.file, _mirrored(start, start.file.rows)), (), (), None


def begins_elsewhere(start, rng):
    """A loop that begins at another frame."""
    n, by = start.frames - 1, _row(start, rng)
    rows = start.file.rows.copy()
    step = rows[-1] - rows[0]
    step[_at(start, start.file.joint_names)] = 0.0
    turn = np.concatenate([rows[by:n], rows[: by + 1] + step])
    return with_rows(start.file, turn), (), (), None


FAULTS = (
    *(foot_slips, foot_sinks, foot_floats, knee_pops, root_smoothed, joint_smoothed, legs_swapped, leg_late),
    *(loop_open_by_a_degree, loop_open_by_a_centimetre, no_weight, no_weight_legs_alone, head_stilled),
    *(back_stilled, tail_stilled, backwards, double_speed, frames_repeated, frame_dropped, mirrored_in_part),
    *(root_in_another_unit, root_with_axes_exchanged, euler_flip, ends_out_of_time, root_drifts),
    *(hind_feet_pitched, one_foot_pitched, shudder),
)
NO_FAULTS = (other_unit, mirror_image, begins_elsewhere)


def told(file, kinds, places, span):
    """How it is told: right, later, other, silent; for what is no fault quiet or false."""
    motion, limits = motion_of(file, "clip", "clip")
    seen = see(motion, limits)
    found = check(seen)
    first = [f"{f.kind}, {f.place} {f.first_frame}-{f.last_frame}" for f in found[:3]]
    if kinds == ():
        return ("false" if found else "quiet"), first
    if not found:
        doubt = frame_rate_doubt(seen, found)
        return ("note" if doubt else "silent"), [doubt] if doubt else first

    def is_it(finding):
        if kinds is not None and finding.kind not in kinds:
            return False
        if not {finding.limb, finding.joint} & set(places):
            return False
        if span is None or finding.last_frame < finding.first_frame:
            return True
        return finding.first_frame <= span[1] + 1 and finding.last_frame >= span[0] - 1

    groups = [any(is_it(f) for f in group) for group in grouped(found)[:3]]
    return ("right" if groups[0] else "later" if any(groups) else "other"), first


def tries(count, seed, words=()):
    """Yield kind, clip, outcome and what is told first, and of the clips themselves."""
    kinds = [*FAULTS, *NO_FAULTS]
    for number in range(count):
        kind = kinds[number % len(kinds)]
        name = kind.__name__.replace("_", " ")
        if words and not any(word in name for word in words):
            continue
        rng = np.random.default_rng(100_000 * seed + number)
        start = None
        while start is None:
            start = cached(*drawn(rng))
        clean = check(start.seen)
        if clean:
            yield "undamaged", start.name, "false", [f"{f.kind}, {f.place}" for f in clean]
            continue
        yield "undamaged", start.name, "quiet", []
        file, own, places, span = kind(start, rng)
        try:
            yield name, start.name, *told(file, own, places, span)
        except GaitgenError as refused:
            yield name, start.name, "refused", [str(refused)[:120]]


def main():
    given = [int(word) for word in sys.argv[1:3]]
    count, seed = [*given, *(310, 1)[len(given) :]]
    table, words = defaultdict(Counter), defaultdict(list)
    for name, clip, how, first in tries(count, seed, sys.argv[3:]):
        table[name][how] += 1
        if how not in {"right", "quiet"}:
            words[name].append(f"    {how:<7} {clip}: {'; '.join(first)}")
    heads = ("right", "later", "other", "note", "silent", "refused", "quiet", "false")
    print(f"{'kind':<28}" + "".join(f"{head:>8}" for head in heads))
    every = Counter()
    for name, own in table.items():
        every.update(own if name != "undamaged" else {})
        print(f"{name:<28}" + "".join(f"{own[head] or '.':>8}" for head in heads))
    print(f"{'all but undamaged':<28}" + "".join(f"{every[head] or '.':>8}" for head in heads) + "\n")
    for name, lines in words.items():
        print(f"{name}\n" + "\n".join(lines))


if __name__ == "__main__":
    main()
