"""An animal that stands: it shifts its weight from side to side, breathes, and moves ears and tail."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import load_animal
from gaitgen.animal.limb_numbers import limb_numbers
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.trunk import Ends, Trunk, bent_back, posed_trunk
from gaitgen.course.stance import StanceState
from gaitgen.course.steps import Loop, Steps
from gaitgen.errors import Notice, ReachError, RequestError
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.presets import mixed, parse_names
from gaitgen.gait.request import Request
from gaitgen.gait.style import Style
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.hanging.breathing import breaths_in_loop
from gaitgen.hanging.followers import Hung, hang
from gaitgen.hanging.idle import idle_turns_rad
from gaitgen.limbs.foot_path import plan_feet
from gaitgen.limbs.given import given_by_law
from gaitgen.limbs.legs import LegPoses, aim_legs, solve_legs
from gaitgen.limbs.reach import reach_for
from gaitgen.motion.facts import Facts, Plan
from gaitgen.motion.motion import KeyPose, Motion
from gaitgen.numerics.curves import ramp
from gaitgen.numerics.grid import Grid
from gaitgen.numerics.rotations import continuous_sign, quaternion_from_matrix

Array = npt.NDArray[np.float64]

USUAL_FRAMES = 96
SAMPLES = 96
# How far hips and chest go to the side, as shares of half the distance between the feet; forward and back in
# hip heights; and how far the hip of the side that is relieved sinks (estimates).
HIPS_ASIDE, CHEST_ASIDE = 0.30, 0.12
SURGE = 0.002
SINK_RAD = np.radians(2.0)
# A left hind leg that is relieved rests on its toe, where its file says so, from and to where the weight
# is so far on the right; its hip sinks so much more. Only where the weight stays long enough (estimates).
REST_FROM, REST_FULL, RESTED_SINK_RAD, REST_S = 0.0, 0.98, np.radians(2.0), 3.5
RESTED = LIMBS.index("LH")
LONG_S = 1000.0  # feet have stood and will stand
SETTLE_ROUNDS = 6
ROOM_M = 1e-4
# A stance that fills its loop, and begins between frames: no foot lands or leaves on any of them.
ALL, BETWEEN_FRAMES = 1.0 - 1e-9, 0.37
# The weight goes to the left and to the right once in about so long, and stays a while (estimates).
SHIFT_S, STAYS = 5.0, 0.12


def stand(request: Request) -> Motion:
    """Let an animal stand for the frames of a loop.

    Raises
    ------
    GaitgenError
        If the request asks for what a stand does not have, or the animal is not usable.
    """
    _refuse_going(request)
    known = isinstance(request.animal, Animal)
    animal = request.animal if known else load_animal(str(request.animal), request.proportions)
    assert isinstance(animal, Animal)  # noqa: S101
    frames = request.frames or USUAL_FRAMES
    style = mixed(parse_names(request.named_style or ""), request.style)
    made = replace(request, frames=frames, style=style, named_style=None)
    made.refuse_endless()
    per_frame = -(-SAMPLES // frames)
    grid = Grid(0.0, 1.0 / (per_frame * request.frame_rate_hz), per_frame * frames, is_periodic=True)
    return _Stood(animal, style, grid).clip(made, per_frame)


def _refuse_going(request: Request) -> None:
    """Refuse what only an animal that goes has."""
    asked = {
        "speed": request.speed_m_s,
        "Froude number": request.froude,
        "stride length": request.stride_length_m,
        "duty factor": request.duty_factor,
        "lag": request.lag,
        "lead": request.lead,
        "contacts": request.contacts,
        "settle": request.settle_strides,
        "seed": request.seed,
    }
    named = [name for name, value in asked.items() if value is not None]
    if named:
        raise RequestError(f"a stand has no {named[0]}, its feet do not leave the ground; leave it out")


def _places_m(animal: Animal) -> Array:
    """Ground points of the toes of the standing animal, (4, 3). [m]"""
    standing = standing_positions_m(animal)
    return np.array(
        [
            [standing[limb.foot_joint, 0] + limb.foot.toe_m, standing[limb.foot_joint, 1], 0.0]
            for limb in animal.limbs
        ]
    )


def _standing_state(places_m: Array, time_s: Array) -> StanceState:
    """Stand on all feet, long since and for long."""
    shape = (time_s.size, len(LIMBS))
    place = np.broadcast_to(places_m, (*shape, 3))
    normal = np.broadcast_to([0.0, 0.0, 1.0], (*shape, 3))
    zero = np.zeros(shape)
    return StanceState(
        planted=np.ones(shape, dtype=np.bool_),
        stance=np.broadcast_to(np.arange(len(LIMBS)), shape),
        touchdown_s=zero - LONG_S,
        liftoff_s=zero + LONG_S,
        next_touchdown_s=zero + LONG_S + 1.0,
        place_m=place,
        next_place_m=place,
        heading_rad=zero,
        next_heading_rad=zero,
        normal=normal,
        next_normal=normal,
        time_s=time_s[:, None],
    )


def _standing_steps(places_m: Array, period_s: float, frame_s: float) -> Steps:
    """Lay one stance a foot that fills the loop."""
    start = np.full(len(LIMBS), BETWEEN_FRAMES * frame_s)
    return Steps(
        limb=np.arange(len(LIMBS)),
        touchdown_s=start,
        liftoff_s=start + period_s * ALL,
        place_m=places_m.copy(),
        heading_rad=np.zeros(len(LIMBS)),
        loop=Loop(period_s),
    )


class _Stood:
    """One loop of standing, solved."""

    def __init__(self, animal: Animal, style: Style, grid: Grid) -> None:
        """Shift the weight, and let legs and hanging parts follow."""
        self.animal, self.grid = animal, grid
        self.places_m = _places_m(animal)
        self.shift = _shift(grid)
        self.aside_m = style.sway * self.shift[:, None] * _aside_m(self.places_m)  # chest, hips
        self.surge_m = SURGE * style.bounce * animal.hip_height_m * (self.shift**2 - 0.5)
        self.force_n = _forces_n(animal, self.places_m, self.aside_m, self.surge_m)
        state = _standing_state(self.places_m, grid.time_s)
        self.rest = _rest(animal, self.shift, grid.span_s / _shifts_in(grid.span_s))
        tips = limb_numbers(animal, "path.rest_tip_rad")
        plan = replace(plan_feet(animal, state), rolled_rad=-self.rest[:, None] * _only(RESTED) * tips)
        feet = plan.rolling
        self.drop_m = np.zeros(2)
        self.trunk = self._trunk()
        given = given_by_law(animal, plan, grid, self.force_n, self.trunk.back, weight=style.weight)
        for _ in range(SETTLE_ROUNDS):
            self.trunk = self._trunk()
            short = reach_for(self.trunk, feet.joints_m, feet.goes, given).shortfall_m
            if short.max() <= 0.0:
                break
            self.drop_m += np.maximum(short.reshape(-1, 2, 2).max(axis=(0, 2)), 0.0) + ROOM_M
        aimed = aim_legs(animal, self.trunk, plan, given)
        self.legs: LegPoses = solve_legs(animal, aimed, given, state.swing_share)
        self.hung = self._hung(style)

    def _trunk(self) -> Trunk:
        standing = standing_positions_m(self.animal)
        top, hip = (standing[self.animal.limb(end).top] for end in ("fore", "hind"))
        ends = Ends(
            hips_m=np.stack(
                [hip[0] + self.surge_m, self.aside_m[:, 1], np.full(self.grid.count, hip[2])], axis=1
            ),
            chest_left_m=self.aside_m[:, 0],
            chest_up_m=np.full(self.grid.count, top[2]),
        ).lowered(*self.drop_m)
        none = np.zeros(self.grid.count)
        roll = SINK_RAD * self.shift - RESTED_SINK_RAD * self.rest
        back = bent_back(self.animal, none, none, roll, none)
        return posed_trunk(self.animal, ends, back)

    def _hung(self, style: Style) -> Hung:
        grid = self.grid
        turns = grid.time_s / grid.span_s * breaths_in_loop(self.animal, grid.span_s)
        hung = hang(self.animal, self.trunk, grid, turns, nod=style.nod, overlap=style.overlap)
        besides = idle_turns_rad(self.animal, grid)
        moved = {
            joint: turn + style.overlap * besides.get(joint, 0.0) for joint, turn in hung.turns_rad.items()
        }
        return replace(hung, turns_rad=moved)

    def clip(self, request: Request, per_frame: int) -> Motion:
        """Take the frames, repeat the loop, and close it with the first frame."""
        frames, rate = int(request.frames or 0), request.frame_rate_hz
        row = np.arange(frames * request.strides + 1) % frames
        fine = row * per_frame
        local = np.broadcast_to(np.eye(3), (frames, len(self.animal.joint_names), 3, 3)).copy()
        once = np.arange(frames) * per_frame
        for part in (
            self.trunk.local(self.animal, once),
            self.legs.local(self.animal, self.trunk, once),
            self.hung.local(once),
        ):
            for joint, rotation in part.items():
                local[:, joint] = rotation
        if not np.all(np.isfinite(local)):
            raise ReachError(f"the legs of {self.animal.name} do not reach the ground; mend its file")
        zero = np.zeros(fine.size)
        stays = "" if request.in_place else ", so it does not travel"
        notices = (*self.hung.notices, Notice("gait", f"a stand: no foot leaves the ground{stays}."))
        return Motion(
            animal=self.animal,
            frame_rate_hz=rate,
            root_path_m=self.trunk.root_m[fine].copy(),
            rotations=continuous_sign(continuous_sign(quaternion_from_matrix(local))[row]),
            steps=_standing_steps(self.places_m, frames / rate, 1.0 / rate),
            belt_m_s=np.zeros(2),
            key_poses=_poses(frames, self._shifts),
            plan=Plan(
                force_n=self.force_n[fine],
                force_horizontal_n=np.zeros((fine.size, len(LIMBS), 2)),
                hips_heave_m=zero,
                chest_heave_m=zero.copy(),
                breath=self.hung.breath[fine],
            ),
            facts=Facts(
                frames=frames,
                strides=request.strides,
                period_s=frames / rate,
                speed_m_s=0.0,
                stride_length_m=0.0,
                duty_factor=1.0,
                lag=0.0,
                froude_number=0.0,
                chest_drop_m=float(self.drop_m[0]),
                hips_drop_m=float(self.drop_m[1]),
            ),
            notices=notices,
            asked=request,
        )

    @property
    def _shifts(self) -> int:
        return _shifts_in(self.grid.span_s)


def _shifts_in(span_s: float) -> int:
    """How often the weight goes to the left and to the right in a loop."""
    return max(1, round(span_s / SHIFT_S))


def _shift(grid: Grid) -> Array:
    """Return where the weight is, (samples,): 1 on the left legs, -1 on the right ones; it stays a while."""
    turn = 2.0 * np.pi * _shifts_in(grid.span_s) * grid.time_s / grid.span_s
    return np.asarray((np.sin(turn) + STAYS * np.sin(3.0 * turn)) / (1.0 - STAYS))


def _rest(animal: Animal, shift: Array, shift_s: float) -> Array:
    """Say how far the left hind leg rests, (samples,), in shifts of the weight that take so long. [s]"""
    if limb_numbers(animal, "path.rest_tip_rad")[RESTED] == 0.0 or shift_s < REST_S:
        return np.zeros_like(shift)
    return ramp((-shift - REST_FROM) / (REST_FULL - REST_FROM))


def _only(limb: int) -> Array:
    """Return 1 for one limb, 0 for the others, (4,)."""
    return np.asarray(np.arange(len(LIMBS)) == limb, dtype=np.float64)


def _aside_m(places_m: Array) -> Array:
    """How far chest and hips go to the left at the most, (2,). [m]"""
    half = np.abs(places_m[:, 1]).reshape(2, 2).mean(axis=1)
    return np.asarray(half * [CHEST_ASIDE, HIPS_ASIDE])


def _forces_n(animal: Animal, places_m: Array, aside_m: Array, surge_m: Array) -> Array:
    """Return what each foot carries, (samples, 4), by statics: the weight is where chest and hips are. [N]"""
    weight = animal.body_mass_kg * GRAVITY_M_S2
    long_m = float(places_m[:2, 0].mean() - places_m[2:, 0].mean())
    fore = animal.load_share_fore + surge_m / long_m
    half = np.abs(places_m[:, 1]).reshape(2, 2).mean(axis=1)
    left = 0.5 + aside_m / (2.0 * half)  # (samples, 2)
    ends = np.stack([fore, 1.0 - fore], axis=1)
    return np.asarray(weight * np.stack([ends * left, ends * (1.0 - left)], axis=2).reshape(-1, len(LIMBS)))


def _poses(frames: int, shifts: int) -> tuple[KeyPose, ...]:
    """Name the poses: the weight even, on the left, even, on the right."""
    names = ("weight even", "weight on the left", "weight even", "weight on the right")
    count = 4 * shifts
    places = [float(np.floor(k * frames / count + 0.5)) + 1.0 for k in range(count)]
    found = {place: KeyPose(place, names[k % 4]) for k, place in enumerate(places)}
    return (*found.values(), KeyPose(frames + 1.0, names[0]))
