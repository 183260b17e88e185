"""A clip that came to `carry` by mistake: no hand makes it run backward, or its legs change places."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import load_animal
from gaitgen.edits.mistakes import Mistake, mistakes
from gaitgen.edits.original import Made, Maker, Started
from gaitgen.edits.seen import Seen, limbs_apart_rad, most_alike, most_apart_rad, row_alike
from gaitgen.edits.swapped import kept_joints, kept_names, swapped_notices
from gaitgen.errors import Notice, RequestError
from gaitgen.gait.gait import LEADS, load_gait
from gaitgen.gait.request import Request
from gaitgen.numerics.turns import turn_between_rad

Array = npt.NDArray[np.float64]

# Joints of limbs that are, on average, as far from the clip that they started from are looked into (estimate:
# to turn every joint to and fro by 3 degrees makes 2.8).
DOUBT_RAD = np.radians(2.5)
PLAIN_RAD = np.radians(1.0)  # ... so near with the mistake undone is no other clip at any speed (estimate)
NEARER = 0.5  # times as far, with the mistake undone: it is one (estimate)
FAR_RAD = np.radians(7.0)  # ... and that no hand goes without making another clip (estimate)
# Another frame rate makes legs of the same gait and length go another way; by less it hardly matters.
RATE_DOUBT_RAD, RATE_NEARER = np.radians(0.5), 0.35
# A rate that is nearly the clip's, as 24 and 25 are, makes less of a difference, down to so much (estimates).
NEAR_RATE, NEAR_RATE_DOUBT_RAD = 1.1, np.radians(0.03)
RATES_HZ = (12.0, 24.0, 25.0, 30.0, 48.0, 50.0, 60.0)  # what films and games are played at
OTHER_SHARE = 0.01  # of the hip height: bones that differ by more are another skeleton's (estimate)
FROM = "name the clip that it started from with --from"


def refuse_misread(
    where: str, seen: Seen, started: Started[Made], asked: tuple[Request, ...], maker: Maker[Made]
) -> tuple[Notice, ...]:
    """Refuse a clip that is another one played backward or with legs swapped, or is far from any.

    Parameters
    ----------
    where
        Its name for messages.
    seen, started
        Its stride, and what it seems to have started from.
    asked
        Whose clip it is, in which styles it may be.
    maker
        Makes cycles.

    Returns
    -------
    What is to be said: that it plays at another frame rate than it was made at.

    Raises
    ------
    RequestError
        If it is one; one line with what to do.
    """
    apart = limbs_apart_rad(seen, started.seen)
    if started.request.seed is not None or apart < NEAR_RATE_DOUBT_RAD:
        return ()
    if apart >= DOUBT_RAD:
        text = _mistake_in(where, seen, apart, lambda: [each.seen for each in _usual(seen, asked, maker)])
        if text:
            raise RequestError(f"{text}, or {FROM}")
    said = _rate_notice(where, seen, started, apart, maker)
    if said or apart < FAR_RAD:
        return said or swapped_notices(where, seen, started.seen.from_row(row_alike(seen, started.seen)))
    if text := _partly(where, seen, started.seen, [each.seen for each in _usual(seen, asked, maker)]):
        raise RequestError(f"{text}, or {FROM}")
    raise RequestError(
        f"{where}: the joints of its legs are {np.degrees(apart):.0f} degrees on average from the nearest "
        f"clip that gaitgen makes, a {started.request.gait}, which no hand changes; see with `gaitgen check` "
        f"whether it was exported wrongly, or {FROM}"
    )


def refuse_plain_mistake(
    where: str, seen: Seen, tried: list[Started[Made]], asked: tuple[Request, ...], maker: Maker[Made]
) -> None:
    """Refuse a clip that is hardly anything but another one played backward or with legs swapped.

    Parameters
    ----------
    where, seen, asked, maker
        As `refuse_misread` has them.
    tried
        What was made in gaits that it may be.

    Raises
    ------
    RequestError
        If it is one; one line with what to do.
    """
    nearest = min(tried, key=lambda each: each.apart_rad, default=None)
    if nearest is None or nearest.request.seed is not None:
        return
    apart = limbs_apart_rad(seen, nearest.seen)
    if apart < DOUBT_RAD:
        return
    text = _mistake_in(where, seen, apart, lambda: [e.seen for e in _usual(seen, asked, maker)], PLAIN_RAD)
    if text:
        raise RequestError(f"{text}, or {FROM}")


def refuse_mistaken(where: str, seen: Seen, first: Seen) -> None:
    """Refuse a clip that is the one that it started from played backward or with legs swapped.

    Raises
    ------
    RequestError
        If it is; one line with what to do.
    """
    apart = limbs_apart_rad(seen, first)
    if apart >= DOUBT_RAD and (text := _mistake_in(where, seen, apart, lambda: [first])):
        raise RequestError(text)


def far_notice(where: str, seen: Seen, original: str, first: Seen) -> tuple[Notice, ...]:
    """Say that a clip is so far from the one that it is said to have started from that it may be another."""
    apart = limbs_apart_rad(seen, first)
    if apart < FAR_RAD:
        return swapped_notices(where, seen, first) if apart >= DOUBT_RAD else ()
    text = (
        f"the joints of the legs of {where} are {np.degrees(apart):.0f} degrees on average from {original}, "
        "which no hand changes; see whether that is the clip that it started from."
    )
    return (Notice("far", text),)


def refuse_other_animal(where: str, animal: Animal, original: str, other: Animal) -> None:
    """Refuse a clip that is said to have started from one on another skeleton.

    Raises
    ------
    RequestError
        If they have other joints, or bones that are not as long.
    """
    if animal.joint_names == other.joint_names:
        away = np.linalg.norm(animal.offsets_m - other.offsets_m, axis=1)[1:]
        if away.max() < OTHER_SHARE * animal.hip_height_m:
            return
    raise RequestError(
        f"{where} has the bones of a {animal.title.lower()} and {original} those of another skeleton, like a "
        f"{other.title.lower()}; name the clip that it started from, on the same skeleton"
    )


def _mistake_in(
    where: str, seen: Seen, apart: float, known: Callable[[], list[Seen]], most_rad: float = np.inf
) -> str:
    """Say what is wrong with a clip, and what to do; nothing if it is no nearer to what is known otherwise.

    Parameters
    ----------
    where
        Its name.
    seen
        Its stride.
    apart
        How far it is from the clip that it seems to have started from. [rad]
    known
        Returns strides that it may be.
    most_rad
        How far it may be from one of them with what is wrong undone. [rad]
    """
    strides = known()
    found: list[tuple[float, str, Mistake, Seen]] = []
    for mistake in mistakes(seen.local, seen.legs):
        undone = replace(seen, local=mistake.undone)
        for each in strides:
            least = limbs_apart_rad(undone, each.from_row(row_alike(undone, each)))
            found.append((least, mistake.fault, mistake, each))
    if not found:
        return ""
    least, fault, mistake, stride = min(found, key=lambda each: each[:2])
    if least >= min(NEARER * apart, most_rad):
        return ""
    kept = kept_joints(seen, mistake, stride)
    but, others = (f", but not {kept}", " in the others") if kept else ("", "")
    return (
        f"{where}: {fault}{but}; as it is the joints of its legs are {np.degrees(apart):.0f} degrees on "
        f"average from the clip that it would have started from, the other way round "
        f"{np.degrees(least):.1f}: {mistake.remedy}{others}"
    )


def _partly(where: str, seen: Seen, nearest: Seen, strides: list[Seen]) -> str:
    """Say what is wrong with most joints of a clip that is far from all strides; nothing if it is not."""

    def apart_rad(one: Seen) -> float:
        return min(most_apart_rad(one, most_alike(one, each)) for each in strides)

    if not strides:
        return ""
    nearby = [nearest, *strides]
    apart = min(most_apart_rad(seen, nearest), apart_rad(seen))
    found = [(apart_rad(replace(seen, local=each.undone)), each) for each in mistakes(seen.local, seen.legs)]
    least, mistake = min(found, key=lambda each: each[0])
    if least >= NEARER * apart:
        return ""
    undone = replace(seen, local=mistake.undone)
    stride = min(nearby, key=lambda each: most_apart_rad(undone, most_alike(undone, each)))
    kept = kept_joints(seen, mistake, stride)
    which = f"but not {kept}" if kept else "though not in all joints"
    return (
        f"{where}: {mistake.fault}, {which}; as it is most joints of its legs are "
        f"{np.degrees(apart):.1f} degrees on average from the clip that it would have started from, the "
        f"other way round {np.degrees(least):.1f}: {mistake.remedy}{' in the others' if kept else ''}"
    )


def refuse_other_shot(
    where: str, local: Array, made: Array, legs: tuple[tuple[int, ...], ...], names: tuple[str, ...]
) -> None:
    """Refuse a clip that is not the one that was made from a shot file and refined since.

    Parameters
    ----------
    where
        Its name for messages.
    local, made
        (frames, joints, 3, 3) how its joints are turned, and those of the shot, against the joints above.
    legs, names
        The joints of each limb, in LIMBS order, and the names of all.

    Raises
    ------
    RequestError
        If legs go too far from those of the shot, or the clip is that one played backward or with legs
        swapped; one line with what to do.
    """
    rows = [joint for leg in legs for joint in leg]

    def apart_rad(one: Array) -> float:
        return float(turn_between_rad(one[:, rows], made[:, rows]).mean())

    apart = apart_rad(local)
    if apart < DOUBT_RAD:
        return
    far = (
        f"{where}: the joints of its legs are {np.degrees(apart):.0f} degrees on average from the shot of "
        "this file, which no hand changes"
    )
    least, mistake = min(
        ((apart_rad(each.undone), each) for each in mistakes(local, legs)), key=lambda found: found[0]
    )
    if least < NEARER * apart:
        here, there = (turn_between_rad(one, made).mean(axis=0) for one in (local, mistake.undone))
        kept = kept_names(here, there, mistake, names)
        but, others = (f", but not {kept}", " in the others") if kept else ("", "")
        raise RequestError(f"{far}: {mistake.fault}{but}; {mistake.remedy}{others}")
    if apart >= FAR_RAD:
        raise RequestError(f"{far}; give the clip that was made from this file, or the file as it was then")


def _usual(seen: Seen, asked: tuple[Request, ...], maker: Maker[Made]) -> Iterator[Started[Made]]:
    """Make a stride of each gait that the animal uses, in each style, as long as the one seen."""
    for each in asked:
        animal = each.animal if isinstance(each.animal, Animal) else load_animal(each.animal)
        for gait in (load_gait(name) for name in animal.gaits):
            for lead in LEADS if gait.has_lead else (None,):
                request = replace(each, gait=gait.name, lead=lead, frames=seen.frames)
                made = maker.tried(seen, replace(request, frame_rate_hz=seen.frame_rate_hz))
                if made is not None:
                    yield made


def _rate_notice(
    where: str, seen: Seen, started: Started[Made], apart: float, maker: Maker[Made]
) -> tuple[Notice, ...]:
    """Say that a clip is as the same gait is made at another frame rate."""
    plain = replace(started.request, speed_m_s=None, contacts=None)
    found = []
    for rate_hz in RATES_HZ:
        near = max(rate_hz, seen.frame_rate_hz) < NEAR_RATE * min(rate_hz, seen.frame_rate_hz)
        if apart < RATE_DOUBT_RAD and not near:
            continue
        made = maker.tried(seen, replace(plain, frame_rate_hz=rate_hz))
        if made is not None:
            there = made.seen.from_row(row_alike(seen, made.seen))
            found.append((limbs_apart_rad(seen, there), rate_hz))
    least, rate_hz = min(found, default=(np.inf, 0.0))
    if least >= RATE_NEARER * apart or abs(rate_hz - seen.frame_rate_hz) < 1e-3 * rate_hz:
        return ()
    text = (
        f"{where} plays at {seen.frame_rate_hz:g} fps and is as that gait is made at {rate_hz:g} fps; what "
        f"differs for that reason counts as changed by hand. Let it play at {rate_hz:g} (Frame Time: "
        f"{1.0 / rate_hz:.6f}), or {FROM}."
    )
    return (Notice("rate", text),)
