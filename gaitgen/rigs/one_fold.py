"""Heels of a rig that leave as late, and joints that fold as little, as lets each leg fold once at a walk."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb import ENDS, Limb
from gaitgen.animal.manner import Going
from gaitgen.errors import GaitgenError
from gaitgen.gait.request import WALK, Request
from gaitgen.motion.extremes import turned_besides
from gaitgen.motion.kinematics import included_angles_rad
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import matrix_from_quaternion
from gaitgen.pipeline import make_cycle
from gaitgen.rigs.own_ranges import WALK_FRAMES, plain_rate_hz

Array = npt.NDArray[np.float64]

# A joint that turns back by more than the first besides one peak and one fold is mended, until it does so by
# no more than the second (estimates: the joints of the rig itself, at other lengths, turn back by 2 degrees
# more than is seen here, and what is seen counts from 9 on). [rad]
MOST_BACK_RAD, ENOUGH_RAD = np.radians(7.0), np.radians(5.5)
ONCE = 2  # turns from the middle of stance to landing: one peak, and one fold
# The heel leaves later by so much of a stance at a time, and never later than that; the joints that fold by
# law in swing fold so many times as far (estimates).
LATER_SHARE, LATEST_SHARE = 0.05, 0.9
MOST_LATER = 6
FOLDS = (1.0, 0.85, 0.7)


def folding_once(animal: Animal) -> Animal:
    """Let the legs of a rig fold once at a walk, from the middle of stance to landing.

    As a heel rises it lifts the foot joint toward the trunk, and the leg gives way; as the trunk goes on the
    leg opens again, and then it folds for its swing. With a template's proportions the rise and the way are
    alike, and the leg is as long meanwhile. With a longer foot, a shorter lower leg or a longer step they are
    not; a heel that leaves later lets the leg stay as long as the trunk has it. And a joint that folds by law
    farther than the whole leg is shortened makes those above it open: it folds less.

    Parameters
    ----------
    animal
        The animal that stands for a rig.

    Returns
    -------
    The animal with the least of both at a walk; as it is where its legs fold once, or it cannot walk.
    """
    walking = replace(animal.in_gait(WALK), goings={}, outline=())  # flesh moves no leg
    backs = [_turned_back_rad(walk) for walk in _walks(walking)]
    for end in ENDS:
        each = [back.get(end, np.inf) for back in backs]
        if MOST_BACK_RAD < max(each) < np.inf:
            walking = _mended(walking, end, sorted(range(len(each)), key=lambda k: -each[k]))
    if walking.limbs == animal.in_gait(WALK).limbs:
        return animal
    return replace(animal, goings={**animal.goings, WALK: Going.of(walking)})


def _mended(walking: Animal, end: str, worst_first: list[int]) -> Animal:
    """Change what is least of one end so that its joints fold once, or what comes nearest to it.

    Each way is tried in those of its `_walks` first that were worst before, and no farther than to see that
    it is not enough, for which one mostly does. The others are made only if no way is enough.
    """
    tried = []
    for limbs in _ways(walking, end):
        animal = replace(walking, limbs=limbs)
        walks = _walks(animal)
        each = _Tried(animal, end, [walks[row] for row in worst_first])
        while each.walks and each.back_rad <= ENOUGH_RAD:
            each.walk()
        if each.back_rad <= ENOUGH_RAD:
            return animal
        tried.append(each)
    while (best := min(tried, key=lambda each: each.back_rad)).walks:
        if best.back_rad == np.inf:
            return walking
        best.walk()
    return best.animal if best.back_rad < np.inf else walking


@dataclass(eq=False)
class _Tried:
    """One way to mend an end: the walks that are yet to be made, and how far it turned back in the others."""

    animal: Animal
    end: str
    walks: list[Request]
    back_rad: float = 0.0

    def walk(self) -> None:
        """Make the next walk."""
        self.back_rad = max(self.back_rad, _turned_back_rad(self.walks.pop(0)).get(self.end, np.inf))


def _ways(walking: Animal, end: str) -> Iterator[tuple[Limb, ...]]:
    """List the limbs with one end mended, what changes least first; none twice.

    They are alike where a heel leaves at the latest already, or nothing folds by law.
    """
    ways = [(later, k) for later in range(MOST_LATER + 1) for k in range(len(FOLDS)) if later or k]
    seen = []
    for later, k in sorted(ways, key=lambda way: (sum(way), way)):
        limbs = tuple(_less(limb, later, FOLDS[k]) if limb.end == end else limb for limb in walking.limbs)
        if limbs not in seen:
            seen.append(limbs)
            yield limbs


def _less(limb: Limb, later: int, fold: float) -> Limb:
    leaves = min(limb.path.heel_off_share + later * LATER_SHARE, max(LATEST_SHARE, limb.path.heel_off_share))
    laws = tuple(replace(law, fold_rad=fold * law.fold_rad) for law in limb.laws)
    return replace(limb, path=replace(limb.path, heel_off_share=leaves), laws=laws)


def _walks(animal: Animal) -> tuple[Request, ...]:
    """Return the walk that is made where nothing else is asked for, and two slower ones.

    One that is slow for a small rig, and one at its own tempo in many frames.
    """
    plain = Request(gait=WALK, animal=animal)
    slow = replace(plain, frames=WALK_FRAMES)
    return plain, slow, replace(slow, frame_rate_hz=plain_rate_hz(animal, WALK))


def _turned_back_rad(walk: Request) -> dict[str, float]:
    """Return by end how far a joint turns back besides one peak and one fold; none if it cannot go. [rad]"""
    try:
        clip = make_cycle(walk)
    except GaitgenError:
        return {}
    return _back_in(clip) if np.isfinite(clip.rotations).all() else {}


def _back_in(clip: Motion) -> dict[str, float]:
    animal, frames = clip.animal, clip.frames - 1
    angles = included_angles_rad(animal, matrix_from_quaternion(clip.rotations))
    found = dict.fromkeys(ENDS, 0.0)
    landings, leavings = (
        np.rint(moment * clip.frame_rate_hz).astype(int)
        for moment in (clip.steps.touchdown_s, clip.steps.liftoff_s)
    )
    for row, landing, leaving in zip(clip.steps.limb, landings, leavings, strict=True):
        limb = animal.limbs[row]
        rows = np.arange((landing + leaving) // 2, landing + frames + 1) % frames
        for joint, law in zip(limb.joints[1:-1], limb.laws[1:], strict=True):
            if not law.again_rad:  # what folds twice by law turns back the more often
                found[limb.end] = max(found[limb.end], turned_besides(angles[rows, joint], ONCE))
    return found
