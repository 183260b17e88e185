"""How a rig stands: its plane of symmetry, which way is up and forward, and its four feet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
import numpy.typing as npt

from gaitgen.rigs.nodes import Nodes, NotStandingError, common_joint
from gaitgen.rigs.other_limbs import without_other_limbs
from gaitgen.rigs.rig_map import UPS

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

MIRROR_SHARE = 0.025  # of the rig's size: how far a point may be from its mirror image
FLAT_SHARE = 0.3  # of that: how far a point on the plane of symmetry may be from it
LEAST_MIRRORED = 0.7  # share of points that must have a mirror image
LOW_SHARE = 0.08  # of the rig's height: how far over the ground a foot's end may be
TOUCH_SHARE = 0.02  # ... where more than four ends are as low
RISE_SHARE = 0.2  # ... and how far over it a leg begins, which a helper on the ground does not
MOST_AXES = 40
# Directions aside are between joints as long, of a parent's first so many; so near another it is the same.
ALIKE_SHARE, FIRST_CHILDREN, SAME_COSINE = 0.02, 20, 0.9999
LEVEL_COSINE = 0.02  # of the angle between up and right: a rig stands square to an axis of its file
FLAT_HEIGHT = 0.08  # of the rig's size: what is lower is flat
ASIDE_SHARE = 0.4  # of how far a mirror image may be off: the least that a foot is aside of the middle
SAME_FOOT, TRUNK_SHARE = 0.2, 0.2  # of the rig's height: fore and aft of ends of one foot; what carries legs
NEAR_AXIS_RAD = np.radians(1.0)  # off an axis of its file: a rig put together by hand faces along that axis
# ... and one that is off by up to this where its left and right disagree by more than that (estimates).
LOPSIDED_RAD, AGREED_RAD = np.radians(3.0), np.radians(0.2)
LEAST_JOINTS = 2  # of a leg


@dataclass(frozen=True, eq=False)
class Stance:
    """A standing quadruped.

    Attributes
    ----------
    up
        One of UPS.
    axes
        (3, 3) rows forward, left, up in the file's axes; forward is a guess of sign only.
    middle
        Place of the plane of symmetry along left.
    ground
        Height of the ground.
    mates
        (nodes,) mirror image of each node, itself on the plane, -1 for none.
    feet
        Leaf nodes: (left, right) of the pair with the lower forward coordinate, then of the other.
    is_askew
        Whether left and right do not agree on which way is left.
    """

    up: str
    axes: Array
    middle: float
    ground: float
    mates: Ints
    feet: tuple[tuple[list[int], list[int]], tuple[list[int], list[int]]]
    is_askew: bool = False

    def here(self, nodes: Nodes) -> Array:
        """Place all nodes, (nodes, 3): forward, left of the plane of symmetry, up from the ground."""
        return np.asarray(nodes.places @ self.axes.T - [0.0, self.middle, self.ground])


def find_stance(nodes: Nodes) -> Stance:
    """Find plane, up and feet of a standing rig.

    Raises
    ------
    NotStandingError
        If the pose has no plane of symmetry, is flat, or does not stand on four feet.
    """
    if nodes.size <= 0.0:
        raise NotStandingError(0, "all joints are at one point")
    found: list[tuple[tuple[bool, float], Stance]] = []
    faults: list[NotStandingError] = []
    for lateral in _lateral_axes(nodes):
        try:
            middle, mates, share = _mirrored(nodes, lateral)
        except NotStandingError as fault:
            faults.append(fault)
            continue
        for up in UPS:
            try:
                stance = _standing(nodes, lateral, up, middle, mates)
            except NotStandingError as fault:
                faults.append(fault)
                continue
            narrow = float(np.abs(nodes.places @ stance.axes[1] - middle).mean()) / nodes.size
            found.append(((_on_legs(nodes, stance), round(share, 1) - narrow), stance))
    if found:
        return _refined(nodes, max(found, key=lambda item: item[0])[1])
    raise max(faults, key=lambda fault: fault.rank)


def _on_legs(nodes: Nodes, stance: Stance) -> bool:
    """Tell whether each foot is at the end of a row of joints, and not a helper beside the trunk."""
    for left, right in stance.feet:
        carrier = common_joint(nodes, [*left, *right])
        for foot in (left, right):
            line = max((nodes.line(leaf) for leaf in foot), key=len)
            own = [node for node in line[: line.index(carrier)] if node < len(nodes.names)]
            if len(own) < LEAST_JOINTS:
                return False
    return True


def _refined(nodes: Nodes, stance: Stance) -> Stance:
    """Point left as most lines between mirror images do, if the feet stay what they are.

    One foot that is put ahead of its mate turns nothing. Near an axis of the file it is that axis, unless all
    lines agree that the rig is turned.
    """
    apart = nodes.places - nodes.places[np.maximum(stance.mates, 0)]
    own = np.arange(len(stance.mates))
    paired = (stance.mates >= 0) & (stance.mates != own) & (stance.mates[stance.mates] == own)
    forward, left = stance.axes[:2]
    across, ahead = apart[paired] @ left, apart[paired] @ forward
    if not paired.any() or not np.abs(across).any():
        return stance
    angles, weights = np.arctan(ahead / np.where(across == 0.0, np.inf, across)), np.abs(across)
    angle, spread = _middle_of(angles, weights)
    lateral = np.cos(angle) * left + np.sin(angle) * forward
    straight = np.round(lateral)
    off = float(np.linalg.norm(lateral - straight))
    if off < NEAR_AXIS_RAD or (off < LOPSIDED_RAD and spread > AGREED_RAD):
        lateral = straight
    try:
        middle, mates, _ = _mirrored(nodes, lateral)
        refined = _standing(nodes, lateral, stance.up, middle, mates)
    except NotStandingError:
        return stance
    is_axis = bool((lateral == np.round(lateral)).all())
    return replace(refined, is_askew=not is_axis and spread > AGREED_RAD)


def _middle_of(angles: Array, weights: Array) -> tuple[float, float]:
    """Mean of angles about their median, and half the range of the middle half of the weights. [rad]"""
    order = np.argsort(angles)
    share = np.cumsum(weights[order]) / weights.sum()
    low, middle, high = (float(angles[order][int(np.searchsorted(share, at))]) for at in (0.25, 0.5, 0.75))
    about = weights * (np.abs(angles - middle) < AGREED_RAD)
    return float((angles * about).sum() / about.sum()), (high - low) / 2.0


def _lateral_axes(nodes: Nodes) -> list[Array]:
    """Directions that may lead from right to left: between siblings of one length, then the file's axes."""
    axes = list(np.eye(3))
    offsets = nodes.places - nodes.places[np.maximum(nodes.parents, 0)]
    lengths = np.linalg.norm(offsets, axis=1)
    for parent in np.unique(nodes.parents[nodes.parents >= 0]):
        for a, b in combinations(nodes.children(int(parent))[:FIRST_CHILDREN], 2):
            apart = nodes.places[a] - nodes.places[b]
            far = float(np.linalg.norm(apart))
            alike = abs(lengths[a] - lengths[b]) < ALIKE_SHARE * lengths[a]
            if far > MIRROR_SHARE * nodes.size and alike and len(axes) < MOST_AXES:
                axis = apart / far
                if all(abs(float(axis @ other)) < SAME_COSINE for other in axes):
                    axes.append(axis)
    return axes


