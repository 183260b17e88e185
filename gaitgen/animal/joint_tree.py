"""The arrays of a joint tree, with the pairs written out."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from gaitgen.animal.joint_tables import Joint
from gaitgen.numerics.rotations import MIRROR_PLACE

Array = npt.NDArray[np.float64]


class JointTree:
    """Arrays of a tree with the pairs written out, left then right."""

    def __init__(self, joints: list[Joint]) -> None:
        by_name = {joint.name: joint for joint in joints}
        entries = [(j, side) for j in joints for side in (("_L", "_R") if j.paired else ("",))]
        self.names = tuple(joint.name + side for joint, side in entries)
        self.index = {name: i for i, name in enumerate(self.names)}
        self.parents = np.array([self._parent(joint, side, by_name) for joint, side in entries])
        flips = np.array([MIRROR_PLACE if side == "_R" else np.ones(3) for _, side in entries])
        self.tips_m = flips * np.array([joint.bone_m for joint, _ in entries])
        self.offsets_m = flips * np.array([joint.offset_m for joint, _ in entries])
        for row, (joint, _) in enumerate(entries):
            if joint.at_tip:
                self.offsets_m[row] += self.tips_m[self.parents[row]]
        self.mass_centres_m = flips * np.array([joint.mass_centre_m for joint, _ in entries])
        masses = np.array([joint.mass for joint, _ in entries])
        if masses.sum() <= 0.0:
            raise joints[0].table.fail("mass_percent and all others are 0; the body needs a mass")
        self.mass_shares = masses / masses.sum()
        self.radii_m = np.array([joint.radius_m for joint, _ in entries])
        self._entries, self._by_name = entries, by_name
        self.standing_rad = np.full(len(entries), np.nan)
        self.angle_signs = np.array([j.angle_sign if j.angle_rad else np.nan for j, _ in entries])
        self.angle_names = tuple(joint.angle_name for joint, _ in entries)
        self.angle_also = {joint.angle_name: joint.angle_also for joint, _ in entries if joint.angle_also}

    def _parent(self, joint: Joint, side: str, by_name: Mapping[str, Joint]) -> int:
        if joint.parent is None:
            return -1
        return self.index[joint.parent + (side if by_name[joint.parent].paired else "")]

    def ranges_rad(self, landmarks_m: Mapping[str, tuple[str, tuple[float, float, float]]]) -> Array:
        """Return the ranges (joints, 3, 2); those given as included angles are turned into pitch. [rad]

        ``landmarks_m`` are the named points that an angle may be measured from, on the parent.
        """
        ranges = np.zeros((len(self._entries), 3, 2))
        for row, (joint, side) in enumerate(self._entries):
            for axis, key in enumerate(("pitch", "roll", "yaw")):
                if key in joint.turns_rad:
                    low, high = joint.turns_rad[key]
                    swapped = side == "_R" and key != "pitch"
                    ranges[row, axis] = (-high, -low) if swapped else (low, high)
            if joint.angle_rad is not None:
                standing = self._standing_angle(joint, landmarks_m)
                self.standing_rad[row] = standing
                if not joint.angle_rad[0] <= standing <= joint.angle_rad[1]:
                    low_deg, high_deg = np.degrees(joint.angle_rad)
                    raise joint.table.fail(
                        f"stands at {np.degrees(standing):.1f} degrees, outside angle_deg "
                        f"[{low_deg:g}, {high_deg:g}]; widen it or turn the bone"
                    )
                ends = joint.angle_sign * (np.array(joint.angle_rad) - standing)
                ranges[row, 0] = ends.min(), ends.max()
        return ranges

    def _standing_angle(
        self, joint: Joint, landmarks_m: Mapping[str, tuple[str, tuple[float, float, float]]]
    ) -> float:
        parent = self._by_name[joint.parent or self.names[0]]
        if joint.angle_from is None:
            bend = joint.angle_sign * (joint.direction_rad - parent.direction_rad)
            return float(np.pi + (bend + np.pi) % (2.0 * np.pi) - np.pi)
        at, offset = landmarks_m.get(joint.angle_from, ("", (0.0, 0.0, 0.0)))
        if at != parent.name:
            raise joint.table.fail(
                f"angle_from {joint.angle_from!r} is no landmark on {parent.name}; name one"
            )
        line = np.array(offset) - joint.offset_m
        between = float(np.arctan2(line[2], line[0])) - joint.direction_rad
        return float(-joint.angle_sign * between % (2.0 * np.pi))
