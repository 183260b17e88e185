"""Legs of a rig that were moved whole in time: they turn as they did, joint by joint, some frames later."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaitgen.edits.late_legs import turned_later
from gaitgen.edits.moves import Moves
from gaitgen.edits.phase import timing_of
from gaitgen.edits.rig_edit import limb_rows, local_changes
from gaitgen.edits.rig_planting import toe_on, world_changes
from gaitgen.rigs.cycle import RigClip
from gaitgen.rigs.pose import Placed, with_goals


def with_late_legs(before: RigClip, after: RigClip, moves: Moves) -> RigClip:
    """Let the legs of a cycle that were moved whole turn as in another, as by hand, be it into the ground.

    Parameters
    ----------
    before, after
        A cycle on a rig, and the same with its steps at other times.
    moves
        By how many frames they were moved.
    """
    whole = np.flatnonzero(moves.is_whole & (moves.by[:, 0] != 0.0))
    if not whole.size:
        return after
    rig, motion = after.rig, after.motion
    parents, frames = rig.file.parents, timing_of(before.clip).frames
    local = local_changes(parents, motion.changes)
    own = local_changes(parents, before.motion.changes[:frames])
    repeated = np.arange(len(local)) % frames
    rows = limb_rows(rig)
    for limb in whole.tolist():
        leg = [joint for joint, row in rows.items() if row == limb]
        local[:, leg] = turned_later(own[:, leg], float(moves.by[limb, 0]))[repeated]
    changes = world_changes(parents, local)
    placed = Placed(motion.root_m, motion.moved_m)
    placed = Placed(motion.root_m, with_goals(rig, changes, placed))
    places = placed.paths_m(rig, changes)
    toes = np.stack([toe_on(rig, limb, places, changes) for limb in rig.limbs], axis=1)
    return replace(after, motion=replace(motion, changes=changes, moved_m=placed.moved_m, toes_m=toes))
