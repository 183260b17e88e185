"""Where each foot is: fixed and flat, rolling over its toe, or swinging to the next place."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb_numbers import limb_numbers
from gaitgen.course.stance import StanceState
from gaitgen.course.steps import along
from gaitgen.limbs.tuck import Tuck
from gaitgen.numerics.curves import bump, even_travel, hill, ramp
from gaitgen.numerics.turns import crossed, direction

Array = npt.NDArray[np.float64]
Complex = npt.NDArray[np.complex128]
Ints = npt.NDArray[np.int64]

EVERY = slice(None)

# The height of a swinging foot grows with this power of the lift factor (estimate).
LIFT_POWER = 1.5
# The fall of the tip of a foot that does not hang ends at this share of swing.
LEVEL_SHARE = 0.80
# The second lift of a foot begins at this share of swing.
LATE_FROM = 0.45
# The last fall of a foot that is lifted high is so long at the most, in shares of its swing (estimate: with
# 0.28 a joint of a low leg folds past its range as its foot is lifted 2.5 times as high).
LONGEST_FALL = 0.2
# The toe is raised for landing from this share of swing on, most after so much of the rest (estimates).
TOE_UP_FROM, TOE_UP_MOST = 0.62, 0.55
# The quick foot of a limp leaves, comes up and hangs more slowly by this power of what it brakes earlier by,
# in half of its swing at the most (estimates: with less, an elbow folds by 25 degrees as it leaves).
QUICK_POWER, SLOWEST = 0.7, 0.5
# A foot that may mark time and steps less far than this share of a full step does so more and more: it is
# highest at this share of swing, and has no second lift (estimates).
STEPS_ON, MARKS_HIGHEST = 0.25, 0.42


@dataclass(frozen=True, eq=False)
class Feet:
    """The feet over time, in LIMBS order, as the body sees them.

    Attributes
    ----------
    animal
        Whose feet they are.
    toe_m
        (samples, 4, 3) ground point of the toe. [m]
    pitch_rad
        (samples, 4) of the sole against the ground, positive with the toe up. [rad]
    goes
        (samples, 4) where the leg goes, forward and, imaginary, to the left, of length 1.
    normal
        (samples, 4, 3) of the ground under the foot.
    ahead
        (samples, 4, 3) where the toes point along the ground: unit vectors.
    """

    animal: Animal
    toe_m: Array
    pitch_rad: Array
    goes: Complex
    normal: Array
    ahead: Array

    def rotations(self, rows: slice | Ints = EVERY) -> Array:
        """Return the rotation of each foot from standing, at some moments or all: (samples, 4, 3, 3)."""
        return foot_rotations(self.pitch_rad[rows], self.ahead[rows], self.normal[rows])

    def at(self, toe_m: Array) -> Feet:
        """Return the feet elsewhere, pitched as they are."""
        made = replace(self, toe_m=toe_m)
        made.__dict__.update(arms_m=self.arms_m)
        return made

    @cached_property
    def joints_m(self) -> Array:
        """(samples, 4, 3) the foot joints. [m]"""
        return np.asarray(self.toe_m + self.arms_m)

    @cached_property
    def arms_m(self) -> Array:
        """(samples, 4, 3) the foot joints from the ground points of the toes. [m]"""
        toe, height = (limb_numbers(self.animal, f"foot.{name}_m") for name in ("toe", "height"))
        cos, sin = np.cos(self.pitch_rad), np.sin(self.pitch_rad)
        back = -toe * cos - height * sin
        rise = height * cos - toe * sin
        return np.asarray(back[..., None] * self.ahead + rise[..., None] * self.normal)


def _ahead(heading_rad: Array, normal: Array) -> Array:
    """Point along a heading, in the plane of the ground: unit vectors (..., 3)."""
    flat = np.stack([np.cos(heading_rad), np.sin(heading_rad), np.zeros_like(heading_rad)], axis=-1)
    flat = flat - np.sum(flat * normal, axis=-1, keepdims=True) * normal
    return np.asarray(flat / np.linalg.norm(flat, axis=-1, keepdims=True))


def foot_rotations(pitch_rad: Array, ahead: Array, normal: Array) -> Array:
    """Stand a foot on the ground, turn it to where its toes point and pitch it: (...) to (..., 3, 3)."""
    left = crossed(normal, ahead)
    cos, sin = np.cos(pitch_rad)[..., None], np.sin(pitch_rad)[..., None]
    return np.stack([cos * ahead + sin * normal, left, cos * normal - sin * ahead], axis=-1)


def _numbers(animal: Animal, name: str) -> Array:
    """One number of every limb's foot path, (4,)."""
    return limb_numbers(animal, f"path.{name}")


