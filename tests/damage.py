"""Ways to damage a clip, each by a known amount: what the check must find afterwards.

A damage takes a clean clip, an amount and random numbers, and gives the damaged file and what is wrong with
it: kinds and limbs of which one must be named, and the frames, from 1, that the finding must touch (None:
anywhere).
"""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from gaitgen.check.limits import load_limits
from gaitgen.check.look import see
from gaitgen.check.meant import NOTHING, Meant
from gaitgen.check.tracked import place
from gaitgen.check.whose import whose
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.style import Style
from gaitgen.pipeline import Request, make_cycle

FORE_KEPT, HIND_KEPT = 3, 3  # joints from the top that move a toe


@dataclass(frozen=True, eq=False)
class Base:
    """A clean clip and what is known about it."""

    name: str
    file: object
    map: object
    motion: object
    seen: object
    period: int

    @property
    def frames(self):
        return len(self.file.rows)


@dataclass(frozen=True, eq=False)
class Damaged:
    """A damaged clip and what must be found in it."""

    file: object
    kinds: tuple
    limbs: tuple
    frames: tuple | None = None
    joint: str = ""
    meant: Meant = NOTHING


@cache
def limits():
    return load_limits("horse")


@cache
def base(animal="riding_horse", frames=32, in_place=True, strides=1, style=1.0, contacts=None):
    clip = make_cycle(
        Request(
            animal=animal,
            frames=frames,
            in_place=in_place,
            strides=strides,
            style=Style(*[style] * 7),
            contacts=contacts,
        )
    )
    file = read_bvh(bvh.encode(clip, FileSpace()), "clean.bvh")
    known = whose(file, "clean.bvh")
    motion = place(file, known.map, "clean.bvh")
    name = f"{animal} {frames} {'in place' if in_place else 'travelling'}"
    return Base(name, file, known.map, motion, see(motion, known.limits), frames)


def with_rows(file, rows):
    return replace(file, rows=np.array(rows))


def seen_again(start, file, meant=NOTHING):
    return see(place(file, start.map, "damaged.bvh"), start.seen.limits, meant=meant)


def columns(file, joint, kind="rotation"):
    """Columns of a joint's channels by axis letter."""
    row = file.joint_names.index(joint)
    first = sum(len(words) for words in file.channels[:row])
    return {word[0]: first + k for k, word in enumerate(file.channels[row]) if word.endswith(kind)}


def turned(start, joint, axis, degrees):
    """Add degrees (frames,) to one channel. In these files X is pitch (nose down), Y yaw, Z roll."""
    rows = start.file.rows.copy()
    rows[:, columns(start.file, joint)[axis]] += degrees
    return with_rows(start.file, rows)


def root_moved(start, offset_m):
    """Add a path (frames, 3), x forward, y left, z up, to the root."""
    rows = start.file.rows.copy()
    at = columns(start.file, start.file.joint_names[0], "position")
    for letter, axis in (("Z", 0), ("X", 1), ("Y", 2)):
        rows[:, at[letter]] += 100.0 * offset_m[:, axis]
    return with_rows(start.file, rows)


def toes_brought(start, file, limbs, target_m):
    """Turn the upper joints of legs so that the toes are at targets (frames, 4, 3); Gauss-Newton."""
    rows = file.rows.copy()
    for _ in range(6):
        motion = place(with_rows(file, rows), start.map, "x")
        miss = target_m - motion.toes_m
        if np.abs(miss[:, [LIMBS.index(limb) for limb in limbs]]).max() < 1e-5:
            break
        for limb in limbs:
            row = LIMBS.index(limb)
            names = start.map.limbs[limb].joints[: FORE_KEPT if limb[1] == "F" else HIND_KEPT]
            used, axes = [], []
            for name in names:
                for letter, direction in (("X", (0, -1, 0)), ("Z", (-1, 0, 0))):
                    if letter == "Z" and name != names[0] and name != names[1]:
                        continue
                    used.append(columns(file, name)[letter])
                    arm = motion.toes_m[:, row] - motion.places_m[:, motion.joint(name)]
                    axes.append(_moved_by(start, file, rows, motion, name, letter, arm, direction))
            jacobian = np.stack(axes, axis=2)  # (frames, 3, channels)
            gram = jacobian @ jacobian.swapaxes(1, 2) + 1e-5 * np.eye(3)
            step = (jacobian.swapaxes(1, 2) @ np.linalg.solve(gram, miss[:, row, :, None]))[..., 0]
            rows[:, used] += np.degrees(np.clip(step, -0.2, 0.2))
    return with_rows(file, rows)


