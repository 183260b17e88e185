"""What lame forelegs are spared in strides of a shot, as in their cycles: head and neck fall for it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.course.stance import StanceState
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.shot.cycle import Cycle

Array = npt.NDArray[np.float64]

FORE = slice(0, 2)


def spared_n(cycle: Cycle, state: StanceState) -> Array | None:
    """Say what the forelegs are spared of their load at moments of a shot, (samples,); None for nothing. [N]

    Each stance is spared like half a wave over its length, as high as in the cycle: one that is longer, as to
    stand, by as much less as it is longer, so that it is spared no more in all.
    """
    own = cycle.solved.body
    if not own.footing.spared[:, 0].any():
        return None
    heights, *_ = np.linalg.lstsq(_waves(own.state), own.footing.spared[:, 0], rcond=None)  # (2,)
    down_s = cycle.down[FORE] / cycle.settled.request.frame_rate_hz
    length_s = (state.liftoff_s - state.touchdown_s)[:, FORE]
    waves = _waves(state) * np.minimum(1.0, down_s / length_s)
    return np.asarray(waves @ heights * cycle.animal.body_mass_kg * GRAVITY_M_S2)


def _waves(state: StanceState) -> Array:
    """Half a wave over each stance of a forefoot, (samples, 2)."""
    return np.where(state.planted[:, FORE], np.sin(np.pi * state.stance_share[:, FORE]), 0.0)
