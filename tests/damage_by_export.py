"""Faults that come of baking, layers, and handing a clip over, on animals and rigs of any names.

As in ``damage_by_strangers``: a damage takes a clean clip (with its file, the map of its rig and its motion)
and random numbers. Nothing here was looked at when limits of the check were chosen.
"""

from dataclasses import replace

import numpy as np
from damage import Damaged

from gaitgen.formats.bvh_file import channel_columns
from gaitgen.gait.gait import LIMBS

FEET = ("slip", "drift", "slide", "sole under ground", "sole floating")
LEG = ("unlike other side", "swing unlike other side", "foreleg bending", "leg locking")
LEG = (*LEG, "stifle and hock parting", "joint out of range", "pop", *FEET)
ALL = ("whole body", "all joints", "all feet", "hips", *LIMBS)


def _made(start, rows, kinds, limbs, frames=None, joint=""):
    return Damaged(replace(start.file, rows=rows), kinds, tuple(limbs), frames, joint)


def _turning(start, name):
    """Columns of a joint's rotation."""
    return list(channel_columns(start.file, "rotation")[start.file.joint_names.index(name)])


def _root_at(start):
    """Columns of the root's position: aside and ahead, and up."""
    at = list(channel_columns(start.file, "position")[0])
    height = int(np.argmax(np.abs(start.file.rows[:, at].mean(axis=0))))
    return [column for k, column in enumerate(at) if k != height], at[height]


def _widest(start, names):
    """The column, of those of some joints, that goes farthest."""
    at = [column for name in names for column in _turning(start, name)]
    return at[int(np.argmax(np.ptp(start.file.rows[:, at], axis=0)))]


def _leg(start, rng, letter=""):
    """A limb, and one of its joints that turns and carries more than the foot."""
    limb = [each for each in LIMBS if letter in each][int(rng.integers(2 if letter else 4))]
    names = [name for name in start.map.limbs[limb].joints[:-1] if _turning(start, name)]
    wide = {n: np.ptp(start.file.rows[:, _turning(start, n)], axis=0).max() for n in names}
    moving = [n for n in names if wide[n] > 8.0] or [max(wide, key=wide.get)]
    return limb, moving[int(rng.integers(len(moving)))]


def _stance(start, limb):
    """First and last row of a stance of a foot that goes round no end."""
    own = [s for s in start.seen.feet.of(LIMBS.index(limb)) if s.whole and s.last < start.last]
    own = own or start.seen.feet.of(LIMBS.index(limb))
    return own[0].first, min(own[0].last, start.last)


def _own_range(first, last):
    return (first + 1, last + 1)


def too_few_frames(start, _rng):
    """Exported without its last three frames."""
    rows = start.file.rows[:-3]
    kinds = ("loop not closing", "speed jumps at the loop", "frames missing", "no whole stride", "root drift")
    return _made(start, rows, kinds, ())


def too_many_frames(start, _rng):
    """Exported with three frames of the next turn."""
    step = start.file.rows[-1] - start.file.rows[0]
    rows = np.concatenate([start.file.rows, start.file.rows[1:4] + step])
    return _made(start, rows, ("loop not closing", "repeated frame"), ())


def limb_mirrored(start, rng):
    """A leg's turns aside and about its length have the wrong sign."""
    limb = LIMBS[int(rng.integers(4))]
    rows = start.file.rows.copy()
    names = start.map.limbs[limb].joints
    keep = {_widest(start, [name]) for name in names if _turning(start, name)}
    at = [c for name in names for c in _turning(start, name) if c not in keep]
    rows[:, at] *= -1.0
    return _made(start, rows, (*LEG, "asymmetry"), (limb,))