def _moved_by(start, file, rows, motion, name, letter, arm, direction):
    """Velocity of a toe per radian of one channel, from the axis of the channel in the world."""
    joint = file.joint_names.index(name)
    parent = int(file.parents[joint])
    world = motion.changes[:, parent]  # rest rotations are zero in these files
    words = [w[0] for w in file.channels[joint] if w.endswith("rotation")]
    at = columns(file, name)
    ours = {"X": (0, 1, 0), "Y": (0, 0, 1), "Z": (1, 0, 0)}  # file axes in x forward, y left, z up
    before = np.broadcast_to(np.eye(3), (len(rows), 3, 3))
    for word in words[: words.index(letter)]:
        before = before @ _axis_turn(np.array(ours[word], float), np.radians(rows[:, at[word]]))
    axis = (world @ before @ np.array(ours[letter], float)[:, None])[..., 0]
    del start, direction
    return np.cross(axis, arm)


def _axis_turn(axis, angle):
    k = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    s, c = np.sin(angle)[:, None, None], np.cos(angle)[:, None, None]
    return np.eye(3) + s * k + (1 - c) * (k @ k)


def feet_kept(start, file):
    """Bring all toes back to where they were."""
    return toes_brought(start, file, LIMBS, start.motion.toes_m)


def bump(frames, first, last, closes_at=None):
    """A smooth bump of height 1 over rows first to last, going round at closes_at."""
    out = np.zeros(frames)
    rows = np.arange(first, last + 1)
    shape = np.sin(np.pi * (rows - first) / max(1, last - first)) ** 2
    if closes_at is None:
        inside = (rows >= 0) & (rows < frames)
        out[rows[inside]] = shape[inside]
        return out
    out[rows % closes_at] = shape
    if frames > closes_at:
        out[closes_at] = out[0]
    return out


def held(frames, first, last, ease, closes_at):
    """1 from first to last, eased over some rows outside, going round."""
    out = np.zeros(frames)
    rows = np.arange(first - ease, last + ease + 1)
    shape = np.clip(np.minimum(rows - first + ease, last + ease - rows) / max(1, ease), 0, 1)
    shape = shape**2 * (3 - 2 * shape)
    out[rows % closes_at] = np.maximum(out[rows % closes_at], shape)
    if frames > closes_at:
        out[closes_at] = out[0]
    return out


def a_stance(start, rng, limbs=LIMBS, inner=True):
    """A foot and a stance of it."""
    limb = limbs[int(rng.integers(len(limbs)))]
    stance = start.seen.feet.of(LIMBS.index(limb))[0]
    del inner
    return limb, stance.first, stance.last


def around(start, first, last):
    """Frames, from 1, of rows that may go round."""
    n = start.period
    return (first % n + 1, last % n + 1)


def shifted(start, limb, offset_m):
    """Move one toe by a path (frames, 3)."""
    target = start.motion.toes_m.copy()
    target[:, LIMBS.index(limb)] += offset_m
    return toes_brought(start, start.file, [limb], target)


def along(values, axis):
    return values[:, None] * np.eye(3)[axis]


# --- feet ------------------------------------------------------------------------------------------------


def steady_slide(start, mm, rng):
    limb, first, last = a_stance(start, rng)
    n, size = start.period, start.period
    out = np.zeros(start.frames)
    rows = np.arange(first, last + 1)
    out[rows % n] = mm / 1000 * np.linspace(-0.5, 0.5, len(rows))
    swing = np.arange(last + 1, first + size)
    out[swing % n] = mm / 1000 * np.linspace(0.5, -0.5, len(swing) + 2)[1:-1]
    out[n:] = out[0]
    return Damaged(
        shifted(start, limb, along(out, 0)), ("drift", "slip"), (limb,), around(start, first, last)
    )


def sudden_slide(start, mm, rng):
    limb, first, last = a_stance(start, rng)
    n = start.period
    middle = (first + last) // 2 + int(rng.integers(-1, 2))
    rows = np.arange(first, first + n)
    out = np.zeros(start.frames)
    ramp = np.clip((rows - middle + 1) / 2.0, 0, 1)
    back = np.clip((first + n - 1 - rows) / (first + n - 1 - last), 0, 1)
    out[rows % n] = mm / 1000 * ramp * np.minimum(1, back)
    out[n:] = out[0]
    return Damaged(
        shifted(start, limb, along(out, 0)),
        ("slide", "slip", "drift"),
        (limb,),
        around(start, middle - 1, middle + 1),
    )


