"""Over ground that is not even a swinging foot goes up before it goes ahead, and comes down past the edge."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.limb_numbers import limb_numbers
from gaitgen.course.ground import Ground
from gaitgen.course.path import Frames
from gaitgen.limbs.foot_path import Feet, FootPlan
from gaitgen.numerics.curves import envelope, even_travel, ramp
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# A swinging foot has this room over the ground, in hip heights; it is up after, and comes down in, this share
# of its swing (estimates).
CLEAR_SHARE, UP_SHARE = 0.03, 0.24
SOFT_S = 0.04
# The same over edges, where it comes and goes in such a share of a swing.
CLEAR_EDGES, SOFT_EDGES = 0.04, 0.18
# A foot that has to go up by so many hip heights or more before it is half-way waits with going ahead for
# such a share of its swing, and one that has to come down so far is there so much earlier, and comes down in
# such a share: each up a step, and down one, past whose edge it has the longer way (estimates).
HIGH_SHARE = 0.05
WAITS_SHARE, EARLY_SHARE, DOWN_SHARE = (0.28, 0.24), (0.22, 0.28), (0.24, 0.36)
# A foot that is raised over an edge by as much as its swing lifts it, folds its leg by such a factor of lift
# (where a fold goes with a power of that), at the most by another (estimates).
FOLDS_LIKE, MOST_LIKE = 2.0, 3.0
# A foot that waits is up, as high as its first half asks for, after so much more of its swing, and that high
# until so late, whence that ends in such a share (estimates): raised only as it comes to the edge, its leg
# would open as it is left behind, and fold anew. The greater of both ways up counts, by such a power.
UP_AFTER, UP_UNTIL, UP_ENDS, JOINED = 0.15, 0.4, 0.3, 8.0
ALL = 1.0, 1.0
BETWEEN = 0.0, 0.2, 0.4, 0.6, 0.8  # shares of a frame at which soles are looked at
LENGTHWAYS, ACROSS = np.array([0.0, 0.5, 1.0]), np.array([-1.0, 0.0, 1.0])


@dataclass(frozen=True, eq=False)
class Cleared:
    """Feet over edges.

    Attributes
    ----------
    plan
        The feet.
    folds
        (samples, 4) factor of the lift as which their legs are to fold.
    """

    plan: FootPlan
    folds: Array

    def where(self, here: Bools, other: Cleared) -> Cleared:
        """Take another for some feet at some moments, (samples, 4)."""
        toe = np.where(here[..., None], other.plan.toe_m, self.plan.toe_m)
        return Cleared(replace(self.plan, toe_m=toe), np.where(here, other.folds, self.folds))


def over_edges(
    plan: FootPlan,
    frames: Frames,
    ground: Ground,
    grid: Grid,
    *,
    waits: bool,
    share: tuple[float, float] = ALL,
) -> Cleared:
    """Lift swinging feet over whatever is on their way.

    Parameters
    ----------
    plan
        The feet, as the body sees them.
    frames, ground, grid
        How the body goes, over what, at which moments.
    waits
        Whether the ground has edges, before which a foot waits until it is up.
    share
        Of what it waits, and of what it is there earlier.
    """
    animal, state = plan.animal, plan.state
    swing = state.swing_share
    swings = (swing > 0.0) & (swing < 1.0)
    high = HIGH_SHARE * animal.hip_height_m
    falls = (state.next_place_m - state.place_m)[..., 2] < 0.0
    waiting, earlier, down = (np.where(falls, *each[::-1]) for each in (WAITS_SHARE, EARLY_SHARE, DOWN_SHARE))
    missed = np.where(swings, _missed(plan, frames, ground), 0.0)
    wait, early = (
        most * waits * ramp(_largest(np.where(half, missed, 0.0), plan) / high)
        for half, most in ((swing < 0.5, share[0] * waiting), (swing >= 0.5, share[1] * earlier))
    )
    ease = (limb_numbers(animal, f"path.{name}") for name in ("ease_in", "ease_out"))
    eases = tuple(ease)
    later = even_travel((swing - wait) / (1.0 - wait - early), *eases) - even_travel(swing, *eases)
    plan = replace(plan, toe_m=plan.toe_m + later[..., None] * (state.next_place_m - state.place_m))
    window = ramp(swing / UP_SHARE) * ramp((1.0 - swing) / (down if waits else UP_SHARE))
    room = (CLEAR_EDGES if waits else CLEAR_SHARE) * animal.hip_height_m * window
    needed = np.where(swings, np.maximum(_missed(plan, frames, ground) + room, 0.0), 0.0)
    soft_s = SOFT_S
    if waits and swings.any():
        soft_s = SOFT_EDGES * float(np.median((state.next_touchdown_s - state.liftoff_s)[swings]))
    over = window * envelope(needed, max(2, round(soft_s / grid.step_s)))
    over = _up_first(over, swing, wait, plan)
    lifted = ((plan.toe_m - state.place_m) * plan.normal).sum(axis=-1)
    own = np.maximum(_largest(np.where(swings, lifted, 0.0), plan), high)
    folds = 1.0 + (FOLDS_LIKE - 1.0) * _largest(over, plan) / own
    raised = replace(plan, toe_m=plan.toe_m + over[..., None] * np.array([0.0, 0.0, 1.0]))
    return Cleared(raised, np.minimum(folds, MOST_LIKE))


def floors_m(feet: Feet, toe_m: Array, frames: Frames, ground: Ground) -> Array:
    """Say how high toes must be for pitched soles to be over the ground, (samples, 4). [m]

    Parameters
    ----------
    feet, toe_m
        How feet are turned, and where their toes are, (samples, 4, 3), as the body sees them. [m]
    frames, ground
        How the body goes, over what; beyond the ground comes minus infinity.
    """
    length = limb_numbers(feet.animal, "foot.toe_m") + limb_numbers(feet.animal, "foot.heel_m")
    back, left = (each.ravel()[:, None] for each in np.meshgrid(LENGTHWAYS, ACROSS, indexing="ij"))
    turned = feet.rotations()[:, None]
    off = (left * limb_numbers(feet.animal, "foot.half_width_m"))[..., None] * turned[..., 1]
    off = off - (back * length)[..., None] * turned[..., 0]  # (samples, points, 4, 3)
    heights = ground.known_m(_in_world(frames, toe_m[:, None] + off))
    return np.asarray(np.where(np.isfinite(heights), heights - off[..., 2], -np.inf).max(axis=1))


def cut_m(feet: Feet, frames: Frames, ground: Ground) -> Array:
    """Say how far soles come under the ground on straight ways from each frame to the next, (frames, 4). [m]

    Parameters
    ----------
    feet, frames
        Feet as they are turned, as the body sees them, and how that goes, once a frame.
    ground
        The ground; beyond it nothing is under it.
    """
    length = limb_numbers(feet.animal, "foot.toe_m") + limb_numbers(feet.animal, "foot.heel_m")
    back, left = (each.ravel()[:, None] for each in np.meshgrid(LENGTHWAYS, ACROSS, indexing="ij"))
    turned = feet.rotations()[:, None]
    off = (left * limb_numbers(feet.animal, "foot.half_width_m"))[..., None] * turned[..., 1]
    points = feet.toe_m[:, None] + off - (back * length)[..., None] * turned[..., 0]  # (frames, points, 4, 3)
    points = np.concatenate([_in_world(frames, points), points[..., 2:]], axis=-1)
    cut = np.zeros(feet.toe_m.shape[:2])
    for share in BETWEEN:
        between = points[:-1] + share * np.diff(points, axis=0)
        under = ground.known_m(between[..., :2]) - between[..., 2]
        cut[:-1] = np.maximum(cut[:-1], np.where(np.isfinite(under), under, 0.0).max(axis=1))
    return cut


def _up_first(over: Array, swing: Array, wait: Array, plan: FootPlan) -> Array:
    """Raise feet that wait before they go ahead as far as they are raised later: (samples, 4). [m]"""
    high = _largest(np.where(swing < 0.5, over, 0.0), plan) * ramp(wait / WAITS_SHARE[0])
    goes_up = ramp(swing / (wait + UP_AFTER)) * ramp((UP_UNTIL + UP_ENDS - swing) / UP_ENDS)
    return np.asarray((over**JOINED + (high * goes_up) ** JOINED) ** (1.0 / JOINED))


def _missed(plan: FootPlan, frames: Frames, ground: Ground) -> Array:
    """How much higher each foot would have to be for its sole to be over the ground, (samples, 4). [m]"""
    animal = plan.animal
    length = limb_numbers(animal, "foot.toe_m") + limb_numbers(animal, "foot.heel_m")
    back, left = (each.ravel() for each in np.meshgrid(LENGTHWAYS, ACROSS, indexing="ij"))
    back = back[:, None] * length  # (points, 4)
    left = left[:, None] * limb_numbers(animal, "foot.half_width_m")
    ahead = plan.ahead[:, None]
    across = np.stack([-ahead[..., 1], ahead[..., 0], np.zeros_like(ahead[..., 0])], axis=-1)
    points = plan.toe_m[:, None] - back[..., None] * ahead + left[..., None] * across
    heights = ground.known_m(_in_world(frames, points))
    return np.asarray(np.where(np.isfinite(heights), heights - points[..., 2], -np.inf).max(axis=1))


def _largest(values: Array, plan: FootPlan) -> Array:
    """Return the largest value in the stance and swing that each foot is in at each moment: (samples, 4)."""
    number = plan.state.stance
    first = int(number.min())
    largest = np.zeros(int(number.max()) - first + 1)
    np.maximum.at(largest, number - first, values)
    return np.asarray(largest[number - first])


def _in_world(frames: Frames, points_m: Array) -> Array:
    """Carry points (samples, ..., 3) of the moving frame to places (samples, ..., 2) in the world. [m]"""
    shape = (-1, *(1,) * (points_m.ndim - 2))
    cos, sin = np.cos(frames.heading_rad).reshape(shape), np.sin(frames.heading_rad).reshape(shape)
    x, y = points_m[..., 0], points_m[..., 1]
    return np.stack(
        [
            frames.place_m[:, 0].reshape(shape) + cos * x - sin * y,
            frames.place_m[:, 1].reshape(shape) + sin * x + cos * y,
        ],
        axis=-1,
    )
