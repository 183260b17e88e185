"""One balance for every gait: the forces under the feet and the motion of the body they carry.

Unknown are the heights of a few bumps of force, in three directions, for every stance; place and rotation of
the body follow by integrating Newton's and Euler's equations, linearised about the standing body in the frame
that goes along the path. A small convex programme finds the smoothest forces that push, stay inside the
friction cone, share the load as the animal does, point to a fixed point above each girdle (Jayes A.S. &
Alexander R.McN. 1978, J Zool 185:289-308), and, as far as the gait walks, carry each end over its feet as on
struts.
"""

from __future__ import annotations

from dataclasses import astuple, dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.limb import LIMBS
from gaitgen.animal.mass import WholeBody
from gaitgen.body.bumps import Stances
from gaitgen.body.programme import solve_programme
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]

GRAVITY_M_S2 = 9.80665
FREEDOMS = ("z", "pitch", "x", "y", "roll", "yaw")

# What one unit of each term weighs: the deviation that costs 1. Lengths are shares of the height at which the
# centre of mass stands, so that cats are held as firmly as elephants. Estimates, tuned on published forces.
STRUT = 0.0025  # an end of the body off its struts, while it walks
SHARE = 0.02  # impulse of a stance, of what it should carry
STILL_SHARE = 20.0  # so much less firmly where it stands: there, statics share the load
SWAY, SURGE, TURN_RAD = 0.010, 0.025, np.radians(0.8)
RUN_SURGE = 0.1
PITCH_RAD = np.radians(1.7)  # at a run, of the whole body
RISE = 0.12  # the same, up and down: slow strides are carried level
STILL, STILL_RAD = 0.0004, 0.0005  # a standing body off its place
# Of a motion without a period: height of an end of the body, and its place along the path, over a stride; and
# the share of the bends of a motion with one, as nothing else makes strides alike.
MEAN, MEAN_SURGE, SMOOTH_ONCE = 0.02, 0.02, 0.25
ENOUGH_HZ = 48.0
RIDGE = 1e-9
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

    def towards(self, other: Firmness, share: float) -> Firmness:
        """Go over to another by a share of the way."""
        mine, theirs = astuple(self), astuple(other)
        return Firmness(*(a + share * (b - a) for a, b in zip(mine, theirs, strict=True)))


WALKING = Firmness(smooth=3.3, smooth_along=0.825, line=0.12, line_net=0.12)
RUNNING = Firmness(smooth=1.5, smooth_along=0.9, line=0.06, line_net=0.25)  # forces of one hump
SIDE_LINE = 0.12


@dataclass(frozen=True, eq=False)
class Wanted:
    """What the forces should do, besides being possible.

    Attributes
    ----------
    ends_x_m
        Place of hips and chest ahead of the centre of mass: (chest, hips). [m]
    strut_m
        (samples, 2) height of chest and hips over standing, as on struts. [m]
    strut_share
        (samples, 2) how far each end walks: 1 a walk, 0 a run.
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
    besides
        (samples, 6) what limbs and hanging parts need beside the body: acceleration forward, left, up
        [m/s^2] and in roll, pitch, yaw [rad/s^2].
    """

    ends_x_m: tuple[float, float]
    strut_m: Array
    strut_share: Array
    impulse_share: Array
    runs: Array
    foot_m: Array
    bump_foot_m: Array
    point_x_m: Array
    point_height_m: float
    still: Array
    path_m_s2: Array
    besides: Array


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
    maps, hessian
        What was worked out on the way and depends on the feet alone, for a balance on the same feet.
    """

    force_n: Array
    moved_m: Array
    turned_rad: Array
    maps: Maps
    hessian: Array


@dataclass(frozen=True, eq=False)
class Maps:
    """Linear maps from the unknowns: each freedom's acceleration and displacement, (samples, unknowns)."""

    pushed: dict[str, Array]
    moved: dict[str, Array]
    unknowns: int