def sideways_slide(start, mm, rng):
    limb, first, last = a_stance(start, rng)
    path = mm / 1000 * bump(start.frames, first + 2, last - 2, start.period)
    return Damaged(
        shifted(start, limb, along(path, 1)), ("slide", "slip"), (limb,), around(start, first, last)
    )


def lifted_in_stance(start, mm, rng):
    limb, first, last = a_stance(start, rng)
    path = mm / 1000 * bump(start.frames, first + 2, last - 2, start.period)
    return Damaged(
        shifted(start, limb, along(path, 2)), ("sole floating",), (limb,), around(start, first + 3, last - 3)
    )


def lifted_stance(start, mm, rng):
    """A foot that stands over the ground for all of its stance."""
    limb, first, last = a_stance(start, rng)
    path = mm / 1000 * held(start.frames, first, last, 2, start.period)
    return Damaged(
        shifted(start, limb, along(path, 2)), ("sole floating",), (limb,), around(start, first, last)
    )


def sunk_in_stance(start, mm, rng):
    limb, first, last = a_stance(start, rng)
    path = -mm / 1000 * bump(start.frames, first + 2, last - 2, start.period)
    return Damaged(
        shifted(start, limb, along(path, 2)),
        ("sole under ground",),
        (limb,),
        around(start, first + 3, last - 3),
    )


def sunk_in_swing(start, mm, rng):
    limb, first, last = a_stance(start, rng)
    n = start.period
    heights = start.motion.toes_m[:, LIMBS.index(limb), 2] - start.seen.feet.ground_m
    share = bump(start.frames, last, first + n, n)
    path = -share * (mm / 1000 + heights)
    return Damaged(
        shifted(start, limb, along(path, 2)), ("sole under ground",), (limb,), around(start, last, first + n)
    )


# --- legs ------------------------------------------------------------------------------------------------


def _side(limb):
    return "L" if limb[0] == "L" else "R"


def _bend(start, limb, joint, degrees, first, last):
    """Turn a joint about its pitch over some rows and bring the toe back by the joints above."""
    wave = degrees * bump(start.frames, first, last, start.period)
    return turned(start, f"{joint}_{_side(limb)}", "X", wave)


def bent_carpus(start, degrees, rng):
    limb, first, last = a_stance(start, rng, LIMBS[:2])
    middle, half = (first + last) // 2, max(3, (last - first) // 4)
    file = _bend(start, limb, "fore_cannon", degrees, middle - half, middle + half)
    file = toes_brought(start, file, [limb], start.motion.toes_m)
    joint = f"fore_cannon_{_side(limb)}"
    return Damaged(file, ("foreleg bending",), (limb,), around(start, middle - half, middle + half), joint)


def buckled_stance(start, degrees, rng):
    limb, first, last = a_stance(start, rng, LIMBS[:2])
    file = _bend(start, limb, "fore_cannon", degrees, first + 1, last - 1)
    file = toes_brought(start, file, [limb], start.motion.toes_m)
    return Damaged(file, ("foreleg bending",), (limb,), around(start, first + 3, last - 3))


