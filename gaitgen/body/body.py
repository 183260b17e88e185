"""The body over the steps: support forces, where hips and chest go, and the shape of the back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb_numbers import limb_numbers
from gaitgen.animal.mass import whole_body
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.balance import Balance, balance
from gaitgen.body.bend import back_of_feet
from gaitgen.body.footing import Footing, find_footing, footing_ahead
from gaitgen.body.trunk import BackPose, Ends
from gaitgen.course.ground import Ground
from gaitgen.course.path import Path
from gaitgen.course.stance import StanceState
from gaitgen.course.steps import Steps
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Stiff:
    """How a body that does not bend would move, as the body sees it.

    Attributes
    ----------
    moved_m, turned_rad
        (samples, 3) as in Balance.
    base_m
        (samples,) height of the ground under it. [m]
    """

    moved_m: Array
    turned_rad: Array
    base_m: Array


@dataclass(frozen=True, eq=False)
class Body:
    """What the body does over a stretch of steps, as seen from the frame that goes along the path.

    Attributes
    ----------
    balance
        Forces, and the motion of the body under them.
    ends
        Where hips and chest are meant to be.
    back
        The bent back.
    state
        The step each foot is in, as the body sees it.
    base_m
        (samples,) height of the ground under the body. [m]
    chest_height_m, hips_height_m
        (samples,) over standing on that ground. [m]
    """

    balance: Balance
    ends: Ends
    back: BackPose
    state: StanceState
    base_m: Array
    chest_height_m: Array
    hips_height_m: Array
    footing: Footing

    @property
    def stiff(self) -> Stiff:
        """How it would move if it did not bend."""
        return Stiff(self.balance.moved_m, self.balance.turned_rad, self.base_m)


def move_body(
    animal: Animal,
    steps: Steps,
    path: Path,
    ground: Ground,
    grid: Grid,
    *,
    bounce: float = 1.0,
    sway: float = 1.0,
    settle_strides: float | None = None,
    load: Sequence[float] = (1.0, 1.0, 1.0, 1.0),
    besides: Array | None = None,
    before: Body | None = None,
    ahead_m: Array | None = None,
    held: tuple[Array, Array, Array] | None = None,
    is_reheld: bool = False,
) -> Body:
    """Find forces and motion of the body over its steps.

    Parameters
    ----------
    animal, steps, path, ground, grid
        Who goes where; evenly spaced moments, whole periods if the steps repeat.
    bounce, sway
        Style factors on rise and fall, and on what goes sideways.
    settle_strides
        Share of a stride after contact at which an end is lowest at a walk; None as the animal does.
    load
        (4,) factor on what each foot carries of its pair's load, in LIMBS order.
    besides
        (samples, 6) what limbs and hanging parts need beside the body (see Wanted); None for nothing.
    before
        The body as it was found from the same, but for ``besides``: its footing is this one's too.
    ahead_m
        (4,) how much farther ahead all stances of each foot are than before, on a straight path. [m]
    held
        Heights of chest and hips, how far they are held there, and how far they leap, as in Wanted.
    is_reheld
        Whether that was another ``before``.
    """
    style, loads = {"bounce": bounce, "sway": sway}, np.asarray(load)
    is_lame, balanced = bool(np.any(loads != loads[0])), None
    if before is None or (is_lame and ahead_m is not None):
        footing = find_footing(
            animal, steps, path, ground, grid, loads, settle_strides=settle_strides, **style
        )
        if held is not None:
            footing = _held(footing, held)
    elif ahead_m is not None:
        footing = footing_ahead(animal, grid, before.footing, ahead_m, **style)
    else:
        footing, balanced = before.footing, before.balance
        if is_reheld:
            footing = _held(footing, (None, None, None) if held is None else held)
    aside = footing.aside_m
    wanted = footing.wanted if besides is None else replace(footing.wanted, besides=besides)
    solved = balance(grid, footing.stances, whole_body(animal), wanted, balanced, is_reheld=is_reheld)
    chest_ahead, hips_ahead = wanted.ends_x_m
    moved, turned = solved.moved_m, solved.turned_rad
    # A balance with a period knows no height: an end that walks is as high as its struts are on the whole.
    lift = wanted.strut_m.mean(axis=0) * wanted.strut_share.mean(axis=0) if grid.is_periodic else np.zeros(2)
    chest = moved[:, 2] + chest_ahead * turned[:, 1] + lift[0]
    hips = moved[:, 2] + hips_ahead * turned[:, 1] + lift[1]
    top, hip = (standing_positions_m(animal)[animal.limb(end).top] for end in ("fore", "hind"))
    above = whole_body(animal).centre_m[2]
    hips_left = aside + sway * (moved[:, 1] + hips_ahead * turned[:, 2] - (hip[2] - above) * turned[:, 0])
    chest_left = aside + sway * (moved[:, 1] + chest_ahead * turned[:, 2] - (top[2] - above) * turned[:, 0])
    sinks = 1.0 - np.cos(footing.lean_rad)  # what leans over its feet as a whole is that share lower
    chest_down, hips_down = (limb_numbers(animal, "lower_m")[::2] + np.outer(sinks, [top[2], hip[2]])).T
    forward = hip[0] + moved[:, 0] - (hip[2] - above) * turned[:, 1]
    ends = Ends(
        hips_m=np.stack([forward, hips_left, hip[2] - hips_down + hips + footing.under_ends_m[:, 1]], axis=1),
        chest_left_m=chest_left,
        chest_up_m=top[2] - chest_down + chest + footing.under_ends_m[:, 0],
    )
    back = footing.back.rolled(sway * turned[:, 0])
    return Body(solved, ends, back, footing.state, footing.base_m, chest, hips, footing)


def swayed(animal: Animal, grid: Grid, body: Body, *, bounce: float, sway: float) -> Body:
    """Return a body that was moved in a style without sway with what goes sideways so many times as wide.

    Its forces stay those of the plain sway: what limbs need beside a body that sways farther would make it
    roll farther again, with more than the square of what is asked.
    """
    footing, aside = body.footing, body.footing.aside_m
    back = back_of_feet(
        animal,
        grid,
        body.state,
        footing.lean_rad,
        footing.bend_rad,
        footing.hike_rad,
        bounce=bounce,
        sway=sway,
    ).rolled(sway * body.balance.turned_rad[:, 0])
    ends = body.ends
    hips_m = ends.hips_m.copy()
    hips_m[:, 1] = aside + sway * (hips_m[:, 1] - aside)
    ends = replace(ends, hips_m=hips_m, chest_left_m=aside + sway * (ends.chest_left_m - aside))
    return replace(body, ends=ends, back=back)


def _held(footing: Footing, held: tuple[Array | None, Array | None, Array | None]) -> Footing:
    """Hold the body at some heights, or at none."""
    wanted = replace(footing.wanted, held_m=held[0], held=held[1], leaps=held[2])
    return replace(footing, wanted=wanted)
