"""One cycle of a gait as a timeline with a period, on whole frames where asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.course.flight import LEAST_DOWN, with_flights
from gaitgen.course.ground import FLAT, Ground
from gaitgen.course.path import Path
from gaitgen.course.steps import Loop, Steps
from gaitgen.errors import GaitError
from gaitgen.gait.gait import LIMBS

Array = npt.NDArray[np.float64]

SAME_FRAMES = 1e-6  # what is nearer than this is the same moment
LESS_DOWN = 0.25  # of a frame: a foot that is down more briefly shows less weight (estimate)
# Frames: of shorter stances a frame more is too much, of longer ones it makes sides unlike (estimates).
LEAST_ALIKE, FEW_DOWN = 2.5, 5.0 + SAME_FRAMES


@dataclass(frozen=True)
class CycleTiming:
    """Contacts of one cycle in frames from its start.

    Attributes
    ----------
    contact
        Contact of each foot in LIMBS order, 0 up to ``frames``. [frames]
    down
        How long each foot is down. [frames]
    frames
        Length of the cycle. [frames]
    """

    contact: tuple[float, float, float, float]
    down: tuple[float, float, float, float]
    frames: int

    @property
    def together(self) -> npt.NDArray[np.bool_]:
        """Whether each foot lands and leaves with the other of its pair, (4,)."""
        contact, down = np.array(self.contact), np.array(self.down)
        other = [1, 0, 3, 2]
        return np.asarray((contact == contact[other]) & (down == down[other]))


def longest_duty(timing: CycleTiming) -> float:
    """Return the duty factor of the foot that is down for longest, which covers the most ground.

    No leg reaches farther because another is down for less: with the mean of all four, the sound leg beside
    a short one would be led farther ahead and behind than it goes at any speed, and buckle as it lands.
    """
    return max(timing.down) / timing.frames


def _whole(value: float) -> float:
    return float(np.floor(value + 0.5 + 1e-9))


def cycle_timing(
    frames: int,
    duty_factor: float,
    touchdown: Sequence[float],
    *,
    start: str = "RH",
    whole_frames: bool = True,
    fore_duty_more: float = 0.0,
    down_factor: Sequence[float] = (1.0, 1.0, 1.0, 1.0),
    least_duty: float | None = None,
    alike: bool = True,
) -> CycleTiming:
    """Place the contacts of one stride of a gait.

    On whole frames, feet that land less than a frame apart land together, and a foot of a pair that is always
    on the ground stays down until after the other has landed. The flights of a run are kept where asked.

    Parameters
    ----------
    frames
        Length of the cycle. [frames]
    duty_factor
        Share of the cycle that a foot is down, the mean of fore and hind.
    touchdown
        (4,) share of the cycle at which each foot lands, in LIMBS order.
    start
        The foot whose contact is frame 1.
    whole_frames
        Round contacts and stances to whole frames.
    fore_duty_more
        By how much more of the cycle a fore foot is down than a hind foot.
    down_factor
        (4,) how much longer than that each foot is down, in LIMBS order.
    least_duty
        At a run on whole frames, round so that a flight of a frame or more has a pose in the air, unless feet
        would be down for less than this; None to round everything to the nearest frame.
    alike
        Where left and right take turns, round an odd number of frames so that flights, or at a walk the times
        on both feet of a pair, are alike.

    Raises
    ------
    GaitError
        If ``start`` is no foot.
    """
    if start not in LIMBS:
        raise GaitError(f"start is {start!r}; use one of {', '.join(LIMBS)}")
    contact = np.asarray(touchdown, dtype=np.float64) * frames
    downs = [(duty_factor + share * fore_duty_more) * frames for share in (0.5, 0.5, -0.5, -0.5)]
    downs = [down * factor for down, factor in zip(downs, down_factor, strict=True)]
    exact = contact, np.array(downs)
    if whole_frames:
        contact = _on_frames(contact, frames, together=duty_factor <= 0.5)
        least = np.floor(frames / 2.0 if duty_factor > 0.5 else 0.0) + 1.0
        stands = downs
        most = frames // 2 if duty_factor <= 0.5 else frames - 2
        downs = [float(min(max(_whole(down), least), most)) for down in downs]
        if alike and duty_factor <= 0.5:
            downs = _alike_flights(exact[0], contact, stands, downs, frames)
        if alike and duty_factor > 0.5:
            downs = _alike_hand_overs(exact[0], contact, stands, downs, frames)
        if least_duty is not None and duty_factor <= 0.5:
            contact, longs = with_flights(exact, (contact, np.array(downs)), frames, least_duty)
            downs = [float(down) for down in longs]
    first = contact[LIMBS.index(start)]
    shifted = tuple(float((each - first) % frames) for each in contact)
    return CycleTiming(shifted, tuple(downs), frames)  # type: ignore[arg-type]


def _alike_flights(
    beats: Array, contact: Array, stands: list[float], downs: list[float], frames: int
) -> list[float]:
    """Let a foot whose step is a frame longer stand a frame longer, in an odd number of frames.

    Left and right take turns in even steps, and the flights after them are alike; after stances of one length
    a leg would land from a higher fall than its mate, and snap straight. Not where stances have fewer frames
    than LEAST_ALIKE or more than FEW_DOWN, nor where feet would be down for LESS_DOWN less than asked.
    """
    short = [max(LEAST_DOWN, float(np.floor(each + SAME_FRAMES))) for each in stands]
    made = list(downs)
    asked = float(np.mean(stands))
    flies = asked < frames / 2.0 - LESS_DOWN  # where none does, feet hand over from one to the other
    few = LEAST_ALIKE <= asked <= FEW_DOWN and np.mean(short) + 0.5 >= asked - LESS_DOWN
    if flies and not few:
        return made
    for foot, mate in ((0, 1), (1, 0), (2, 3), (3, 2)):
        turns = abs((beats[foot] - beats[mate]) % frames - frames / 2.0) < SAME_FRAMES
        more = (contact[mate] - contact[foot]) % frames - frames / 2.0
        if turns and abs(abs(more) - 0.5) < SAME_FRAMES:
            made[foot] = short[foot] + float(more > 0.0)
    return made


def _alike_hand_overs(
    beats: Array, contact: Array, stands: list[float], downs: list[float], frames: int
) -> list[float]:
    """Let a walking foot whose mate lands a frame later than half-way stand a frame longer than its mate.

    So both stand as long beside the other, in an odd number of frames too; where both stood as long in all,
    the one that is left behind for longer would fold as the hips sink over the other, and open again. Not of
    feet that are asked to stand unlike, nor where the shorter stance would leave no frame on both feet.
    """
    made = list(downs)
    for foot, mate in ((0, 1), (1, 0), (2, 3), (3, 2)):
        turns = abs((beats[foot] - beats[mate]) % frames - frames / 2.0) < SAME_FRAMES
        alike = turns and abs(stands[foot] - stands[mate]) < SAME_FRAMES
        longer = (contact[mate] - contact[foot]) % frames - frames / 2.0
        short = float(np.floor(stands[foot] + SAME_FRAMES))
        if alike and abs(abs(longer) - 0.5) < SAME_FRAMES and frames / 2.0 < short <= frames - 3.0:
            made[foot] = short + float(longer > 0.0)
    return made


def _on_frames(contact: Array, frames: int, *, together: bool) -> Array:
    """Put contacts on whole frames, left as far from right as asked.

    At a run, feet of both ends that land less than a frame apart, as the pairs of a trot do, land together.
    """
    placed = np.floor(contact + 0.5 + 1e-9)
    steps = (contact[0] - contact[1], contact[2] - contact[3])  # left after right
    for left, right, step in ((0, 1, steps[0] % frames), (2, 3, steps[1] % frames)):
        if step <= frames / 2.0 + 1e-6:
            placed[left] = placed[right] + _whole(float(step))
        else:  # the foot that lands first is placed first, so that the other lead is the mirror image
            placed[right] = placed[left] + _whole(float(frames - step))
    for fore in (0, 1) if together else ():
        for hind in (2, 3):
            apart = (contact[fore] - contact[hind] + frames / 2.0) % frames - frames / 2.0
            if abs(apart) < 1.0 - 1e-9:
                placed[fore] = placed[hind]
    return placed


def lay_steps(
    path: Path,
    ground: Ground,
    limb: npt.NDArray[np.int64],
    touchdown_s: Array,
    liftoff_s: Array,
    centre_m: Array,
    track_m: Array,
    period_s: float | None = None,
) -> Steps:
    """Lay stances on the ground beside the path, each half-way through its time under the body.

    Parameters
    ----------
    path, ground
        Where the body goes, and over what.
    limb, touchdown_s, liftoff_s
        (stances,) index into LIMBS, and when each stance is. [s]
    centre_m
        (stances,) toe's place ahead of the body half-way through its stance, along the path. [m]
    track_m
        (stances,) its place to the left of the path. [m]
    period_s
        Time after which all repeats, on a path of one curvature at an even speed over flat or evenly
        sloping ground; None for steps that do not. [s]
    """
    distance = path.distance_m((touchdown_s + liftoff_s) / 2.0) + centre_m
    place, heading = path.beside(distance, track_m)
    loop = None if period_s is None else _loop(path, ground, period_s)
    order = np.argsort(touchdown_s, kind="stable")
    return Steps(
        limb=limb[order],
        touchdown_s=touchdown_s[order],
        liftoff_s=liftoff_s[order],
        place_m=np.concatenate([place, ground.height_m(place)[:, None]], axis=1)[order],
        heading_rad=heading[order],
        normal=np.array(ground.normal(place))[order],
        loop=loop,
    )


def _loop(path: Path, ground: Ground, period_s: float) -> Loop:
    """How a period carries the body on: a turn about the origin and a shift."""
    place, heading, _ = path.at(path.distance_m(np.array([0.0, period_s])))
    turn = float(heading[1] - heading[0])
    start = np.append(place[0], ground.height_m(place[0]))
    end = np.append(place[1], ground.height_m(place[1]))
    still = Loop(period_s, turn)
    shift = end - still.repeated(start, 1)
    return Loop(period_s, turn, (float(shift[0]), float(shift[1]), float(shift[2])))


def cycle_steps(
    timing: CycleTiming,
    frame_rate_hz: float,
    path: Path,
    stance_centre_m: Array,
    track_m: Array,
    ground: Ground = FLAT,
) -> Steps:
    """Lay the contacts of one cycle on the ground, beside the path.

    Parameters
    ----------
    timing
        Contacts in frames.
    frame_rate_hz
        Frames per second. [Hz]
    path, ground
        Where the body goes, and over what.
    stance_centre_m
        (4,) toe's place ahead of the body half-way through its stance, in LIMBS order. [m]
    track_m
        (4,) its place to the left of the path. [m]
    """
    touchdown = np.array(timing.contact) / frame_rate_hz  # (4,)
    liftoff = touchdown + np.array(timing.down) / frame_rate_hz
    period_s = timing.frames / frame_rate_hz
    limbs = np.arange(len(LIMBS), dtype=np.int64)
    return lay_steps(path, ground, limbs, touchdown, liftoff, stance_centre_m, track_m, period_s)
