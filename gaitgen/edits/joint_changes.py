"""Which joints a hand changed, by how much, and what of that is in another clip."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.motion.tolerance import Tolerance

Array = npt.NDArray[np.float64]

LEAST_DEG = 0.05  # a smaller change is not reported
# A clip that is played from its keys is everywhere a little off the one that these were fitted to: by up to
# the tolerance of the keys, and where its legs are carried by up to twice that. Most joints then are; where a
# hand turns joints by as little, few are (estimate).
OF_KEYS_DEG, CARRIED_TIMES, MOST = Tolerance().angle_deg, 2.0, 0.4


@dataclass(frozen=True)
class JointChange:
    """How far one joint was turned by hand, how far in the carried clip, and in which frames most.

    Beside its name on the animal those of the rigs that the clips are on, if they have it.
    """

    joint: str
    changed_deg: float
    changed_at: int
    carried_deg: float
    carried_at: int
    changed_joint: str | None = None
    carried_joint: str | None = None

    @classmethod
    def of(
        cls, joint: str, by_hand_rad: Array, carried_rad: Array, *rig_names: str | None
    ) -> JointChange | None:
        """Compare how a joint was turned and is, (frames, 3) [rad]; None if it hardly was and is."""
        there, here = (np.degrees(np.linalg.norm(each, axis=1)) for each in (by_hand_rad, carried_rad))
        if max(there.max(), here.max()) < LEAST_DEG:
            return None
        at = int(there.argmax()) + 1, int(here.argmax()) + 1
        return cls(joint, float(there.max()), at[0], float(here.max()), at[1], *rig_names)

    @property
    def label(self) -> str:
        """Name it as the hand knows it, and as it is in the new clip where that is another."""
        there, here = self.changed_joint or self.joint, self.carried_joint or self.joint
        return there if there == here else f"{there} > {here}"


def joint_lines(joints: Sequence[JointChange]) -> list[str]:
    """Write how far joints were turned by hand, and are in the new clip, for people."""
    if not joints:
        return []
    wide = max(18, *(len(j.label) + 1 for j in joints))
    head = f"  {'joint':<{wide}}{'changed':>9}{'at':>5}{'carried':>10}{'at':>5}   degrees, frame"
    rows = [
        f"  {j.label:<{wide}}{j.changed_deg:9.1f}{j.changed_at:5d}{j.carried_deg:10.1f}{j.carried_at:5d}"
        for j in joints
    ]
    return ["", head, *rows]


def touched(
    changes: Sequence[JointChange], joints: int
) -> tuple[tuple[JointChange, ...], tuple[JointChange, ...]]:
    """Part the joints that a hand turned from those that are off by no more than keys are.

    Parameters
    ----------
    changes
        Of the joints that are off at all.
    joints
        How many joints there are; where few are off by so little, a hand may have turned them.

    Returns
    -------
    Those that were turned, and the others; none of the latter in a clip that no keys were played on.
    """
    off = [
        change.changed_deg <= OF_KEYS_DEG and change.carried_deg <= CARRIED_TIMES * OF_KEYS_DEG
        for change in changes
    ]
    if sum(LEAST_DEG <= change.changed_deg <= OF_KEYS_DEG for change in changes) < MOST * joints:
        return tuple(changes), ()
    parted = zip(changes, off, strict=True)
    sides: tuple[list[JointChange], list[JointChange]] = [], []
    for change, is_off in parted:
        sides[is_off].append(change)
    return tuple(sides[0]), tuple(sides[1])


def others_line(others: Sequence[JointChange]) -> list[str]:
    """Say of how many joints nothing is said, and by how much they are off at the most."""
    if not others:
        return []
    most = max(change.changed_deg for change in others)
    return [f"  and {len(others)} joints by up to {most:.1f}, as a clip is off that is played from its keys"]
