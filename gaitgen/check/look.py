"""Looking at a clip: its noise, its feet, its gait, its waves, and each stretch of it if it is no cycle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.check.gait import Gait, find_gait
from gaitgen.check.limits import Limits
from gaitgen.check.meant import NOTHING, Meant
from gaitgen.check.noise import Noise, find_noise
from gaitgen.check.put_right import put_right
from gaitgen.check.seen import Part, Seen
from gaitgen.check.shot.found import Shot, cut, feet_in, find_shot
from gaitgen.check.shot.ground import GivenGround
from gaitgen.check.shot.strides import CHANGES, GOES, JUMPS, Stretch
from gaitgen.check.tracked import Tracked
from gaitgen.check.waves import Wave, wave
from gaitgen.course.ground import Ground
from gaitgen.course.named_gait import backwards_name
from gaitgen.errors import RequestError
from gaitgen.formats.units import unit_m
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.motion.contacts import find_feet
from gaitgen.motion.foot_paths import FootPaths
from gaitgen.motion.loop import Loop, changes_manner, find_loop

Array = npt.NDArray[np.float64]

PLANE_SHARE = 0.05  # of the hip height: so near the ground of the standing rig, that is the plane
# Steps of noise may be so much of the fastest steps of the feet; else feet are averaged over up to so many
# frames on either side, and over no more than a small part of the clip.
NOISE_SHARE, MOST_AVERAGED, LEAST_A_WINDOW = 0.15, 3, 16
# Limits that are of level ground alone: going down, legs give under more weight.
OF_LEVEL_GROUND = ("_yield",)
# Nor is the timing of steps judged up and down treads and over rocks, where strides are not alike.
OF_EVEN_STRIDES = ("asymmetry", "walk_lag", "duty_factor", "body_on_rails")
# Acceleration to the inside of a bend, of gravity, from which strides are not those of an even gait: the
# body leans by 6 degrees there, legs of the inner side fold more, and both ends rise and fall as they lean
# (estimate).
LEANS, OF_UPRIGHT = 0.1, ("hips_chest_phase",)
BESIDE = 3  # rows on either side of a stretch that are looked at with it


def see(
    motion: Tracked,
    limits: Limits,
    plane_units: float | None = None,
    meant: Meant = NOTHING,
    surface: Ground | None = None,
    jumps_m: Sequence[float] = (),
) -> Seen:
    """Look at a clip.

    Parameters
    ----------
    motion, limits
        The clip, and what it is held against.
    plane_units
        Height of the ground in the file's unit; zero, or where the rig stands, if not given.
    meant
        What is as it should be.
    surface
        The ground in the world of the clip, where it is known.
    jumps_m
        How far along its way it jumps, where that is known. [m]

    Raises
    ------
    RequestError
        If a ground is given that is not level, or a jump, and the clip stays in place.
    """
    loop = find_loop(motion.points_m)
    noise = find_noise(motion, loop)
    if surface is not None and surface.is_even and not surface.normal(np.zeros(2))[:2].any():
        surface = None  # level, and at zero, as is taken of any clip
    shot = find_shot(motion, noise, surface, jumps_m)
    if surface is not None and shot is None:
        raise RequestError(
            f"{motion.name} goes nowhere, so its feet stand nowhere on {surface.called} of a shot; check it "
            "without --shot, or give the clip of the shot"
        )
    if jumps_m and shot is None:
        raise RequestError(
            f"{motion.name} goes nowhere, so there is no jump of a shot in it; check it without --shot, or "
            "give the clip of the shot"
        )
    if loop.closes:
        shot, noise = _apart_from_its_ends(motion, noise, shot, surface, jumps_m)
    if shot is not None:
        return _see_shot(motion, noise, limits.for_hip_height(motion.hip_height_m), shot, plane_units, meant)
    feet = find_feet(_steadied(motion, noise, loop), loop)
    gait, reason = find_gait(loop, feet, motion.template)
    waves = {} if gait is None else _waves(motion, loop, gait)
    plane, source = _plane(motion, feet.ground_m, plane_units)
    own = limits.for_hip_height(motion.hip_height_m)
    own = own if gait is None or gait.walks else own.in_a_run()
    seen = Seen(motion, loop, noise, feet, own, gait, reason, plane, source, meant, waves)
    if gait is None:
        return _seen_put_right(seen, limits)
    if not seen.is_backward:
        return seen
    summary = replace(gait.summary, name=backwards_name(gait.summary.name))
    return replace(seen, gait=replace(gait, summary=summary))


def _seen_put_right(seen: Seen, limits: Limits) -> Seen:
    """Look for the stances and the gait again, with frames that are held or swapped put right."""
    motion = put_right(seen)
    if motion is None:
        return seen
    feet = find_feet(_steadied(motion, seen.noise, seen.loop), seen.loop)
    gait, _ = find_gait(seen.loop, feet, motion.template)
    if gait is None:
        return seen
    own = limits.for_hip_height(motion.hip_height_m)
    own = own if gait.walks else own.in_a_run()
    waves = _waves(motion, seen.loop, gait)
    return replace(seen, feet=feet, limits=own, gait=gait, no_gait="", waves=waves)


def _apart_from_its_ends(
    motion: Tracked, noise: Noise, shot: Shot | None, surface: Ground | None, jumps_m: Sequence[float]
) -> tuple[Shot | None, Noise]:
    """Look once more at a clip whose ends are near, without what these tell of noise, if it is no loop."""
    own = find_noise(motion, _no_loop(motion))
    if shot is None and own.angle_deg == noise.angle_deg:
        return shot, noise
    again = find_shot(motion, own, surface, jumps_m)
    if shot is None and (again is None or not changes_manner(motion.points_m, again.stride_frames)):
        return shot, noise
    return again or shot, own


def _no_loop(motion: Tracked) -> Loop:
    """Say of a clip that it is no loop."""
    return Loop(closes=False, frames=motion.frames, advance_m=np.zeros(3), repeats_first=False)


def _see_shot(
    motion: Tracked, noise: Noise, limits: Limits, shot: Shot, plane_units: float | None, meant: Meant
) -> Seen:
    """Look at a clip without a period, and at each of its stretches."""
    loop = _no_loop(motion)
    plane, source = _plane(motion, shot.feet.ground_m, plane_units)
    if isinstance(shot.ground, GivenGround):
        plane, source = 0.0, "of the shot"
    elif not shot.ground.is_level and plane_units is None:
        plane, source = 0.0, "under each foot" if shot.ground.is_stepped.any() else "under the feet"
    in_any = limits.in_any_gait()
    return Seen(
        shot.level,
        loop,
        noise,
        shot.feet,
        in_any,
        None,
        "what it does changes, so it is judged stretch by stretch",
        plane,
        source,
        meant,
        shot=shot,
        parts=tuple(
            _see_part(shot, stretch, noise, limits, in_any, plane, source, meant)
            for stretch in shot.stretches
        ),
        usual_period=shot.stride_frames,
    )


def _see_part(
    shot: Shot,
    stretch: Stretch,
    noise: Noise,
    limits: Limits,
    in_any: Limits,
    plane: float,
    source: str,
    meant: Meant,
) -> Part:
    """Look at one stretch by itself."""
    first = max(0, stretch.first - BESIDE)
    last = min(shot.straight.frames - 1, stretch.last + BESIDE)
    motion = cut(shot.straight, first, last)
    feet = feet_in(shot.feet, motion, first, last)
    loop = _no_loop(motion)
    gait, reason = None, f"it {stretch.what}"
    if stretch.what == GOES:
        gait, reason = find_gait(loop, feet, motion.template)
    waves = {} if gait is None else _waves(motion, loop, gait)
    own = in_any if gait is None else limits if gait.walks else limits.in_a_run()
    is_sloping = any(rise.first < stretch.last and rise.last > stretch.first for rise in shot.way.rises)
    if is_sloping:
        own = own.without(OF_LEVEL_GROUND)
    if shot.is_stepped(stretch):
        own = own.without(OF_EVEN_STRIDES)
    leans = _inward(shot)[stretch.first : stretch.last + 1].max() > LEANS
    if leans:
        own = own.without(OF_UPRIGHT)
    if is_sloping or leans or stretch.what in {CHANGES, JUMPS}:
        own = own.off_the_even()
    return Part(
        stretch,
        Seen(
            motion,
            loop,
            noise,
            feet,
            own,
            gait,
            reason,
            plane,
            source,
            meant,
            waves,
            first_row=first,
            usual_period=stretch.period or shot.stride_frames,
        ),
    )


def _inward(shot: Shot) -> Array:
    """Acceleration of the body to the inside of its bends, (frames,). [of gravity]"""
    step_s = shot.straight.file.frame_time_s
    speed = np.linalg.norm(np.gradient(shot.way.level_m, axis=0), axis=1) / step_s
    return np.asarray(np.abs(np.gradient(shot.way.heading_rad)) / step_s * speed / GRAVITY_M_S2)


def _steadied(motion: Tracked, noise: Noise, loop: Loop) -> FootPaths:
    """Return the paths of the feet, averaged over some frames where noise is as fast as the feet."""
    paths = motion.foot_paths(noise.toe_m)
    steps = np.linalg.norm(np.diff(motion.toes_m, axis=0), axis=2)
    fast = max(float(np.quantile(steps, 0.97)), 1e-9)
    share = paths.slow_m_s * motion.file.frame_time_s / fast
    half = min(MOST_AVERAGED, motion.frames // LEAST_A_WINDOW, int(np.ceil(share / NOISE_SHARE)) // 2)
    if half < 1:
        return paths
    wide = 2 * half + 1
    if loop.closes:
        turn = loop.unrolled(motion.toes_m)
        first = loop.frames - half
        long = turn[first : first + motion.frames + 2 * half]
    else:
        long = np.pad(motion.toes_m, ((half, half), (0, 0), (0, 0)), mode="edge")
    toes = np.lib.stride_tricks.sliding_window_view(long, wide, axis=0).mean(axis=-1)
    return replace(paths, toes_m=np.ascontiguousarray(toes), noise_m=noise.toe_m / np.sqrt(wide))


def _plane(motion: Tracked, soles_m: float, plane_units: float | None) -> tuple[float, str]:
    """Height of the ground plane [m] and where it is taken from."""
    if plane_units is not None:
        return unit_m(motion.map.unit) * plane_units, "given"
    near = PLANE_SHARE * motion.hip_height_m
    if abs(soles_m) > near and abs(soles_m - motion.standing_ground_m) < near:
        return motion.standing_ground_m, "where the rig stands"
    return 0.0, "zero"


def _waves(motion: Tracked, loop: Loop, gait: Gait) -> dict[str, Wave]:
    rows = loop.frames if loop.closes else int(int(motion.frames / gait.period) * gait.period)
    if rows < gait.period - 1e-9:
        return {}
    tops = [motion.top(limb) for limb in LIMBS]
    places = motion.places_m[:rows, :, 2]
    curves = {"hips": places[:, tops[2:]].mean(axis=1), "chest": places[:, tops[:2]].mean(axis=1)}
    if motion.map.head:
        curves["head"] = places[:, motion.joint(motion.map.head)]
    return {name: wave(values, gait.period, motion.file.frame_time_s) for name, values in curves.items()}
