"""Writes BVH in the one profile that independent readers agree on.

BVH has no standard. The profile: ASCII, LF, single spaces (tabs indent), one root with a zero OFFSET and
six channels, three rotations for every other joint, an End Site on every leaf, six decimals.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.errors import FileFormatError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.decimals import table_text, triple_texts
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import quaternion_angles

Array = npt.NDArray[np.float64]

POSITION_WORDS = ("Xposition", "Yposition", "Zposition")
_NAME = re.compile(r"[A-Za-z0-9_]+", re.ASCII)


@lru_cache(maxsize=16)
def depth_first(animal: Animal) -> tuple[int, ...]:
    """Order joints as the file nests them: a joint, then the whole of each of its branches.

    Returns
    -------
    Indices into ``animal.joint_names``; branches of one joint keep the animal's order.

    Raises
    ------
    FileFormatError
        If not every joint hangs from the first one, or a name is used twice or has a character other
        than A to Z, a to z, 0 to 9 and the underscore.
    """
    names = animal.joint_names
    for name in names:
        if _NAME.fullmatch(name) is None:
            message = (
                f"joint name {name!r} of {animal.name} cannot be written to BVH; "
                "use only A to Z, a to z, 0 to 9 and _"
            )
            raise FileFormatError(message)
        if names.count(name) > 1:
            raise FileFormatError(f"{animal.name} has two joints named {name!r}; give each its own name")
    children: list[list[int]] = [[] for _ in names]
    for joint, parent in enumerate(animal.parents.tolist()):
        if parent >= 0:
            children[parent].append(joint)
    order: list[int] = []
    waiting = [0]
    while waiting:
        order.append(waiting.pop())
        waiting.extend(reversed(children[order[-1]]))
    if len(order) != len(names):
        stray = next(name for joint, name in enumerate(names) if joint not in order)
        message = f"joint {stray!r} of {animal.name} does not hang from {names[0]!r}; give it a parent"
        raise FileFormatError(message)
    return tuple(order)


def _rotation_words(space: FileSpace) -> tuple[str, ...]:
    return tuple(f"{letter}rotation" for letter in space.rotation_order)


class ChannelTable(NamedTuple):
    """One column a channel: (channels,) names and (frames, channels) values."""

    names: tuple[str, ...]
    values: Array


def channel_table(clip: Motion, space: FileSpace) -> ChannelTable:
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
    animal = clip.animal
    order = depth_first(animal)
    words = _rotation_words(space)
    root = animal.joint_names[order[0]]
    names = [f"{root}.{word}" for word in POSITION_WORDS]
    names += [f"{animal.joint_names[joint]}.{word}" for joint in order for word in words]
    rotations = space.quaternions_to_file(clip.rotations[:, list(order)])
    angles_deg = np.degrees(quaternion_angles(rotations, space.rotation_order))  # (frames, joints, 3)
    positions = space.positions_to_file(clip.root_path_m)
    values = np.concatenate([positions, angles_deg.reshape(clip.frames, 3 * len(order))], axis=1)
    return ChannelTable(tuple(names), values)


@lru_cache(maxsize=16)
def _hierarchy(animal: Animal, space: FileSpace) -> str:
    """Print the joint tree; joint frames are the world's when standing, so offsets need no turning."""
    names, parents = animal.joint_names, animal.parents.tolist()
    is_root, is_leaf = animal.parents < 0, ~np.isin(np.arange(len(names)), parents)
    steps = np.where(is_root[:, None], 0.0, space.positions_to_file(animal.offsets_m))
    ends = np.where(is_leaf[:, None], space.positions_to_file(animal.tips_m), 0.0)
    offsets = triple_texts(steps, [f"offset of {name}" for name in names])
    tips = triple_texts(ends, [f"tip of {name}" for name in names])
    rotations = " ".join(_rotation_words(space))
    depths = [0] * len(names)
    lines, depth = ["HIERARCHY"], -1
    for joint in depth_first(animal):
        deeper = 0 if is_root[joint] else depths[parents[joint]] + 1
        lines += _closed(depth, deeper)
        depth = depths[joint] = deeper
        tab, inner = "\t" * depth, "\t" * (depth + 1)
        channels = f"6 {' '.join(POSITION_WORDS)} {rotations}" if is_root[joint] else f"3 {rotations}"
        lines += [f"{tab}{'ROOT' if is_root[joint] else 'JOINT'} {names[joint]}", f"{tab}{{"]
        lines += [f"{inner}OFFSET {offsets[joint]}", f"{inner}CHANNELS {channels}"]
        if is_leaf[joint]:
            lines += [f"{inner}End Site", f"{inner}{{", f"{inner}\tOFFSET {tips[joint]}", f"{inner}}}"]
    return "\n".join([*lines, *_closed(depth, 0)]) + "\n"


def _closed(depth: int, next_depth: int) -> list[str]:
    """Close the braces of joints at some depth and above it, before a joint at the next depth."""
    return ["\t" * level + "}" for level in range(depth, next_depth - 1, -1)]


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
    return above_rows(clip, space) + table_text(values, names)


def above_rows(clip: Motion, space: FileSpace) -> bytes:
    """Print what stands above the rows of numbers: the joint tree, the number of frames, the frame time.

    Raises
    ------
    FileFormatError
        If a joint's name cannot be written, or an offset is not finite.
    """
    motion = f"MOTION\nFrames: {clip.frames}\nFrame Time: {1.0 / clip.frame_rate_hz:.8f}\n"
    return (_hierarchy(clip.animal, space) + motion).encode("ascii")