@dataclass(frozen=True, eq=False)
class FootPlan:
    """What is known of the feet before the legs: places, and the pitch that the roll alone would give.

    Attributes
    ----------
    animal
        Whose feet they are.
    state
        The step of each foot, as the body sees it.
    toe_m, normal
        As in Feet.
    heading_rad
        (samples, 4) where the leg goes, to the left of forward. [rad]
    rolled_rad
        (samples, 4) pitch from heel-off over lift-off to level again. [rad]
    hangs
        (samples, 4) how far the foot hangs from its leg, 0 to 1.
    landing_rad
        (samples, 4) toe raised before landing. [rad]
    """

    animal: Animal
    state: StanceState
    toe_m: Array
    heading_rad: Array
    normal: Array
    rolled_rad: Array
    hangs: Array
    landing_rad: Array

    @cached_property
    def ahead(self) -> Array:
        """(samples, 4, 3) where the toes of each foot point along the ground: unit vectors."""
        return _ahead(self.heading_rad + limb_numbers(self.animal, "toes_left_rad"), self.normal)

    @cached_property
    def goes(self) -> Complex:
        """(samples, 4) where each leg goes, as in Feet."""
        return direction(self.heading_rad)

    @cached_property
    def rolling(self) -> Feet:
        """The feet as the roll alone would have them."""
        return self._pitched(self.rolled_rad)

    def hanging(self, hanging_rad: Array) -> Feet:
        """Return the feet; ``hanging_rad`` (samples, 4) is the pitch at which they hang from their legs."""
        rolled = self.rolled_rad
        return self._pitched(rolled + self.hangs * (np.minimum(hanging_rad, 0.0) - rolled))

    def _pitched(self, pitch_rad: Array) -> Feet:
        pitch = pitch_rad + self.landing_rad
        return Feet(self.animal, self.toe_m, pitch, self.goes, self.normal, self.ahead)

    def farther(self, state: StanceState, ahead_m: Array) -> FootPlan:
        """Return the plan for the same steps, each foot (4,) farther ahead. [m]"""
        return self._on(self.toe_m + along(ahead_m), state)

    def raised(self, by_m: Array) -> FootPlan:
        """Raise the feet off the ground by (samples, 4). [m]"""
        return self._on(self.toe_m + by_m[..., None] * self.normal)

    def moved(self, by_m: Array) -> FootPlan:
        """Move the feet by (samples, 4, 3). [m]"""
        return self._on(self.toe_m + by_m)

    def _on(self, toe_m: Array, state: StanceState | None = None) -> FootPlan:
        """Return the plan with the toes elsewhere; where legs and toes point, and how feet roll, is known."""
        made = replace(self, toe_m=toe_m, state=state or self.state)
        made.__dict__.update(goes=self.goes, ahead=self.ahead, rolling=self.rolling.at(toe_m))
        return made

    def tucked(self, shortfall_m: Array, runs: Array, leg_m: Array, *, is_periodic: bool = True) -> FootPlan:
        """Raise swinging feet to where their legs reach, whatever these miss; see `Tuck`."""
        return self.raised(Tuck.of(self.state, runs, leg_m, is_periodic=is_periodic).raise_m(shortfall_m))


