"""Which bone of the template each joint of a limb turns, by place and length."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.rigs.rig_map import FOLLOWS, SLING

Array = npt.NDArray[np.float64]

# What it costs, in hip heights of misfit, to leave out a bone of the template or a joint of the rig (chosen
# so that a missing scapula, a merged pastern and a twist joint in the middle of a bone are told apart).
SKIP_BONE = 0.15
SKIP_INNER_BONE = 0.26  # ... a bone between two that the rig has
SKIP_JOINT = 0.12
SKIP_JOINT_OF_FEW = 0.2  # where the limb has no more joints than the template has bones
# A joint on the line between its neighbours may be there for the twist alone and costs this share of that;
# one that is this far off the line, in hip heights, costs it all, and one farther off, where the limb
# bends, more by so much of what it is off (estimates). The first is as far off as the next is away, to 0.15.
SKIP_TWIST_SHARE = 0.3
OFF_LINE, FAR_FIRST = 0.006, 0.15
SKIP_BEND = 0.7
# Where a bone between is missing, the one above points as the template's does; of 1 - cosine (estimate).
POINTING_WEIGHT = 0.3
BENDING_WEIGHT = 0.05  # of a radian by which a joint is bent another way than the template's (estimate)
HEIGHT_WEIGHT = 0.5
# A limb that stands bent is none of an animal whose own stands straighter, by its length from top to toe as a
# share of its bones: what the shares differ by beyond the first counts so many times (estimates).
BENT_ROOM, BENT_WEIGHT = 0.2, 3.0
SCALES = (0.85, 1.0, 1.18)
# Where limb and template are so unlike that two bones or more would be left out, leaving out costs so many
# times as much.
IN_ORDER = 4.0
LEAST_BONES = 2  # a limb is closed on its toe by two
FOLDED_SHARE = 0.48  # of the length of its bones: a leg that stands as long as this at the most is folded
STRAIGHT_SHARE = 0.985  # of the length of its bones: a leg that stands like this cannot step without sinking
SEEN_ASIDE = np.array([1.0, 0.0, 1.0])
# A joint this near to the top of the limb, seen from the side, may be its sling. [hip heights]
SLING_NEAR = 0.02
# A first bone that leads from the trunk to the side, and no leg, is so short against the height of the limb's
# top, and goes up, down and along by no more than this share of what it goes aside (estimates).
LINK_LONG, LINK_ALONG = 0.25, 0.35


def template_limb_m(skeleton: Animal, end: str) -> Array:
    """Return left joints of one limb of the template, standing, and its toe: (bones + 1, 3). [m]"""
    positions = standing_positions_m(skeleton)
    limb = skeleton.limb(end)
    joints = list(limb.joints)
    toe = positions[limb.foot_joint] + limb.foot.tip_m
    return np.concatenate([positions[joints], toe[None]])


def match_bones(skeleton: Animal, end: str, points: Array, hip_height: float) -> tuple[str, ...]:
    """Name the bone that each joint of a limb turns.

    Joints and bones are matched in order so that the sides of the limb, seen from the side, differ least;
    a bone or a joint may be left out at a price. Dynamic programming over (bone, joint).

    Parameters
    ----------
    skeleton, end
        The template; ``fore`` or ``hind``.
    points
        (joints, 3) joints of the limb from the ground point of its toe; forward, left, up.
    hip_height
        Height of the hip of the rig, in the unit of the points.

    Returns
    -------
    One word a joint, from the template, or FOLLOWS or SLING.
    """
    has_sling = skeleton.limb(end).sling is not None
    is_sling = has_sling and np.linalg.norm((points[1] - points[0])[[0, 2]]) < SLING_NEAR * hip_height
    if leads_aside(points) and not is_sling:
        return (FOLLOWS, *match_bones(skeleton, end, points[1:], hip_height))
    here = points[:, [0, 2]] / hip_height
    _, chosen = _best(skeleton, end, points / hip_height, BENDING_WEIGHT)
    names = skeleton.bones(end)
    words = [names[k] if k >= 0 else FOLLOWS for k in chosen]
    return tuple(_with_sling(words, names[0], here) if has_sling else words)


def leads_aside(points: Array) -> bool:
    """Tell whether the first bone of a left limb only leads from the trunk to the leg, which hangs beside it.

    Parameters
    ----------
    points
        (joints, 3) its joints from the top; forward, left, up.
    """
    if len(points) <= LEAST_BONES:
        return False
    ahead, aside, up = points[1] - points[0]
    low = min(float(points[-1, 2]), 0.0)
    is_short = abs(aside) < LINK_LONG * float(points[0, 2] - low)
    return bool(is_short and np.hypot(ahead, up) < LINK_ALONG * abs(aside))


def misfit(skeleton: Animal, end: str, points: Array, hip_height: float) -> float:
    """Tell how unlike the template's a limb is, seen from the side, in hip heights; see match_bones."""
    limb = template_limb_m(skeleton, end) * SEEN_ASIDE
    bent = stretched(limb) - stretched(_to_toe(points) * SEEN_ASIDE)
    return _best(skeleton, end, points / hip_height)[0] + BENT_WEIGHT * max(bent - BENT_ROOM, 0.0)


def stretched(line: Array) -> float:
    """Share of the length of its bones to which a limb stands stretched.

    Parameters
    ----------
    line
        (joints + 1, 3) its joints from the top, and its toe.
    """
    bones = float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())
    return float(np.linalg.norm(line[0] - line[-1])) / max(bones, 1e-12)


def _to_toe(points: Array) -> Array:
    """Add the ground point of the toe to the joints of a limb from there: (joints + 1, 3)."""
    return np.append(points, np.zeros((1, 3)), axis=0)


