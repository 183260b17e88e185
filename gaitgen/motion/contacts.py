"""Contacts and lift-offs found in the toes' paths: ground, belt, and the stances of each foot."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.motion.belt import Run, belt_of, first_belts
from gaitgen.motion.foot_paths import FootPaths
from gaitgen.motion.loop import Loop
from gaitgen.motion.stance_runs import calmed, stance_runs, to_the_frame
from gaitgen.numerics.middle import middle

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


# Of the hip height: an animal none of whose toes goes farther than this in a whole clip stands.
STANDS_SHARE = 4e-3
LEAST_DOWN = 0.1  # share of the clip in which a foot is down: less than that says as little as this
# Hip heights: where the middle foot moves so much as it stands, another ground is tried, and taken if it
# moves so much less on that.
RESTLESS, CALMER = 0.05, 0.75


@dataclass(frozen=True, eq=False)
class Stance:
    """One stance of one foot. In a loop, frames may run past its end.

    Attributes
    ----------
    limb
        Row of LIMBS.
    first, last
        First and last frame, counted from 0.
    begins, ends
        Whether contact and lift-off are in the clip, not cut off by its ends.
    path_m
        (last - first + 1, 3) toe against the belt, from its middle place; up from the ground. [m]
    """

    limb: int
    first: int
    last: int
    begins: bool
    ends: bool
    path_m: Array

    @property
    def whole(self) -> bool:
        """Whether both contact and lift-off are seen."""
        return self.begins and self.ends


@dataclass(frozen=True, eq=False)
class Feet:
    """The feet against the ground.

    Attributes
    ----------
    belt_m_s
        (2,) velocity of the ground under the clip. [m/s]
    body_m_s
        (2,) velocity of the body over the ground. [m/s]
    in_place
        Whether the ground moves rather than the body.
    ground_m
        Height of the ground. [m]
    planted
        (frames, feet).
    stances
        In order of limb and time; of a loop those that begin in it.
    is_exact
        Whether every toe keeps to one place on the ground, as none does on joints that jitter.
    """

    belt_m_s: Array
    body_m_s: Array
    in_place: bool
    ground_m: float
    planted: Bools
    stances: tuple[Stance, ...]
    is_exact: bool

    def of(self, limb: int) -> list[Stance]:
        """Return the stances of one foot."""
        return [stance for stance in self.stances if stance.limb == limb]


def find_feet(paths: FootPaths, loop: Loop) -> Feet:
    """Find out where the ground is, how it moves, and when each foot stands on it.

    A stance is found by speed and height, with room for noise; where its toe keeps exactly to one place on
    the ground, as no hand and no noise leaves it, contact and lift-off are those of the place, to the frame.

    Parameters
    ----------
    paths
        Toes and body over time.
    loop
        How the clip closes.
    """
    base = _lowest(paths.toes_m)
    if float(np.ptp(paths.toes_m, axis=0).max()) < STANDS_SHARE * paths.hip_height_m:
        return _standing(paths)
    raised = replace(paths, toes_m=paths.toes_m - np.array([0.0, 0.0, base]))
    rolled = raised.unrolled(loop)
    calm = calmed(rolled)
    low, every = first_belts(calm)
    feet = _on_belt(paths, (rolled, calm), loop, base, low)
    restless = float(middle(unrest(feet, paths.hip_height_m)))
    if restless < RESTLESS:
        return feet
    other = _on_belt(paths, (rolled, calm), loop, base, every)
    is_calmer = float(middle(unrest(other, paths.hip_height_m))) < CALMER * restless
    return other if is_calmer else feet


def unrest(feet: Feet, hip_height_m: float) -> Array:
    """How far each planted foot moves and is off the ground, (feet,): 0 where it stands. [hip heights]

    A foot that stands nowhere has 1.
    """
    found = np.ones(feet.planted.shape[1])
    for limb in range(len(found)):
        stances = [stance.path_m for stance in feet.of(limb)]
        if stances:
            wide = float(np.mean([np.linalg.norm(np.ptp(path, axis=0)) for path in stances]))
            level = abs(float(middle([middle(path[:, 2]) for path in stances])))
            down = max(float(feet.planted[:, limb].mean()), LEAST_DOWN)
            found[limb] = min(1.0, (wide + level) / down / hip_height_m)
    return found


def _on_belt(
    paths: FootPaths, turns: tuple[FootPaths, FootPaths], loop: Loop, base_m: float, belt: Array
) -> Feet:
    """Find the feet on a ground that moves at about a velocity.

    Parameters
    ----------
    paths, loop
        As in `find_feet`.
    turns
        Three turns of the loop, their heights from the base: as they are, and where stances are looked for.
    base_m
        Height that is near the ground. [m]
    belt
        (2,). [m/s]
    """
    rolled, calm = turns
    runs = stance_runs(calm, belt)
    belt = belt_of(rolled, runs, belt)
    runs, belt, is_exact = to_the_frame(rolled, runs, belt)
    ground = _ground(runs, rolled.toes_m[..., 2])
    fixed = rolled.against(belt) - np.array([0.0, 0.0, ground])
    stances = [stance for run in runs if (stance := _stance(loop, run, fixed))]
    frames = len(paths.toes_m)
    root = (paths.root_m[-1] - paths.root_m[0])[:2] / (paths.frame_time_s * (frames - 1))
    return Feet(
        belt_m_s=belt,
        body_m_s=root - belt,
        in_place=float(np.linalg.norm(belt)) > float(np.linalg.norm(root)),
        ground_m=base_m + ground,
        planted=_planted(paths, loop, stances),
        stances=tuple(stances),
        is_exact=is_exact,
    )


def _standing(paths: FootPaths) -> Feet:
    """Take all feet as down all the time."""
    frames = len(paths.toes_m)
    level = middle(paths.toes_m[..., 2])  # (feet,)
    off = paths.toes_m - middle(paths.toes_m)
    stances = [Stance(foot, 0, frames - 1, False, False, off[:, foot]) for foot in range(paths.feet)]
    still = np.zeros(2)
    ground = float(np.sort(level)[(level.size - 1) // 2])
    down = np.ones((frames, paths.feet), dtype=bool)
    return Feet(still, still, True, ground, down, tuple(stances), is_exact=True)


def _lowest(toes: Array) -> float:
    """Height that is surely near the ground: the middle of the feet's low points."""
    return float(middle(np.quantile(toes[..., 2], 0.1, axis=0)))


