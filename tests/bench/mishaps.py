"""Print how often forty mishaps of keys, layers and pins are named, on cycles, rigs and shots.

Run: PYTHONPATH=.:tests python tests/bench/mishaps.py [TRIES [SEED [WORD ...]]]; with words, those alone.
As ``grammar.py``, whose clips and whose way of counting these are; none of its verbs is among them, and none
of the damages that the tests list.
"""

import sys
from collections import Counter, defaultdict
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent))
from bench.named_table import print_named
from grammar import (
    EVERYWHERE,
    Fault,
    any_joint,
    is_named,
    leg_joint,
    places_of,
    span_of,
    starts,
    tried,
    turns_of,
    widest,
)

from gaitgen.check.check import check
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.gait.gait import LIMBS

PAIRS = (("LF", "RF"), ("LH", "RH"))
NEAR = 4  # frames by which a finding of a clean clip may have moved


# --- what they have in common ----------------------------------------------------------------------------


def _rows(start):
    return start.file.rows.copy()


def _at(start, *names):
    return [k for name in names for k in turns_of(start, name)]


def _own(start, limb):
    return [name for name in start.map.limbs[limb].joints if turns_of(start, name)]


def _limb(rng):
    return LIMBS[int(rng.integers(4))]


def _pair(rng):
    return PAIRS[int(rng.integers(2))]


def _leg(start, rng):
    limb = _limb(rng)
    return limb, frozenset({limb, *_own(start, limb)})


def _root(start):
    return start.file.joint_names[0]


def _whole(start):
    return frozenset({*EVERYWHERE, _root(start), *start.map.spine, "chest", "neck and head"})


def _root_turns(start):
    return channel_columns(start.file, "rotation")[0]


def _eased(first, last, room, count):
    """One from a row to another, coming and going over some rows."""
    rows = np.arange(count)
    return np.clip(np.minimum(rows - first + room, last + room - rows) / room, 0.0, 1.0)


def _round(start, rows):
    """Let the last row of a loop be the first again."""
    if start.seen.loop.closes:
        rows[-1] = rows[0] + (start.file.rows[-1] - start.file.rows[0])
    return rows


def _late(start, rows, at, by):
    n = len(rows) - 1
    if start.seen.loop.closes:
        rows[:n, at] = np.roll(start.file.rows[:n, at], by, axis=0)
        return _round(start, rows)
    rows[by:, at] = start.file.rows[:-by, at]
    return rows


def _keyed(curves, step, ease):
    """Curves (rows, curves) with a key on every so many rows, and flat or straight between them."""
    rows = np.arange(len(curves))
    before = rows // step * step
    after = np.minimum(before + step, len(curves) - 1)
    share = (rows - before) / np.maximum(after - before, 1)
    share = share * share * (3.0 - 2.0 * share) if ease else share
    return curves[before] * (1.0 - share)[:, None] + curves[after] * share[:, None]


def _stance(start, rng, least=5):
    whole = [
        s
        for s in start.seen.feet.stances
        if s.last - s.first >= least and s.first > 1 and s.last < start.last - 2
    ]
    return whole[int(rng.integers(len(whole)))] if whole else None


def _swing(start, rng):
    found = []
    for limb in range(4):
        own = start.seen.feet.of(limb)
        ends = [(s.last, t.first) for s, t in pairwise(own)]
        if start.seen.loop.closes and len(own) == 1:
            ends.append((own[0].last, own[0].first + start.last))
        found += [(limb, a, b) for a, b in ends if b - a >= 5 and a > 1 and b < start.last - 1]
    return found[int(rng.integers(len(found)))] if found else None


NOTHING = frozenset()


def _none(start):
    return Fault(start.file.rows, NOTHING, None)


# --- keys ------------------------------------------------------------------------------------------------


def flat_tangents(start, rng):
    """A leg has a key on every fifth frame, all tangents flat: it stops at each."""
    limb, places = _leg(start, rng)
    rows, at = _rows(start), _at(start, *_own(start, limb))
    rows[:, at] = _keyed(rows[:, at], 5, ease=True)
    return Fault(rows, places, None)


