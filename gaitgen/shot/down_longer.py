"""How much longer than in its cycle each foot is down: inside a bend, and on the ground of a slope."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.limb import LIMBS
from gaitgen.body.under import felt_slope
from gaitgen.course.ground import FLAT, Ground
from gaitgen.course.pace import Pace
from gaitgen.course.path import Path
from gaitgen.numerics.curves import local_mean
from gaitgen.shot.cycle import Cycle

Array = npt.NDArray[np.float64]

# Inside a bend a foot stands nearer to its middle, so the body goes as much farther over it for a leg to
# sweep as far: it is down for longer by its share of the radius, and outside for less long (inner fore feet
# of horses are, on circles of 10 m: Sensors 2023, 23:4232, abstract; Hobbs, Licka & Polman 2011, EVJ 43:686,
# abstract). Up to so much (estimate).
MOST = 0.05
# Up a slope hind feet of a trot are down for longer still than its strides (Sloet van
# Oldruitenborgh-Oosterbaan et al. 1997, EVJ Suppl 23, abstract), by such a share of it, up to so much
# (estimates).
HIND_UP, MOST_UP = 0.2, 0.015
SOFTLY_S = 0.2  # over so long it comes and goes
LEAST = 1e-6  # a smaller share is none


def longer_down(
    cycles: tuple[Cycle, ...],
    share: Array,
    pace: Pace,
    path: Path,
    ground: Ground,
    end_s: float,
) -> Array:
    """Return by which share of its time in the cycles each foot is down for longer, (samples, 4).

    Parameters
    ----------
    cycles, share
        The cycles of a shot, and (samples, cycles) how far each counts.
    pace, path, ground
        When the body is where, at the moments of the pace, and on what.
    end_s
        End of the clip, which begins at 0. [s]
    """
    longer = np.zeros((share.shape[0], len(LIMBS)))
    animal = cycles[0].animal
    along = pace.distance_m(pace.time_s)
    if not path.is_straight:
        aside = np.array([limb.track_m if limb.is_left else -limb.track_m for limb in animal.limbs])
        longer += np.clip(path.at(along)[2][:, None] * aside, -MOST, MOST)
    trots = share @ np.array([float(not (c.gait.walks or c.gait.has_lead)) for c in cycles])
    if ground != FLAT and not ground.has_steps and trots.any():
        first, last = pace.distance_m(np.array([0.0, end_s]))
        slope = felt_slope(animal, path, ground, along, (float(first), float(last)), pace.time_s)
        longer[:, 2:] += (trots * np.clip(HIND_UP * slope, 0.0, MOST_UP))[:, None]
    if not longer.any():
        return longer
    step_s = float(pace.time_s[1] - pace.time_s[0])
    softly = local_mean(longer, max(1, round(SOFTLY_S / step_s)))
    return np.where(np.abs(softly) > LEAST, softly, 0.0)
