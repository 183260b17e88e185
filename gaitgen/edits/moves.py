"""By how many frames contacts, lift-offs and whole legs were moved."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.gait.gait import LIMBS

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Moves:
    """How much later feet land and leave.

    Attributes
    ----------
    by
        (4, 2) frames by which contact and lift-off of each foot are later, in LIMBS order.
    is_whole
        (4,) whether the leg was moved as a whole, with all its joints: then its foot keeps its place under
        the body, and else that on the ground.
    lowered_m
        How far the trunk was lowered for whole legs to reach. [m]
    """

    by: Array
    is_whole: Bools
    lowered_m: float = 0.0

    def any(self) -> bool:
        """Whether anything was moved."""
        return bool(self.by.any())

    def in_stride(self, before: int, after: int) -> Moves:
        """Move by as much of a stride of another length, to whole frames. [frames]"""
        if before == after:
            return replace(self, lowered_m=0.0)
        share = self.by * after / before
        return replace(self, lowered_m=0.0, by=np.sign(share) * np.floor(np.abs(share) + 0.5))

    def less(self, limbs: Bools) -> Moves:
        """Move some limbs (4,) by a frame less."""
        by = self.by - np.clip(self.by, -1.0, 1.0) * limbs[:, None]
        return replace(self, by=by)

    def said(self) -> str:
        """Say in words by how many frames feet land and leave later or earlier."""
        parts = []
        for limb, frames, is_whole in zip(LIMBS, self.by.tolist(), self.is_whole.tolist(), strict=True):
            if is_whole and frames[0]:
                parts.append(f"the whole leg {limb} is {_frames(frames[0])}")
                continue
            does = [f"{word} {_frames(n)}" for word, n in zip(("lands", "leaves"), frames, strict=True) if n]
            if does:
                parts.append(f"{limb} {' and '.join(does)}")
        return ", ".join(parts)


def no_moves() -> Moves:
    """Move nothing."""
    return Moves(np.zeros((len(LIMBS), 2)), np.zeros(len(LIMBS), dtype=np.bool_))


def _frames(by: float) -> str:
    """Say that something is so many frames later."""
    count = f"{abs(by):.2f}".rstrip("0").rstrip(".")
    return f"{count} frame{'s' * (abs(by) != 1.0)} {'later' if by > 0.0 else 'earlier'}"