def _best(skeleton: Animal, end: str, points: Array, bending: float = 0.0) -> tuple[float, list[int]]:
    here, off = points[:, [0, 2]], _off_line(points)
    bones = template_limb_m(skeleton, end)
    shape = (bones[:-1] - bones[-1])[:, [0, 2]] / skeleton.hip_height_m
    least, chosen = min(
        (_matched(here, shape * scale, off, bending) for scale in SCALES), key=lambda item: item[0]
    )
    few = max(LEAST_BONES, min(len(shape), len(here)) - 1)
    is_folded = stretched(_to_toe(points)) < FOLDED_SHARE
    if is_folded or sum(bone >= 0 for bone in chosen) < few:  # few are alike: in order, then
        tries = (_matched(here, shape * scale, off, bending, IN_ORDER) for scale in SCALES)
        chosen = min(tries, key=lambda item: item[0])[1]
    return least, chosen


def _with_sling(words: list[str], top: str, here: Array) -> list[str]:
    """Of two joints at the top of a limb, let the upper be its sling and the lower turn the bone."""
    for above in range(len(words) - 1):
        pair = words[above : above + 2]
        apart = float(np.linalg.norm(here[above + 1] - here[above]))
        if sorted(pair) == sorted([top, FOLLOWS]) and apart < SLING_NEAR:
            return [*words[:above], SLING, top, *words[above + 2 :]]
    return words


def _off_line(points: Array) -> Array:
    """How far each joint of a limb is off the line between its neighbours, (joints,).

    The toe, at zero, is the neighbour of the last; the first is as far off as the next is away.
    """
    line = np.concatenate([points, np.zeros((1, points.shape[1]))])
    along = line[2:] - line[:-2]
    arm = line[1:-1] - line[:-2]
    square = np.maximum(np.sum(along**2, axis=1), 1e-12)
    share = np.clip(np.sum(arm * along, axis=1) / square, 0.0, 1.0)
    off = np.linalg.norm(arm - share[:, None] * along, axis=1)
    first = np.clip(np.linalg.norm(line[1] - line[0]), OFF_LINE, FAR_FIRST)
    return np.concatenate([[first], off])


def _bends_rad(points: Array) -> Array:
    """How far each joint but the first is bent, seen from the side: (joints - 1,); toe at 0. [rad]"""
    flat = np.append(points[:, 0] + 1j * points[:, 1], 0.0)
    side = np.diff(flat)
    return np.asarray(np.angle(side[1:] * np.conj(side[:-1])))


def _cosine(a: Array, b: Array) -> Array:
    """Cosine between vectors along the last axis; zero for none."""
    size = np.linalg.norm(a, axis=-1) * np.linalg.norm(b, axis=-1)
    return np.asarray(np.sum(a * b, axis=-1) / np.maximum(size, 1e-12))


def _is_bone(off_line: Array) -> Array:
    """How surely a joint is more than one for the twist of a bone, SKIP_TWIST_SHARE to 1."""
    return np.asarray(np.clip(off_line / OFF_LINE, SKIP_TWIST_SHARE, 1.0))


def _matched(
    here: Array, shape: Array, off_line: Array, bending: float, dearer: float = 1.0
) -> tuple[float, list[int]]:
    """Least cost and, for each joint, the row of its bone or -1; leaving out may be dearer."""
    joints, bones = len(here), len(shape)
    skip_bone = dearer * SKIP_BONE
    skip_joint = dearer * (SKIP_JOINT if joints > bones else SKIP_JOINT_OF_FEW) * _is_bone(off_line)
    skip_joint += dearer * SKIP_BEND * off_line
    before = np.concatenate([[0.0], np.cumsum(skip_joint)])  # of all joints above each
    sides = (here[:, None] - here)[None, None] - (shape[:, None] - shape)[:, :, None, None]
    apart = np.linalg.norm(sides, axis=-1)  # (bones, bones, joints, joints)
    own = np.diff(np.concatenate([shape, np.zeros((1, 2))]), axis=0)
    parted = np.subtract.outer(np.arange(bones), np.arange(bones)) > 1
    turned = 1.0 - _cosine(own[:, None, None], here[:, None] - here)
    apart += POINTING_WEIGHT * parted[..., None, None] * turned[None]
    place = HEIGHT_WEIGHT * np.abs(here[:, 1] - shape[:, 1, None])  # (bones, joints)
    place[1:, 1:] += bending * np.abs(_bends_rad(here) - _bends_rad(shape)[:, None])
    cost = np.full((bones, joints), np.inf)
    back: dict[tuple[int, int], tuple[int, int]] = {}
    for k in range(bones):
        for i in range(joints):
            cost[k, i] = skip_bone * k + before[i] + place[k, i]
            if not (k and i):
                continue
            skipped = dearer * SKIP_INNER_BONE * np.arange(k)[::-1, None] + (before[i] - before[1 : i + 1])
            total = cost[:k, :i] + skipped + apart[k, :k, i, :i] + place[k, i]
            best = int(total.argmin())
            if float(total.flat[best]) < cost[k, i] - 1e-12:
                cost[k, i] = float(total.flat[best])
                back[k, i] = (best // i, best % i)
    left_out = skip_bone * np.arange(bones)[::-1, None] + (before[-1] - before[1:])
    last = np.linalg.norm(here[None] - shape[:, None], axis=2)
    whole = cost + left_out + last
    k, i = (int(v) for v in np.unravel_index(int(np.argmin(whole)), whole.shape))
    least = float(whole[k, i])
    chosen = [-1] * joints
    at: tuple[int, int] | None = (k, i)
    while at is not None:
        chosen[at[1]] = at[0]
        at = back.get(at)
    return least, chosen
