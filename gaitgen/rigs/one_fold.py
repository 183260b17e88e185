"""Heels of a rig that leave as late, and joints that fold as little, as lets each leg fold once at a walk."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb import ENDS, Limb
from gaitgen.animal.manner import Going
from gaitgen.errors import GaitgenError, Notice
from gaitgen.gait.request import WALK, Request
from gaitgen.motion.extremes import turned_besides
from gaitgen.motion.kinematics import included_angles_rad
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import matrix_from_quaternion
from gaitgen.pipeline import make_cycle
from gaitgen.rigs.own_ranges import WALK_FRAMES, plain_rate_hz
from gaitgen.rigs.rig_map import RigMap, WalkMap, WalkOfEnd

Array = npt.NDArray[np.float64]

# A joint that turns back by more than the first besides one peak and one fold is mended, until it does so by
# no more than the second (estimates: the joints of the rig itself, at other lengths, turn back by 2 degrees
# more than is seen here, and what is seen counts from 9 on). [rad]
MOST_BACK_RAD, ENOUGH_RAD = np.radians(7.0), np.radians(5.5)
ONCE = 2  # turns from the middle of stance to landing: one peak, and one fold
# The heel leaves later by so much of a stance at a time, and never later than that; the joints that fold by
# law in swing fold so many times as far (estimates).
LATER_SHARE, LATEST_SHARE = 0.05, 0.9
EARLIEST_SHARE = 0.3  # the earliest that the file of an animal may say
MOST_LATER = 6
FOLDS = (1.0, 0.85, 0.7)
AS_IT_IS = WalkOfEnd(0.0, 1.0)
# A map's walk is for a rig whose hips are as high, but for so much (estimate: by as much legs hardly differ).
SAME_SIZE = 0.01

Ends = Mapping[str, WalkOfEnd]


def walking_as_mapped(own: RigMap, animal: Animal) -> tuple[Animal, tuple[Notice, ...]]:
    """Let the legs of a rig go at a walk as its map says, or else as `found_walk` finds.

    Parameters
    ----------
    own, animal
        The map, and the animal that stands for the rig.

    Returns
    -------
    The animal, and what is to be told: that what the map says is for another animal or size.
    """
    said = own.walk
    if said is None:
        return going(animal, found_walk(animal)), ()
    away = abs(animal.hip_height_m / said.hip_height_m - 1.0)
    if said.template == own.template and away < SAME_SIZE:
        return going(animal, said.ends), ()
    text = (
        f"[walk] of the map is for a rig with the limb laws of {said.template} and hips at "
        f"{said.hip_height_m:.3g} m, and this one has those of {own.template} and hips at "
        f"{animal.hip_height_m:.3g} m; its heels and folds are found anew, each time: let `gaitgen fit` "
        "write the map again, or correct template and hip_height_m there to keep them."
    )
    return going(animal, found_walk(animal)), (Notice("walk", text),)


def walk_map(animal: Animal, template: str) -> WalkMap | None:
    """Walk the animal that stands for a rig, for its map; None if it cannot walk."""
    found = found_walk(animal)
    return WalkMap(template, float(f"{animal.hip_height_m:.6g}"), found) if found else None


def found_walk(animal: Animal) -> Ends:
    """Find what lets the legs of a rig fold once at a walk, from the middle of stance to landing.

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
    By end the least of both; nothing if it cannot walk.
    """
    walking = replace(animal.in_gait(WALK), goings={}, outline=())  # flesh moves no leg
    backs = [_turned_back_rad(walk) for walk in _walks(walking)]
    if not all(backs):
        return {}
    found = {}
    for end in ENDS:
        each = [back[end] for back in backs]
        found[end] = AS_IT_IS
        if max(each) > MOST_BACK_RAD:
            found[end] = _mended(walking, end, sorted(range(len(each)), key=lambda k: -each[k]))
            walking = replace(walking, limbs=_limbs(walking, end, found[end]))
    return found


def going(animal: Animal, ends: Ends) -> Animal:
    """Return an animal whose legs go so at a walk; as it is where nothing is another way.

    Parameters
    ----------
    animal
        The animal that stands for a rig.
    ends
        How they go, by end.
    """
    if all(end == AS_IT_IS for end in ends.values()):
        return animal
    walking = animal.in_gait(WALK)
    for name, end in ends.items():
        walking = replace(walking, limbs=_limbs(walking, name, end))
    return replace(animal, goings={**animal.goings, WALK: Going.of(walking)})


def _mended(walking: Animal, end: str, worst_first: list[int]) -> WalkOfEnd:
    """Find what is least of one end so that its joints fold once, or what comes nearest to it.

    Each way is tried in those of its `_walks` first that were worst before, and no farther than to see that
    it is not enough, for which one mostly does. The others are made only if no way is enough.
    """
    tried = []
    for way, limbs in _ways(walking, end):
        walks = _walks(replace(walking, limbs=limbs))
        each = _Tried(way, end, [walks[row] for row in worst_first])
        while each.walks and each.back_rad <= ENOUGH_RAD:
            each.walk()
        if each.back_rad <= ENOUGH_RAD:
            return way
        tried.append(each)
    while (best := min(tried, key=lambda each: each.back_rad)).walks:
        if best.back_rad == np.inf:
            return AS_IT_IS
        best.walk()
    return best.way if best.back_rad < np.inf else AS_IT_IS


@dataclass(eq=False)
class _Tried:
    """One way to mend an end: the walks that are yet to be made, and how far it turned back in the others."""

    way: WalkOfEnd
    end: str
    walks: list[Request]
    back_rad: float = 0.0

    def walk(self) -> None:
        """Make the next walk."""
        self.back_rad = max(self.back_rad, _turned_back_rad(self.walks.pop(0)).get(self.end, np.inf))


def _ways(walking: Animal, end: str) -> Iterator[tuple[WalkOfEnd, tuple[Limb, ...]]]:
    """List ways to mend one end and its limbs then, what changes least first; none twice.

    They are alike where a heel leaves at the latest already, or nothing folds by law.
    """
    ways = [(later, k) for later in range(MOST_LATER + 1) for k in range(len(FOLDS)) if later or k]
    seen = []
    for later, k in sorted(ways, key=lambda way: (sum(way), way)):
        way = WalkOfEnd(round(later * LATER_SHARE, 6), FOLDS[k])
        limbs = _limbs(walking, end, way)
        if limbs not in seen:
            seen.append(limbs)
            yield way, limbs


def _limbs(walking: Animal, end: str, way: WalkOfEnd) -> tuple[Limb, ...]:
    return tuple(_less(limb, way) if limb.end == end else limb for limb in walking.limbs)


def _less(limb: Limb, way: WalkOfEnd) -> Limb:
    own = limb.path.heel_off_share
    leaves = min(max(own + way.heel_later, EARLIEST_SHARE), max(LATEST_SHARE, own))
    laws = tuple(replace(law, fold_rad=way.fold * law.fold_rad) for law in limb.laws)
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
