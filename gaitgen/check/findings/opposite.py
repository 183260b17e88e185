"""Mates of joints on the other side: of the legs', also where they have other joints, and of all joints."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.check.seen import Seen
from gaitgen.gait.gait import LIMBS

Ints = npt.NDArray[np.int64]
Mates = tuple[int, ...]


def below(seen: Seen, top: int) -> list[int]:
    """Return a joint and all that hang on it, in the order of the file."""
    found = [top]
    for joint, parent in enumerate(seen.motion.file.parents.tolist()):
        if parent in found and joint not in found:
            found.append(joint)
    return found


@lru_cache(maxsize=4)  # asked for of many joints of one clip
def opposite(seen: Seen) -> dict[int, Mates]:
    """Return the joints that do, in the other leg of the pair, what each joint of a leg does.

    Of legs with as many joints, each its mate. Of others, by the bones that they turn: a joint that turns two
    bones in one has two mates, and one that turns none those of the joint above.
    """
    found: dict[int, Mates] = {}
    for pair in (LIMBS[:2], LIMBS[2:]):
        a, b = (below(seen, seen.motion.limb_joints(limb)[0]) for limb in pair)
        if len(a) == len(b):
            found |= {one: (other,) for one, other in zip(a, b, strict=True)}
            found |= {other: (one,) for one, other in zip(a, b, strict=True)}
            continue
        found |= _by_bones(seen, a, pair[0], pair[1])
        found |= _by_bones(seen, b, pair[1], pair[0])
    return found


def mates_of(seen: Seen) -> dict[int, int]:
    """Return the joint of the other side of each joint of a leg."""
    return {joint: mates[0] for joint, mates in opposite(seen).items()}


def mates_of_joints(seen: Seen) -> Ints:
    """Return for each joint its mate of the other side, itself where it has none.

    What hangs on a limb beside its joints, as helpers and tufts do, is the mate of what hangs there opposite.
    """
    motion = seen.motion
    mates = np.arange(len(motion.file.joint_names))
    pairs = [(motion.limb_joints(a), motion.limb_joints(b)) for a, b in (LIMBS[:2], LIMBS[2:])]
    ears = (motion.map.ear_left, motion.map.ear_right)
    if ears[0] and ears[1]:
        pairs.append(([motion.joint(ears[0])], [motion.joint(ears[1])]))
    for one, other in pairs:
        if len(one) == len(other):
            mates[one], mates[other] = other, one
    parents = np.asarray(motion.file.parents)
    for joint in range(len(parents)):  # a parent comes before its children
        one, other = (_without_mate(parents, mates, int(parent)) for parent in _pair(parents, mates, joint))
        if mates[joint] == joint and joint in one and len(one) == len(other):
            mates[joint], mates[other[one.index(joint)]] = other[one.index(joint)], joint
    return mates


def _pair(parents: Ints, mates: Ints, joint: int) -> tuple[int, int]:
    """Return the parent of a joint and that one's mate."""
    parent = int(parents[joint])
    return parent, int(mates[parent]) if parent >= 0 else parent


def _without_mate(parents: Ints, mates: Ints, parent: int) -> list[int]:
    """Return the children of one side's joint that have no mate, in the file's order."""
    if parent < 0 or mates[parent] == parent:
        return []
    return [int(k) for k in np.flatnonzero(parents == parent) if mates[k] == k]


def _by_bones(seen: Seen, leg: list[int], limb: str, mate: str) -> dict[int, Mates]:
    own, there = _places(seen, limb), _places(seen, mate)
    if not own or not there:
        return {}
    order = list(own)
    found: dict[int, Mates] = {}
    for k, joint in enumerate(order):
        least = own[order[k - 1]] if k else -1
        most = own[order[k + 1]] if k + 1 < len(order) else max(there.values()) + 1
        between = tuple(other for other, at in there.items() if least < at < most)
        found[joint] = between or (min(there, key=lambda other: abs(there[other] - own[joint])),)
    for joint in leg:  # from the top down
        above = int(seen.motion.file.parents[joint])
        found.setdefault(joint, found.get(above, found[order[0]]))
    return found


def _places(seen: Seen, limb: str) -> dict[int, int]:
    """Joints of a leg that turn bones, and which of the template's each turns, from the top."""
    own = seen.motion.map.limbs[limb]
    bones = seen.motion.template.bones("fore" if limb[1] == "F" else "hind")
    turning = zip(own.joints, own.bones, strict=True)
    return {seen.motion.joint(name): bones.index(bone) for name, bone in turning if bone in bones}
