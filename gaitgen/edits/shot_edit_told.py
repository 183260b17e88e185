"""What was taken over of a shot that was changed by hand: joint by joint, the body, prints, what was held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from gaitgen.course.steps import Steps
from gaitgen.edits.carried_file import LEAST_MM
from gaitgen.edits.joint_changes import JointChange, joint_lines, touched
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.motion import Motion

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class PrintMoved:
    """A print that a hand moved: foot, frame of its contact, from 1, and how far. [m]"""

    foot: str
    contact_frame: float
    moved_m: float


@dataclass(frozen=True)
class ShotEditTold:
    """An edit of a shot, and what of it is in the new one.

    Attributes
    ----------
    file
        The clip that was changed.
    joints
        How far each was turned, and is in the new clip.
    root_moved_m, root_carried_m
        How far the root was moved at the most, and is. [m]
    prints
        Those that were moved.
    trunk_lowered_m
        How far the trunk is lowered, so that legs reach. [m]
    trunk_share, limb_share
        How much of the edit of trunk and legs is carried.
    largest_slip_m
        How far planted toes are from their prints at the most. [m]
    """

    file: str
    joints: tuple[JointChange, ...]
    root_moved_m: float
    root_carried_m: float
    prints: tuple[PrintMoved, ...]
    trunk_lowered_m: float
    trunk_share: float
    limb_share: float
    largest_slip_m: float

    def text(self) -> str:
        """Write it for people."""
        lines = [f"{self.file}: what was changed by hand, and what of it is in this shot"]
        lines += joint_lines(self.joints)
        moved, carried = (1000.0 * each for each in (self.root_moved_m, self.root_carried_m))
        lines += ["", f"  body moved    {moved:.0f} mm, carried {carried:.0f} mm"]
        farthest = {each.foot: each for each in sorted(self.prints, key=lambda each: each.moved_m)}
        told = [
            f"{foot} {1000.0 * farthest[foot].moved_m:.0f} mm at frame {farthest[foot].contact_frame:.0f}"
            for foot in LIMBS
            if foot in farthest
        ]
        many = f" (the farthest of {len(self.prints)})" if len(self.prints) > len(told) else ""
        lines.append(f"  prints moved  {', '.join(told) or 'none'}{many}")
        trunk, legs = (f"{100 * share:.0f} %" for share in (self.trunk_share, self.limb_share))
        lowered = f"the trunk lowered by {1000.0 * self.trunk_lowered_m:.0f} mm"
        lines.append(
            f"  taken over    {trunk} of the edit of the trunk, {legs} of that of the legs, {lowered}"
        )
        lines.append(f"  largest slip  {1000.0 * self.largest_slip_m:.3f} mm")
        if not self.joints and not self.prints and moved < LEAST_MM:
            lines.append("  nothing was changed by hand, so this is the plain shot")
        return "\n".join(lines) + "\n"


def told(
    file: Path,
    names: Sequence[str],
    turned_rad: tuple[Array, Array],
    moved_m: tuple[Array, Array],
    steps: tuple[Steps, Motion],
    held: tuple[float, float, float],
    slip_m: float,
) -> ShotEditTold:
    """Sum an edit up.

    Parameters
    ----------
    file, names
        The clip that was changed, and its joints.
    turned_rad, moved_m
        (frames, joints, 3) how joints were turned by hand, and are [rad]; (frames, 3) how far the root was
        moved, and is [m].
    steps
        Those that the edit is laid over, and the clip with it.
    held
        How far the trunk is lowered [m], and the shares of trunk and limbs that are carried.
    slip_m
        How far planted toes are from their prints at the most. [m]
    """
    by_joint = zip(names, *(np.moveaxis(each, 1, 0) for each in turned_rad), strict=True)
    changes = (JointChange.of(*each) for each in by_joint)
    joints, _ = touched([change for change in changes if change is not None], len(names))
    before, clip = steps
    away = np.linalg.norm((clip.steps.place_m - before.place_m)[:, :2], axis=1)
    prints = tuple(
        PrintMoved(
            LIMBS[int(before.limb[k])],
            round(float(before.touchdown_s[k]) * clip.frame_rate_hz + 1.0, 3),
            round(float(away[k]), 6),
        )
        for k in np.flatnonzero(away >= LEAST_MM / 1000.0)
    )
    by_hand_m, carried_m = (float(np.linalg.norm(each, axis=1).max()) for each in moved_m)
    return ShotEditTold(str(file), joints, by_hand_m, carried_m, prints, *held, slip_m)