def _mirrored(nodes: Nodes, lateral: Array) -> tuple[float, Ints, float]:
    """Middle of the plane, mirror image of each node, and the share that has one."""
    across = nodes.places @ lateral
    near = MIRROR_SHARE * nodes.size
    if np.ptp(across) < 2.0 * near:
        raise NotStandingError(1, "the rig is flat: its left and right limbs are in one plane")
    from scipy.spatial import KDTree

    tree = KDTree(nodes.places)
    best: tuple[float, float, Ints] | None = None
    for middle in (float(np.median(across)), float(across[0]), float(across.max() + across.min()) / 2.0):
        image = nodes.places - 2.0 * (across - middle)[:, None] * lateral
        far, nearest = tree.query(image)
        mates = np.where(far < near, nearest, -1)
        mates = np.where(np.abs(across - middle) < FLAT_SHARE * near, np.arange(len(mates)), mates)
        share = float((mates >= 0).mean())
        if best is None or share > best[0]:
            best = (share, middle, mates)
    assert best is not None  # noqa: S101
    share, middle, mates = best
    if share < LEAST_MIRRORED:
        raise NotStandingError(
            1, f"its left and right do not mirror each other (at best {100 * share:.0f} % of the joints do)"
        )
    return middle, mates, share


def _standing(nodes: Nodes, lateral: Array, up: str, middle: float, mates: Ints) -> Stance:
    upward = np.zeros(3)
    upward["xyz".index(up[-1])] = -1.0 if up.startswith("-") else 1.0
    if abs(float(upward @ lateral)) > LEVEL_COSINE:
        raise NotStandingError(0, "no axis of the file points up")
    forward = np.cross(lateral, upward)
    height = nodes.places @ upward
    tall = float(np.ptp(height))
    if tall < FLAT_HEIGHT * nodes.size:
        raise NotStandingError(2, "the rig is flat: it has no height over the ground")
    leaves, across = nodes.leaves(), nodes.places @ lateral - middle
    aside = np.abs(across) > ASIDE_SHARE * MIRROR_SHARE * nodes.size
    ground = float(height[leaves[aside[leaves]]].min()) if aside[leaves].any() else float(height.min())
    low = [int(leaf) for leaf in leaves if aside[leaf] and height[leaf] < ground + LOW_SHARE * tall]
    low = [leaf for leaf in low if height[nodes.line(leaf)].max() > ground + RISE_SHARE * tall]
    along = nodes.places @ forward
    halves = ([leaf for leaf in low if side * across[leaf] > 0] for side in (1, -1))
    feet = [_clusters(half, along, SAME_FOOT * tall) for half in halves]
    sides = [_of_limbs(nodes, without_other_limbs(nodes, each, aside, along), aside) for each in feet]
    pairs = _on_ground(_paired(sides, along, SAME_FOOT * tall), height - ground, tall)
    if len(pairs) != 2:
        legs = sum(map(len, sides))
        one = "only two legs reach the ground"
        if legs > 2:
            one = f"{legs} legs reach the ground, and only two of them are a pair, left and right"
        words = {0: "no pair of feet", 1: one}
        text = words.get(len(pairs), f"{2 * len(pairs)} legs reach the ground, not four")
        raise NotStandingError(2 + min(len(pairs), 2), text)
    for left, right in pairs:
        carrier = common_joint(nodes, [*left, *right])
        if height[carrier] - ground < TRUNK_SHARE * tall:
            raise NotStandingError(2, "the trunk lies on the ground")
    if float(height.min()) < ground - 0.5 * tall:
        raise NotStandingError(2, "the feet are not at the bottom of the rig")
    axes = np.stack([forward, lateral, upward])
    return Stance(up, axes, middle, ground, mates, (pairs[0], pairs[1]))


