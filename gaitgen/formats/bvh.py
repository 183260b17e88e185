"""Writes BVH in the one profile that independent readers agree on.

BVH has no standard. The profile: ASCII, LF, single spaces (tabs indent), one root with a zero OFFSET and
six channels, three rotations for every other joint, an End Site on every leaf, six decimals.
"""

from __future__ import annotations

import re

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.errors import FileFormatError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.decimals import table_text, triple_text
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import channel_angles, matrix_from_quaternion

Array = npt.NDArray[np.float64]

POSITION_WORDS = ("Xposition", "Yposition", "Zposition")
_NAME = re.compile(r"[A-Za-z0-9_]+", re.ASCII)


def depth_first(skeleton: Animal) -> tuple[int, ...]:
    """Order joints as the file nests them: a joint, then the whole of each of its branches.

    Returns
    -------
    Indices into ``skeleton.joint_names``; branches of one joint keep the skeleton's order.

    Raises
    ------
    FileFormatError
        If not every joint hangs from the first one, or a name is used twice or has a character other
        than A to Z, a to z, 0 to 9 and the underscore.
    """
    names = skeleton.joint_names
    for name in names:
        if _NAME.fullmatch(name) is None:
            message = (
                f"joint name {name!r} of {skeleton.name} cannot be written to BVH; "
                "use only A to Z, a to z, 0 to 9 and _"
            )
            raise FileFormatError(message)
        if names.count(name) > 1:
            raise FileFormatError(f"{skeleton.name} has two joints named {name!r}; give each its own name")
    children: list[list[int]] = [[] for _ in names]
    for joint, parent in enumerate(skeleton.parents.tolist()):
        if parent >= 0:
            children[parent].append(joint)
    order: list[int] = []
    waiting = [0]
    while waiting:
        order.append(waiting.pop())
        waiting.extend(reversed(children[order[-1]]))
    if len(order) != len(names):
        stray = next(name for joint, name in enumerate(names) if joint not in order)
        message = f"joint {stray!r} of {skeleton.name} does not hang from {names[0]!r}; give it a parent"
        raise FileFormatError(message)
    return tuple(order)


def _rotation_words(space: FileSpace) -> tuple[str, ...]:
    return tuple(f"{letter}rotation" for letter in space.rotation_order)


def channel_table(clip: Motion, space: FileSpace) -> tuple[tuple[str, ...], Array]:
    """Lay the motion out as one column a channel.

    Parameters
    ----------
    clip
        The motion.
    space
        Unit, axes and rotation order.

    Returns
    -------
    names
        ``pelvis.Xposition``, ..., in the order of the file.
    values
        (frames, channels) positions in the file's unit, angles in degrees.

    Raises
    ------
    FileFormatError
        If the joints cannot be written (see depth_first).
    """
    skeleton = clip.skeleton
    order = depth_first(skeleton)
    words = _rotation_words(space)
    root = skeleton.joint_names[order[0]]
    names = [f"{root}.{word}" for word in POSITION_WORDS]
    names += [f"{skeleton.joint_names[joint]}.{word}" for joint in order for word in words]
    matrices = space.rotations_to_file(matrix_from_quaternion(clip.rotations[:, list(order)]))
    angles_deg = np.degrees(channel_angles(matrices, space.rotation_order))  # (frames, joints, 3)
    positions = space.positions_to_file(clip.root_path_m)
    return tuple(names), np.concatenate([positions, angles_deg.reshape(clip.frames, 3 * len(order))], axis=1)


def _hierarchy(skeleton: Animal, space: FileSpace) -> str:
    """Print the joint tree; joint frames are the world's when standing, so offsets need no turning."""
    order = depth_first(skeleton)
    parents = skeleton.parents.tolist()
    offsets = space.positions_to_file(skeleton.offsets_m)
    tips = space.positions_to_file(skeleton.tips_m)
    rotations = " ".join(_rotation_words(space))
    depths = [0] * len(order)
    lines = ["HIERARCHY"]
    for position, joint in enumerate(order):
        name = skeleton.joint_names[joint]
        is_root = parents[joint] < 0
        depth = depths[joint] = 0 if is_root else depths[parents[joint]] + 1
        tab, inner = "\t" * depth, "\t" * (depth + 1)
        offset = np.zeros(3) if is_root else offsets[joint]
        channels = f"6 {' '.join(POSITION_WORDS)} {rotations}" if is_root else f"3 {rotations}"
        lines += [f"{tab}{'ROOT' if is_root else 'JOINT'} {name}", f"{tab}{{"]
        lines += [f"{inner}OFFSET {triple_text(offset, f'offset of {name}')}", f"{inner}CHANNELS {channels}"]
        if joint not in parents:
            lines += [f"{inner}End Site", f"{inner}{{"]
            lines += [f"{inner}\tOFFSET {triple_text(tips[joint], f'tip of {name}')}", f"{inner}}}"]
        follower = order[position + 1] if position + 1 < len(order) else -1
        next_depth = 0 if follower < 0 else depths[parents[follower]] + 1
        lines += ["\t" * level + "}" for level in range(depth, next_depth - 1, -1)]
    return "\n".join(lines) + "\n"


def encode(clip: Motion, space: FileSpace) -> bytes:
    """Write a clip as BVH.

    Parameters
    ----------
    clip
        The motion.
    space
        Unit, axes and rotation order.

    Returns
    -------
    bytes
        The whole file; the same clip always gives the same bytes.

    Raises
    ------
    FileFormatError
        If a joint's name cannot be written, or a number is not finite.
    """
    names, values = channel_table(clip, space)
    motion = f"MOTION\nFrames: {clip.frames}\nFrame Time: {1.0 / clip.frame_rate_hz:.8f}\n"
    head = _hierarchy(clip.skeleton, space) + motion
    return head.encode("ascii") + table_text(values, names)
