"""Numbers of all limbs of an animal as arrays."""

from __future__ import annotations

from functools import lru_cache
from operator import attrgetter

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal

Array = npt.NDArray[np.float64]


@lru_cache(maxsize=1024)
def limb_numbers(animal: Animal, name: str) -> Array:
    """Collect a number of all limbs, such as ``path.toe_up_rad``, not to be written to: (4,), LIMBS order."""
    numbers = np.array([attrgetter(name)(limb) for limb in animal.limbs])
    numbers.setflags(write=False)
    return numbers