def straight_tangents(start, rng):
    """A leg has a key on every sixth frame, and goes straight between."""
    limb, places = _leg(start, rng)
    rows, at = _rows(start), _at(start, *_own(start, limb))
    rows[:, at] = _keyed(rows[:, at], 6, ease=False)
    return Fault(rows, places, None)


def overshoot(start, rng):
    """A spline bulges by 14 degrees between two keys of a joint."""
    limb, name = leg_joint(start, rng)
    first, last = span_of(start, rng, 6, 9)
    rows = _rows(start)
    wave = np.sin(np.linspace(0.0, np.pi, last - first + 1)) * 14.0 * rng.choice([-1.0, 1.0])
    rows[first : last + 1, widest(start, name)] += wave
    return Fault(rows, places_of(start, limb, name), (first, last))


def swing_key_lost(start, rng):
    """The middle keys of a leg's swing are deleted: the leg goes straight from lift-off to contact."""
    swing = _swing(start, rng)
    if swing is None:
        return _none(start)
    limb, first, last = swing
    rows, at = _rows(start), _at(start, *_own(start, LIMBS[limb]))
    share = np.linspace(0.0, 1.0, last - first + 1)[:, None]
    rows[first : last + 1, at] = rows[first, at] * (1.0 - share) + rows[last, at] * share
    return Fault(rows, frozenset({LIMBS[limb], *_own(start, LIMBS[limb])}), (first, last))


def stance_key_lost(start, rng):
    """The keys between contact and lift-off of a foot are deleted."""
    stance = _stance(start, rng, 6)
    if stance is None:
        return _none(start)
    limb = LIMBS[stance.limb]
    rows, at = _rows(start), _at(start, *_own(start, limb))
    share = np.linspace(0.0, 1.0, stance.last - stance.first + 1)[:, None]
    share = share * share * (3.0 - 2.0 * share)
    rows[stance.first : stance.last + 1, at] = (
        rows[stance.first, at] * (1 - share) + rows[stance.last, at] * share
    )
    return Fault(rows, frozenset({limb, *_own(start, limb)}), (stance.first, stance.last))


def key_typed_wrong(start, rng):
    """A key of a joint is 15 degrees off, eased into its neighbours."""
    limb, name = any_joint(start, rng)
    row, rows = span_of(start, rng, 1, 2)[0] + 2, _rows(start)
    bump = _eased(row, row, 3, len(rows)) * 15.0 * rng.choice([-1.0, 1.0])
    rows[1:-1, widest(start, name)] += bump[1:-1]
    return Fault(rows, places_of(start, limb, name), (row - 3, row + 3))


def mates_pose_pasted(start, rng):
    """For two frames a leg has the pose that its mate has then."""
    pair = list(_pair(rng))
    rng.shuffle(pair)
    rows, row = _rows(start), span_of(start, rng, 2, 3)[0]
    mine, its = _own(start, pair[0]), _own(start, pair[1])
    if len(mine) != len(its):
        return _none(start)
    rows[row : row + 2, _at(start, *mine)] = start.file.rows[row : row + 2, _at(start, *its)]
    return Fault(rows, frozenset({pair[0], *mine}), (row, row + 2))


def foot_zeroed(start, rng):
    """The last joint of a leg is at rest for four frames."""
    limb = _limb(rng)
    name = _own(start, limb)[-1]
    rows, (row, _) = _rows(start), span_of(start, rng, 4, 5)
    rows[row : row + 4, _at(start, name)] = 0.0
    return Fault(rows, frozenset({limb, name}), (row, row + 4))


def leg_zeroed(start, rng):
    """A leg is at rest for three frames."""
    limb, places = _leg(start, rng)
    rows, (row, _) = _rows(start), span_of(start, rng, 3, 4)
    rows[row : row + 3, _at(start, *_own(start, limb))] = 0.0
    return Fault(rows, places, (row, row + 3))


