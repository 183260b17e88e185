"""The named poses of a stride, from its events: contacts, flights, and what lies half-way between."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.gait.gait import LIMBS
from gaitgen.motion.extremes import share_of_range
from gaitgen.motion.motion import KeyPose

Array = npt.NDArray[np.float64]

IN_AIR, LIFT_OFF, CONTACT = "in the air", "lift-off", " contact"
# The poses of a jump.
OVER, TAKE_OFF = "over the jump", "take-off"
TOGETHER_FRAMES = 0.51  # feet that land within this of each other make one beat
LEAST_FRAMES = 0.26  # a flight is at least so long
FAR_STRIDES = 0.19  # between poses farther apart than this there is one more
# The lower two fifths of what an end rises are low, the upper two high, and what is between is level.
LOW = 0.4


def key_poses(
    contact: Sequence[float],
    down: Sequence[float],
    frames: int,
    heave_m: Mapping[str, Array],
    *,
    limbs: Sequence[int] = (0, 1, 2, 3),
) -> tuple[KeyPose, ...]:
    """Name the poses of strides, one or several, by what happens in them (common practice, no source).

    A walk has its four contacts and the frames midway between. Another gait has its contacts, feet that land
    together as one, the middle of each flight, and where these are far apart the frame midway.

    Parameters
    ----------
    contact, down
        Contact of each stance, 0 up to ``frames``, and how long it lasts. [frames]
    frames
        Length of the stride or strides. [frames]
    heave_m
        Heave of ``hips`` and ``chest``, (samples,) each, evenly over the stride without its end; the more
        samples, the better poses between frames are judged. [m]
    limbs
        Foot of each stance, as an index into LIMBS.

    Returns
    -------
    tuple of KeyPose
        In order of frame, from 1; the last repeats the first where the stride begins with a pose. Where all
        contacts are on whole frames, so are the poses between them: half a frame goes to the earlier one,
        as both ends of the body are low before the middle.
    """
    beats = _beats(contact, limbs, frames)
    is_whole = all(abs(place - round(place)) < 1e-6 for place in contact)
    if len(beats) == len(limbs) and sum(down) > 2.0 * frames:
        named = {place: f"{name}{CONTACT}" for place, name in beats}
        between = [
            _midway(here, following, frames, whole=is_whole)
            for here, following in _neighbours(list(named), frames)
        ]
    else:
        named = dict(_flights(contact, down, frames, whole=is_whole))
        named |= {place: f"{name}{CONTACT}" for place, name in beats}
        far = FAR_STRIDES * frames * len(LIMBS) / len(limbs)
        gaps = _neighbours(sorted(named), frames)
        between = [_midway(a, b, frames, whole=is_whole) for a, b in gaps if b - a > far]
    named |= {place: level_name(place / frames, heave_m) for place in between}
    poses = [KeyPose(place + 1.0, named[place]) for place in sorted(named)]
    last = [KeyPose(frames + 1.0, pose.name) for pose in poses[:1] if pose.frame == 1.0]
    return (*poses, *last)


def is_event(name: str) -> bool:
    """Tell whether a pose is a contact or a flight, by its name; the others lie between."""
    return name in {IN_AIR, LIFT_OFF} or name.endswith(CONTACT)


def _beats(contact: Sequence[float], limbs: Sequence[int], frames: int) -> list[tuple[float, str]]:
    """Feet that land within half a frame of each other, hind feet first: their place and their names."""
    beats: list[tuple[float, str]] = []
    for k in sorted(range(len(limbs)), key=lambda k: (contact[k], -limbs[k])):
        if beats and contact[k] - beats[-1][0] < TOGETHER_FRAMES:
            beats[-1] = beats[-1][0], f"{beats[-1][1]} + {LIMBS[limbs[k]]}"
        else:
            beats.append((contact[k] % frames, LIMBS[limbs[k]]))
    return beats


def _flights(
    contact: Sequence[float], down: Sequence[float], frames: int, *, whole: bool
) -> Iterator[tuple[float, str]]:
    """Find the middle of every flight; on whole frames one without a frame inside is named by its start."""
    for place in {value % frames for value in contact}:
        since = min((place - on - stance) % frames for on, stance in zip(contact, down, strict=True))
        is_flight = all(
            (place - LEAST_FRAMES - on) % frames > stance for on, stance in zip(contact, down, strict=True)
        )
        if not is_flight:
            continue
        middle = place - since / 2.0
        if whole and np.floor(middle) <= place - since:
            yield (place - since) % frames, LIFT_OFF
        else:
            yield (float(np.floor(middle)) if whole else middle) % frames, IN_AIR


def _neighbours(places: Sequence[float], frames: int) -> list[tuple[float, float]]:
    """Each place and the next, the last with the first of the following stride."""
    return [*pairwise(places), (places[-1], places[0] + frames)]


def _midway(here: float, following: float, frames: int, *, whole: bool = False) -> float:
    middle = (here + following) / 2.0
    is_moved = whole and following - here >= 2.0
    return (float(np.floor(middle + 1e-9)) if is_moved else middle) % frames


def level_name(share: float, heave_m: Mapping[str, Array]) -> str:
    """Say whether hips and chest are low, high or level at a share of the stride."""
    words = []
    for end, curve in heave_m.items():
        place = share_of_range(curve, share * curve.size)
        words.append(f"{end} {'low' if place < LOW else 'high' if place > 1.0 - LOW else 'level'}")
    return ", ".join(words)
