"""Print how often faults made by a small grammar are named: a verb, a place and a span, on clips of any kind.

Run: PYTHONPATH=.:tests python tests/bench/grammar.py [TRIES [SEED [WORD ...]]]; with words, those verbs.
Nothing here is taken from the other lists of damages, and no limit of the check was chosen on it. A fault is
tried again elsewhere until it moves a joint by LEAST_DEG or a foot by LEAST_SHARE: less is nothing to find.
It is named if one of the first three findings is at its place (its joint, its leg, its foot, or what stands
for the whole body) and touches its frames, give or take two, and is of a kind that such a fault is.
"""

import sys
import tempfile
from collections import Counter, defaultdict
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
from bench.named_table import print_named
from damage_shots import SHOTS, made_shot
from make_more_rigs import MORE
from make_ten_rigs import TEN
from rig_measures import charts

from gaitgen.animal.library import load_animal
from gaitgen.check.check import check
from gaitgen.check.finding_words import grouped
from gaitgen.check.limits import load_limits
from gaitgen.check.load import load_motion
from gaitgen.check.look import see
from gaitgen.check.tracked import place
from gaitgen.check.whose import whose
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.formats.units import unit_m
from gaitgen.gait.gait import LIMBS
from gaitgen.pipeline import Request, make_cycle
from gaitgen.rigs.command import cycle_on_rig
from gaitgen.rigs.map_file import read_map
from gaitgen.rigs.rig import standing_pose

LEAST_DEG, LEAST_SHARE, TURNS = 8.0, 0.03, 25
CYCLES = (
    ("riding_horse", "walk", False),
    ("riding_horse", "canter", True),
    ("draft_horse", "trot", False),
    ("cat", "walk", True),
    ("cow", "walk", False),
    ("dog", "trot", True),
    ("goat", "walk", True),
    ("pig", "trot", False),
    ("elephant", "amble", True),
    ("giraffe", "walk", False),
    ("brown_bear", "walk", True),
    ("red_deer", "trot", False),
    ("hare", "walk", True),
    ("dromedary", "walk", True),
    ("big_cat", "walk", False),
)
RIGS = ("sole", "horn", "bent_bench")
EVERYWHERE = {"whole body", "all joints", "all feet", "hips", "spine"}


@dataclass(frozen=True, eq=False)
class Start:
    """A clean clip: its file, the map of its rig, what it is held against, and what is seen in it."""

    name: str
    file: object
    map: object
    limits: object
    seen: object
    rest: object = None

    def again(self, rows):
        """The clip with other rows, on the rig as it stands."""
        return place(replace(self.file, rows=rows), self.map, self.name, self.rest)

    @property
    def motion(self):
        return self.seen.motion

    @property
    def last(self):
        return len(self.file.rows) - 1


@dataclass(frozen=True, eq=False)
class Fault:
    """What was done: rows of the file, where, in which rows from 0 (None: in all), and its names."""

    rows: np.ndarray
    places: frozenset
    span: tuple | None
    kinds: frozenset | None = None


def _start(name, file, rig_map, limits, rest=None):
    return Start(name, file, rig_map, limits, see(place(file, rig_map, name, rest), limits), rest)


@cache
def cycle_of(animal, gait, in_place):
    file = read_bvh(
        bvh.encode(make_cycle(Request(animal=animal, gait=gait, in_place=in_place)), FileSpace()), "c"
    )
    return _start(
        f"{animal} {gait}", file, whose(file, "c", animal).map, load_limits(load_animal(animal).limits)
    )


@cache
def shot_of_name(name):
    file = read_bvh(bvh.encode(made_shot(name).clip, FileSpace()), "shot")
    known = whose(file, "shot")
    return _start(name, file, known.map, known.limits)


@cache
def rigs():
    """Clips on invented rigs, with the maps that were found of them."""
    plans, found = {**TEN, **MORE}, []
    with tempfile.TemporaryDirectory() as folder:
        chart = charts(Path(folder), plans)
        for name in [each for each in RIGS if each in plans]:
            path, clip = chart(name)[0], Path(folder) / f"{name}_clip.bvh"
            clip.write_bytes(cycle_on_rig(str(path), Request(gait="walk")).bvh())
            motion, limits = load_motion(clip, path)
            own, _, data = read_map(path)
            rest = standing_pose(read_bvh(data, name), own, load_animal(own.template))
            found.append(_start(f"rig {name}", motion.file, motion.map, limits, rest))
    return found


