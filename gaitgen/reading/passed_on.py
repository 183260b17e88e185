"""What other packages add to a clip on its way: a name before every joint, joints above the root."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from gaitgen.errors import Notice
from gaitgen.formats.bvh_file import BvhFile, channel_columns, placed, rotation_letters
from gaitgen.numerics.rotations import channel_angles

SEPARATORS = ":|"  # between the name of a scene or of a rig and that of a joint
MOST_SHOWN = 3
POSITIONS = ("Xposition", "Yposition", "Zposition")


def as_it_was(file: BvhFile, roots: Collection[str]) -> tuple[BvhFile, tuple[Notice, ...]]:
    """Take off what was put before the names of all joints, and above the joint that is the root.

    Parameters
    ----------
    file
        What was read.
    roots
        Names that the root may have.

    Returns
    -------
    The file, as it is if nothing was added, and what is to be said.
    """
    file, notices = _without_prefix(file)
    found = [joint for joint, name in enumerate(file.joint_names) if name in roots]
    if len(found) != 1 or found[0] == 0 or len(rotation_letters(file, found[0])) != len(POSITIONS):
        return file, notices
    lower, left_out = _from(file, found[0])
    gone = ", ".join(left_out[:MOST_SHOWN]) + (", ..." if len(left_out) > MOST_SHOWN else "")
    text = f"what {file.joint_names[0]} carries is put into {lower.joint_names[0]}; left out: {gone}."
    return lower, (*notices, Notice("root", text))


def _without_prefix(file: BvhFile) -> tuple[BvhFile, tuple[Notice, ...]]:
    """Take off what stands before every name."""
    names = list(file.joint_names)
    for separator in SEPARATORS:
        short = [name.rpartition(separator)[2] for name in names]
        if all(separator in name for name in names) and len(set(short)) == len(short) and all(short):
            text = f"the names of joints are taken without {names[0].removesuffix(short[0])!r}."
            return replace(file, joint_names=tuple(short)), (Notice("names", text),)
    return file, ()


def _from(file: BvhFile, root: int) -> tuple[BvhFile, list[str]]:
    """Let a joint be the root, as it is placed in the world; return the joints that go with that, too."""
    kept = [root]
    for joint, parent in enumerate(file.parents.tolist()):  # parents stand before children
        if parent in kept and joint != root:
            kept.append(joint)
    row = {joint: k for k, joint in enumerate(kept)}
    places, world, _ = placed(file)
    letters = rotation_letters(file, root)
    columns = [columns for joint, columns in enumerate(_all_columns(file)) if joint in row and joint != root]
    below = file.rows[:, [column for own in columns for column in own]]
    angles = np.degrees(channel_angles(world[:, root], letters))
    ends = np.isin(file.end_joints, kept)
    offsets = file.offsets[kept].copy()
    offsets[0] = 0.0
    lower = replace(
        file,
        joint_names=tuple(file.joint_names[joint] for joint in kept),
        parents=np.array([-1, *(row[int(file.parents[joint])] for joint in kept[1:])], dtype=np.int64),
        offsets=offsets,
        end_joints=np.array([row[int(joint)] for joint in file.end_joints[ends]], dtype=np.int64),
        end_offsets=file.end_offsets[ends].copy(),
        channels=(
            (*POSITIONS, *(f"{letter}rotation" for letter in letters)),
            *(file.channels[joint] for joint in kept[1:]),
        ),
        rows=np.concatenate([places[:, root], angles, below], axis=1),
    )
    return lower, [name for joint, name in enumerate(file.joint_names) if joint not in row]


def _all_columns(file: BvhFile) -> list[list[int]]:
    positions, rotations = (channel_columns(file, kind) for kind in ("position", "rotation"))
    return [sorted(a + b) for a, b in zip(positions, rotations, strict=True)]
