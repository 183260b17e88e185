"""What a shot is not made of, and what is said of the rest."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb import LIMBS
from gaitgen.course.ground import Ground
from gaitgen.course.path import Frames, Path
from gaitgen.errors import CourseError, Notice, ReachError
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.pipeline.settle import strange_gait
from gaitgen.shot.asked import WayKey
from gaitgen.shot.folding import easy_radius_m
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]

# Acceleration towards the inside of a turn, of gravity, from which it is said, and from which it is refused,
# as feet would slip (friction of 0.6).
FAST_TURN, TOO_FAST_TURN = 0.35, 0.55
# The tightest circle, in withers heights, that legs walk without crossing (estimate: 2 m for a horse).
TIGHTEST_WITHERS = 1.2
LEAST_PERCENT, NEAR_S = 2.0, 1.0  # a slope that is worth a word, so long before or after


def refuse_uneven(timeline: Timeline, path: Path, ground: Ground) -> None:
    """Refuse jumps where the path bends or the ground is not level.

    Raises
    ------
    CourseError
        With the jump, and from where to where it must.
    """
    for laid in timeline.leaps:
        frames = laid.at_frame + np.array([0.0, float(laid.leap.frames)])
        first, last = path.distance_m(frames / timeline.frame_rate_hz)
        along = np.linspace(first, last, 100)
        obstacle = laid.leap.obstacle
        if np.any(path.at(along)[2] != 0.0) or np.ptp(ground.height_m(path.at(along)[0])) > 1e-9:
            raise CourseError(
                f"{obstacle.where.at}: a jump goes straight ahead on level ground, and its strides go from "
                f"{first:.1f} to {last:.1f} m along the path; keep that straight and level, or move the jump"
            )


def refuse_missed(timeline: Timeline, turn_rad: Array, frame: Array, slope_rad: Array) -> None:
    """Refuse legs that do not reach their feet in the clip.

    Parameters
    ----------
    timeline
        The shot.
    turn_rad
        (samples, 4, bones) turns of the bones of the limbs; not finite where a leg does not reach. [rad]
    frame, slope_rad
        (samples,) moments, and the slope under the trunk. [frames], [rad]

    Raises
    ------
    ReachError
        With the first of those frames, the leg, what the animal does there, and the steepest slope about it.
    """
    fails = ~np.isfinite(turn_rad).all(axis=2)  # (samples, 4)
    fails &= ((frame > -0.5) & (frame < timeline.frames + 0.5))[:, None]
    if not fails.any():
        return
    row = int(np.argmax(fails.any(axis=1)))
    near = np.abs(frame - frame[row]) <= timeline.frame_rate_hz * NEAR_S
    percent = 100.0 * float(np.abs(np.tan(slope_rad[near])).max())
    along = float(timeline.pace.distance_m(np.array(frame[row] / timeline.frame_rate_hz)))
    slope = f", on a slope of {percent:.0f} per cent" if percent >= LEAST_PERCENT else ""
    there = "slower gaits, a gentler slope or a wider turn" if slope else "slower gaits or a wider turn"
    raise ReachError(
        f"about frame {frame[row] + 1.0:.0f}, {along:.1f} m along the path, {_doing(timeline, frame[row])}"
        f"{slope}, the {LIMBS[int(np.argmax(fails[row]))]} leg of {timeline.cycles[0].animal.name} does not "
        f"reach its foot; give {there} there"
    )


def _doing(timeline: Timeline, frame: float) -> str:
    """Say what an animal does about a frame."""
    inside = [each for each in timeline.pieces if each.first <= frame]
    piece = inside[-1] if inside else timeline.pieces[0]
    before, after = (timeline.cycles[k].gait.name.replace("_", " ") for k in piece.cycles)
    words = {
        "start": f"setting off into a {after}",
        "change": f"going over from {before} to {after}",
        "halt": f"halting from a {before}",
        "stand": "standing",
    }
    return words.get(piece.kind, f"in the {before}")


def _at(way: WayKey) -> str:
    """Name the file, line and key that lead a path, where they are known."""
    return f"{way.where}: " if way.where else ""


def _wider(radius: str, way: WayKey) -> str:
    """Say what makes a path bend less, by the key that leads it."""
    if way.key == "points":
        return f"radius = {radius}, and points that leave room for it"
    return f"points that bend with {radius}" if way.key in {"file", "mark"} else f"a radius of {radius}"


def refuse_tight(animal: Animal, bend_per_m: Array, speed_m_s: Array, way: WayKey) -> None:
    """Refuse a path that bends so that legs would cross.

    Parameters
    ----------
    animal, way
        Who goes, and what leads the path.
    bend_per_m, speed_m_s
        (samples,) of the path under it, and of its body. [1/m], [m/s]

    Raises
    ------
    CourseError
        With the radius that is wide enough, for the speed there too.
    """
    least_m = TIGHTEST_WITHERS * animal.withers_height_m
    tight = np.abs(bend_per_m) * least_m > 1.0
    if not tight.any():
        return
    most, speed = float(np.abs(bend_per_m).max()), float(speed_m_s[tight].max())
    wide, why = f"{least_m:.2f} m or more", ""
    if speed**2 > FAST_TURN * GRAVITY_M_S2 * least_m:
        wide = f"{max(easy_radius_m(speed), least_m):g} m or more"
        why = f" at {speed:.1f} m/s, or a slower gait"
    raise CourseError(
        f"{_at(way)}the path bends with a radius of {1.0 / most:.2f} m, and the legs of {animal.name} "
        f"would cross; give {_wider(wide, way)}{why}"
    )


def turn_notices(frames: Frames, way: WayKey) -> tuple[Notice, ...]:
    """Say, or refuse, how fast a turn is taken, and from what radius on legs do it within their ranges.

    Raises
    ------
    CourseError
        If feet could not hold the body in the turn.
    """
    inward = np.abs(frames.acceleration_m_s2[:, 1])
    k = int(np.argmax(inward))
    if inward[k] < FAST_TURN * GRAVITY_M_S2:
        return ()
    speed = float(frames.speed_m_s[k])
    radius, wide = speed**2 / float(inward[k]), easy_radius_m(speed)
    share = float(inward[k]) / GRAVITY_M_S2
    text = f"a turn of {radius:.1f} m radius is taken at {speed:.1f} m/s, {share:.2f} of gravity inwards"
    if share > TOO_FAST_TURN:
        wider = _wider(f"{wide:g} m", way)
        raise CourseError(
            f"{_at(way)}{text}, and the feet would slip; give {wider}, where legs keep to their ranges "
            "too, or a slower gait"
        )
    return (Notice("turn", f"{text}; few animals turn so hard, {wide:g} m would be easier."),)


def notices_of(timeline: Timeline) -> tuple[Notice, ...]:
    """Collect what was said of the cycles, each once."""
    found = [
        notice
        for cycle in timeline.cycles
        for notice in (
            *cycle.settled.notices,
            *strange_gait(cycle.settled.gait, cycle.settled.animal),
            *cycle.made.placed.notices,
            *cycle.made.notices,
        )
    ]
    return tuple(dict.fromkeys(found))