@cache
def starts():
    """Every clean clip."""
    return [*(cycle_of(*each) for each in CYCLES), *rigs(), *(shot_of_name(name) for name in SHOTS)]


# --- places ----------------------------------------------------------------------------------------------


def turns_of(start, name):
    return channel_columns(start.file, "rotation")[start.file.joint_names.index(name)]


def widest(start, name):
    """The channel of a joint that goes farthest."""
    at = turns_of(start, name)
    return at[int(np.argmax(np.ptp(start.file.rows[:, at], axis=0)))]


def leg_joint(start, rng):
    limb = LIMBS[int(rng.integers(4))]
    names = [n for n in start.map.limbs[limb].joints if turns_of(start, n)]
    return limb, names[int(rng.integers(len(names)))]


def any_joint(start, rng):
    """A joint of a leg, or of neck, head, tail or back; with the foot that it carries alone."""
    if rng.random() < 0.6:
        return leg_joint(start, rng)
    body = [*start.map.neck, *start.map.tail[:2], *start.map.spine[1:]]
    body += [start.map.head] if start.map.head else []
    return "", body[int(rng.integers(len(body)))]


def places_of(start, limb, name):
    """Places by which a fault of a joint may be called."""
    part = {"neck and head"} if name in {*start.map.neck, start.map.head} else set()
    part |= {"tail"} if name in start.map.tail else set()
    part |= {"head"} if name == start.map.head else set()
    return frozenset({name, limb, *part} - {""})


def _whole(start):
    return frozenset({*EVERYWHERE, start.file.joint_names[0]})


def span_of(start, rng, least, most):
    long = int(rng.integers(least, most + 1))
    first = int(rng.integers(2, max(3, start.last - long - 2)))
    return first, min(first + long, start.last - 1)


# --- verbs -----------------------------------------------------------------------------------------------


def delete_keys(start, rng):
    """All keys of a joint are gone in a span, and its curves go straight through it."""
    limb, name = any_joint(start, rng)
    first, last = span_of(start, rng, 5, 14)
    rows, at = start.file.rows.copy(), turns_of(start, name)
    share = np.linspace(0.0, 1.0, last - first + 1)[:, None]
    rows[first : last + 1, at] = rows[first, at] * (1.0 - share) + rows[last, at] * share
    return Fault(rows, places_of(start, limb, name), (first, last))


def paste_late(start, rng):
    """The pose of a frame is pasted some frames later."""
    first, by = span_of(start, rng, 2, 3)[0], int(rng.integers(2, 4))
    rows = start.file.rows.copy()
    to = min(first + by, start.last - 1)
    rows[to] = rows[first]
    return Fault(rows, _whole(start), (to - 1, to + 1))


def scale_curve(start, rng):
    """The curve of a joint goes half as far, or twice, about its middle."""
    limb, name = leg_joint(start, rng)
    at, by = widest(start, name), (0.4, 1.8)[int(rng.integers(2))]
    rows = start.file.rows.copy()
    rows[:, at] = rows[:, at].mean() + by * (rows[:, at] - rows[:, at].mean())
    return Fault(rows, places_of(start, limb, name), None)


def offset_from(start, rng):
    """A joint is turned by 12 degrees from a frame on."""
    limb, name = any_joint(start, rng)
    row = span_of(start, rng, 1, 2)[0]
    rows = start.file.rows.copy()
    rows[row:, widest(start, name)] += 12.0 * rng.choice([-1.0, 1.0])
    return Fault(rows, places_of(start, limb, name), (row - 1, start.last))


def flip_sign(start, rng):
    """A channel of a joint has the wrong sign throughout."""
    limb, name = leg_joint(start, rng)
    rows = start.file.rows.copy()
    rows[:, widest(start, name)] *= -1.0
    return Fault(rows, places_of(start, limb, name), None)


def smooth(start, rng):
    """All curves of the joints are averaged over seven frames, as a filter does that is set too strong."""
    del rng
    rows = start.file.rows.copy()
    at = [k for own in channel_columns(start.file, "rotation") for k in own]
    if start.seen.loop.closes:
        long = np.concatenate([rows[-4:-1], rows, rows[1:4]])
    else:
        long = np.concatenate([rows[:1]] * 3 + [rows] + [rows[-1:]] * 3)
    rows[:, at] = sum(long[k : k + len(rows)] for k in range(7))[:, at] / 7.0
    kinds = {"slip", "drift", "slide", "sole floating", "sole under ground", "no stance", "contact order"}
    kinds |= {"body moves over planted feet", "body above the ground", "body under the ground", "duty factor"}
    return Fault(rows, _whole(start) | frozenset(LIMBS), None, frozenset(kinds))


