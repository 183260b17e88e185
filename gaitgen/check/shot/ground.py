"""The ground of a clip, as planted feet show it: its height under any point near the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaitgen.check.shot.standing import Stand
from gaitgen.course.ground import FLAT, Ground

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Rows = npt.NDArray[np.floating | np.integer]

NEAREST = 24  # stances, before and after in time, that a height is taken from
REACH = 0.5  # hip heights: stances farther off than this count for little
ROUNDS = 4
SOFT = 0.004  # hip heights off the line from which a stance counts for less; feet of a rig are not that even
LEVEL = 0.012  # hip heights: ground whose stances are all so near one height is level
FEWEST = 6
STIFF = 0.004  # how little a slope counts that stances hardly tell
MOST = 0.6  # of the stances around one: as far as these are off the slope that others show, it may be too
# Ground is rough where, of the stances around one, so many of so many feet are off the slope that the others
# show, by so much in hip heights and more than these are: steps do that to all feet, a fault to one.
ROUGH_STANCES, ROUGH_FEET, OFF, ROOM = 4, 3, 0.0025, 2.0
# Ground is in treads where nearly all stances around one are at two heights or more, each within so many hip
# heights, and so many stances of so many feet at each: feet on a slope are at a height each (estimates).
TREAD, TREADS_SHARE, TREAD_STANCES, TREAD_FEET = 0.003, 0.8, 4, 3


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

    @cached_property
    def _off_slopes_m(self) -> tuple[Array, Array]:
        """How far each stance is off the slope that others show, and how far these are, (stances,). [m]"""
        height, room = self._on_slopes(self.places_m[:, :2], self.middles, np.arange(len(self.stands)))
        return np.abs(self.places_m[:, 2] - height), room

    @cached_property
    def _usual_m(self) -> Array:
        """How far most stances around each one are off the slope that others show, (stances,). [m]"""
        return np.asarray(np.quantile(self._off_slopes_m[0][self._near(self.middles)], MOST, axis=1))

    @cached_property
    def over_m(self) -> Array:
        """How high each stance is over the ground that the others show, (stances,). [m]"""
        height, _ = self.height_and_room_m(self.places_m[:, :2], self.middles, np.arange(len(self.stands)))
        return self.places_m[:, 2] - height

    @cached_property
    def is_stepped(self) -> Bools:
        """Whether each stance is on steps or rocks, (stances,): no slope through others tells its height."""
        if self.is_level:
            return np.zeros(len(self.stands), dtype=bool)
        return self._is_off_slopes | self._is_in_treads

    @cached_property
    def _is_off_slopes(self) -> Bools:
        """Whether feet around each stance are off the slope that the others show, (stances,)."""
        off_m, room = self._off_slopes_m
        off = off_m > ROOM * room + OFF * self.hip_height_m
        near = self._near(self.middles)
        limb = np.array([stand.limb for stand in self.stands])
        feet = sum((off[near] & (limb[near] == foot)).any(axis=1).astype(int) for foot in range(4))
        rough = (off[near].sum(axis=1) >= ROUGH_STANCES) & (feet >= ROUGH_FEET)
        return np.asarray(rough | (rough[near].mean(axis=1) > 0.5))

    @cached_property
    def _is_in_treads(self) -> Bools:
        """Whether feet around each stance are on level treads, one higher than the other, (stances,)."""
        near = self._near(self.middles)
        limb = np.array([stand.limb for stand in self.stands])
        order = np.argsort(self.places_m[:, 2])
        height = self.places_m[order, 2]
        tread = np.empty(len(order), dtype=np.int64)
        tread[order] = np.cumsum(np.diff(height, prepend=height[:1]) > TREAD * self.hip_height_m)
        of = tread[near][..., None] == np.arange(tread.max() + 1)  # (stances, near, treads)
        feet = np.stack([(of & (limb[near] == foot)[..., None]).any(axis=1) for foot in range(4)]).sum(axis=0)
        spread = np.array([np.ptp(self.places_m[tread == k, 2]) for k in range(tread.max() + 1)])
        is_tread = (of.sum(axis=1) >= TREAD_STANCES) & (feet >= TREAD_FEET)
        is_tread &= spread <= TREAD * self.hip_height_m
        on = (of & is_tread[:, None]).any(axis=2).mean(axis=1)
        return np.asarray((is_tread.sum(axis=1) > 1) & (on >= TREADS_SHARE))

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
        height, room = self._on_slopes(level_m, rows, without)
        if without is None:
            return height, room
        room = np.where(without >= 0, np.maximum(room, self._usual_m[without]), room)
        if not self.is_stepped.any():
            return height, room
        prints, is_among = self._on_prints(level_m, rows, without)
        height = self._as_others_stand(level_m, rows, without, height)
        return np.where(is_among, prints, height), np.where(is_among, 0.0, room)

    def _as_others_stand(self, level_m: Array, rows: Rows, own: Rows, height_m: Array) -> Array:
        """Return heights (points,) by rough ground: that of another foot's print beside, if nearer. [m]

        A slope through steps is at no foot's height; where another foot stands as high, so may this one.
        """
        near = self._near(rows)
        limb = np.array([stand.limb for stand in self.stands])
        far = np.linalg.norm(self.places_m[near, :2] - level_m[:, None], axis=2)
        is_other = (far < REACH * self.hip_height_m) & (limb[near] != limb[own][:, None])
        here = self.places_m[own, 2]
        away = np.where(is_other, np.abs(self.places_m[near, 2] - here[:, None]), np.inf)
        best = away.argmin(axis=1)
        at = np.arange(len(near))
        is_nearer = (own >= 0) & (away[at, best] < np.abs(here - height_m))
        return np.where(is_nearer, self.places_m[near[at, best], 2], height_m)

    def _on_prints(self, level_m: Array, rows: Rows, own: Rows) -> tuple[Array, Bools]:
        """Height of rough ground, (points,), and whether points are over it. [m]

        A foot stands on it where it stands; between prints it may be as low as the lowest around it.
        """
        near = self._near(rows)
        far = np.linalg.norm(self.places_m[near, :2] - level_m[:, None], axis=2)
        nearest = near[np.arange(len(near)), far.argmin(axis=1)]
        reach = np.maximum(REACH * self.hip_height_m, far.min(axis=1, keepdims=True))
        lowest = np.where(far <= reach, self.places_m[near, 2], np.inf).min(axis=1)
        stands = own >= 0
        of = np.where(stands, own, nearest)
        return np.where(stands, self.places_m[of, 2], lowest), self.is_stepped[of]

    def _on_slopes(self, level_m: Array, rows: Rows, without: Rows | None) -> tuple[Array, Array]:
        """Heights by planes through the stances near each point, and how far these are off them. [m]"""
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
        return found[:, 0], room * _beyond(apart, kept, reach)

    def _near(self, rows: Rows) -> npt.NDArray[np.int64]:
        """Stances next to rows in time, (points, some)."""
        count = min(NEAREST, len(self.middles))
        start = np.searchsorted(self.middles, rows) - count // 2
        start = np.clip(start, 0, len(self.middles) - count)
        return np.asarray(start[:, None] + np.arange(count))


def _beyond(apart: Array, weight: Array, reach_m: float) -> Array:
    """How much less sure a height is beside the stances than among them, (points,): 1 in their middle."""
    share = weight / weight.sum(axis=1, keepdims=True)
    middle = np.einsum("ps,psi->pi", share, apart)
    from_middle = apart - middle[:, None]
    spread = np.einsum("psi,ps,psj->pij", from_middle, share, from_middle)
    spread[:, [0, 1], [0, 1]] += STIFF * reach_m**2
    away = np.einsum("pi,pi->p", middle, np.linalg.solve(spread, middle[..., None])[..., 0])
    return np.asarray(1.0 + away)


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


@dataclass(frozen=True, eq=False)
class GivenGround(FoundGround):
    """A ground that is known, with the stances on it.

    Attributes
    ----------
    surface
        The ground.
    """

    surface: Ground = FLAT

    @cached_property
    def is_level(self) -> bool:
        """Whether it may be taken for a plane at one height: never, for its heights are known."""
        return False

    @cached_property
    def level_m(self) -> float:
        """How high over it most stances are. [m]"""
        return float(np.median(self.over_m))

    @cached_property
    def is_stepped(self) -> Bools:
        """Whether each stance is on steps or rocks, as if ground is found, or over a hole, (stances,)."""
        over_hole = ~np.isfinite(self.surface.known_m(self.places_m[:, :2]))
        return np.asarray(over_hole | self._is_off_slopes | self._is_in_treads)

    def height_m(self, level_m: Array, rows: Rows) -> Array:
        """Height that a body feels under points (points, 2) at rows (points,): without edges. [m]"""
        return self._on_slopes(level_m, rows, None)[0]

    def height_and_room_m(
        self, level_m: Array, rows: Rows, without: Rows | None = None
    ) -> tuple[Array, Array]:
        """As of a ground that is found; the other stances have no say, but over a hole. [m]"""
        known = self.surface.known_m(level_m)
        over_hole = ~np.isfinite(known)
        if over_hole.any():
            known = np.where(over_hole, self._on_slopes(level_m, rows, without)[0], known)
        return known, np.zeros(len(level_m))


def found_ground(
    every: Sequence[Stand], hip_height_m: float, surface: Ground | None = None
) -> FoundGround | None:
    """Return the ground under stances; None where there are too few to tell, and none is given."""
    in_order = sorted(every, key=lambda stand: stand.middle)
    if surface is not None:
        return GivenGround(in_order, hip_height_m, surface)
    return FoundGround(in_order, hip_height_m) if len(every) >= FEWEST else None