def root_key_deleted(start, _rng):
    """The root's height goes straight over a third of the clip."""
    _, up = _root_at(start)
    rows, long = start.file.rows.copy(), max(5, start.last // 3)
    curve = rows[:, up]
    off = [
        np.abs(np.linspace(curve[k], curve[k + long], long + 1) - curve[k : k + long + 1]).max()
        for k in range(len(rows) - long)
    ]
    k = int(np.argmax(off))
    rows[k : k + long + 1, up] = np.linspace(curve[k], curve[k + long], long + 1)
    kinds = ("body moves over planted feet", "hips out of turn", "body above the ground", *FEET, "pop")
    root = start.file.joint_names[0]
    return _made(start, rows, kinds, (*ALL, root), _own_range(k, k + long), root)


def stepped_tangents(start, rng):
    """One leg's joint has stepped keys, every fourth frame."""
    limb, name = _leg(start, rng)
    rows, at = start.file.rows.copy(), _turning(start, name)
    rows[:, at] = rows[np.arange(len(rows)) // 4 * 4][:, at]
    return _made(start, rows, ("stuck", "jitter", *LEG), (limb, name), None, name)


def euler_flip(start, rng):
    """A third of one joint's numbers are the same turn written another way."""
    _, name = _leg(start, rng)
    rows, at = start.file.rows.copy(), _turning(start, name)
    first = start.last // 3
    span = slice(first, first + max(4, start.last // 3))
    rows[span, at[0]] += 180.0
    rows[span, at[1]] = 180.0 - rows[span, at[1]]
    rows[span, at[2]] += 180.0
    return _made(start, rows, ("flipped rotation",), (name,), None, name)


def layer_left_on_a_leg(start, rng):
    """Half of a pose of another take, ten degrees, lies over a leg's joint."""
    limb, name = _leg(start, rng)
    rows = start.file.rows.copy()
    rows[:, _widest(start, [name])] += 10.0
    return _made(start, rows, LEG, (limb, name), None, name)


def layer_left_on_the_back(start, rng):
    """Half of a turned pose, nine degrees, lies over a joint of the back."""
    names = [name for name in start.map.spine[1:] if _turning(start, name)] or list(start.map.spine[:1])
    name = names[int(rng.integers(len(names)))]
    rows, at = start.file.rows.copy(), _turning(start, name)
    rows[:, [c for c in at if c != _widest(start, [name])]] += 9.0
    kinds = ("body leans", "spine bending too much", "crabbing", "body moves over planted feet", *FEET)
    return _made(start, rows, (*kinds, "asymmetry"), (*ALL, name, "spine", start.file.joint_names[0]))


def held_too_late(start, rng):
    """A foot is held only some frames after it landed: its leg comes down on another way."""
    limb, name = _leg(start, rng)
    first, last = _stance(start, limb)
    long = max(3, (last - first) // 3)
    fade = np.clip((first + long - np.arange(len(start.file.rows))) / long, 0.0, 1.0)
    fade[:first] = np.clip(1.0 - (first - np.arange(first)) / 4.0, 0.0, 1.0)
    rows = start.file.rows.copy()
    rows[:, _widest(start, [name])] += 9.0 * fade
    return _made(start, rows, LEG, (limb, name), _own_range(first - 3, first + long), name)


def quicker_half(start, _rng):
    """The second half of the clip runs a third faster, all joints and the root."""
    rows, half = start.file.rows, start.last // 2
    times = np.concatenate([np.arange(half), np.arange(half, start.last + 0.01, 4.0 / 3.0)])
    columns = np.arange(rows.shape[1])
    made = np.stack([np.interp(times, np.arange(len(rows)), rows[:, c]) for c in columns], axis=1)
    made[-1] = rows[-1]
    kinds = ("retimed", "drift", "slip", "slide", "asymmetry", "frames missing", "speed jumps at the loop")
    return _made(start, made, (*kinds, "body moves over planted feet", "root drift"), ())


def toe_on_the_wrong_axis(start, rng):
    """The last joint of a foot has the numbers of one axis on another one."""
    limb = LIMBS[int(rng.integers(4))]
    names = [name for name in start.map.limbs[limb].joints if _turning(start, name)]
    name = max(names[-3:], key=lambda n: np.ptp(start.file.rows[:, _turning(start, n)], axis=0).max())
    rows, at = start.file.rows.copy(), _turning(start, name)
    wide = _widest(start, [name])
    other = next(c for c in at if c != wide)
    rows[:, [wide, other]] = rows[:, [other, wide]]
    return _made(start, rows, (*LEG, "foot cocks up", "frozen"), (limb, name), None, name)


def head_let_go(start, _rng):
    """The head is held to something for a third of the clip, twelve degrees off, with no blend."""
    name = start.map.head or start.map.neck[-1]
    rows, first = start.file.rows.copy(), start.last // 3
    last = first + start.last // 3
    rows[first:last, _widest(start, [name])] += 12.0
    kinds = ("pop", "rotation jump")
    return _made(start, rows, kinds, (name, "neck and head"), _own_range(first - 1, last), name)


def root_height_lost(start, _rng):
    """The root's height is nought."""
    _, up = _root_at(start)
    rows = start.file.rows.copy()
    rows[:, up] = 0.0
    kinds = ("body under the ground", "root in another unit", "root axes swapped")
    return _made(start, rows, kinds, (), None, start.file.joint_names[0])


def smoothed_over(start, _rng):
    """All curves have gone through a filter seven frames wide."""
    rows = start.file.rows
    n = start.last
    turn, step = rows[:n], rows[-1] - rows[0]
    long = np.concatenate([turn - step, turn, turn + step, turn[:1] + 2 * step])
    made = np.stack([long[n + k : 2 * n + 1 + k] for k in range(-3, 4)]).mean(axis=0)
    return _made(start, made, (*FEET, "body moves over planted feet", "no stance"), ())


def tail_half_frozen(start, _rng):
    """The tail has no keys in the second half."""
    rows = start.file.rows.copy()
    at = [c for name in start.map.tail for c in _turning(start, name)]
    first = len(rows) // 2
    rows[first:, at] = rows[first, at]
    kinds = ("stuck", "loop not closing", "frozen", "speed jumps at the loop")
    return _made(start, rows, kinds, ("tail", *start.map.tail))


def root_turned_for_a_frame(start, rng):
    """The root is turned by six degrees for a frame."""
    name = start.file.joint_names[0]
    rows, row = start.file.rows.copy(), int(rng.integers(4, start.last - 4))
    rows[row, _turning(start, name)[1]] += 6.0
    return _made(start, rows, ("pop", "rotation jump"), (name, *ALL), (row + 1, row + 1), name)


def forelegs_swapped_at_the_end(start, _rng):
    """From two thirds on the forelegs have each other's numbers."""
    rows, first = start.file.rows.copy(), 2 * start.last // 3
    for one, other in zip(*(start.map.limbs[limb].joints for limb in ("LF", "RF")), strict=True):
        a, b = _turning(start, one), _turning(start, other)
        rows[first:, a], rows[first:, b] = rows[first:, b].copy(), rows[first:, a].copy()
    names = [n for limb in ("LF", "RF") for n in start.map.limbs[limb].joints]
    kinds = ("rotation jump", "pop", "legs swapped", "loop not closing", "mirrored", *FEET)
    return _made(start, rows, kinds, ("LF", "RF", "forelegs", "whole body", *names))


def toe_through_the_ground(start, rng):
    """A foot is turned by twenty degrees while it stands."""
    limb = LIMBS[int(rng.integers(4))]
    names = [name for name in start.map.limbs[limb].joints if _turning(start, name)]
    first, last = _stance(start, limb)
    rows = start.file.rows.copy()
    fade = np.interp(np.arange(len(rows)), [first - 2, first, last, last + 2], [0.0, 1.0, 1.0, 0.0])
    rows[:, _widest(start, names[-2:-1] or names)] -= 20.0 * fade
    name = (names[-2:-1] or names)[0]
    return _made(start, rows, LEG, (limb, name), _own_range(first - 2, last + 2), name)


def at_another_rate(start, _rng):
    """Every eighth frame has gone, as when a clip of 24 frames a second is taken at 21."""
    keep = [row for row in range(start.last + 1) if row % 8 != 7 or row == start.last]
    return _made(start, start.file.rows[keep], ("frames missing",), ("whole body",))


def root_turned_to_the_side(start, _rng):
    """The root is turned by ten degrees in all frames, and its path is not."""
    name = start.file.joint_names[0]
    rows = start.file.rows.copy()
    letters = [word[0] for words in start.file.channels for word in words]
    _, up = _root_at(start)
    rows[:, next(c for c in _turning(start, name) if letters[c] == letters[up])] += 10.0
    kinds = ("crabbing", "body moves over planted feet", "body leans", "drift")
    return _made(start, rows, kinds, (name, *ALL))


def straight_for_two_frames(start, rng):
    """A knee or hock is straight for two frames, as when a leg does not reach."""
    limb, name = _leg(start, rng)
    rows, row = start.file.rows.copy(), int(rng.integers(4, start.last - 5))
    at = _widest(start, [name])
    far = start.file.rows[:, at]
    rows[row : row + 2, at] += 14.0 * (1.0 if far[row] < far.mean() else -1.0)
    return _made(start, rows, (*LEG, "jitter"), (limb, name), _own_range(row, row + 1), name)


def neck_at_half(start, _rng):
    """The neck has half of its way, in the second half of the clip: a blend that was left."""
    rows = start.file.rows.copy()
    first = len(rows) // 2
    at = [c for name in start.map.neck for c in _turning(start, name)]
    rows[first:, at] *= 0.5
    kinds = ("pop", "rotation jump", "loop not closing", "speed jumps at the loop", "head with the wrong end")
    return _made(start, rows, kinds, (*start.map.neck, "neck and head", "head", "whole body"))


EXPORTED = {
    each.__name__.replace("_", " "): each
    for each in (
        *(too_few_frames, too_many_frames, limb_mirrored, root_key_deleted, stepped_tangents, euler_flip),
        *(layer_left_on_a_leg, layer_left_on_the_back, held_too_late, quicker_half, toe_on_the_wrong_axis),
        *(head_let_go, root_height_lost, smoothed_over, tail_half_frozen, root_turned_for_a_frame),
        *(forelegs_swapped_at_the_end, toe_through_the_ground, at_another_rate, root_turned_to_the_side),
        *(straight_for_two_frames, neck_at_half),
    )
}