def hold(start, rng):
    """A leg, the neck and head or the tail holds its pose for some frames."""
    parts = {limb: start.map.limbs[limb].joints for limb in LIMBS}
    parts["neck and head"] = (*start.map.neck, *([start.map.head] if start.map.head else []))
    parts["tail"] = start.map.tail
    part = [each for each in parts if parts[each]][int(rng.integers(sum(map(bool, parts.values()))))]
    first, last = span_of(start, rng, 3, 6)
    rows = start.file.rows.copy()
    at = [k for name in parts[part] for k in turns_of(start, name)]
    rows[first : last + 1, at] = rows[first, at]
    return Fault(rows, frozenset({part, *parts[part]}), (first, last + 1))


def drop_pin(start, rng):
    """A foot loses its pin in the middle of a stance: its leg keeps its pose for the rest of it."""
    whole = [s for s in start.seen.feet.stances if s.last - s.first >= 4 and s.last < start.last - 2]
    if not whole:  # a run of so few frames has no stance that is long enough
        return Fault(start.file.rows, frozenset(), None)
    stance = whole[int(rng.integers(len(whole)))]
    limb, middle = LIMBS[stance.limb], (stance.first + stance.last) // 2
    rows = start.file.rows.copy()
    at = [k for name in start.map.limbs[limb].joints for k in turns_of(start, name)]
    rows[middle : stance.last + 1, at] = rows[middle, at]
    return Fault(rows, frozenset({limb, *start.map.limbs[limb].joints}), (middle, stance.last + 1))


def stepped(start, rng):
    """The joints of a leg are stepped: of three frames each, in a span."""
    limb = LIMBS[int(rng.integers(4))]
    first, last = span_of(start, rng, 6, 12)
    rows = start.file.rows.copy()
    at = [k for name in start.map.limbs[limb].joints for k in turns_of(start, name)]
    held = first + (np.arange(first, last + 1) - first) // 3 * 3
    rows[first : last + 1, at] = start.file.rows[held][:, at]
    return Fault(rows, frozenset({limb, *start.map.limbs[limb].joints}), (first, last + 1))


def swap_channels(start, rng):
    """Two joints of a leg have each other's curves."""
    limb = LIMBS[int(rng.integers(4))]
    names = [n for n in start.map.limbs[limb].joints if turns_of(start, n)]
    one, other = rng.choice(len(names), 2, replace=False)
    rows = start.file.rows.copy()
    a, b = turns_of(start, names[one]), turns_of(start, names[other])
    rows[:, a], rows[:, b] = start.file.rows[:, b], start.file.rows[:, a]
    return Fault(rows, places_of(start, limb, names[one]) | places_of(start, limb, names[other]), None)


