"""How many frames are missing in a step: by other steps, by how far the body goes, or by how joints turn."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.check.seen import Seen
from gaitgen.numerics.rotations import MIRROR_PLACE, continuous_sign, quaternion_from_matrix
from gaitgen.numerics.turns import turn_between_rad

Array = npt.NDArray[np.float64]

MOST = 4  # frames
# Feet under a body are as in another step, be it of the other side, where they are off by less than this
# share of how far they go in a frame on the whole.
SAME = 0.8
# Where nothing else tells that frames are missing: by so little, and by so much less than off a step without.
SURE, SURELY, LEAPS, LEAST_RAD, FEWEST_ROWS = 0.5, 0.5, 1.05, 0.02, 8
BESIDE = 4  # steps on either side that tell how far a step goes there
FEWEST = 2  # of them
STEP = 0.004  # hip heights a frame: what goes less far tells nothing
NOISE = 8.0  # deviations of it, likewise
# Curves through two frames on either side, of the third degree, are left by what they were left by elsewhere,
# with so many degrees of freedom of the distribution, as joints are seldom far off (estimate).
AROUND, FREEDOM = 2, 4.0
# In loops of so few frames curves bend as far over two missing frames as over one: nobody knows which.
FEW, FEW_MISSING = 12, 2
SURGES = 0.15  # of the steps beside one, on either side, are farther or shorter than is counted with
MOVES_RAD = np.radians(0.02)
OTHER_SIDE = [1, 0, 3, 2]  # of LIMBS


def counted(seen: Seen, row: int) -> tuple[int, int]:
    """Return how many frames at least and at most are missing after a row in which some are."""
    told, best, none = _as_other_steps(seen, row)
    if best < min(SAME, none):
        return told, told
    far = _as_far(seen, row)
    if far[1] >= 0.5:
        counts = {max(1, round(each)) for each in far if abs(each - far[1]) < 1.0}
        return min(counts), max(counts)
    likely = _as_joints_turn(seen, row)
    if _rows(seen) <= FEW and likely <= FEW_MISSING:
        return 1, FEW_MISSING
    return likely, likely


def surely_lost(seen: Seen) -> list[int]:
    """Rows after which frames are missing, as another step has them between just these two poses."""
    if seen.motion.frames < FEWEST_ROWS:
        return []
    found, rows = list[int](), _rows(seen)
    for row in _leaps(seen).tolist():
        _, best, none = _as_other_steps(seen, row)
        if best >= SURE or best >= SURELY * none:
            continue
        # a pose from another moment is where no step leads to, nor on from
        beside = (_as_other_steps(seen, (row + by) % rows)[2] for by in (-1, 1))
        if all(each < SAME for each in beside):
            found.append(row)
    return found


def is_whole(seen: Seen, row: int) -> bool:
    """Whether another step goes from one of these two poses to the other without a frame between."""
    _, best, none = _as_other_steps(seen, row)
    return none < SURE and none < SURELY * best


def _leaps(seen: Seen) -> npt.NDArray[np.int64]:
    """Rows after which all joints together turn farther than before and after them."""
    local = seen.motion.local[: _rows(seen)]
    after = np.concatenate([local[1:], local[:1] if seen.loop.closes else local[-1:]])
    turns = turn_between_rad(local, after).sum(axis=1)
    beside = np.stack([np.roll(turns, 1), np.roll(turns, -1)]).mean(axis=0)
    leaps = turns > LEAPS * beside + LEAST_RAD
    if not seen.loop.closes:
        leaps[:2] = leaps[-3:] = False
    return np.flatnonzero(leaps)


def _rows(seen: Seen) -> int:
    return seen.loop.frames if seen.loop.closes else seen.motion.frames


def _as_other_steps(seen: Seen, row: int) -> tuple[int, float, float]:
    """Count the frames of another step, or of one of the other side, between two poses like these.

    Returns
    -------
    count
        So many are there.
    best, none
        How far feet are off that step, and off one without a frame between, in steps of theirs: usual ones,
        or their way in this one, shared out to its frames, where that is shorter.
    """
    rows = _rows(seen)
    own, other_side, step = _steps_of_feet(seen)
    after = (row + 1) % rows
    best = np.full(MOST + 1, np.inf)
    for poses in (own, other_side):
        first, second = (np.linalg.norm(poses - own[k], axis=1) for k in (row, after))
        for count in range(MOST + 1):
            apart = np.hypot(first, np.roll(second, -(count + 1)))
            apart[np.arange(row - count, row + 1) % rows] = np.inf  # over the two frames themselves
            if not seen.loop.closes:
                apart[rows - count - 1 :] = np.inf
            best[count] = min(best[count], float(apart.min()))
    count = int(best[1:].argmin()) + 1
    here = float(np.linalg.norm(own[after] - own[row]))
    each = max(min(step, here / (count + 1)), 1e-9)
    return count, float(best[count]) / each, float(best[0]) / max(min(step, here), 1e-9)


@lru_cache(maxsize=1)  # asked for of many rows of one clip
def _steps_of_feet(seen: Seen) -> tuple[Array, Array, float]:
    """Places of the toes from the root, (rows, 12), those of the mirror image, and their usual step. [m]"""
    rows = _rows(seen)
    own = _feet_under_body(seen)[:rows]
    image = own[:, OTHER_SIDE] * MIRROR_PLACE
    flat = own.reshape(rows, -1)
    step = float(np.median(np.linalg.norm(np.diff(flat, axis=0), axis=1)))
    return flat, image.reshape(rows, -1), step


def _feet_under_body(seen: Seen) -> Array:
    """Places of the toes from the root, along its heading, (frames, 4, 3). [m]"""
    motion = seen.motion
    apart = motion.toes_m - motion.root_m[:, None]
    cos, sin = np.cos(motion.heading_rad)[:, None], np.sin(motion.heading_rad)[:, None]
    x, y, z = apart[..., 0], apart[..., 1], apart[..., 2]
    return np.stack([x * cos + y * sin, y * cos - x * sin, z], axis=2)


def _as_far(seen: Seen, row: int) -> tuple[float, ...]:
    """Return by how many steps too far a body goes in one; all 0 where nothing tells.

    Against those beside it, for it surges: the far ones, the usual, the short ones, and the two next to it.

    A body that travels goes over the ground; one that stays in place lets feet that stand go back under it.
    """
    pairs, at = _around(seen, row)
    own, beside = _under_feet(seen, pairs, at) if seen.feet.in_place else _over_ground(seen, pairs, at)
    noise_m = float(seen.noise.toe_m[:, :2].max()) if seen.feet.in_place else seen.noise.root_m
    if len(beside) < FEWEST or not np.isfinite(own):
        return (0.0, 0.0)
    usual = float(np.median(beside))
    if usual < max(STEP * seen.motion.hip_height_m, NOISE * noise_m):
        return (0.0, 0.0)
    least, most = own / np.quantile(beside, [1.0 - SURGES, SURGES]) - 1.0
    found = float(least), own / usual - 1.0, float(most)
    if seen.feet.in_place or not 0 < at < len(beside):
        return found
    return (*found, own / float(beside[at - 1 : at + 1].mean()) - 1.0)


def _around(seen: Seen, row: int) -> tuple[npt.NDArray[np.int64], int]:
    """Return the rows (steps, 2) of a step and of those around it, in order, and which of them is its own."""
    starts = np.arange(row - BESIDE, row + BESIDE + 1)
    if seen.loop.closes:
        return np.stack([starts, starts + 1], axis=1) % seen.loop.frames, BESIDE
    starts = starts[(starts >= 0) & (starts < seen.motion.frames - 1)]
    return np.stack([starts, starts + 1], axis=1), int(np.flatnonzero(starts == row)[0])


def _over_ground(seen: Seen, pairs: npt.NDArray[np.int64], at: int) -> tuple[float, Array]:
    """How far a body goes in a step, and in those beside it, along its way. [m]"""
    moved = seen.motion.root_m[pairs[:, 1], :2] - seen.motion.root_m[pairs[:, 0], :2]
    over_end = pairs[:, 1] < pairs[:, 0]
    moved = moved + over_end[:, None] * seen.loop.advance_m[:2]
    way = np.median(np.delete(moved, at, axis=0), axis=0)
    along = moved @ way / max(float(np.linalg.norm(way)), 1e-9)
    return float(along[at]), np.delete(along, at)


def _under_feet(seen: Seen, pairs: npt.NDArray[np.int64], at: int) -> tuple[float, Array]:
    """How far feet that stand go back under a body in a step, and in those beside it. [m]"""
    planted = seen.feet.planted[pairs[:, 0]] & seen.feet.planted[pairs[:, 1]]  # (steps, 4)
    if not planted[at].any():
        return np.nan, np.zeros(0)
    toes = seen.motion.toes_m[..., :2] - seen.motion.root_m[:, None, :2]
    back = -seen.feet.body_m_s / max(float(np.linalg.norm(seen.feet.body_m_s)), 1e-9)
    along = np.where(planted, (toes[pairs[:, 1]] - toes[pairs[:, 0]]) @ back, np.nan)
    others = np.delete(along, at, axis=0)
    return float(np.median(along[at, planted[at]])), others[np.isfinite(others)]


def _as_joints_turn(seen: Seen, row: int) -> int:
    """Return the likeliest count: with it joints leave their curves there as far as they do elsewhere."""
    rows, wide = _rows(seen), 2 * AROUND
    starts = np.arange(rows if seen.loop.closes else rows - wide + 1)
    windows = (starts[:, None] + np.arange(wide)) % rows
    over = ((windows[:, :-1] - row) % rows == 0).any(axis=1)
    own = np.flatnonzero(starts == (row - AROUND + 1) % rows)
    if not len(own) or over.all():
        return 1
    turns = quaternion_from_matrix(seen.motion.local[:rows])
    steady = _divided(np.arange(float(wide)))
    curves = np.stack([continuous_sign(turns[each]) for each in windows])  # (windows, wide, joints, 4)
    usual = (np.einsum("t,wtjk->wjk", steady, curves[~over]) ** 2).sum(axis=2).mean(axis=0) / 3.0
    moves = usual > (MOVES_RAD / 2.0) ** 2 * (steady**2).sum()
    noise = np.radians(seen.noise.angle_deg) / 2.0
    likely = []
    for count in range(1, MOST + 1):
        weights = _divided(np.arange(float(wide)) + count * (np.arange(wide) >= AROUND))
        off = (np.einsum("t,tjk->jk", weights, curves[own[0]]) ** 2).sum(axis=1)[moves]
        size = float((weights**2).sum())
        wide_by = usual[moves] + noise**2 * size
        each = -1.5 * np.log(wide_by / size) - (FREEDOM + 3) / 2 * np.log1p(off / (FREEDOM * wide_by))
        likely.append(float(each.sum()))
    return int(np.argmax(likely)) + 1


def _divided(times: Array) -> Array:
    """Weights of the divided difference over some times: what is left of values that no curve takes away."""
    apart = times[:, None] - times[None, :]
    np.fill_diagonal(apart, 1.0)
    return np.asarray(1.0 / apart.prod(axis=1))
