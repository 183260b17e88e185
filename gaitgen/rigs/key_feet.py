"""Where the channels of a rig put its toes, and how far each channel can move them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.formats.bvh_file import placed
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.kinematics import fixed_points
from gaitgen.motion.toes import slopes_by_trying
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class RigFeet:
    """The feet of a rig; lengths in its unit."""

    rig: Rig

    def toes(self, table: Array) -> Array:
        """Follow a point of each last joint as far from it as the toe, (rows, 4, 3)."""
        return self._places(table)[1]

    def each_toe(self, tables: Array) -> Array:
        """Follow each toe through rows of its own, (4, rows, channels) to (rows, 4, 3)."""
        return np.stack([self.toes(table)[:, k] for k, table in enumerate(tables)], axis=1)

    def each_toe_and_slopes(self, tables: Array, own: list[Ints]) -> tuple[Array, list[Array]]:
        """Follow each toe, (rows, 4, 3), and find where channels of its leg take it; see `ToeFinder`."""
        return slopes_by_trying(self, tables, own)

    def toes_and_levers(self, table: Array, is_near: Bools) -> tuple[Array, Array]:
        """Follow the toes, and find how far one unit of each channel can move those (rows, 4) that count.

        Returns
        -------
        toes
            (rows, 4, 3)
        levers
            (rows, channels) distance of the toe from the joint, times a degree; zero where no toe that
            counts hangs from the joint. [unit of the rig per unit of the channel]
        """
        places, toes = self._places(table)
        file = self.rig.file
        of_joints = np.zeros(places.shape[1::-1])  # (joints, rows)
        carries = np.zeros(places.shape[1::-1])
        for k, limb in enumerate(LIMBS):
            joint = self.rig.joint(self.rig.map.limbs[limb].joints[-1])
            while joint >= 0:
                distance = np.linalg.norm(toes[:, k] - places[:, joint], axis=1) * is_near[:, k]
                of_joints[joint] = np.maximum(of_joints[joint], distance)
                carries[joint] = np.maximum(carries[joint], is_near[:, k])
                joint = int(file.parents[joint])
        levers = [
            carries[joint] if word.endswith("position") else np.radians(of_joints[joint])
            for joint, words in enumerate(file.channels)
            for word in words
        ]
        return toes, np.stack(levers, axis=1)

    def _places(self, table: Array) -> tuple[Array, Array]:
        """Place joints, (rows, joints, 3), and toes, (rows, 4, 3)."""
        places, world, _ = placed(replace(self.rig.file, rows=table))
        limbs = [self.rig.map.limbs[name] for name in LIMBS]
        lasts = [self.rig.joint(limb.joints[-1]) for limb in limbs]
        return places, fixed_points(places, world, lasts, [limb.toe for limb in limbs])
