"""The ground of a clip, as planted feet show it: its height under any point near the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaitgen.check.shot.standing import Stand

Array = npt.NDArray[np.float64]
Rows = npt.NDArray[np.floating | np.integer]

NEAREST = 24  # stances, before and after in time, that a height is taken from
REACH = 0.5  # hip heights: stances farther off than this count for little
ROUNDS = 4
SOFT = 0.004  # hip heights off the line from which a stance counts for less; feet of a rig are not that even
LEVEL = 0.012  # hip heights: ground whose stances are all so near one height is level
FEWEST = 6
STIFF = 0.004  # how little a slope counts that stances hardly tell


@dataclass(frozen=True, eq=False)
class FoundGround:
    """What planted feet stand on.

    Attributes
    ----------
    stands
        The stances, in order of time.
    hip_height_m
        Of the animal. [m]
    """

    stands: Sequence[Stand]
    hip_height_m: float

    @cached_property
    def places_m(self) -> Array:
        """Places of the stances, (stances, 3). [m]"""
        return np.array([stand.place_m for stand in self.stands]).reshape(-1, 3)

    @cached_property
    def middles(self) -> Array:
        """Middle rows of the stances, (stances,)."""
        return np.array([stand.middle for stand in self.stands])

    @cached_property
    def is_level(self) -> bool:
        """Whether most stances are at one height."""
        away = np.abs(self.places_m[:, 2] - np.median(self.places_m[:, 2]))
        return bool(np.quantile(away, 0.9) < LEVEL * self.hip_height_m)

    @cached_property
    def level_m(self) -> float:
        """The height that most stances have. [m]"""
        return float(np.median(self.places_m[:, 2]))

    def height_m(self, level_m: Array, rows: Rows) -> Array:
        """Height (points,) under points (points, 2) at rows (points,). [m]"""
        return self.height_and_room_m(level_m, rows)[0]

    def height_and_room_m(
        self, level_m: Array, rows: Rows, without: Rows | None = None
    ) -> tuple[Array, Array]:
        """Height under points, and how far stances near them are off it.

        Parameters
        ----------
        level_m
            (points, 2) where. [m]
        rows
            (points,) when.
        without
            (points,) a stance that has no say in the height at each point.

        Returns
        -------
        (points,) each. [m]
        """
        if self.is_level:
            return np.full(len(level_m), self.level_m), np.zeros(len(level_m))
        near = self._near(rows)  # (points, stances)
        apart = self.places_m[near, :2] - level_m[:, None]
        reach = REACH * self.hip_height_m
        far = np.linalg.norm(apart, axis=2) / reach
        weight = 1.0 / (1.0 + far**4)
        if without is not None:
            weight = np.where(near == without[:, None], 0.0, weight)
        height = self.places_m[near, 2]
        found = np.zeros((len(level_m), 3))
        kept, off = weight, np.zeros_like(weight)
        for _ in range(ROUNDS):
            found = _plane(apart, height, kept, reach)
            off = np.abs(height - found[:, :1] - (apart @ found[:, 1:, None])[..., 0])
            kept = weight / (1.0 + (off / (SOFT * self.hip_height_m)) ** 2)
        room = (off * kept).sum(axis=1) / kept.sum(axis=1)
        return found[:, 0], room

    def _near(self, rows: Rows) -> npt.NDArray[np.int64]:
        """Stances next to rows in time, (points, some)."""
        count = min(NEAREST, len(self.middles))
        start = np.searchsorted(self.middles, rows) - count // 2
        start = np.clip(start, 0, len(self.middles) - count)
        return np.asarray(start[:, None] + np.arange(count))


def _plane(apart: Array, height: Array, weight: Array, reach_m: float) -> Array:
    """Fit planes to heights (points, stances) at places apart (points, stances, 2): (points, 3).

    Across the way, where feet stand on two lines close to each other, a slope counts as far as they tell.
    """
    columns = np.concatenate([np.ones((*height.shape, 1)), apart], axis=2)
    left = np.einsum("psi,ps,psj->pij", columns, weight, columns)
    total = weight.sum(axis=1)
    left[:, [1, 2], [1, 2]] += (STIFF * reach_m**2 * total)[:, None]
    left[:, 0, 0] += 1e-12
    right = np.einsum("psi,ps,ps->pi", columns, weight, height)
    return np.asarray(np.linalg.solve(left, right[..., None])[..., 0])


def found_ground(every: Sequence[Stand], hip_height_m: float) -> FoundGround | None:
    """Return the ground under stances; None where there are too few to tell."""
    if len(every) < FEWEST:
        return None
    return FoundGround(sorted(every, key=lambda stand: stand.middle), hip_height_m)
