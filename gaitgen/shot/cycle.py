"""The cycle of a gait that a passage repeats, and what of it a shot is laid out from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb import LIMBS
from gaitgen.errors import RequestError
from gaitgen.gait.gait import Gait
from gaitgen.gait.request import Request
from gaitgen.gait.style import Style
from gaitgen.limbs.foot_path import step_share as step_share_of
from gaitgen.limbs.given import Given, given_by_law
from gaitgen.pipeline.carry import LEAST_LIFT_SHARE, Carried, carry, lift_share
from gaitgen.pipeline.placed import Placed
from gaitgen.pipeline.placing import place_feet
from gaitgen.pipeline.settle import Settled, settle
from gaitgen.pipeline.solve import Solved
from gaitgen.pipeline.temper import Tempered, tempered

Array = npt.NDArray[np.float64]


ROUNDING = 1e-9


@dataclass(frozen=True, eq=False)
class Cycle:
    """One cycle, in place.

    Attributes
    ----------
    settled, placed
        What was asked, and its feet, put where legs reach: all that a shot is laid out from.
    whole
        What came of it; None where it is only laid out.
    pace
        Factor on its speed, for trying another before it is laid out anew.
    """

    settled: Settled
    placed: Placed
    whole: Tempered | None = None
    pace: float = 1.0

    @property
    def made(self) -> Tempered:
        """What came of it."""
        assert self.whole is not None  # noqa: S101, what is only laid out is not posed
        return self.whole

    @property
    def animal(self) -> Animal:
        """The animal as it goes in this gait."""
        return self.settled.animal

    @property
    def gait(self) -> Gait:
        """The gait."""
        return self.settled.gait

    @property
    def frames(self) -> int:
        """Length of a stride. [frames]"""
        return self.settled.frames

    @cached_property
    def contact(self) -> Array:
        """(4,) contact of each foot after the first frame, in LIMBS order. [frames]"""
        return np.array(self.placed.timing.contact)

    @cached_property
    def down(self) -> Array:
        """(4,) how long each foot is down. [frames]"""
        return np.array(self.placed.timing.down)

    @property
    def duty(self) -> Array:
        """(4,) the same as a share of the stride."""
        return np.asarray(self.down / self.frames)

    @cached_property
    def speed_m_s(self) -> float:
        """Speed over the ground. [m/s]"""
        return self.pace * float(self.placed.course.steps.travel_m_s[0])

    @property
    def stance_m(self) -> float:
        """How far the body goes over a foot that is down. [m]"""
        stride_m = self.speed_m_s * self.frames / self.settled.request.frame_rate_hz
        return stride_m * float(self.duty.mean())

    @cached_property
    def centre_m(self) -> Array:
        """(4,) place of the toe ahead of the body half-way through its stance. [m]"""
        steps = self.placed.course.steps
        ahead = steps.place_m[:, 0] - float(steps.travel_m_s[0]) * (steps.touchdown_s + steps.liftoff_s) / 2.0
        centre = np.empty(len(LIMBS))
        centre[steps.limb] = ahead
        return centre

    @property
    def style(self) -> Style:
        """What is left of the style that was asked for."""
        return self.made.style

    @property
    def solved(self) -> Solved:
        """The motion of one stride."""
        return self.made.solved

    @cached_property
    def without_sway(self) -> Cycle:
        """The same without the style's sway; itself if there is none."""
        plain = replace(self.style, sway=1.0)
        if plain == self.style:
            return self
        return replace(self, whole=tempered(self.settled.with_style(plain)))

    def lift_share(self, step_share: Array) -> Array:
        """Return the share of a full lift that steps of some shares of a full one ask for, (samples, 4).

        A cycle lifts all its feet alike, by the mean of their steps.
        """
        course = self.placed.course
        state = self.solved.body.state
        own = step_share_of(self.animal, state).mean(axis=0)
        return np.asarray(lift_share(course) * _lifts(step_share) / _lifts(own))

    @property
    def roll_swings(self) -> Array:
        """(4,) how many times its swing each foot rolls over its toe before it leaves."""
        heel_off = np.array([limb.path.heel_off_share for limb in self.animal.limbs])
        return np.asarray((1.0 - heel_off) * self.duty / (1.0 - self.duty) + ROUNDING)

    @cached_property
    def given(self) -> Given:
        """What the laws of the limbs made of its loads."""
        return self._carried.given

    @cached_property
    def moved_m(self) -> Array:
        """(samples, 4, 3) how far swinging feet came up to their legs, or were carried by these. [m]"""
        return np.asarray(self.solved.legs.feet.toe_m - self._carried.plan.toe_m)

    @cached_property
    def _carried(self) -> Carried:
        """Its body with the feet and laws that go with it, before the legs were solved."""
        course = self.placed.course
        first = carry(course, self.style)
        given = given_by_law(
            self.animal,
            first.plan,
            course.grid,
            self.solved.body.balance.force_n[..., 2],
            self.solved.body.back,
            lift=self.style.lift * lift_share(course) * np.array(self.style.legs.lift),
            weight=self.style.weight * np.array(self.style.legs.weight),
            bounce=self.style.bounce,
        )
        return Carried(self.solved.body, first.plan, given)


def _lifts(step_share: Array) -> Array:
    return LEAST_LIFT_SHARE + (1.0 - LEAST_LIFT_SHARE) * step_share


def laid_out(request: Request) -> Cycle:
    """Find out when and where the feet of a cycle land, and no more.

    Raises
    ------
    GaitgenError
        If the request, the gait or the animal is not usable.
    """
    settled = _settled(request)
    return Cycle(settled, place_feet(settled, settled.request.style))


def cycle_of(request: Request) -> Cycle:
    """Solve the cycle of a passage, or take it where it is known, and with it all that was found for it.

    Of what is in a file it is solved anew, as that may have changed.

    Raises
    ------
    GaitgenError
        If the request, the gait or the animal is not usable.
    """
    given = request.animal, request.gait
    names_file = any(isinstance(each, str) and each.endswith(".toml") for each in given)
    return _solved(request) if names_file else _kept(request)


@lru_cache(maxsize=16)
def _kept(request: Request) -> Cycle:
    return _solved(request)


def _solved(request: Request) -> Cycle:
    settled = _settled(request)
    made = tempered(settled)
    return Cycle(settled, made.placed, made)


def _settled(request: Request) -> Settled:
    settled = settle(request)
    if settled.gait.is_backward:
        raise RequestError(
            f"{settled.gait.with_article} goes backwards, shots and joins go ahead; make it alone, with "
            "`gaitgen cycle`, and put another gait here"
        )
    return settled