@dataclass(frozen=True, eq=False)
class _System:
    """The maps, and (samples,) the part of each displacement that no force has a say in."""

    pushed: dict[str, Array]
    moved: dict[str, Array]
    given: dict[str, Array]
    unknowns: int


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
    maps = _maps(grid, stances, body, wanted) if before is None else before.maps
    system = _system(grid, body, wanted, maps)
    known = None if before is None else before.hessian
    hessian, gradient = _objective(grid, stances, wanted, system, body.centre_m[2], known)
    equal, equal_to = _closing(grid, wanted, system)
    heights = solve_programme(hessian, gradient, equal, equal_to, _pushing(stances, system.unknowns))
    moved = {name: system.moved[name] @ heights + system.given[name] for name in FREEDOMS}
    size = stances.bumps
    force = np.stack([stances.under_feet(heights[k * size : (k + 1) * size]) for k in (1, 2, 0)], axis=2)
    return Balance(
        force_n=force * body.mass_kg * GRAVITY_M_S2,
        moved_m=np.stack([moved["x"], moved["y"], moved["z"]], axis=1),
        turned_rad=np.stack([moved["roll"], moved["pitch"], moved["yaw"]], axis=1),
        maps=maps,
        hessian=hessian,
    )


def _maps(grid: Grid, stances: Stances, body: WholeBody, wanted: Wanted) -> Maps:
    size = stances.bumps
    free = 0 if grid.is_periodic else 2 * len(FREEDOMS)
    flat = stances.values
    ahead = stances.spread(wanted.foot_m[..., 0] - body.centre_m[0])
    left = stances.spread(wanted.foot_m[..., 1])
    height = body.centre_m[2]
    g, weight = GRAVITY_M_S2, body.mass_kg * GRAVITY_M_S2
    roll, pitch, yaw = (weight / inertia for inertia in body.inertia_kg_m2)
    zero = np.zeros_like(flat)
    once = dict(
        zip(
            ("flat", "ahead", "left"),
            np.split(grid.twice_integrated(np.concatenate([flat, ahead, left], axis=1)), 3, axis=1),
            strict=True,
        )
    )
    blocks = {  # columns: upward, forward, leftward bumps
        "z": (g * flat, zero, zero),
        "x": (zero, g * flat, zero),
        "y": (zero, zero, g * flat),
        "pitch": (pitch * ahead, pitch * height * flat, zero),
        "roll": (roll * left, zero, roll * height * flat),
        "yaw": (zero, -yaw * left, yaw * ahead),
    }
    moved_blocks = {
        "z": (g * once["flat"], zero, zero),
        "x": (zero, g * once["flat"], zero),
        "y": (zero, zero, g * once["flat"]),
        "pitch": (pitch * once["ahead"], pitch * height * once["flat"], zero),
        "roll": (roll * once["left"], zero, roll * height * once["flat"]),
        "yaw": (zero, -yaw * once["left"], yaw * once["ahead"]),
    }
    drift = _drift(grid)
    pushed, moved = {}, {}
    for k, name in enumerate(FREEDOMS):
        own = np.zeros((grid.count, free))
        if free:
            own[:, 2 * k : 2 * k + 2] = drift
        pushed[name] = np.concatenate([*blocks[name], np.zeros((grid.count, free))], axis=1)
        moved[name] = np.concatenate([*moved_blocks[name], own], axis=1)
    for turn, move, per_m in (("pitch", "x", pitch), ("roll", "y", roll)):
        pushed[turn] -= per_m * moved[move]
        moved[turn] -= per_m * grid.twice_integrated(moved[move])
    return Maps(pushed, moved, 3 * size + free)


def _drift(grid: Grid) -> Array:
    """Where something is that goes on as it went: (samples, 2) for 1 m and 1 m/s at the start."""
    return np.stack([np.ones(grid.count), (grid.time_s - grid.start_s)], axis=1)


def _system(grid: Grid, body: WholeBody, wanted: Wanted, maps: Maps) -> _System:
    """Add to the maps what moves the body beside the forces: its weight, its path, and its own parts."""
    weight = body.mass_kg * GRAVITY_M_S2
    roll, pitch, _ = (weight / inertia for inertia in body.inertia_kg_m2)
    outside = -wanted.besides.copy()
    outside[:, :2] -= wanted.path_m_s2
    outside[:, 2] -= GRAVITY_M_S2
    fallen = grid.twice_integrated(outside)
    given = {name: fallen[:, k] for k, name in enumerate(("x", "y", "z", "roll", "pitch", "yaw"))}
    # The weight turns a body over its feet by as much as its centre has moved, whatever part moved that.
    shifted = grid.twice_integrated(wanted.besides[:, :2])
    if not grid.is_periodic:  # parts of the body shift its centre to and fro, not away
        drift = _drift(grid)
        shifted = shifted - drift @ (np.linalg.pinv(drift) @ shifted)
    for k, (turn, move, per_m) in enumerate((("pitch", "x", pitch), ("roll", "y", roll))):
        given[turn] = given[turn] - per_m * grid.twice_integrated(given[move] + shifted[:, k])
    return _System(maps.pushed, maps.moved, given, maps.unknowns)