def _ground(runs: list[Run], height: Array) -> float:
    """Height of the ground: the middle of the feet's own levels."""
    levels: dict[int, list[float]] = {}
    for foot, first, last in runs:
        levels.setdefault(foot, []).append(float(middle(height[first : last + 1, foot])))
    feet = sorted(float(middle(own)) for own in levels.values())
    return feet[(len(feet) - 1) // 2] if feet else 0.0


def _stance(loop: Loop, run: Run, fixed: Array) -> Stance | None:
    """Take a stance of the middle turn of a loop, or any of a clip that is none."""
    limb, first, last = run
    begins, ends = first > 0, last < len(fixed) - 1
    path = fixed[first : last + 1, limb].copy()
    path[:, :2] -= middle(path[:, :2])
    if loop.closes:
        if not loop.frames <= first < 2 * loop.frames:
            return None
        first, last = first - loop.frames, last - loop.frames
    return Stance(limb, first, last, begins, ends, path)


def _planted(paths: FootPaths, loop: Loop, stances: list[Stance]) -> Bools:
    """Mark the frames of all stances, (frames, feet)."""
    frames = len(paths.toes_m)
    down = np.zeros((frames, paths.feet), dtype=bool)
    for stance in stances:
        rows = np.arange(stance.first, stance.last + 1)
        if loop.closes:
            rows = rows % loop.frames
            if loop.repeats_first and 0 in rows:
                rows = np.append(rows, loop.frames)
        down[rows[rows < frames], stance.limb] = True
    return down