def top_keys_lost(start, rng):
    """All keys of the uppermost joint of a leg are gone in a span: a shoulder blade, or a thigh."""
    limb = _limb(rng)
    name = _own(start, limb)[0]
    first, last = span_of(start, rng, 9, 14)
    rows, at = _rows(start), _at(start, name)
    share = np.linspace(0.0, 1.0, last - first + 1)[:, None]
    rows[first : last + 1, at] = rows[first, at] * (1.0 - share) + rows[last, at] * share
    return Fault(rows, frozenset({limb, name}), (first, last))


def long_way_round(start, rng):
    """A joint turns the long way round in four frames, and is right after it."""
    limb, name = any_joint(start, rng)
    row, rows, at = span_of(start, rng, 4, 5)[0], _rows(start), widest(start, name)
    rows[row : row + 5, at] += np.linspace(0.0, 360.0, 5)
    rows[row + 5 :, at] += 360.0
    return Fault(rows, places_of(start, limb, name), (row, row + 5))


def joint_slips_in_phase(start, rng):
    """A joint is two frames late in a span, eased in and out."""
    limb, name = leg_joint(start, rng)
    first, last = span_of(start, rng, 8, 14)
    rows, at = _rows(start), _at(start, name)
    share = _eased(first + 2, last - 2, 2, len(rows))[:, None]
    late = np.concatenate([rows[:3, at], rows[:-3, at]])
    rows[:, at] = rows[:, at] * (1.0 - share) + late * share
    return Fault(rows, places_of(start, limb, name), (first, last))


def blends_to_rest(start, rng):
    """A leg goes half-way to its rest pose and back, as a switch that is blended does."""
    limb, places = _leg(start, rng)
    first, last = span_of(start, rng, 4, 7)
    rows, at = _rows(start), _at(start, *_own(start, limb))
    share = 0.5 * _eased(first + 2, last - 2, 2, len(rows))[:, None]
    rows[1:-1, at] *= 1.0 - share[1:-1]
    return Fault(rows, places, (first, last))