def _objective(
    grid: Grid, stances: Stances, wanted: Wanted, system: _System, height_m: float, known: Array | None
) -> tuple[Array, Array]:
    """Half of the quadratic form, if it is not known, and its linear part: least squares over all terms."""
    rows, right = [], []
    # Without a period there are many moments, and curves are smooth: some of them will do.
    some = 1 if grid.is_periodic else max(1, round(1.0 / (ENOUGH_HZ * grid.step_s)))

    def add(row: Array, target: Array, unit: float | Array) -> None:
        units = np.broadcast_to(unit, target.shape)[::some]
        rows.append(row[::some] / units[:, None])
        right.append(target[::some] / units)

    # Terms of forces add up stance by stance, those of the motion moment by moment: both for one stride.
    many = np.sqrt(-(-grid.count // some) * len(LIMBS) / stances.count)
    is_long = not grid.is_periodic or stances.count > len(LIMBS)  # than a stride
    smooth = local_mean(grid, stances) if is_long else np.zeros((0, 0))
    for k, ahead in enumerate(wanted.ends_x_m):
        row = system.moved["z"] + ahead * system.moved["pitch"]
        given = system.given["z"] + ahead * system.given["pitch"]
        target = wanted.strut_m[:, k] - given
        if grid.is_periodic:
            target = grid.without_mean(target)
        share = np.maximum(wanted.strut_share[:, k], 1e-6)
        if wanted.strut_share[:, k].max() > 0.0:
            add(row, target, many * STRUT * height_m / share)
        if is_long:
            runs = np.maximum(1.0 - wanted.strut_share[:, k], 1e-6)
            level = smooth @ -given
            level = grid.without_mean(level) if grid.is_periodic else level
            add(smooth @ row, level, many * MEAN * height_m / runs)
    surge = SURGE + (1.0 - wanted.strut_share.mean(axis=1)) * (RUN_SURGE - SURGE)
    for name, unit in (
        ("x", surge * height_m),
        ("y", SWAY * height_m),
        ("roll", TURN_RAD),
        ("yaw", TURN_RAD),
    ):
        add(system.moved[name], -system.given[name], many * unit)
    way = _on_its_way(grid, smooth, system, many * MEAN_SURGE * height_m)
    for row, target, unit in (*_level(grid, wanted, system, many * height_m, many), *way):
        add(row, target, unit)
    if wanted.still.max() > 0.0:
        for name in FREEDOMS:
            unit = STILL_RAD if name in {"roll", "pitch", "yaw"} else STILL * height_m
            add(system.moved[name], -system.given[name], many * unit / np.maximum(wanted.still, 1e-6))
    stacked = np.concatenate(rows)
    hessian = np.zeros((system.unknowns, system.unknowns)) if known is not None else stacked.T @ stacked
    hessian[np.diag_indices(system.unknowns)] += RIDGE
    gradient = stacked.T @ np.concatenate(right)
    _add_forces(grid, hessian, gradient, stances, wanted)
    return hessian if known is None else known, gradient


def _level(
    grid: Grid, wanted: Wanted, system: _System, length: float, angle: float
) -> list[tuple[Array, Array, Array]]:
    """Carry a running body level: rows, targets and units of its pitch, and of its rise over a period."""
    running = 1.0 - wanted.strut_share.mean(axis=1)
    if running.max() <= 0.0:
        return []
    share = np.maximum(running, 1e-6)
    terms = [(system.moved["pitch"], -system.given["pitch"], angle * PITCH_RAD / share)]
    if grid.is_periodic:
        terms.append((system.moved["z"], grid.without_mean(-system.given["z"]), length * RISE / share))
    return terms


def _on_its_way(grid: Grid, smooth: Array, system: _System, unit: float) -> list[tuple[Array, Array, Array]]:
    """Keep a body without a period where its path is at each moment, taken over a stride."""
    if grid.is_periodic:
        return []
    units = np.full(grid.count, unit)
    return [(smooth @ system.moved["x"], smooth @ -system.given["x"], units)]


def local_mean(grid: Grid, stances: Stances) -> Array:
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
    away = np.abs(grid.time_s[:, None] - grid.time_s[None])
    if grid.is_periodic:
        away = np.minimum(away, grid.span_s - away)
    away = away / stride[:, None]
    kernel = np.clip((0.5 - away) * stride[:, None] / grid.step_s + 0.5, 0.0, 1.0)
    return np.asarray(kernel / kernel.sum(axis=1, keepdims=True))


def _add_forces(grid: Grid, hessian: Array, gradient: Array, stances: Stances, wanted: Wanted) -> None:
    """Add what binds the bumps of one stance: smooth, sharing, pointing; small blocks on the diagonal."""
    size, once = stances.bumps, 1.0 if grid.is_periodic else SMOOTH_ONCE
    mean = np.maximum(wanted.impulse_share / (stances.liftoff_s - stances.touchdown_s), 1e-3)  # of weight
    area = grid.step_s * stances.values.sum(axis=0)  # (bumps,) [s]
    felt = grid.step_s * (wanted.still @ stances.values)
    first = stances.first[:-1]
    stands = np.add.reduceat(felt, first) / np.maximum(np.add.reduceat(area, first), 1e-9)
    ahead = wanted.bump_foot_m[:, 0] - wanted.point_x_m
    left = wanted.bump_foot_m[:, 1]
    for s in range(stances.count):
        here = slice(int(stances.first[s]), int(stances.first[s + 1]))
        count = here.stop - here.start
        firm = WALKING.towards(RUNNING, float(wanted.runs[s]))
        for k, smooth in enumerate((firm.smooth, firm.smooth_along, firm.smooth_along)):
            block = slice(k * size + here.start, k * size + here.stop)
            hessian[block, block] += _bends(count) / (smooth * once * float(mean[s])) ** 2
        unit = SHARE * (1.0 + STILL_SHARE * float(stands[s])) * wanted.impulse_share[s]
        rows = area[here] / unit
        hessian[here, here] += np.outer(rows, rows)
        gradient[here] += rows * wanted.impulse_share[s] / unit
        upward = np.arange(here.start, here.stop)
        for k, beside, line, net in (
            (1, ahead[here], firm.line, firm.line_net),
            (2, left[here], SIDE_LINE, SIDE_LINE),
        ):
            own = np.concatenate([upward, k * size + upward])
            away = np.concatenate([np.diag(beside / wanted.point_height_m), np.eye(count)], axis=1)
            form = away.T @ _pointing(count, line, net) @ away
            hessian[np.ix_(own, own)] += form / (float(mean[s]) ** 2 * count)


def _pointing(bumps: int, line: float, net: float) -> Array:
    """Weigh what one stance pushes beside the fixed point: its mean at ``net``, the rest at ``line``."""
    mean = np.full((bumps, bumps), 1.0 / bumps)
    return np.asarray((np.eye(bumps) - mean) / line**2 + mean / net**2)


@lru_cache(maxsize=64)
def _bends(bumps: int) -> Array:
    """Second differences of one force's bumps, with none before the first and after the last, squared."""
    rows = np.diff(np.eye(bumps + 2), n=2, axis=0)[:, 1:-1]
    return np.asarray(rows.T @ rows)


def _closing(grid: Grid, wanted: Wanted, system: _System) -> tuple[Array, Array]:
    """Demand what holds exactly: over a period the ground carries the weight, and nothing turns or drifts."""
    if not grid.is_periodic:
        return np.zeros((0, system.unknowns)), np.zeros(0)
    rows = np.stack([system.pushed[name].mean(axis=0) for name in FREEDOMS])
    right = np.zeros(len(FREEDOMS))
    order = [("x", "y", "z", "roll", "pitch", "yaw").index(name) for name in FREEDOMS]
    needed = wanted.besides.mean(axis=0)[order]
    right = needed + right
    right[0] += GRAVITY_M_S2
    right[2:4] += wanted.path_m_s2.mean(axis=0)
    scale = np.abs(rows).max(axis=1)
    return rows / scale[:, None], right / scale


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
