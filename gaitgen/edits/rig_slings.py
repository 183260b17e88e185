"""Slings of legs of a rig that were moved in time: one that stayed behind follows its leg."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.check.tracked import Tracked
from gaitgen.edits.late_legs import turned_later
from gaitgen.edits.moves import Moves
from gaitgen.edits.phase import timing_of
from gaitgen.edits.rig_edit import arms_m, local_changes
from gaitgen.edits.rig_planting import toe_on, world_changes
from gaitgen.edits.slings_along import is_left_behind, slings_notice
from gaitgen.errors import Notice
from gaitgen.gait.gait import LIMBS
from gaitgen.rigs.cycle import RigClip
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]


def with_rig_slings_along(
    refined: Tracked, before: RigClip, moves: Moves
) -> tuple[Tracked, tuple[Notice, ...]]:
    """Move slings of a rig that stayed behind as late as their legs.

    Parameters
    ----------
    refined
        A clip on the rig that a hand changed; its strides are alike.
    before
        The cycle that it started from, with its legs moved already.
    moves
        By how many frames they were moved.

    Returns
    -------
    The clip with the slings moved, and which ones these are.
    """
    rig, frames = before.rig, timing_of(before.clip).frames
    parents = rig.file.parents
    local = local_changes(parents, refined.changes)
    there = local_changes(parents, before.motion.changes[:frames])
    repeated, names = np.arange(refined.frames) % frames, []
    for row in np.flatnonzero(moves.is_whole).tolist():
        limb = rig.limbs[row]
        if limb.sling is None:
            continue
        joint = limb.joints[limb.sling]
        own = local[:frames, [joint]]
        along = turned_later(own, float(moves.by[row, 0]))
        if is_left_behind(own, along, there[:, [joint]]):
            local[:, joint] = along[repeated, 0]
            names.append(f"{rig.file.joint_names[joint]} of {LIMBS[row]}")
    if not names:
        return refined, ()
    return _turned(refined, rig, local), (slings_notice(names),)


def _turned(motion: Tracked, rig: Rig, local: Array) -> Tracked:
    """Return a clip on a rig with other turns of its joints against those above."""
    parents = rig.file.parents
    changes, arms, places = world_changes(parents, local), arms_m(motion, parents), motion.places_m.copy()
    for joint, parent in enumerate(parents.tolist()):
        if parent >= 0:
            places[:, joint] = places[:, parent] + (changes[:, parent] @ arms[:, joint, :, None])[..., 0]
    toes = np.stack([toe_on(rig, limb, places, changes) for limb in rig.limbs], axis=1)
    return replace(motion, changes=changes, places_m=places, toes_m=toes)
