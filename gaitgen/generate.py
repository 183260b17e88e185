"""The pipeline: request, timeline, trunk, limbs, overlap, clip."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from gaitgen.errors import Notice, RequestError
from gaitgen.limbs.hoof_path import HoofPath, hoof_path
from gaitgen.limbs.legs import solve_legs
from gaitgen.motion.clip import Clip, KeyPose
from gaitgen.overlap.followers import followers
from gaitgen.parameters.gait import LIMBS, Gait, load_gait
from gaitgen.parameters.style import Style
from gaitgen.parameters.tempo import Tempo, choose_tempo, froude_number
from gaitgen.rotations import continuous_sign, quaternion_from_matrix
from gaitgen.skeleton.library import load_animal
from gaitgen.skeleton.proportions import Proportions
from gaitgen.skeleton.skeleton import Skeleton
from gaitgen.skeleton.standing import standing_positions_m
from gaitgen.timeline.contacts import parse_contacts, stretched
from gaitgen.timeline.cycle import CycleTiming, cycle_footfalls, cycle_timing
from gaitgen.timeline.footfalls import Footfalls, StanceState, stance_state
from gaitgen.trunk.body import EndsMotion, TrunkMotion, back_angles, trunk_motion
from gaitgen.trunk.forces import GroundForces, ground_forces, vertical_forces_n
from gaitgen.trunk.heave import SETTLE_STRIDES, Heave, walking_heave
from gaitgen.trunk.pair_phase import pair_phase

Array = npt.NDArray[np.float64]

MOST_FRAMES = 2000
MOST_STRIDES = 500
# Samples a stride on which the motion is solved; frames are taken from them, so that a cycle of 8 frames
# is as exact as one of 96.
FINE_SAMPLES = 384
PLAN_SAMPLES = 96
# The trunk may be lowered by this share of the withers height before the stride is shortened.
MOST_DROP_SHARE = 0.05


@dataclass(frozen=True)
class Request:
    """One cycle to make.

    Attributes
    ----------
    gait
        Name of a gait.
    animal
        Name of an animal, path of a skeleton file, or a Skeleton.
    proportions
        What to change in the animal.
    frames
        Length of one stride; the clip has one frame more. [frames]
    frame_rate_hz
        Frames per second. [Hz]
    start
        The foot whose contact is frame 1.
    in_place
        Whether the body stays over the origin and the ground moves under it.
    strides
        How many strides to write.
    speed_m_s, stride_length_m, duty_factor, lag
        Fixed by the user; None lets the animal choose. [m/s], [m], ratio, ratio
    style
        Style factors.
    settle_strides
        Share of a stride after contact at which an end of the body is lowest.
    whole_frames
        Whether contacts and lift-offs are put on whole frames.
    contacts
        Contacts and lift-offs read off film, such as "RH 1-23, RF 9-31, LH 17-39, LF 25-47"; they stand
        for duty factor, lag, start and whole frames.
    """

    gait: str = "walk"
    animal: str | Skeleton = "riding_horse"
    proportions: Proportions = field(default_factory=Proportions)
    frames: int = 32
    frame_rate_hz: float = 24.0
    start: str = "RH"
    in_place: bool = True
    strides: int = 1
    speed_m_s: float | None = None
    stride_length_m: float | None = None
    duty_factor: float | None = None
    lag: float | None = None
    style: Style = field(default_factory=Style)
    settle_strides: float = SETTLE_STRIDES
    whole_frames: bool = True
    contacts: str | None = None

    def __post_init__(self) -> None:
        """Refuse numbers that make no cycle.

        Raises
        ------
        RequestError
            For a number that is not finite or outside its limits.
        """
        checks = (
            ("frames", self.frames, 1, MOST_FRAMES),
            ("frame rate", self.frame_rate_hz, 1.0, 1000.0),
            ("strides", self.strides, 1, MOST_STRIDES),
            ("lag", 0.25 if self.lag is None else self.lag, 0.05, 0.45),
            ("settle", self.settle_strides, 0.0, 0.25),
        )
        for label, value, least, greatest in checks:
            if not (math.isfinite(value) and least <= value <= greatest):
                raise RequestError(f"{label} is {value:g}; give a number from {least:g} to {greatest:g}")
        if self.contacts is not None and not (self.duty_factor is None and self.lag is None):
            raise RequestError("contacts already say duty factor and lag; leave those out")
        if self.start not in LIMBS:
            raise RequestError(f"start is {self.start!r}; use one of {', '.join(LIMBS)}")


Drop = tuple[float, float]  # of chest and hips [m]


@dataclass(frozen=True, eq=False)
class _Solved:
    """One stretch of motion on a fine grid, travelling."""

    state: StanceState
    hips: Heave
    chest: Heave
    forces: GroundForces
    hooves: HoofPath
    trunk: TrunkMotion
    local: Mapping[str, Array]
    shortfall_m: Array
    breath: Array
    drop_m: Drop
    notices: tuple[Notice, ...]


def generate(request: Request) -> Clip:
    """Make one cycle of a gait.

    Raises
    ------
    GaitgenError
        If the request, the gait or the animal is not usable.
    """
    skeleton = (
        request.animal
        if isinstance(request.animal, Skeleton)
        else load_animal(request.animal, request.proportions)
    )
    gait = load_gait(request.gait)
    if request.frames < gait.least_frames:
        raise RequestError(
            f"frames is {request.frames}; a {gait.name} needs at least {gait.least_frames} frames "
            "to tell its contacts apart"
        )
    filmed = _filmed(request, gait)
    tempo, notices = choose_tempo(
        gait,
        request.frames / request.frame_rate_hz,
        skeleton.hip_height_m,
        speed_m_s=request.speed_m_s,
        stride_length_m=request.stride_length_m,
        duty_factor=request.duty_factor if filmed is None else sum(filmed.down) / (4.0 * filmed.frames),
        reach=request.style.reach,
    )
    lag = gait.lag if request.lag is None else request.lag
    timing = filmed or cycle_timing(
        request.frames, tempo.duty_factor, lag, start=request.start, whole_frames=request.whole_frames
    )
    footfalls, stride_notices = _reachable_footfalls(skeleton, request, tempo, timing)
    fine = math.ceil(FINE_SAMPLES / request.frames)
    times = np.arange(fine * request.frames) / (fine * request.frame_rate_hz)
    since_hind = times - timing.contact[LIMBS.index("RH")] / request.frame_rate_hz
    breath_turns = since_hind / tempo.period_s
    solved = solve_motion(skeleton, footfalls, times, breath_turns, request.style, request.settle_strides)
    more = _cycle_notices(request, gait, skeleton, footfalls, timing)
    notices = (*notices, *stride_notices, *solved.notices, *more)
    return _clip(request, skeleton, footfalls, timing, solved, fine, notices)


def _filmed(request: Request, gait: Gait) -> CycleTiming | None:
    """Take contacts that were read off film, from the request or stretched from the gait."""
    if request.contacts is not None:
        return parse_contacts(request.contacts, request.frames)
    if gait.contacts is None or gait.contact_frames is None:
        return None
    read = parse_contacts(gait.contacts, gait.contact_frames)
    return stretched(read, request.frames, whole_frames=request.whole_frames)


def solve_motion(
    skeleton: Skeleton,
    footfalls: Footfalls,
    time_s: Array,
    breath_turns: Array,
    style: Style,
    settle_strides: float = SETTLE_STRIDES,
    *,
    drop_m: Drop | None = None,
    with_overlap: bool = True,
) -> _Solved:
    """Move one animal over a timeline of stances, with or without a period.

    Parameters
    ----------
    skeleton, footfalls
        The animal and its stances.
    time_s
        (samples,) evenly spaced moments; whole periods if the timeline has one. [s]
    breath_turns
        (samples,) breaths taken since the start.
    style, settle_strides
        Style factors; share of a stride after contact at which an end of the body is lowest.
    drop_m
        Lowering of the trunk; None finds the least that brings every leg inside its reach. [m]
    with_overlap
        Whether to pose neck, head, ears, jaw and tail.
    """
    periodic = footfalls.period_s is not None
    state = stance_state(footfalls, time_s)
    standing = standing_positions_m(skeleton)
    scapula, femur = standing[skeleton.joint("scapula_L")], standing[skeleton.joint("femur_L")]
    heaves: dict[str, Heave] = {}
    notices: list[Notice] = []
    for pair, strut in (("fore", scapula), ("hind", femur)):
        heaves[pair], said = walking_heave(
            footfalls,
            pair,
            time_s,
            strut_m=float(strut[2]),
            factor=style.bounce,
            settle_strides=settle_strides,
        )
        notices += said
    chest, hips = heaves["fore"], heaves["hind"]
    vertical = vertical_forces_n(state, chest, hips, skeleton.body_mass_kg, skeleton.load_share_fore)
    forces = ground_forces(
        footfalls,
        state,
        vertical,
        np.array([scapula[0], scapula[0], femur[0], femur[0]]),
        hip_height_m=skeleton.hip_height_m,
        sway_factor=style.sway,
    )
    back = back_angles(
        skeleton,
        pair_phase(footfalls, "hind", time_s - hips.delay_s),
        pair_phase(footfalls, "fore", time_s - chest.delay_s),
        sway=style.sway,
        bounce=style.bounce,
    )
    hooves = hoof_path(state, skeleton.hooves, skeleton.hip_height_m, lift=style.lift)
    ends = EndsMotion(
        forward_m=footfalls.travel_m_s[0] * time_s + forces.surge_m,
        hips_height_m=hips.height_m,
        chest_height_m=chest.height_m,
        hips_sway_m=forces.sway_m[:, 1],
        chest_sway_m=forces.sway_m[:, 0],
    )

    def posed(drop: Drop) -> tuple[TrunkMotion, dict[str, Array], Array]:
        trunk = trunk_motion(skeleton, _lowered(ends, drop), back)
        legs = solve_legs(
            skeleton, state, hooves, trunk, vertical, periodic=periodic, lift=style.lift, weight=style.weight
        )
        return trunk, legs.local, legs.shortfall_m

    if drop_m is None:
        drop_m = (0.0, 0.0)
        for _ in range(4):  # the legs' reach depends a little on the drop itself
            _, _, shortfall = posed(drop_m)
            drop_m = _more_drop(drop_m, shortfall)
        drop_m = (drop_m[0] + 1e-4, drop_m[1] + 1e-4)
    trunk, local, shortfall = posed(drop_m)
    local = {**trunk.local, **local}
    breath = np.zeros_like(time_s)
    if with_overlap:
        hanging = followers(
            skeleton,
            trunk,
            time_s,
            breath_turns,
            footfalls.travel_m_s,
            periodic=periodic,
            nod=style.nod,
            overlap=style.overlap,
        )
        local.update(hanging.local)
        breath = hanging.breath
        notices += hanging.notices
    return _Solved(
        state, hips, chest, forces, hooves, trunk, local, shortfall, breath, drop_m, tuple(notices)
    )


def _more_drop(drop_m: Drop, shortfall_m: Array) -> Drop:
    """Lower each end of the trunk by what its legs miss, or raise it again as far as it was lowered."""
    fore, hind = float(shortfall_m[:, :2].max()), float(shortfall_m[:, 2:].max())
    return max(0.0, drop_m[0] + fore), max(0.0, drop_m[1] + hind)


def _lowered(ends: EndsMotion, drop_m: Drop) -> EndsMotion:
    return replace(
        ends,
        chest_height_m=ends.chest_height_m - drop_m[0],
        hips_height_m=ends.hips_height_m - drop_m[1],
    )


def _reachable_footfalls(
    skeleton: Skeleton, request: Request, tempo: Tempo, timing: CycleTiming
) -> tuple[Footfalls, tuple[Notice, ...]]:
    """Place the feet so that the trunk needs to be lowered least; shorten the stride if that is too much."""
    limit = MOST_DROP_SHARE * skeleton.withers_height_m
    footfalls, drop = _best_placed(skeleton, request, tempo, timing)
    if max(drop) <= limit:
        return footfalls, ()
    short, long = 0.05 * tempo.stride_length_m, tempo.stride_length_m
    for _ in range(7):
        middle = (short + long) / 2.0
        tried, needed = _best_placed(skeleton, request, replace(tempo, stride_length_m=middle), timing)
        if max(needed) <= limit:
            short, footfalls = middle, tried
        else:
            long = middle
    text = (
        f"the stride is shortened from {tempo.stride_length_m:.2f} to {short:.2f} m: at full length the "
        f"trunk would have to sink by {max(drop) / skeleton.withers_height_m:.1%} of the withers height "
        f"to let the legs reach ({MOST_DROP_SHARE:.0%} is allowed)."
    )
    return footfalls, (Notice("reach", text),)


def _best_placed(
    skeleton: Skeleton, request: Request, tempo: Tempo, timing: CycleTiming
) -> tuple[Footfalls, Drop]:
    """Balance the reach of each pair of legs between the start and the end of stance."""
    standing = standing_positions_m(skeleton)
    fore, hind = (standing[skeleton.joint(f"{end}_hoof_L"), 0] for end in ("fore", "hind"))
    centre = np.array([fore, fore, hind, hind])
    centre = centre + np.repeat([skeleton.hooves["fore"].toe_m, skeleton.hooves["hind"].toe_m], 2)
    per = max(1, PLAN_SAMPLES // request.frames)
    times = np.arange(per * request.frames) / (per * request.frame_rate_hz)
    footfalls, drop = (
        cycle_footfalls(timing, request.frame_rate_hz, tempo.speed_m_s, centre, skeleton.track_m),
        (0.0, 0.0),
    )
    for _ in range(6):
        solved = solve_motion(
            skeleton,
            footfalls,
            times,
            times,
            request.style,
            request.settle_strides,
            drop_m=drop,
            with_overlap=False,
        )
        share = solved.state.stance_share
        down = solved.state.planted
        early = np.where(down & (share < 0.5), solved.shortfall_m, -np.inf).max(axis=0)
        late = np.where(down & (share >= 0.5), solved.shortfall_m, -np.inf).max(axis=0)
        drop = _more_drop(drop, solved.shortfall_m)
        # A foot placed one unit forward lengthens an outstretched leg by about the sine of its slant.
        shift = ((late - early) / 2.0).reshape(2, 2).mean(axis=1)
        centre = centre + np.repeat(np.clip(1.2 * shift, -0.1, 0.1), 2)
        footfalls = cycle_footfalls(timing, request.frame_rate_hz, tempo.speed_m_s, centre, skeleton.track_m)
    return footfalls, drop


def _cycle_notices(
    request: Request, gait: Gait, skeleton: Skeleton, footfalls: Footfalls, timing: CycleTiming
) -> list[Notice]:
    notices = []
    froude = froude_number(float(footfalls.travel_m_s[0]), skeleton.hip_height_m)
    if froude > gait.froude_limit:
        notices.append(
            Notice(
                "speed",
                f"{footfalls.travel_m_s[0]:.2f} m/s is Froude number {froude:.2f}; above "
                f"{gait.froude_limit:g} this animal would leave the {gait.name} for a faster gait.",
            )
        )
    if request.whole_frames and request.frames % 2 and request.contacts is None:
        notices.append(
            Notice(
                "frames",
                f"{request.frames} frames are odd, so left and right steps differ by a frame; give an even "
                "number, or --no-whole-frames, for equal steps.",
            )
        )
    if timing.down[0] / request.frames < 0.5:
        notices.append(Notice("duty_factor", "the feet are down for less than half of the stride: no walk."))
    return notices


def _clip(
    request: Request,
    skeleton: Skeleton,
    footfalls: Footfalls,
    timing: CycleTiming,
    solved: _Solved,
    fine: int,
    notices: tuple[Notice, ...],
) -> Clip:
    """Take the frames out of the fine grid, repeat the strides, and close the loop with the first frame."""
    frames = request.frames
    rows = (np.arange(frames * request.strides + 1) % frames) * fine
    turns = np.arange(frames * request.strides + 1) // frames
    matrices = np.stack([solved.local[name] for name in skeleton.joint_names], axis=1)[rows]
    rotations = continuous_sign(quaternion_from_matrix(matrices))
    period_s = frames / request.frame_rate_hz
    root = solved.trunk.root_path_m[rows].copy()
    travel = footfalls.travel_m_s
    if request.in_place:
        moments = (rows / fine) / request.frame_rate_hz
        root[:, :2] -= moments[:, None] * travel
    else:
        root[:, :2] += turns[:, None] * travel * period_s
    plan = {
        "force_n": solved.forces.vertical_n[rows],
        "force_horizontal_n": solved.forces.horizontal_n[rows],
        "hips_heave_m": solved.hips.height_m[rows],
        "chest_heave_m": solved.chest.height_m[rows],
        "breath": solved.breath[rows],
    }
    speed = float(np.linalg.norm(travel))
    facts = {
        "frames": float(frames),
        "strides": float(request.strides),
        "frame_rate_hz": request.frame_rate_hz,
        "period_s": period_s,
        "speed_m_s": speed,
        "stride_length_m": speed * period_s,
        "duty_factor": sum(timing.down) / (4.0 * frames),
        "lag": ((timing.contact[1] - timing.contact[3]) % frames) / frames,
        "froude_number": froude_number(speed, skeleton.hip_height_m),
        "chest_drop_m": solved.drop_m[0],
        "hips_drop_m": solved.drop_m[1],
    }
    return Clip(
        skeleton=skeleton,
        frame_rate_hz=request.frame_rate_hz,
        root_path_m=root,
        rotations=rotations,
        footfalls=footfalls,
        belt_m_s=travel.copy() if request.in_place else np.zeros(2),
        key_poses=_key_poses(timing, solved, fine),
        plan=plan,
        facts=facts,
        notices=notices,
    )


def _key_poses(timing: CycleTiming, solved: _Solved, fine: int) -> tuple[KeyPose, ...]:
    """Name the four contacts, the breakdowns half-way between them, and the last pose."""
    order = sorted(range(4), key=lambda limb: timing.contact[limb])
    contacts = [timing.contact[limb] for limb in order]
    poses = []
    for k, limb in enumerate(order):
        here = contacts[k]
        following = contacts[k + 1] if k < 3 else timing.frames + contacts[0]
        poses.append(KeyPose(here + 1.0, f"{LIMBS[limb]} contact"))
        middle = (here + following) / 2.0
        row = round(middle * fine) % (timing.frames * fine)
        poses.append(KeyPose(middle + 1.0, _breakdown_name(solved, row)))
    poses.append(KeyPose(timing.frames + contacts[0] + 1.0, poses[0].name))
    return tuple(poses)


def _breakdown_name(solved: _Solved, row: int) -> str:
    words = []
    for end, heave in (("hips", solved.hips.height_m), ("chest", solved.chest.height_m)):
        range_m = float(np.ptp(heave))
        place = (float(heave[row]) - float(heave.min())) / range_m if range_m > 1e-6 else 0.5
        words.append(f"{end} {'low' if place < 1 / 3 else 'high' if place > 2 / 3 else 'level'}")
    return ", ".join(words)
