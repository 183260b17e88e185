"""Faults that are a habit of a clip, seen at both sides, and clips that are off the plan that was given.

As in ``damage``; a leg that is unlike its mate is named so before anything that it does, so a fault that is
found in how legs go is made at both.
"""

from dataclasses import replace

import numpy as np
from damage import Damaged, _side, base, bump, columns, feet_kept, held, root_moved, toes_brought, turned

from gaitgen.check.meant import Meant
from gaitgen.gait.gait import LIMBS

FORE, HIND = LIMBS[:2], LIMBS[2:]


def _stance(start, limb):
    return start.seen.feet.of(LIMBS.index(limb))[0]


def _swing(start, limb):
    """First and last row of a swing."""
    stance = _stance(start, limb)
    return stance.last, stance.first + start.period


def _with(start, turns):
    """Add curves (frames,) to pitches, one after the other."""
    for joint, wave in turns:
        start = replace(start, file=turned(start, joint, "X", wave))
    return start.file


def straight_carpi(start, degrees, rng):
    """Both forelegs keyed straight at lift-off, as far as that, by their foot controls."""
    del rng
    turns = []
    for limb in FORE:
        last = _stance(start, limb).last
        missing = degrees - float(start.motion.angles_deg[limb, "carpus"][last % start.period])
        wave = -max(0.0, missing) * bump(start.frames, last - 4, last + 4, start.period)
        turns.append((f"fore_cannon_{_side(limb)}", wave))
    file = toes_brought(start, _with(start, turns), FORE, start.motion.toes_m)
    return Damaged(file, ("joint locked at lift-off",), FORE)


def folding_legs(start, mm, rng):
    """The body sinks into each hind leg after it lands, and all feet stay where they are."""
    del rng
    path = np.zeros((start.frames, 3))
    for limb in HIND:
        first = _stance(start, limb).first
        path[:, 2] -= mm / 1000.0 * bump(start.frames, first, first + start.period // 3, start.period)
    return Damaged(feet_kept(start, root_moved(start, path)), ("leg gives under weight",), HIND)


def shuddering_legs(start, degrees, rng):
    """Both carpi go to and fro four times in each swing, and the hooves keep their way."""
    del rng
    turns = []
    for limb in FORE:
        first, last = _swing(start, limb)
        rows = np.arange(first, last + 1)
        wave = np.zeros(start.frames)
        wave[rows % start.period] = degrees * np.sin(8.0 * np.pi * (rows - first) / (last - first))
        wave[start.period] = wave[0]
        turns.append((f"fore_cannon_{_side(limb)}", wave))
    file = toes_brought(start, _with(start, turns), FORE, start.motion.toes_m)
    return Damaged(file, ("joint turns back too often",), FORE)


def cocking_feet(start, degrees, rng):
    """Both feet of a pair turn toe up by so much right after lift-off, instead of folding."""
    pair, end = ((FORE, "fore"), (HIND, "hind"))[int(rng.integers(2))]
    turns = []
    for limb in pair:
        first, side = _stance(start, limb).last, _side(limb)
        names = [f"{end}_pastern_{side}", f"{end}_hoof_{side}"]
        folded = sum(start.file.rows[:, columns(start.file, name)["X"]] for name in names)
        long = max(6, start.period // 4)
        share = held(start.frames, first + 2, first + long - 4, 2, start.period)
        turns.append((names[1], -share * (degrees + folded - folded[first % start.period])))
    return Damaged(_with(start, turns), ("foot cocks up",), pair)


# --- clips that were planned ------------------------------------------------------------------------------

DOWN = 0.70  # of the stride


def _planned(frames):
    """Contacts and lift-offs of a walk of so many frames, by foot."""
    first = {"RH": 1, "RF": 1 + frames // 4, "LH": 1 + frames // 2, "LF": 1 + 3 * frames // 4}
    return {foot: (at, at + round(DOWN * frames)) for foot, at in first.items()}


def _words(plan):
    return ", ".join(f"{foot} {first}-{last}" for foot, (first, last) in plan.items())


def _off_plan(start, kinds, foot, by):
    """A clip whose foot lands and leaves so many frames later than the plan says."""
    plan = _planned(start.period)
    first, last = plan[foot]
    made = base(
        start.name.split(maxsplit=1)[0],
        start.period,
        contacts=_words({**plan, foot: (first + by[0], last + by[1])}),
    )
    return Damaged(made.file, kinds, (foot,), None, "", Meant(contacts=_words(plan)))


def lands_off_plan(start, frames, rng):
    """A foot lands and leaves so many frames later than planned."""
    foot = LIMBS[int(rng.integers(4))]
    return _off_plan(start, ("contact off plan",), foot, (frames, frames))


def stands_off_plan(start, frames, rng):
    """A foot leaves so many frames earlier than planned."""
    foot = LIMBS[int(rng.integers(4))]
    return _off_plan(start, ("stance off plan",), foot, (0, -frames))


# name -> (damage, amount for the test, unit, amounts from small to large for the table)
HABITS = {
    "forelegs straight to lift-off": (straight_carpi, 182, "degrees", (176, 178, 180, 182)),
    "body sinks into its hind legs": (folding_legs, 60, "mm", (20, 40, 60)),
    "both carpi shudder in swing": (shuddering_legs, 20, "degrees", (4, 8, 12, 16, 20)),
    "both feet cock up": (cocking_feet, 30, "degrees", (5, 10, 15, 20, 30)),
    "lands later than planned": (lands_off_plan, 4, "frames", (1, 2, 3, 4)),
    "leaves earlier than planned": (stands_off_plan, 5, "frames", (1, 2, 3, 4, 5)),
}