def lower_leg_frozen(start, rng):
    """The lower half of a leg is not keyed at all."""
    limb, places = _leg(start, rng)
    names = _own(start, limb)
    rows, at = _rows(start), _at(start, *names[len(names) // 2 :])
    rows[:, at] = rows[0, at]
    return Fault(rows, places, None)


def leg_on_twos(start, rng):
    """A leg holds every second frame."""
    limb, places = _leg(start, rng)
    rows, at = _rows(start), _at(start, *_own(start, limb))
    rows[:, at] = rows[np.arange(len(rows)) // 2 * 2][:, at]
    return Fault(rows, places, None)


# --- layers ----------------------------------------------------------------------------------------------


def pair_offset(start, rng):
    """A middle joint of both legs of a pair is 12 degrees off, as a layer for both leaves it."""
    pair = _pair(rng)
    rows, places = _rows(start), {"forelegs" if pair[0] == "LF" else "hind legs"}
    for limb in pair:
        names = _own(start, limb)
        name = names[len(names) // 2]
        rows[:, widest(start, name)] += 12.0
        places |= {limb, name}
    return Fault(rows, frozenset(places), None)


def leg_spread(start, rng):
    """A leg is turned 10 degrees outward at its top."""
    limb = _limb(rng)
    names = _own(start, limb)
    name = names[1] if limb.endswith("F") and len(names) > 4 else names[0]
    at = [k for k in _at(start, name) if k != widest(start, name)]
    rows = _rows(start)
    rows[:, at[int(rng.integers(len(at)))]] += 10.0
    return Fault(rows, frozenset({limb, *names}), None)


def foot_curves_exchanged(start, rng):
    """The last joints of two mates have each other's curves."""
    pair = _pair(rng)
    one, other = (_own(start, limb)[-1] for limb in pair)
    rows = _rows(start)
    rows[:, _at(start, one)], rows[:, _at(start, other)] = (
        start.file.rows[:, _at(start, other)],
        start.file.rows[:, _at(start, one)],
    )
    return Fault(rows, frozenset({*pair, one, other, "forelegs", "hind legs"}), None)


def layer_of_half_the_clip(start, rng):
    """A layer on a leg, of 8 degrees on each joint, begins in the middle with no ease."""
    limb, places = _leg(start, rng)
    rows, half = _rows(start), len(start.file.rows) // 2
    for name in _own(start, limb):
        rows[half:, widest(start, name)] += 8.0 * rng.choice([-1.0, 1.0])
    return Fault(rows, places, (half - 1, start.last))


def back_bent(start, rng):
    """A joint of the back is 14 degrees to the side throughout."""
    names = [name for name in start.map.spine[1:] if turns_of(start, name)]
    name = names[int(rng.integers(len(names)))]
    at = [k for k in _at(start, name) if k != widest(start, name)]
    rows = _rows(start)
    rows[:, at[0]] += 14.0
    return Fault(rows, _whole(start) | {name} | frozenset(LIMBS), None)


# --- frames ----------------------------------------------------------------------------------------------


def blocks_exchanged(start, rng):
    """Two blocks of four frames have changed places."""
    row, rows = span_of(start, rng, 8, 9)[0], _rows(start)
    rows[row : row + 4], rows[row + 4 : row + 8] = (
        start.file.rows[row + 4 : row + 8],
        start.file.rows[row : row + 4],
    )
    return Fault(rows, _whole(start), (row, row + 8))


def block_reversed(start, rng):
    """Five frames are played backwards."""
    row, rows = span_of(start, rng, 5, 6)[0], _rows(start)
    rows[row : row + 5] = rows[row : row + 5][::-1].copy()
    return Fault(rows, _whole(start), (row, row + 5))


def frames_interpolated(start, rng):
    """All channels go straight through six frames, as a gap that was filled does."""
    first, rows = span_of(start, rng, 6, 7)[0], _rows(start)
    share = np.linspace(0.0, 1.0, 8)[:, None]
    rows[first : first + 8] = rows[first] * (1.0 - share) + rows[first + 7] * share
    return Fault(rows, _whole(start) | frozenset(LIMBS), (first, first + 8))


def frame_blended(start, rng):
    """A frame is half itself and half the one five frames later."""
    row, rows = span_of(start, rng, 5, 6)[0], _rows(start)
    rows[row] = 0.5 * rows[row] + 0.5 * rows[row + 5]
    return Fault(rows, _whole(start), (row, row + 1))


def double_speed(start, rng):
    """Eight frames are played in four."""
    row = span_of(start, rng, 8, 9)[0]
    rows = np.delete(start.file.rows, [row + 1, row + 3, row + 5, row + 7], axis=0)
    return Fault(rows, _whole(start) | frozenset(LIMBS), (row, row + 5))


# --- the body --------------------------------------------------------------------------------------------


def body_yaws(start, rng):
    """The root is turned by 12 degrees and back, within eight frames."""
    row, rows = span_of(start, rng, 8, 9)[0] + 4, _rows(start)
    at = _root_turns(start)[int(rng.integers(3))]
    rows[1:-1, at] += (_eased(row, row, 4, len(rows)) * 12.0)[1:-1]
    return Fault(rows, _whole(start) | frozenset(LIMBS), (row - 4, row + 4))


def root_turns_lost(start, rng):
    """The root does not turn at all: its rotation was not baked."""
    del rng
    rows, at = _rows(start), _root_turns(start)
    rows[:, at] = rows[0, at]
    return Fault(rows, _whole(start) | frozenset(LIMBS), None)


def bounce_upside_down(start, rng):
    """The height of the root goes down where it should go up."""
    del rng
    at = max(channel_columns(start.file, "position")[0], key=lambda k: start.file.rows[:, k].mean())
    rows = _rows(start)
    rows[:, at] = 2.0 * rows[:, at].mean() - rows[:, at]
    return Fault(rows, _whole(start) | frozenset(LIMBS), None)


def root_stutters(start, rng):
    """The path of the root holds for three frames and catches up in the next three."""
    row, rows = span_of(start, rng, 6, 7)[0], _rows(start)
    at = channel_columns(start.file, "position")[0]
    rows[row : row + 4, at] = rows[row, at]
    share = np.linspace(0.0, 1.0, 4)[:, None]
    rows[row + 3 : row + 7, at] = rows[row, at] * (1.0 - share) + start.file.rows[row + 6, at] * share
    return Fault(rows, _whole(start) | frozenset(LIMBS), (row, row + 7))


def root_turns_early(start, rng):
    """The rotation of the root runs four frames ahead of the legs."""
    del rng
    rows = _late(start, _rows(start), _root_turns(start), 4)
    return Fault(rows, _whole(start) | frozenset(LIMBS), None)


def back_shakes(start, rng):
    """All joints of the back have noise of 1.5 degrees."""
    rows = _rows(start)
    names = [name for name in start.map.spine[1:] if turns_of(start, name)]
    at = _at(start, *names)
    rows[:, at] += rng.normal(0.0, 1.5, (len(rows), len(at)))
    return Fault(_round(start, rows), _whole(start) | frozenset(names), None, frozenset({"jitter"}))


def neck_upside_down(start, rng):
    """The nod of the neck has the wrong sign."""
    del rng
    rows = _rows(start)
    for name in start.map.neck[:1]:
        at = widest(start, name)
        rows[:, at] = 2.0 * rows[:, at].mean() - rows[:, at]
    return Fault(rows, frozenset({"head", "neck and head", *start.map.neck, start.map.head or ""}), None)


def tail_flips(start, rng):
    """The tail is 40 degrees off for two frames."""
    if not start.map.tail:
        return _none(start)
    row, rows = span_of(start, rng, 2, 3)[0], _rows(start)
    rows[row : row + 2, widest(start, start.map.tail[0])] += 40.0
    return Fault(rows, frozenset({"tail", *start.map.tail}), (row, row + 2))


# --- feet and legs ---------------------------------------------------------------------------------------


def foot_twists(start, rng):
    """A planted foot turns by 25 degrees on the spot while it stands."""
    stance = _stance(start, rng)
    if stance is None:
        return _none(start)
    limb = LIMBS[stance.limb]
    name = _own(start, limb)[-1]
    at = [k for k in _at(start, name) if k != widest(start, name)]
    rows, long = _rows(start), stance.last - stance.first
    wave = np.sin(np.linspace(0.0, np.pi, long + 1)) * 25.0
    rows[stance.first : stance.last + 1, at[-1]] += wave
    return Fault(rows, frozenset({limb, *_own(start, limb)}), (stance.first, stance.last))


def peels_early(start, rng):
    """A foot rolls by 25 degrees in the last third of its stance."""
    stance = _stance(start, rng)
    if stance is None:
        return _none(start)
    limb = LIMBS[stance.limb]
    name, rows = _own(start, limb)[-1], _rows(start)
    first = stance.first + 2 * (stance.last - stance.first) // 3
    wave = np.sin(np.linspace(0.0, np.pi, stance.last - first + 1)) * 25.0
    rows[first : stance.last + 1, widest(start, name)] += wave * rng.choice([-1.0, 1.0])
    return Fault(rows, frozenset({limb, *_own(start, limb)}), (first, stance.last))


def pair_late(start, rng):
    """Both legs of a pair are a tenth of a stride late, the feet with them."""
    pair = _pair(rng)
    at = _at(start, *(name for limb in pair for name in _own(start, limb)))
    rows = _late(start, _rows(start), at, max(3, round(0.12 * start.seen.period)))
    return Fault(rows, frozenset({*pair, "forelegs", "hind legs", *EVERYWHERE}), None)


def drags_toes(start, rng):
    """The swing of a leg has six tenths of its lift: its middle joints fold less."""
    limb, places = _leg(start, rng)
    rows = _rows(start)
    for name in _own(start, limb)[2:-1]:
        at = widest(start, name)
        middle = np.median(rows[:, at])
        rows[:, at] = middle + 0.5 * (rows[:, at] - middle)
    return Fault(rows, places, None)


def straightened(start, rng):
    """The widest joint of a leg is as straight as it ever is for four frames of its swing."""
    swing = _swing(start, rng)
    if swing is None:
        return _none(start)
    limb, first, last = swing
    names = _own(start, LIMBS[limb])
    name = max(names, key=lambda n: float(np.ptp(start.file.rows[:, widest(start, n)])))
    at, rows, row = widest(start, name), _rows(start), (first + last) // 2 - 1
    rows[row : row + 4, at] = np.median(rows[:, at])
    return Fault(rows, frozenset({LIMBS[limb], *names}), (row, row + 4))


def noise_on_two_joints(start, rng):
    """Two joints of a leg have noise of 2 degrees."""
    limb = _limb(rng)
    names = [str(each) for each in rng.choice(_own(start, limb)[:-1], 2, replace=False)]
    rows, at = _rows(start), _at(start, *names)
    rows[:, at] += rng.normal(0.0, 2.0, (len(rows), len(at)))
    return Fault(_round(start, rows), frozenset({limb, *names}), None)


def noise_in_a_span(start, rng):
    """A leg shakes by 3 degrees for ten frames alone."""
    limb, places = _leg(start, rng)
    first, last = span_of(start, rng, 10, 12)
    rows, at = _rows(start), _at(start, *_own(start, limb))
    rows[first : last + 1, at] += rng.normal(0.0, 3.0, (last + 1 - first, len(at)))
    return Fault(rows, places, (first, last))


MISHAPS = {
    each.__name__.replace("_", " "): each
    for each in (
        *(flat_tangents, straight_tangents, overshoot, swing_key_lost, stance_key_lost, key_typed_wrong),
        *(mates_pose_pasted, foot_zeroed, leg_zeroed, top_keys_lost, long_way_round, joint_slips_in_phase),
        *(blends_to_rest, lower_leg_frozen, leg_on_twos, pair_offset, leg_spread, foot_curves_exchanged),
        *(layer_of_half_the_clip, back_bent, blocks_exchanged, block_reversed, frames_interpolated),
        *(frame_blended, double_speed, body_yaws, root_turns_lost, bounce_upside_down, root_stutters),
        *(root_turns_early, back_shakes, neck_upside_down, tail_flips, foot_twists, peels_early, pair_late),
        *(drags_toes, straightened, noise_on_two_joints, noise_in_a_span),
    )
}


def results(count, seed, words=()):
    """Yield mishap, clip, fault and findings of so many tries of each."""
    clips = starts()
    for number, (name, verb) in enumerate(MISHAPS.items()):
        if words and not any(word in name for word in words):
            continue
        for turn in range(count):
            start = clips[(7 * number + 5 * turn + seed) % len(clips)]
            made = tried(start, verb, np.random.default_rng(10_000 * seed + 100 * number + turn))
            if made is not None:
                fault, found = made
                yield name, start, fault, [each for each in found if not _is_of(clean(start), each)]


@cache
def clean(start):
    """What is found in a clip before anything is done to it: some shots snap."""
    return check(start.seen)


def _is_of(before, finding):
    near = (abs(each.first_frame - finding.first_frame) < NEAR for each in before if _same(each, finding))
    return any(near)


def _same(one, other):
    return (one.kind, one.place) == (other.kind, other.place)


def main():
    given = [int(word) for word in sys.argv[1:3]]
    count, seed = [*given, *(4, 1)[len(given) :]]
    table, instead = defaultdict(list), defaultdict(Counter)
    for name, start, fault, found in results(count, seed, sys.argv[3:]):
        hit = is_named(fault, found, start.last)
        table[name].append(hit)
        if not hit[0]:
            first = [f"{f.kind}, {f.place} {f.first_frame}-{f.last_frame}" for f in found[:3]]
            instead[name][f"{start.name} {fault.span}: {first}"] += 1
    print_named("mishap", table, instead)
    wrong = [start.name for start in starts() if clean(start)]
    print(f"clean clips: {len(starts())}, with a finding: {wrong}")


if __name__ == "__main__":
    main()