def other_rate(start, rng):
    """The clip was taken from 24 frames a second to 30 by showing every fourth frame twice."""
    del rng
    take = np.minimum(np.arange(int(len(start.file.rows) * 1.25)) * 4 // 5, start.last)
    kinds = frozenset({"repeated frame", "stuck", "frames missing"})
    return Fault(start.file.rows[take], _whole(start), None, kinds)


def noise(start, rng):
    """Every joint of a leg has noise of its own, of 1 to 4 degrees."""
    limb = LIMBS[int(rng.integers(4))]
    rows = start.file.rows.copy()
    for name in start.map.limbs[limb].joints:
        at = turns_of(start, name)
        rows[:-1, at] += rng.normal(0.0, rng.uniform(1.0, 4.0), (len(rows) - 1, len(at)))
    if start.seen.loop.closes:
        rows[-1] = rows[0] + (start.file.rows[-1] - start.file.rows[0])
    return Fault(rows, frozenset({limb, *start.map.limbs[limb].joints}), None)


def freeze_leg(start, rng):
    """A leg stands still."""
    limb = LIMBS[int(rng.integers(4))]
    rows = start.file.rows.copy()
    at = [k for name in start.map.limbs[limb].joints for k in turns_of(start, name)]
    rows[:, at] = rows[0, at]
    return Fault(rows, frozenset({limb}), None, frozenset({"frozen"}))


def root_key_off(start, rng):
    """A key of the root is six hundredths of the hip height off, eased into its neighbours."""
    at = channel_columns(start.file, "position")[0]
    row, rows = span_of(start, rng, 1, 2)[0], start.file.rows.copy()
    unit = _units_per_hip(start)
    near = np.arange(max(1, row - 3), min(start.last, row + 4))
    rows[near, at[int(rng.integers(3))]] += 0.06 * unit * np.cos((near - row) / 4.0 * np.pi / 2.0) ** 2
    return Fault(rows, _whole(start), (int(near[0]), int(near[-1])))


def _units_per_hip(start):
    return start.motion.hip_height_m / unit_m(start.map.unit)


def lose_frames(start, rng):
    """Two frames are cut out."""
    first = span_of(start, rng, 2, 3)[0]
    rows = np.delete(start.file.rows, [first, first + 1], axis=0)
    kinds = frozenset({"frames missing"})
    return Fault(rows, _whole(start), (first - 1, first + 1), kinds)


VERBS = {
    "delete a span of keys": delete_keys,
    "paste a pose late": paste_late,
    "scale a curve": scale_curve,
    "offset from a frame on": offset_from,
    "flip a sign": flip_sign,
    "smooth too much": smooth,
    "hold a part": hold,
    "drop a pin": drop_pin,
    "step a leg": stepped,
    "swap curves": swap_channels,
    "wrong rate": other_rate,
    "noise on a leg": noise,
    "freeze a leg": freeze_leg,
    "root key off": root_key_off,
    "lose frames": lose_frames,
}


# --- trying ----------------------------------------------------------------------------------------------


def is_seen(start, fault):
    """Whether a fault moves a joint, or a foot, by something to speak of."""
    if len(fault.rows) != len(start.file.rows):
        return True
    after = start.again(fault.rows)
    feet = np.linalg.norm(after.toes_m - start.motion.toes_m, axis=2).max() / start.motion.hip_height_m
    turning = [k for own in channel_columns(start.file, "rotation") for k in own]
    turned = np.abs(fault.rows - start.file.rows)[:, turning].max()
    return bool(turned > LEAST_DEG or feet > LEAST_SHARE)


def tried(start, verb, rng):
    """Return a fault that is seen and what the check finds; None if none is after some turns."""
    for _ in range(TURNS):
        fault = verb(start, rng)
        if is_seen(start, fault):
            return fault, check(see(start.again(fault.rows), start.limits))
    return None


def names(fault, finding, last):
    """Whether a finding is at the place of a fault, in its frames, and of its kind."""
    if not fault.places & {finding.limb, finding.joint}:
        return False
    if fault.kinds is not None and finding.kind not in fault.kinds:
        return False
    if fault.span is None:
        return True
    wanted = set(range(fault.span[0] - 1, fault.span[1] + 4))
    first, end = finding.first_frame, finding.last_frame
    frames = set(range(first, end + 1)) if first <= end else {*range(first, last + 2), *range(1, end + 1)}
    return bool(wanted & frames)


def is_named(fault, found, last, most=3):
    """Whether it is named among the first findings, and whether it is found at all."""
    first = [each for group in grouped(found)[:most] for each in group]
    every = [each for finding in found for each in (finding, *finding.follows)]
    return any(names(fault, each, last) for each in first), any(names(fault, each, last) for each in every)


def results(count, seed, words=()):
    """Yield verb, clip, whether named and found, and the first finding, of so many tries of each verb."""
    clips = starts()
    for number, (name, verb) in enumerate(VERBS.items()):
        if words and not any(word in name for word in words):
            continue
        for turn in range(count):
            start = clips[(7 * number + 5 * turn + seed) % len(clips)]
            made = tried(start, verb, np.random.default_rng(10_000 * seed + 100 * number + turn))
            if made is None:
                continue
            fault, found = made
            first = f"{found[0].kind}, {found[0].place}" if found else "nothing"
            yield name, start.name, *is_named(fault, found, start.last), first, fault, found


def main():
    given = [int(word) for word in sys.argv[1:3]]
    count, seed = [*given, *(10, 3)[len(given) :]]
    words = sys.argv[3:]
    table, instead = defaultdict(list), defaultdict(Counter)
    for name, clip, named, found, first, _, _ in results(count, seed, words):
        table[name].append((named, found))
        if not named:
            instead[name][f"{clip}: {first}"] += 1
    print_named("verb", table, instead)
    clean = {start.name: [f"{f.kind}, {f.place}" for f in check(start.seen)] for start in starts()}
    wrong = {name: found for name, found in clean.items() if found}
    print(f"clean clips: {len(clean)}, with a finding: {len(wrong)}  {wrong}")


if __name__ == "__main__":
    main()
