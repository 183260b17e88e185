"""What is given by law before the legs are solved: how joints give under load and fold in swing."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb_numbers import limb_numbers
from gaitgen.body.trunk import BackPose
from gaitgen.course.stance import StanceState
from gaitgen.limbs.animal_chains import chains_of
from gaitgen.limbs.chain import Laid
from gaitgen.limbs.foot_path import LATE_FROM, FootPlan
from gaitgen.limbs.slings import slings_rad, standing_n_kg, tops_m
from gaitgen.numerics.curves import hill, ramp
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]

# The fold of a swinging leg grows with this power of the lift factor, so that the foot goes up with it
# (estimate; the power of the foot's height is in foot_path.py).
FOLD_POWER = 0.5
# Over the last of what its range leaves it, this much or this share of it, a joint that load alone opens
# gives less and less: tendons stiffen (estimates). [rad]
STIFFENS_RAD, STIFFENS_SHARE = float(np.radians(25.0)), 0.5
# A bone above the one that points its limb answers what is more than its standing load, beginning so softly
# (estimate). [N/kg]
BEARS_N_KG = 0.7
UNBOUND_RAD = 10.0  # farther than any joint turns


@dataclass(frozen=True, eq=False)
class Given:
    """What the laws of the limbs say before the trunk is placed.

    Attributes
    ----------
    folded_rad, opening_rad
        (samples, 4, bones) how far each joint is folded by swing alone, and opened by load and fold. [rad]
    laid
        The limbs with their joints opened by load and fold.
    sling_rad
        (samples, 4, 2) roll and yaw of the slings. [rad]
    top_m
        (samples, 4, 3) top of each limb from the root, as the pelvis sees it. [m]
    hang_rad
        (4,), or (samples, 4), how far a swinging foot hangs back from the bone above it. [rad]
    """

    folded_rad: Array
    opening_rad: Array
    laid: Laid
    sling_rad: Array
    top_m: Array
    hang_rad: Array

    @cached_property
    def leaning_rad(self) -> Array:
        """(samples, 4, most bones above) turn of the bones above the pointing one by load and swing. [rad]"""
        chains = self.laid.chains
        own = slice(chains.most_above)
        return np.where(chains.is_above[:, own], self.opening_rad[..., own], 0.0)

    def at(self, rows: npt.NDArray[np.int64]) -> Given:
        """Return what is given at some of the samples."""
        hang = self.hang_rad if self.hang_rad.ndim == 1 else self.hang_rad[rows]
        parts = (self.folded_rad[rows], self.opening_rad[rows], self.laid.at(rows))
        return Given(*parts, self.sling_rad[rows], self.top_m[rows], hang)


def given_by_law(
    animal: Animal,
    plan: FootPlan,
    grid: Grid,
    force_n: Array,
    back: BackPose,
    *,
    lift: Array | float = 1.0,
    weight: Array | float = 1.0,
    bounce: float = 1.0,
    before: Given | None = None,
) -> Given:
    """Open and close the joints with load and swing (fetlock under load: McGuigan & Wilson 2003).

    Parameters
    ----------
    animal, plan, grid
        The animal, where its feet are, the moments.
    force_n
        (samples, 4) upward force on each foot. [N]
    back
        How the back is bent.
    lift, weight, bounce
        Style factors on the folds and on what the load does, one, (4,) or (samples, 4), and on the ride of
        the girdles.
    before
        What was given to feet that land and leave when these do, in the same style.
    """
    chains = chains_of(animal)
    folded = _folded_rad(animal, plan.state, lift) if before is None else before.folded_rad
    over = _over_standing_n_kg(animal, grid, force_n)
    heavy = BEARS_N_KG * np.logaddexp(0.0, over / BEARS_N_KG)
    felt = np.where(chains.is_above, heavy[..., None], over[..., None])
    loaded = np.asarray(weight)[..., None] * _laws(animal)["load_rad_kg_n"] * felt
    opening = _within_range(animal, loaded) - folded
    sling, hang = slings_rad(animal, plan, over, bounce), limb_numbers(animal, "path.hang_rad")
    laid = chains.laid(chains.sign * opening)
    return Given(folded, opening, laid, sling, tops_m(animal, back, sling), hang)


def _within_range(animal: Animal, loaded_rad: Array) -> Array:
    """Let joints that load alone opens, (samples, 4, bones), come softly to the end of their range. [rad]"""
    most, soft = _load_ends_rad(animal)
    beyond = loaded_rad - (most - soft)
    if not (beyond > 0.0).any():
        return loaded_rad
    return np.where(beyond > 0.0, most - soft + soft * np.tanh(np.maximum(beyond, 0.0) / soft), loaded_rad)


@lru_cache(maxsize=32)
def _load_ends_rad(animal: Animal) -> tuple[Array, Array]:
    """How far load may open each joint, and over how much of that it stiffens, (4, bones). [rad]"""
    chains = chains_of(animal)
    most = np.full(chains.opens.shape, UNBOUND_RAD)
    for row, limb in enumerate(animal.limbs):
        for place, (joint, law) in enumerate(zip(limb.joints, limb.laws, strict=False)):
            if law.opens == 0.0 and chains.sign[row, place] != 0.0:
                most[row, place] = float((chains.sign[row, place] * animal.ranges_rad[joint, 0]).max())
    return most, np.minimum(STIFFENS_RAD, STIFFENS_SHARE * most)


def _folded_rad(animal: Animal, state: StanceState, lift: Array | float) -> Array:
    """Fold the joints of a swinging leg, and once more before it lands: (samples, 4, bones). [rad]"""
    laws = _laws(animal)
    swing_s = (state.next_touchdown_s - state.liftoff_s)[..., None]
    liftoff, time_s = state.liftoff_s[..., None], state.time_s[..., None]
    start = liftoff - laws["fold_lead"] * swing_s
    peak = liftoff + laws["fold_share"] * swing_s
    leave, end = liftoff + laws["fold_until"] * swing_s, liftoff + laws["fold_to"] * swing_s
    fold = hill(time_s, start, peak, leave, end)
    if (laws["fold_to"] > 1.0).any():  # what is left of the fold as the foot lands goes early in its stance
        since = 1.0 + (time_s - state.touchdown_s[..., None]) / swing_s
        left = ramp((laws["fold_to"] - since) / (laws["fold_to"] - laws["fold_until"]))
        fold = np.where(time_s < liftoff, np.maximum(fold, left), fold)
    again = hill(state.swing_share[..., None], LATE_FROM, laws["again_share"], laws["again_share"], 1.0)
    lifted = np.asarray(lift)[..., None] ** FOLD_POWER
    return np.asarray(lifted * (laws["fold_rad"] * fold + laws["again_rad"] * again))


def fold_rad(animal: Animal) -> Array:
    """Return how far each joint folds in a full swing, (4, bones). [rad]"""
    return _laws(animal)["fold_rad"]


@lru_cache(maxsize=32)
def _laws(animal: Animal) -> dict[str, Array]:
    """Numbers of the laws as arrays (4, bones)."""
    most = max(len(limb.joints) for limb in animal.limbs) - 1
    names = (
        "fold_lead",
        "fold_share",
        "fold_to",
        "fold_until",
        "fold_rad",
        "again_rad",
        "again_share",
        "load_rad_kg_n",
    )
    arrays = {}
    for name in names:
        fill = {"fold_share": 0.4, "fold_to": 1.0, "fold_until": np.nan, "again_share": 0.75}.get(name, 0.0)
        array = np.full((len(animal.limbs), most), fill)
        for row, limb in enumerate(animal.limbs):
            array[row, : len(limb.laws)] = [getattr(law, name) for law in limb.laws]
        arrays[name] = array
    until = arrays["fold_until"]
    arrays["fold_until"] = np.where(np.isnan(until), arrays["fold_share"], until)
    return arrays


def _over_standing_n_kg(animal: Animal, grid: Grid, force_n: Array) -> Array:
    """Load of each foot over its standing load, felt as through a damped spring: (samples, 4). [N/kg]"""
    quick = (tuple(limb_numbers(animal, f"load_{name}").tolist()) for name in ("frequency_hz", "damping"))
    felt = grid.smoothed(force_n, *quick)
    return np.asarray(felt / animal.body_mass_kg - standing_n_kg(animal))