def _towards(start, limb, word, joint, sign, goal_deg, rng):
    """Stretch a joint to an angle at the frame where it is widest already."""
    angle = start.motion.angles_deg[limb, word][: start.period]
    row = int(angle.argmax()) if goal_deg > 150 else int(angle.argmin())
    missing = goal_deg - float(angle[row])
    del rng
    half = max(3, start.period // 8)
    file = turned(
        start,
        f"{joint}_{_side(limb)}",
        "X",
        sign * missing * bump(start.frames, row - half, row + half, start.period),
    )
    return file, around(start, row - half, row + half)


def locked_stifle(start, goal_deg, rng):
    limb = LIMBS[2 + int(rng.integers(2))]
    file, frames = _towards(start, limb, "stifle", "tibia", -1.0, goal_deg, rng)
    return Damaged(file, ("leg locking",), (limb,), frames, f"tibia_{_side(limb)}")


def locked_hock(start, goal_deg, rng):
    limb = LIMBS[2 + int(rng.integers(2))]
    file, frames = _towards(start, limb, "hock", "hind_cannon", 1.0, goal_deg, rng)
    return Damaged(file, ("leg locking",), (limb,), frames, f"hind_cannon_{_side(limb)}")


def locked_elbow(start, goal_deg, rng):
    limb = LIMBS[int(rng.integers(2))]
    file, frames = _towards(start, limb, "elbow", "radius", 1.0, goal_deg, rng)
    return Damaged(file, ("leg locking",), (limb,), frames, f"radius_{_side(limb)}")


def parted_hock(start, degrees, rng):
    limb, first, last = a_stance(start, rng, LIMBS[2:])
    n = start.period
    file = _bend(start, limb, "hind_cannon", -degrees, last, first + n)
    return Damaged(file, ("stifle and hock parting",), (limb,), around(start, last, first + n))


def overbent_carpus(start, goal_deg, rng):
    limb = LIMBS[int(rng.integers(2))]
    file, frames = _towards(start, limb, "carpus", "fore_cannon", -1.0, goal_deg, rng)
    return Damaged(file, ("joint out of range",), (limb,), frames, f"fore_cannon_{_side(limb)}")


def overstretched_fetlock(start, goal_deg, rng):
    limb = LIMBS[int(rng.integers(4))]
    end = "fore" if limb[1] == "F" else "hind"
    file, frames = _towards(start, limb, f"{end}_fetlock", f"{end}_pastern", -1.0, goal_deg, rng)
    return Damaged(file, ("joint out of range",), (limb,), frames)


# --- trunk -----------------------------------------------------------------------------------------------


def _wave(start, times, phase):
    rows = np.arange(start.frames)
    return np.sin(2 * np.pi * (times * rows / start.period) + phase)


def hips_with_chest(start, share, rng):
    del rng
    hips = start.seen.waves["hips"].smooth
    path = np.append(hips, hips[0]) - hips.mean()
    file = feet_kept(start, root_moved(start, along(-share * path, 2)))
    # the spine takes the chest back to where it was
    chest = start.motion.places_m[:, [start.motion.top(limb) for limb in LIMBS[:2]], 2].mean(axis=1)
    motion = place(file, start.map, "x")
    now = motion.places_m[:, [motion.top(limb) for limb in LIMBS[:2]], 2].mean(axis=1)
    arm = 1.0 * (motion.places_m[:, motion.top("LF"), 0] - motion.places_m[:, 0, 0])
    rows = file.rows.copy()
    rows[:, columns(file, "lumbar_2")["X"]] -= np.degrees((chest - now) / arm)
    file = feet_kept(start, with_rows(file, rows))
    return Damaged(file, ("hips and chest out of time",), ("hips",))


def chest_with_hips(start, share, rng):
    del rng
    chest = start.seen.waves["chest"].smooth
    path = np.append(chest, chest[0]) - chest.mean()
    arm = start.motion.places_m[:, start.motion.top("LF"), 0] - start.motion.places_m[:, 0, 0]
    rows = start.file.rows.copy()
    rows[:, columns(start.file, "lumbar_2")["X"]] += np.degrees(share * path / arm)
    file = feet_kept(start, with_rows(start.file, rows))
    return Damaged(file, ("hips and chest out of time",), ("chest",))


def head_with_chest(start, share, rng):
    """Shift the nod by a share of a stride."""
    del rng
    rows = start.file.rows.copy()
    n, by = start.period, round(share * start.period)
    for name in (*start.map.neck, start.map.head):
        for column in columns(start.file, name).values():
            turn = np.roll(start.file.rows[:n, column], by)
            rows[:, column] = np.append(turn, turn[0])
    return Damaged(with_rows(start.file, rows), ("head with the wrong end",), ("head",))


def _spine(start, axis, degrees, times, rng):
    wave = degrees / 2 * _wave(start, times, float(rng.uniform(0, 6)))
    file = turned(start, start.map.spine[len(start.map.spine) // 2], axis, wave)
    return feet_kept(start, file)


def bent_spine(start, degrees, rng):
    return Damaged(_spine(start, "Y", degrees, 1, rng), ("spine bending too much",), ("spine",))


def flexed_spine(start, degrees, rng):
    return Damaged(_spine(start, "X", degrees, 2, rng), ("spine bending too much",), ("spine",))


def twisted_spine(start, degrees, rng):
    return Damaged(_spine(start, "Z", degrees, 1, rng), ("spine bending too much",), ("spine",))


def bounced(start, mm, rng):
    path = mm / 1000 * _wave(start, 4, float(rng.uniform(0, 6)))
    file = feet_kept(start, root_moved(start, along(path, 2)))
    return Damaged(file, ("impossible support force",), ("whole body",))


def stiff_tail(start, share, rng):
    """Take out a share of the tail's own turning; 1 leaves a stick."""
    del rng
    rows = start.file.rows.copy()
    for name in start.map.tail:
        for column in columns(start.file, name).values():
            mean = rows[: start.period, column].mean()
            rows[:, column] = mean + (1 - share) * (rows[:, column] - mean)
    return Damaged(with_rows(start.file, rows), ("tail does not trail", "frozen"), ("tail",))


def leading_tail(start, share, rng):
    """Let each joint of the tail move a share of a stride before the one above it."""
    del rng
    rows, n = start.file.rows.copy(), start.period
    for k, name in enumerate(start.map.tail):
        column = columns(start.file, name)["X"]
        rows[:, column] = 4.0 * np.cos(4 * np.pi * (np.arange(start.frames) / n + k * share))
    return Damaged(with_rows(start.file, rows), ("tail does not trail",), ("tail",))


# --- frames ----------------------------------------------------------------------------------------------


def _a_joint(start, rng):
    names = [n for n in start.file.joint_names if n.split("_")[0] not in {"ear", "jaw"}]
    return names[int(rng.integers(1, len(names)))]


def popped_joint(start, degrees, rng):
    name = _a_joint(start, rng)
    row = int(rng.integers(4, start.frames - 5))
    out = np.zeros(start.frames)
    out[row] = degrees
    return Damaged(turned(start, name, "X", out), ("pop",), (name,), (row + 1, row + 1), name)


def popped_root(start, mm, rng):
    row = int(rng.integers(4, start.frames - 5))
    path = np.zeros((start.frames, 3))
    path[row, int(rng.integers(3))] = mm / 1000
    return Damaged(root_moved(start, path), ("pop",), (start.file.joint_names[0],), (row + 1, row + 1))


def kept_pop(start, degrees, rng):
    """A joint that jumps and stays there for a quarter of the clip."""
    name = ("neck_1", "neck_2", "thorax_3", "tail_1", "tail_2")[int(rng.integers(5))]
    row = int(rng.integers(4, start.frames // 2))
    out = np.zeros(start.frames)
    out[row : row + start.frames // 4] = degrees
    return Damaged(turned(start, name, "X", out), ("pop",), (name,), (row, row + 1))


def cut_frames(start, count, rng):
    row = int(rng.integers(5, start.frames - 6 - count))
    rows = np.delete(start.file.rows, np.arange(row, row + count), axis=0)
    return Damaged(with_rows(start.file, rows), ("frames missing",), ("whole body",), (row, row + 1))


def cut_end(start, count, rng):
    del rng
    file = with_rows(start.file, start.file.rows[:-count])
    return Damaged(
        file, ("loop not closing", "speed jumps at the loop", "frames missing", "no whole stride"), ()
    )


def doubled(start, count, rng):
    row = int(rng.integers(4, start.frames - 4))
    rows = np.insert(start.file.rows, row, np.repeat(start.file.rows[row : row + 1], count, axis=0), axis=0)
    kind = "repeated frame" if count == 1 else "stuck"
    return Damaged(with_rows(start.file, rows), (kind,), ("whole body",), (row + 1, row + 1 + count))


def held_limb(start, count, rng):
    limb = LIMBS[int(rng.integers(4))]
    row = int(rng.integers(3, start.frames - count - 3))
    return Damaged(
        _held(start, start.map.limbs[limb].joints, row, count),
        ("stuck",),
        (limb,),
        (row + 1, row + 1 + count),
    )


def held_tail(start, count, rng):
    row = int(rng.integers(3, start.frames - count - 3))
    return Damaged(
        _held(start, start.map.tail, row, count), ("stuck",), ("tail",), (row + 1, row + 1 + count)
    )


def held_head(start, count, rng):
    row = int(rng.integers(3, start.frames - count - 3))
    names = (*start.map.neck, start.map.head)
    return Damaged(
        _held(start, names, row, count), ("stuck",), ("neck and head",), (row + 1, row + 1 + count)
    )


def _held(start, names, row, count):
    rows = start.file.rows.copy()
    for name in names:
        for column in columns(start.file, name).values():
            rows[row : row + count + 1, column] = rows[row, column]
    return with_rows(start.file, rows)


def branch_flip(start, count, rng):
    """Write the same rotations with the other three Euler angles for some frames."""
    name = _a_joint(start, rng)
    row = int(rng.integers(2, start.frames - count - 2))
    at = list(columns(start.file, name).values())
    rows = start.file.rows.copy()
    part = rows[row : row + count, at]
    rows[row : row + count, at] = np.stack([part[:, 0] + 180, 180 - part[:, 1], part[:, 2] + 180], axis=1)
    return Damaged(with_rows(start.file, rows), ("flipped rotation",), (name,), (row, row + count + 1))


def whole_turn(start, degrees, rng):
    """Add a whole turn from a frame on."""
    name = _a_joint(start, rng)
    row = int(rng.integers(3, start.frames - 3))
    out = np.zeros(start.frames)
    out[row:] = degrees
    axis = "XYZ"[int(rng.integers(3))]
    return Damaged(turned(start, name, axis, out), ("flipped rotation",), (name,), (row, row + 1))


def jumped_rotation(start, degrees, rng):
    name = ("ear_L", "ear_R", "jaw", "tail_3", "head")[int(rng.integers(5))]
    row = int(rng.integers(3, start.frames // 2))
    out = np.zeros(start.frames)
    out[row : row + start.frames // 3] = degrees
    return Damaged(turned(start, name, "Y", out), ("rotation jump",), (name,), (row, row + 1))


# --- loop and root ---------------------------------------------------------------------------------------


def open_joint(start, degrees, rng):
    name = _a_joint(start, rng)
    out = degrees * np.clip((np.arange(start.frames) - start.frames + 6) / 5.0, 0, 1) ** 2
    return Damaged(turned(start, name, "X", out), ("loop not closing",), (name,), (start.frames, 1))


def open_height(start, mm, rng):
    del rng
    out = mm / 1000 * np.clip((np.arange(start.frames) - start.frames + 7) / 6.0, 0, 1) ** 2
    return Damaged(
        root_moved(start, along(out, 2)),
        ("loop not closing",),
        (start.file.joint_names[0],),
        (start.frames, 1),
    )


def kinked_loop(start, degrees, rng):
    """A joint that arrives at the seam at another speed than it leaves: a kink of so many degrees a frame."""
    name = ("neck_1", "neck_2", "neck_3", "tail_1", "tail_2", "jaw")[int(rng.integers(6))]
    share = np.linspace(0, 1, start.frames)
    out = degrees / 2 * start.period * share * (1 - share)
    return Damaged(
        turned(start, name, "X", out), ("speed jumps at the loop",), (name,), (start.frames - 1, 1)
    )


def crept_root(start, percent, rng):
    """Creep by so many per cent of the stride's length, in place; travelling the feet then slide."""
    del rng
    stride = float(np.linalg.norm(start.seen.feet.body_m_s)) * start.period / start.motion.frame_rate_hz
    path = along(percent / 100 * stride * np.linspace(0, 1, start.frames), 0)
    file = root_moved(start, path)
    if start.seen.feet.in_place:
        return Damaged(file, ("root drift",), (start.file.joint_names[0],))
    return Damaged(file, ("drift",), ("all feet",))


def crept_aside(start, mm, rng):
    del rng
    file = root_moved(start, along(mm / 1000 * np.linspace(0, 1, start.frames), 1))
    if start.seen.feet.in_place:
        return Damaged(file, ("root drift",), (start.file.joint_names[0],))
    return Damaged(file, ("drift", "root drift"), ("all feet", start.file.joint_names[0]))


def crabbed(start, degrees, rng):
    """A travelling body that faces aside of its way."""
    del rng
    if start.seen.feet.in_place:
        start = base(start.name.split(maxsplit=1)[0], start.period, in_place=False)
    rows = start.file.rows.copy()
    at = columns(start.file, start.file.joint_names[0], "position")
    x, y = rows[:, at["Z"]].copy(), rows[:, at["X"]].copy()
    angle = np.radians(degrees)
    step = (x[-1] - x[0]) * np.linspace(0, 1, start.frames)
    rows[:, at["Z"]], rows[:, at["X"]] = x + step * (np.cos(angle) - 1), y + step * np.sin(angle)
    file = with_rows(start.file, rows)
    target = start.motion.toes_m.copy()
    for limb in range(4):
        place_m = target[:, limb, 0] - start.motion.root_m[:, 0]
        whole = target[:, limb, 0] - start.motion.root_m[0, 0]
        del place_m
        target[:, limb, 0] += whole * (np.cos(angle) - 1)
        target[:, limb, 1] += whole * np.sin(angle)
    return Damaged(file, ("crabbing", "drift"), (start.file.joint_names[0], "all feet"))


# --- timing ----------------------------------------------------------------------------------------------


def _rolled(start, limbs, by):
    """Let limbs do what they do some frames later, their toes kept on the ground."""
    rows, n = start.file.rows.copy(), start.period
    target = start.motion.toes_m.copy()
    for limb in limbs:
        for name in start.map.limbs[limb].joints:
            for column in columns(start.file, name).values():
                turn = np.roll(start.file.rows[:n, column], by)
                rows[:, column] = np.append(turn, turn[0])
        row = LIMBS.index(limb)
        rel = start.motion.toes_m[:n, row] - _base_point(start)[:n]
        turn = np.roll(rel, by, axis=0)
        target[:, row] = np.concatenate([turn, turn[:1]]) + _base_point(start)
    return toes_brought(start, with_rows(start.file, rows), limbs, target)


def _base_point(start):
    """A point that goes evenly with the body on the ground, (frames, 3)."""
    moved = start.motion.root_m[-1] - start.motion.root_m[0]
    return np.linspace(0, 1, start.frames)[:, None] * moved * [1, 1, 0]


def swapped_contacts(start, share, rng):
    del rng
    file = _rolled(start, LIMBS[:2], round(share * start.period))
    return Damaged(file, ("contact order",), LIMBS[:2])


def late_foot(start, share, rng):
    limb = LIMBS[int(rng.integers(4))]
    file = _rolled(start, [limb], round(share * start.period))
    return Damaged(file, ("asymmetry",), (limb,))


def trotting_walk(start, share, rng):
    """Let both fore feet land later by a share of the stride, up to the diagonal hind foot."""
    del rng
    return Damaged(_rolled(start, LIMBS[:2], round(share * start.period)), ("lag",), LIMBS[:2])


def short_stance(start, share, rng):
    """A limping clip: one foot is down for a share of the stride less than the others."""
    limb = LIMBS[int(rng.integers(4))]
    n = start.period
    down = {name: round(0.70 * n) for name in LIMBS}
    down[limb] = round((0.70 - share) * n)
    first = {"RH": 1, "RF": 1 + n // 4, "LH": 1 + n // 2, "LF": 1 + 3 * n // 4}
    text = ", ".join(f"{name} {first[name]}-{first[name] + down[name]}" for name in LIMBS)
    clip = base(start.name.split(maxsplit=1)[0], n, contacts=text)
    return Damaged(clip.file, ("asymmetry",), (limb,))


def unequal_ends(start, share, rng):
    """Fore feet that are down longer than hind feet by a share of the stride."""
    del rng
    n = start.period
    first = {"RH": 1, "RF": 1 + n // 4, "LH": 1 + n // 2, "LF": 1 + 3 * n // 4}
    down = {"F": round((0.58 + share) * n), "H": round(0.58 * n)}
    text = ", ".join(f"{name} {first[name]}-{first[name] + down[name[1]]}" for name in LIMBS)
    clip = base(start.name.split(maxsplit=1)[0], n, contacts=text)
    return Damaged(clip.file, ("duty factor",), ("fore against hind",))


# name -> (damage, amount for the test, unit, amounts from small to large for the table)
DAMAGES = {
    "foot slides steadily in stance": (steady_slide, 40, "mm", (5, 10, 15, 20, 30, 40)),
    "foot slides at once in stance": (sudden_slide, 40, "mm", (5, 10, 15, 20, 30, 40)),
    "foot slides aside and back": (sideways_slide, 30, "mm", (5, 10, 15, 20, 30)),
    "sole lifted within stance": (lifted_in_stance, 20, "mm", (5, 9, 12, 15, 20)),
    "sole lifted for all of stance": (lifted_stance, 20, "mm", (5, 9, 12, 15, 20)),
    "sole pushed under in stance": (sunk_in_stance, 20, "mm", (3, 7, 10, 15, 20)),
    "toe dragged under in swing": (sunk_in_swing, 20, "mm", (3, 7, 10, 15, 20)),
    "carpus bent at mid-stance": (bent_carpus, 12, "degrees", (4, 6, 8, 10, 12)),
    "foreleg buckles through stance": (buckled_stance, 12, "degrees", (4, 6, 8, 10, 12)),
    "stifle stretched to": (locked_stifle, 174, "degrees", (158, 160, 162, 164, 166, 170, 174)),
    "hock stretched to": (locked_hock, 179, "degrees", (166, 168, 170, 172, 174, 177, 179)),
    "elbow stretched to": (locked_elbow, 172, "degrees", (156, 158, 160, 162, 164, 168, 172)),
    "hock bends without the stifle": (parted_hock, 18, "degrees", (8, 10, 13, 15, 18)),
    "carpus folded to": (overbent_carpus, 50, "degrees", (90, 80, 70, 62, 50)),
    "fetlock stretched to": (overstretched_fetlock, 262, "degrees", (250, 254, 257, 260, 262)),
    "hips in phase with the chest": (hips_with_chest, 2.0, "of the heave", (0.5, 0.9, 1.1, 1.5, 2.0)),
    "chest in phase with the hips": (chest_with_hips, 2.0, "of the heave", (0.5, 0.9, 1.1, 1.5, 2.0)),
    "head nods with the chest": (head_with_chest, 0.25, "of a stride", (0.06, 0.1, 0.13, 0.18, 0.25)),
    "back bends aside": (bent_spine, 20, "degrees", (6, 9, 12, 15, 20)),
    "back flexes": (flexed_spine, 20, "degrees", (8, 11, 14, 17, 20)),
    "back twists": (twisted_spine, 40, "degrees", (8, 12, 16, 22, 30, 40)),
    "body bounces four times a stride": (bounced, 40, "mm", (2, 5, 10, 20, 40)),
    "tail stiff": (stiff_tail, 1.0, "of its swing", (0.25, 0.5, 0.75, 0.9, 1.0)),
    "tail leads": (leading_tail, 0.03, "of a stride a joint", (0.008, 0.015, 0.03, 0.045, 0.06)),
    "joint pops for a frame": (popped_joint, 10, "degrees", (2, 4, 6, 8, 10)),
    "joint jumps and stays": (kept_pop, 10, "degrees", (2, 4, 6, 8, 10)),
    "root pops for a frame": (popped_root, 25, "mm", (4, 7, 10, 15, 25)),
    "frames cut out": (cut_frames, 2, "frames", (1, 2, 3)),
    "frames cut off the end": (cut_end, 2, "frames", (1, 2, 3)),
    "frame repeated": (doubled, 1, "frames", (1,)),
    "frames held": (doubled, 3, "frames", (2, 3)),
    "leg held": (held_limb, 4, "frames", (1, 2, 3, 4)),
    "tail held": (held_tail, 4, "frames", (1, 2, 3, 4)),
    "head held": (held_head, 4, "frames", (1, 2, 3, 4)),
    "Euler branch flipped": (branch_flip, 3, "frames", (1, 2, 3)),
    "whole turn added": (whole_turn, 360, "degrees", (360,)),
    "joint thrown round": (jumped_rotation, 100, "degrees", (40, 55, 65, 80, 100)),
    "loop open at a joint": (open_joint, 4, "degrees", (0.3, 0.6, 1.1, 2, 3, 4)),
    "loop open in height": (open_height, 20, "mm", (4, 7, 10, 15, 20)),
    "loop kinked": (kinked_loop, 6, "degrees a frame", (1.5, 2, 3, 4, 6)),
    "root creeps forward": (crept_root, 1.0, "% of a stride", (0.2, 0.4, 0.6, 0.8, 1.0)),
    "root creeps aside": (crept_aside, 20, "mm", (4, 7, 10, 15, 20)),
    "body goes aside of its facing": (crabbed, 15, "degrees", (4, 7, 9, 12, 15)),
    "contacts of the fore feet swapped": (swapped_contacts, 0.5, "of a stride", (0.35, 0.4, 0.5)),
    "one foot late": (late_foot, 0.15, "of a stride", (0.04, 0.08, 0.12, 0.15)),
    "fore feet land with the wrong hind feet": (trotting_walk, 0.25, "of a stride", (0.15, 0.2, 0.25)),
    "one foot down too short": (short_stance, 0.15, "of a stride", (0.04, 0.08, 0.12, 0.15)),
    "fore feet down longer": (unequal_ends, 0.22, "of a stride", (0.08, 0.12, 0.16, 0.22)),
}
