"""How far the soles of a rig are over ground that goes up and down."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.course.ground import Ground
from gaitgen.motion.measure import planted
from gaitgen.rigs.animal_pose import as_posed
from gaitgen.rigs.cycle import RigClip
from gaitgen.rigs.rig_space import animal_shift_m, from_home
from gaitgen.shot.sinking import soles_over_m

Array = npt.NDArray[np.float64]


def rig_soles_over_m(made: RigClip, ground: Ground) -> Array:
    """Return how far the lowest corner of each sole is over the ground, (frames, 4); infinity in the air. [m]

    The toes are those of the rig as its file has them, and so are the soles of the animal that is posed as it
    is, for a rig has no outline of its own.

    Parameters
    ----------
    made, ground
        The clip on the rig, and what it goes over.
    """
    posed = as_posed(made)
    away = animal_shift_m(made.rig, posed.animal) + from_home(made.rig)
    there = replace(posed, root_path_m=posed.root_path_m + away)
    toes = made.motion.toes_m + from_home(made.rig)
    over = np.minimum(toes[..., 2] - ground.height_m(toes[..., :2]), soles_over_m(there, ground))
    return np.where(planted(posed), over, np.inf)