def _clusters(leaves: Sequence[int], along: Array, gap: float) -> list[list[int]]:
    """Group the ends of one side into feet."""
    groups: list[list[int]] = []
    for leaf in sorted(leaves, key=lambda node: float(along[node])):
        if groups and along[leaf] - along[groups[-1][-1]] < gap:
            groups[-1].append(leaf)
        else:
            groups.append([leaf])
    return groups


def _of_limbs(nodes: Nodes, feet: list[list[int]], aside: npt.NDArray[np.bool_]) -> list[list[int]]:
    """Put ends that are far from one another but hang on one limb, as heel and toes do, into one foot."""
    found: list[list[int]] = []
    for foot in feet:
        if found and aside[common_joint(nodes, [*found[-1], *foot])]:
            found[-1] = [*found[-1], *foot]
        else:
            found.append(foot)
    return found


def _paired(sides: list[list[list[int]]], along: Array, gap: float) -> list[tuple[list[int], list[int]]]:
    """Match left feet with right ones, from the rear of ``along`` to its front."""
    pairs, free = [], list(sides[1])
    for left in sides[0]:
        place = float(along[left].mean())
        near = min(free, key=lambda right: abs(float(along[right].mean()) - place), default=None)
        if near is not None and abs(float(along[near].mean()) - place) < gap:
            free.remove(near)
            pairs.append((left, near))
    return pairs


def _on_ground(
    pairs: list[tuple[list[int], list[int]]], over: Array, tall: float
) -> list[tuple[list[int], list[int]]]:
    """Of more than two pairs take those that touch the ground: a wing's tip, say, only hangs near it."""
    if len(pairs) < 3:
        return pairs
    return [pair for pair in pairs if all(float(over[foot].min()) < TOUCH_SHARE * tall for foot in pair)]
