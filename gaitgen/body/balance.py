"""One balance for every gait: the forces under the feet and the motion of the body they carry.

Unknown are the heights of a few bumps of force, in three directions, for every stance; place and rotation of
the body follow by integrating Newton's and Euler's equations, linearised about the standing body in the frame
that goes along the path. A small convex programme finds the smoothest forces that push, stay inside the
friction cone, share the load as the animal does, point to a fixed point above each girdle (Jayes A.S. &
Alexander R.McN. 1978, J Zool 185:289-308), and, as far as the gait walks, carry each end over its feet as on
struts.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import astuple, dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaitgen.animal.limb import LIMBS
from gaitgen.animal.mass import WholeBody
from gaitgen.body.bumps import Stances
from gaitgen.body.programme import inverse_root, solve_programme
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.numerics.curves import ramp
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]

FREEDOMS = ("z", "pitch", "x", "y", "roll", "yaw")
_Z, _PITCH, _X, _Y, _ROLL, _YAW = range(len(FREEDOMS))
_BESIDE = ("x", "y", "z", "roll", "pitch", "yaw")  # the order of what is needed beside the body

# What one unit of each term weighs: the deviation that costs 1. Lengths are shares of the height at which the
# centre of mass stands, so that cats are held as firmly as elephants. Estimates, tuned on published forces.
STRUT = 0.0025  # an end of the body off its struts, while it walks
SHARE = 0.02  # impulse of a stance, of what it should carry
STILL_SHARE = 20.0  # so much less firmly where it stands: there, statics share the load
SWAY, SURGE, TURN_RAD = 0.010, 0.025, np.radians(0.8)
RUN_SURGE = 0.1
# At a run each end is carried over the feet that bear it, this firmly; the whole body may sway and roll so
# much more freely than at a walk.
OVER_FEET, RUN_FREER = 0.004, 2.0
PITCH_RAD = np.radians(1.5)  # at a run, of the whole body
RISE = 0.12  # the same, up and down: slow strides are carried level
STILL, STILL_RAD = 0.0004, 0.0005  # a standing body off its place
# Of a motion without a period: height of an end of the body, and its place along the path, over a stride; and
# the share of the bends of a motion with one, as nothing else makes strides alike.
MEAN, MEAN_SURGE, SMOOTH_ONCE = 0.02, 0.02, 0.5
HELD = 0.0012  # an end of the body off a height that it is held at
ENOUGH_HZ = 48.0
RIDGE = 1e-9
LEAST_SHARE = 1e-6  # what does not count at a moment counts for this
# Half the width of the friction pyramid, so that its edge is inside a cone of 0.6.
FRICTION = 0.6 / np.sqrt(2.0)


@dataclass(frozen=True)
class Firmness:
    """What one unit of a stance's own terms weighs, as the constants above; in its mean force.

    Attributes
    ----------
    smooth, smooth_along
        Bend of the force from bump to bump, upward and along the ground.
    line, line_net
        A force beside the fixed point, over its height: from its mean over the stance, and that mean. Hind
        feet drive a body that would pitch, and fore feet brake it.
    """

    smooth: float
    smooth_along: float
    line: float
    line_net: float

    def towards(self, other: Firmness, share: Array) -> tuple[Array, ...]:
        """Go over to another by shares of the way, (stances,): each number in its order, (stances,)."""
        mine, theirs = astuple(self), astuple(other)
        return tuple(a + share * (b - a) for a, b in zip(mine, theirs, strict=True))


WALKING = Firmness(smooth=3.3, smooth_along=0.825, line=0.12, line_net=0.12)
RUNNING = Firmness(smooth=1.5, smooth_along=0.9, line=0.06, line_net=0.25)  # forces of one hump
SIDE_LINE = 0.12
# Running feet that have to carry so many body weights in the mean of their stances, at the least and at the
# most, do it evenly: peaks of a gallop are 1.3 of their mean (Self Davies, Spence & Wilson 2019, J Exp Biol
# 222:jeb204107, abstract), where half a wave is 1.57; how firmly is an estimate.
HARD, EVEN = (0.86, 1.1), 0.27


@dataclass(frozen=True, eq=False)
class Wanted:
    """What the forces should do, besides being possible.

    Attributes
    ----------
    ends_x_m
        Place of hips and chest ahead of the centre of mass: (chest, hips). [m]
    strut_m
        (samples, 2) height of chest and hips over standing, as on struts. [m]
    rise_m
        (samples, 2) how far chest and hips of a running body go up as they are spared load. [m]
    strut_share
        (samples, 2) how far each end walks: 1 a walk, 0 a run.
    over_feet_m
        (samples, 2) how far to the left chest and hips of a running body are, over the feet that bear it. [m]
    sways
        Whether a running body does so, and may roll: with a period alone, as strides that change ask enough.
    impulse_share
        (stances,) impulse of each stance over the weight of the body, in seconds. [s]
    runs
        (stances,) how far its end of the body runs in each stance: 0 a walk, 1 a run.
    foot_m
        (samples, 4, 3) ground points of the feet from under the root, as the body sees them. [m]
    bump_foot_m
        (bumps, 2) the same when each bump is highest. [m]
    point_x_m
        (bumps,) place of the fixed point of that foot ahead of under the root: over the middle of
        its stance. [m]
    point_height_m
        Height of the fixed points. [m]
    still
        (samples,) how far the animal stands: 1 long after the last foot has landed and before the next lifts.
    path_m_s2
        (samples, 2) acceleration of the frame that goes along the path, forward and to the left. [m/s^2]
    path_rad_s2
        (samples,) the same of its heading, where it turns on the spot; None where it does not. [rad/s^2]
    besides
        (samples, 6) what limbs and hanging parts need beside the body: acceleration forward, left, up
        [m/s^2] and in roll, pitch, yaw [rad/s^2].
    held_m, held
        (samples, 2) height that chest and hips are held at, and how far, 0 to 1; None for not at all.
        [m]
    """

    ends_x_m: tuple[float, float]
    strut_m: Array
    rise_m: Array
    strut_share: Array
    over_feet_m: Array
    sways: bool
    impulse_share: Array
    runs: Array
    foot_m: Array
    bump_foot_m: Array
    point_x_m: Array
    point_height_m: float
    still: Array
    path_m_s2: Array
    besides: Array
    path_rad_s2: Array | None = None
    held_m: Array | None = None
    held: Array | None = None


@dataclass(frozen=True, eq=False)
class Term:
    """One thing that the body is to do: a mix of its freedoms near a target.

    Attributes
    ----------
    mix
        Freedom to its share in the mix.
    target
        (samples,) [unit of the mix]
    unit
        Deviation that costs 1, the same always or (samples,). [unit of the mix]
    smooth
        (samples, samples) what is averaged before it is compared; None for nothing.
    has_mean
        Whether the mean counts; without it only what changes does.
    every
        How many moments there are to one that is looked at.
    """

    mix: Mapping[str, float]
    target: Array
    unit: float | Array
    smooth: Array | None = None
    has_mean: bool = True
    every: int = 1

    @property
    def units(self) -> float | Array:
        """The unit at the moments that are looked at."""
        return self.unit[:: self.every] if isinstance(self.unit, np.ndarray) else self.unit

    def mixed(self, freedoms: Array) -> Array:
        """Mix the freedoms, (freedoms, samples, ...), and divide by the unit: (moments, ...)."""
        mix = np.asarray(sum(share * freedoms[FREEDOMS.index(name)] for name, share in self.mix.items()))
        mix = mix[:: self.every] if self.smooth is None else self.smooth[:: self.every] @ mix
        return np.asarray((mix.T / self.units).T)

    def missing(self, given: Array) -> Array:
        """Say what forces have to make, in units, beside what is given, (freedoms, samples): (moments,)."""
        missing = self.target[:: self.every] / self.units - self.mixed(given)
        return missing if self.has_mean else self._without_mean(missing)

    def _without_mean(self, missing: Array) -> Array:
        away = missing * self.units
        return np.asarray((away - away.mean()) / self.units)


@dataclass(frozen=True, eq=False)
class Programme:
    """What is worked out from the feet alone, whatever moves the body beside their forces.

    Attributes
    ----------
    moved
        (freedoms, samples, unknowns) displacement for one unit of each unknown.
    terms, rows
        What the body is to do, and (rows, unknowns) how far each unknown does it.
    hessian, gradient
        (unknowns, unknowns) of all that is wanted, and (unknowns,) of what the forces are to do.
    closing
        (closings, unknowns) mean acceleration, over a period, for one unit of each unknown.
    pushing
        (bounds, unknowns) rows that must not become negative.
    """

    moved: Array
    terms: tuple[Term, ...]
    rows: Array
    hessian: Array
    gradient: Array
    closing: Array
    pushing: Array

    @cached_property
    def root(self) -> Array:
        """(unknowns, unknowns) inverse of the upper root of the hessian."""
        return inverse_root(self.hessian)


@dataclass(frozen=True, eq=False)
class Balance:
    """Forces, and how the body moves under them.

    Attributes
    ----------
    force_n
        (samples, 4, 3) of the ground on each foot, forward, left, up. [N]
    moved_m
        (samples, 3) centre of mass from where it stands: forward, left, up. [m]
    turned_rad
        (samples, 3) roll, pitch, yaw of the body. [rad]
    programme
        What was worked out on the way, for a balance on the same feet.
    """

    force_n: Array
    moved_m: Array
    turned_rad: Array
    programme: Programme


def balance(
    grid: Grid, stances: Stances, body: WholeBody, wanted: Wanted, before: Balance | None = None
) -> Balance:
    """Find the forces under the feet and the motion of the body.

    Parameters
    ----------
    grid, stances
        Moments; stances with their bumps on those moments.
    body
        The standing animal as one body.
    wanted
        Struts, shares, places of the feet.
    before
        A balance of the same, in which at most ``besides`` was another: what the feet make is taken from it.

    Returns
    -------
    Balance
        With a period: impulses of a stride carry the weight exactly, and the motion closes.

    Notes
    -----
    Valid for turns small enough to be linear (under some 15 degrees). Coriolis terms of a turning path are
    left out: at 1.4 m/s on 4 m they are under 1 % of gravity.
    """
    programme = _programme(grid, stances, body, wanted) if before is None else before.programme
    given = _given(grid, body, wanted)
    missing = np.concatenate([term.missing(given) for term in programme.terms])
    gradient = programme.gradient + missing @ programme.rows
    equal, equal_to = _closing(programme, wanted)
    root = None if grid.is_periodic else programme.root
    heights = solve_programme(programme.hessian, gradient, equal, equal_to, programme.pushing, root)
    moved = dict(zip(FREEDOMS, programme.moved @ heights + given, strict=True))
    up, forward, leftward = heights[: 3 * stances.bumps].reshape(3, -1)
    return Balance(
        force_n=stances.under_feet(np.stack([forward, leftward, up])) * body.mass_kg * GRAVITY_M_S2,
        moved_m=np.stack([moved["x"], moved["y"], moved["z"]], axis=1),
        turned_rad=np.stack([moved["roll"], moved["pitch"], moved["yaw"]], axis=1),
        programme=programme,
    )


def _programme(grid: Grid, stances: Stances, body: WholeBody, wanted: Wanted) -> Programme:
    moved, closing = _maps(grid, stances, body, wanted)
    terms = tuple(_terms(grid, stances, wanted, body.centre_m[2]))
    rows = np.concatenate([term.mixed(moved) for term in terms])
    hessian, gradient = _of_forces(grid, stances, wanted, rows.shape[1])
    hessian += rows.T @ rows
    return Programme(moved, terms, rows, hessian, gradient, closing, _pushing(stances, rows.shape[1]))


def _maps(grid: Grid, stances: Stances, body: WholeBody, wanted: Wanted) -> tuple[Array, Array]:
    """Map the unknowns to displacements, (freedoms, samples, unknowns), and to mean accelerations.

    The unknowns are upward, forward and leftward bumps, and without a period where each freedom starts.
    """
    size, height, g = stances.bumps, body.centre_m[2], GRAVITY_M_S2
    roll, pitch, yaw = (body.mass_kg * g / inertia for inertia in body.inertia_kg_m2)
    flat = stances.values
    ahead = stances.spread(wanted.foot_m[..., 0] - body.centre_m[0])
    left = stances.spread(wanted.foot_m[..., 1])
    pushed = np.stack([flat, ahead, left])
    once = np.stack(np.split(grid.twice_integrated(np.concatenate(pushed, axis=1)), 3, axis=1))
    free = 0 if grid.is_periodic else 2 * len(FREEDOMS)
    moved = np.zeros((len(FREEDOMS), grid.count, 3 * size + free))
    closing = np.zeros((len(FREEDOMS), 3 * size + free))
    for maps, (plain, by_ahead, by_left) in ((moved, once), (closing, pushed.mean(axis=1))):
        up, forward, leftward = (maps[..., k * size : (k + 1) * size] for k in range(3))
        up[_Z] = forward[_X] = leftward[_Y] = g * plain
        up[_PITCH], forward[_PITCH] = pitch * by_ahead, pitch * height * plain
        up[_ROLL], leftward[_ROLL] = roll * by_left, roll * height * plain
        forward[_YAW], leftward[_YAW] = -yaw * by_left, yaw * by_ahead
    if free:
        drift = _drift(grid)
        for freedom in range(len(FREEDOMS)):
            first = 3 * size + 2 * freedom
            moved[freedom, :, first : first + 2] = drift
    for turn, move, per_m in ((_PITCH, _X, pitch), (_ROLL, _Y, roll)):
        moved[turn] -= per_m * grid.twice_integrated(moved[move])
    return moved, closing if grid.is_periodic else closing[:0]


def _drift(grid: Grid) -> Array:
    """Where something is that goes on as it went: (samples, 2) for 1 m and 1 m/s at the start."""
    return np.stack([np.ones(grid.count), (grid.time_s - grid.start_s)], axis=1)


def _given(grid: Grid, body: WholeBody, wanted: Wanted) -> Array:
    """Find what moves the body beside the forces, (freedoms, samples): its weight, its path, its parts."""
    weight = body.mass_kg * GRAVITY_M_S2
    roll, pitch, _ = (weight / inertia for inertia in body.inertia_kg_m2)
    outside = -wanted.besides
    outside[:, :2] -= wanted.path_m_s2
    outside[:, 2] -= GRAVITY_M_S2
    if wanted.path_rad_s2 is not None:
        outside[:, _BESIDE.index("yaw")] -= wanted.path_rad_s2
    # The weight turns a body over its feet by as much as its centre has moved, whatever part moved that.
    fallen = grid.twice_integrated(np.concatenate([outside, wanted.besides[:, :2]], axis=1))
    given, shifted = fallen[:, [_BESIDE.index(name) for name in FREEDOMS]], fallen[:, 6:]
    if not grid.is_periodic:  # parts of the body shift its centre to and fro, not away
        drift = _drift(grid)
        shifted = shifted - drift @ (np.linalg.pinv(drift) @ shifted)
    given[:, [_PITCH, _ROLL]] -= [pitch, roll] * grid.twice_integrated(given[:, [_X, _Y]] + shifted)
    return np.asarray(given.T)


def _terms(grid: Grid, stances: Stances, wanted: Wanted, height_m: float) -> list[Term]:
    """List what the body is to do, besides the forces: least squares over all of it."""
    # Without a period there are many moments, and curves are smooth: some of them will do.
    some = 1 if grid.is_periodic else max(1, round(1.0 / (ENOUGH_HZ * grid.step_s)))
    # Terms of forces add up stance by stance, those of the motion moment by moment: both for one stride.
    many = float(np.sqrt(-(-grid.count // some) * len(LIMBS) / stances.count))
    zero, length_m = np.zeros(grid.count), many * height_m
    is_long = not grid.is_periodic or stances.count > len(LIMBS)  # than a stride
    smooth = stride_mean(grid, stances) if is_long else None
    terms = []
    for k, ahead in enumerate(wanted.ends_x_m):
        end, walks = {"z": 1.0, "pitch": ahead}, wanted.strut_share[:, k]
        if walks.max() > 0.0:
            firm = length_m * STRUT / np.maximum(walks, LEAST_SHARE)
            terms.append(Term(end, wanted.strut_m[:, k], firm, has_mean=not grid.is_periodic, every=some))
        if is_long:
            loose = length_m * MEAN / np.maximum(1.0 - walks, LEAST_SHARE)
            terms.append(Term(end, zero, loose, smooth, has_mean=not grid.is_periodic, every=some))
        if wanted.held is not None and wanted.held_m is not None and wanted.held[:, k].max() > 0.0:
            firm = length_m * HELD / np.maximum(wanted.held[:, k], LEAST_SHARE)
            terms.append(Term(end, wanted.held_m[:, k], firm, every=some))
    running = 1.0 - wanted.strut_share.mean(axis=1)
    surge = SURGE + running * (RUN_SURGE - SURGE)
    terms.append(Term({"x": 1.0}, zero, surge * length_m, every=some))
    terms += _sideways(wanted, length_m, many, some)
    if not grid.is_periodic:  # where its path is at each moment, taken over a stride
        terms.append(Term({"x": 1.0}, zero, length_m * MEAN_SURGE, smooth, every=some))
    if running.max() > 0.0:  # a running body is carried level, but for what a lame leg is spared
        share = np.maximum(running, LEAST_SHARE)
        (chest, hips), (chest_up, hips_up) = wanted.ends_x_m, wanted.rise_m.T
        pitch = (chest_up - hips_up) / (chest - hips)
        terms.append(Term({"pitch": 1.0}, pitch, many * PITCH_RAD / share, every=some))
        if grid.is_periodic:
            terms.append(Term({"z": 1.0}, chest_up - chest * pitch, length_m * RISE / share, has_mean=False))
    if wanted.still.max() > 0.0:
        still = np.maximum(wanted.still, LEAST_SHARE)
        for name in FREEDOMS:
            unit = many * STILL_RAD if name in {"roll", "pitch", "yaw"} else length_m * STILL
            terms.append(Term({name: 1.0}, zero, unit / still, every=some))
    return terms


def _sideways(wanted: Wanted, length_m: float, many: float, every: int) -> list[Term]:
    """List what the body is to do to the sides."""
    zero, running = np.zeros(wanted.still.size), 1.0 - wanted.strut_share
    freer = 1.0 + running.mean(axis=1) * (RUN_FREER - 1.0 if wanted.sways else 0.0)
    terms = [
        Term({"y": 1.0}, zero, freer * SWAY * length_m, every=every),
        Term({"roll": 1.0}, zero, freer * TURN_RAD * many, every=every),
        Term({"yaw": 1.0}, zero, TURN_RAD * many, every=every),
    ]
    if wanted.sways and running.max() > 0.0:
        for k, ahead in enumerate(wanted.ends_x_m):
            firm = length_m * OVER_FEET / np.maximum(running[:, k], LEAST_SHARE)
            terms.append(Term({"y": 1.0, "yaw": ahead}, wanted.over_feet_m[:, k], firm, every=every))
    return terms


def stride_mean(grid: Grid, stances: Stances) -> Array:
    """Average over the local stride around each moment: (samples, samples)."""
    middle = (stances.touchdown_s + stances.liftoff_s) / 2.0
    spans = []
    for limb in range(4):
        mine = np.sort(middle[stances.limb == limb])
        if mine.size > 1:
            centre = (mine[1:] + mine[:-1]) / 2.0
            spans.append(np.interp(grid.time_s, centre, np.diff(mine)))
    stride = np.mean(spans, axis=0) if spans else np.full(grid.count, grid.span_s)
    stride = np.clip(stride, 4.0 * grid.step_s, 2.0)
    away = np.abs(grid.time_s[:, None] - grid.time_s[None]) / stride[:, None]
    kernel = np.clip((0.5 - away) * stride[:, None] / grid.step_s + 0.5, 0.0, 1.0)
    return np.asarray(kernel / kernel.sum(axis=1, keepdims=True))


def _of_forces(grid: Grid, stances: Stances, wanted: Wanted, unknowns: int) -> tuple[Array, Array]:
    """Half of the quadratic form, and its linear part, of what forces do: be smooth, share, point."""
    size, own = stances.bumps, stances.stance
    hessian, gradient = RIDGE * np.eye(unknowns), np.zeros(unknowns)
    up, forward, leftward = (slice(k * size, (k + 1) * size) for k in range(3))
    mean = np.maximum(wanted.impulse_share / (stances.liftoff_s - stances.touchdown_s), 1e-3)  # of weight
    once = 1.0 if grid.is_periodic else SMOOTH_ONCE
    smooth, smooth_along, line, line_net = WALKING.towards(RUNNING, wanted.runs)
    together = own[:, None] == own
    # Second differences of each force's bumps, with none before the first and after the last.
    bends = np.eye(size, k=1) + np.eye(size, k=-1) - 2.0 * np.eye(size)
    bends = np.where(together, bends, 0.0)
    for block, firm in ((up, smooth), (forward, smooth_along), (leftward, smooth_along)):
        rows = bends / (once * firm * mean)[own][:, None]
        hessian[block, block] += rows.T @ rows
    area = grid.step_s * stances.values.sum(axis=0)  # (bumps,) [s]
    felt = grid.step_s * (wanted.still @ stances.values)
    first = stances.first[:-1]
    stands = np.add.reduceat(felt, first) / np.maximum(np.add.reduceat(area, first), 1e-9)
    unit = SHARE * (1.0 + STILL_SHARE * stands) * wanted.impulse_share
    hard = wanted.runs * ramp((mean - HARD[0]) / (HARD[1] - HARD[0]))
    hessian[up, up] += np.diag((hard / (EVEN * mean) ** 2)[own])
    shares = np.where(own == np.arange(stances.count)[:, None], area, 0.0) / unit[:, None]
    hessian[up, up] += shares.T @ shares
    gradient[up] += (wanted.impulse_share / unit) @ shares
    # What a stance pushes beside the fixed point: its mean at one price, what differs from it at another.
    count = np.diff(stances.first)[own]
    middle = together / count[:, None]
    ahead = wanted.bump_foot_m[:, 0] - wanted.point_x_m
    side = np.full(stances.count, SIDE_LINE)
    for block, beside, firm, net in (
        (forward, ahead, line, line_net),
        (leftward, wanted.bump_foot_m[:, 1], side, side),
    ):
        price = (np.eye(size) - middle) / firm[own][:, None] ** 2 + middle / net[own][:, None] ** 2
        price /= (mean[own] ** 2 * count)[:, None]
        lift = beside / wanted.point_height_m
        hessian[block, block] += price
        hessian[up, up] += lift[:, None] * price * lift
        hessian[up, block] += lift[:, None] * price
        hessian[block, up] += price * lift
    return hessian, gradient


def _closing(programme: Programme, wanted: Wanted) -> tuple[Array, Array]:
    """Demand what holds exactly: over a period the ground carries the weight, and nothing turns or drifts."""
    needed = wanted.besides.mean(axis=0)
    needed[:2] += wanted.path_m_s2.mean(axis=0)
    needed[2] += GRAVITY_M_S2
    rows = programme.closing
    order = [_BESIDE.index(name) for name in FREEDOMS][: len(rows)]
    scale = np.abs(rows).max(axis=1)
    return rows / scale[:, None], needed[order] / scale


def _pushing(stances: Stances, unknowns: int) -> Array:
    """Rows that must not be negative: every bump pushes, and is inside the friction pyramid."""
    size = stances.bumps
    own = np.eye(size)
    rows = [np.concatenate([own, np.zeros((size, unknowns - size))], axis=1)]
    for k in (1, 2):
        for sign in (1.0, -1.0):
            row = np.zeros((size, unknowns))
            row[:, :size] = FRICTION * own
            row[:, k * size : (k + 1) * size] = sign * own
            rows.append(row)
    return np.concatenate(rows)