def plan_feet(
    animal: Animal,
    state: StanceState,
    *,
    lift: float | Array = 1.0,
    least_step: float | Array = 0.0,
    most_step: float | Array = 1.0,
    longest_roll: float | Array = np.inf,
    marks_time: bool = False,
    earlier: float | Array = 1.0,
) -> FootPlan:
    """Lead every foot through stance and swing; C2 in time, and never under the ground.

    Parameters
    ----------
    animal
        The feet, and how they swing.
    state
        The step each foot is in, as the body sees it.
    lift
        Style factor on the height of the swinging foot, one, (4,) or (samples, 4).
    least_step
        How far a foot that covers no ground tips and hangs, against one that covers a full step, one or
        (samples, 4).
    most_step
        How far a foot tips and hangs at the most, one or (samples, 4).
    longest_roll
        How many times its swing a foot rolls over its toe before it leaves, at the most; (4,) for each.
    marks_time
        Whether a foot that covers little ground goes up and is set down where it was, and does not glide in.
    earlier
        How many times as long a share of its swing a foot brakes, and by its QUICK_POWER leaves; (4,).
    """
    swing, slower = state.swing_share, np.asarray(earlier, dtype=np.float64) ** QUICK_POWER
    ease_in = _slowed(animal, "ease_in", slower)
    passed = even_travel(swing, ease_in, np.minimum(earlier * _numbers(animal, "ease_out"), 1.0 - ease_in))
    toe = state.place_m + passed[..., None] * (state.next_place_m - state.place_m)
    heading = state.heading_rad + passed * (state.next_heading_rad - state.heading_rad)
    normal = state.normal + passed[..., None] * (state.next_normal - state.normal)
    normal = normal / np.linalg.norm(normal, axis=-1, keepdims=True)
    stepped = step_share(animal, state)
    goes = ramp(stepped / STEPS_ON) if marks_time else np.ones_like(stepped)
    landing = (
        goes * _numbers(animal, "toe_up_rad") * bump((swing - TOE_UP_FROM) / (1.0 - TOE_UP_FROM), TOE_UP_MOST)
    )
    early_share = goes * _slowed(animal, "early_share", slower) + (1.0 - goes) * MARKS_HIGHEST
    early = _numbers(animal, "early_lift_m") * bump(swing, early_share)
    highest = _sooner(_numbers(animal, "late_share"), lift)
    late = goes * _numbers(animal, "late_lift_m") * hill(swing, LATE_FROM, highest, highest, 1.0)
    sole = limb_numbers(animal, "foot.toe_m") + limb_numbers(animal, "foot.heel_m")
    share = np.minimum(np.maximum(stepped, least_step), most_step)
    height = lift**LIFT_POWER * (early + late) + sole * np.sin(np.maximum(landing, 0.0))
    side = np.where(limb_numbers(animal, "is_left"), 1.0, -1.0) * _numbers(animal, "around_m")
    out = (goes * side * bump(swing, 0.5))[..., None] * crossed(normal, _ahead(heading, normal))
    toe = toe + height[..., None] * normal + out
    return FootPlan(
        animal=animal,
        state=state,
        toe_m=toe,
        heading_rad=heading,
        normal=normal,
        rolled_rad=-share * _tip(animal, state, longest_roll),
        hangs=share * _hangs(animal, state, slower),
        landing_rad=landing,
    )


def _sooner(late_share: Array, lift: float | Array) -> Array:
    """Let a foot that is lifted higher begin its last fall sooner, so that it lands no harder for it."""
    fall = (1.0 - late_share) * np.maximum(lift, 1.0) ** LIFT_POWER
    return np.asarray(1.0 - np.minimum(fall, np.maximum(LONGEST_FALL, 1.0 - late_share)))


def step_share(animal: Animal, state: StanceState) -> Array:
    """How far a foot covers the ground in stance, against a full walking stance; at most 1."""
    stance_s = state.liftoff_s - state.touchdown_s
    stride_s = state.next_touchdown_s - state.touchdown_s
    step_m = np.linalg.norm(state.next_place_m - state.place_m, axis=-1)
    full_m = animal.tempo.stance_distance_m
    return np.asarray(np.minimum(1.0, step_m * stance_s / stride_s / full_m))


def _tip(animal: Animal, state: StanceState, longest_roll: float | Array) -> Array:
    """Tip of the sole to the rear, from heel-off through lift-off to level again, C2. [rad]"""
    swing_s = state.next_touchdown_s - state.liftoff_s
    heel_off = state.touchdown_s + _numbers(animal, "heel_off_share") * (state.liftoff_s - state.touchdown_s)
    heel_off = np.maximum(heel_off, state.liftoff_s - longest_roll * swing_s)
    steepest = state.liftoff_s + _numbers(animal, "tip_share") * swing_s
    level = state.liftoff_s + LEVEL_SHARE * swing_s
    return _numbers(animal, "tip_rad") * hill(state.time_s, heel_off, steepest, steepest, level)


def _slowed(animal: Animal, name: str, slower: Array) -> Array:
    """Make a share of swing so many times as long, up to SLOWEST."""
    share = _numbers(animal, name)
    return np.asarray(np.minimum(slower * share, np.maximum(share, SLOWEST)))


def _hangs(animal: Animal, state: StanceState, slower: Array) -> Array:
    names = ("hang_from", "hang_full", "level_from", "level_to")
    begins, full, leaves, level = (_numbers(animal, name) for name in names)
    return hill(
        state.swing_share, begins, np.minimum(begins + slower * (full - begins), leaves), leaves, level
    )
