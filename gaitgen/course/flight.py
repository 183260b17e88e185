"""Flights that whole frames keep: contacts and stances rounded so that a pose in the air is seen."""

from __future__ import annotations

from itertools import product

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# A flight of so many frames has a pose in the air on film, wherever frames fall; shorter ones may not.
SEEN_FRAMES = 1.0
# By so much a stance may differ from what it is before rounding. [frames]
MOST_OFF = 1.0
# No stance is made shorter than this: one that is shorter has no frame between its first and its last.
LEAST_DOWN = 2.0
CLOSE = 1e-9


def in_air(contact: Array, down: Array, frames: int) -> Bools:
    """Tell on which whole frames no foot is down, (..., frames); both ends of a stance are down.

    Parameters
    ----------
    contact, down
        (..., 4) when each foot lands, and for how long it is down. [frames]
    frames
        Length of the stride. [frames]
    """
    since = (np.arange(frames)[:, None] - contact[..., None, :]) % frames  # (..., frames, 4)
    landing = since > frames - CLOSE
    return np.asarray((~landing & (since > down[..., None, :] + CLOSE)).all(axis=-1))


def flights(contact: Array, down: Array, frames: int) -> list[tuple[float, float]]:
    """List the times with no foot down, start and end, from (4,) contacts and times down. [frames]"""
    order = np.argsort(contact, kind="stable")
    lands = np.append(contact[order], contact[order] + frames)
    leaves = np.maximum.accumulate(np.append((contact + down)[order], (contact + down)[order] + frames))
    found = zip(leaves[3:-1], lands[4:], strict=True)
    return [(float(start), float(end)) for start, end in found if end - start > CLOSE]


def with_flights(
    exact: tuple[Array, Array], placed: tuple[Array, Array], frames: int, least_duty: float
) -> tuple[Array, Array]:
    """Round a run's contacts and stances so that a flight of a frame or more shows a pose in the air.

    On film a flight that lasts a frame has a frame in it, while contacts and lift-offs that are rounded to
    the nearest frame may leave it no whole frame of its own. Then the nearest rounding is taken that does:
    contacts to the frame before or after, stances at most a frame longer or shorter. Nothing changes where
    flights are seen, or too short to be.

    Parameters
    ----------
    exact, placed
        (4,) contact and time down of each foot, before and after rounding to the nearest frame; feet that
        were put on one frame keep one. [frames]
    frames
        Length of the stride. [frames]
    least_duty
        Mean share of the stride below which feet are not down. [0 to 1]

    Returns
    -------
    tuple
        (4,) contact and (4,) time down. [frames]
    """
    lands = _of_beats(exact[0], placed[0], frames)
    own = [each for each in flights(lands, exact[1], frames) if each[1] - each[0] >= SEEN_FRAMES - CLOSE]
    seen = _seen(placed[0][None], placed[1][None], own, frames)
    if seen[0] == len(own):
        return placed
    contact, down = _roundings(lands, exact[1], frames)
    duty = down.mean(axis=1) / frames
    kept = duty >= min(least_duty, float(placed[1].mean()) / frames) - CLOSE
    contact, down = contact[kept], down[kept]
    off = np.square(contact - lands).sum(axis=1) + np.square(down - exact[1]).sum(axis=1)
    shown = _seen(contact, down, own, frames)
    best = np.lexsort((np.round(off, 9), -shown))[0]
    return (contact[best], down[best]) if shown[best] > seen[0] else placed


def _of_beats(exact: Array, placed: Array, frames: int) -> Array:
    """Give feet that were put on one frame one moment, the mean of theirs. [frames]"""
    off = (exact - placed + frames / 2.0) % frames - frames / 2.0
    together = (placed[:, None] - placed) % frames == 0.0
    return np.asarray(placed % frames + together @ off / together.sum(axis=1))


def _seen(contact: Array, down: Array, own: list[tuple[float, float]], frames: int) -> npt.NDArray[np.int64]:
    """Count the flights in which there is a frame with no foot down, (roundings,)."""
    air = in_air(contact, down, frames)  # (roundings, frames)
    count = np.zeros(len(air), dtype=np.int64)
    for start, end in own:
        about = np.arange(np.floor(start), np.ceil(end) + 1.0, dtype=np.int64) % frames
        count += air[:, about].any(axis=1)
    return count


def _roundings(lands: Array, stands: Array, frames: int) -> tuple[Array, Array]:
    """List what contacts and stances may be rounded to, (roundings, 4) each, in the order in which feet land.

    Contacts to the frame before or after, stances to what is at most MOST_OFF away and not too short.
    """
    order = np.argsort(lands, kind="stable")
    beats = np.unique(lands)
    of_beat = np.searchsorted(beats, lands)
    near = [sorted({np.floor(beat + CLOSE), np.ceil(beat - CLOSE)}) for beat in beats]
    long = [_long(float(each)) for each in stands[order]]
    contact = np.array([each for each in product(*near) if _in_turn(each, frames)])[:, of_beat]
    down = np.array(list(product(*long)))[:, np.argsort(order)]
    return np.repeat(contact, len(down), axis=0), np.tile(down, (len(contact), 1))


def _long(stands: float) -> Array:
    """List for how many whole frames a foot may be down that is down for so long."""
    least = max(min(LEAST_DOWN, np.floor(stands + 0.5)), np.ceil(stands - MOST_OFF - CLOSE))
    return np.arange(least, max(least, stands + MOST_OFF) + CLOSE)


def _in_turn(beats: tuple[float, ...], frames: int) -> bool:
    """Tell whether beats keep their order and come at different frames."""
    return bool(np.all(np.diff((*beats, beats[0] + frames)) > 0.5))
