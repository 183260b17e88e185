"""One thing that is wrong with a clip."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Finding:
    """One fault.

    Attributes
    ----------
    kind
        Name of the fault, such as ``slip``.
    limb
        A foot of LIMBS, a joint of the file, or a part such as ``hips`` or ``whole body``.
    first_frame, last_frame
        Where it is, counted from 1; in a loop the last may be before the first.
    amount, unit
        How much, such as 38 mm.
    limit
        What would have been let through, in the same unit.
    excess
        How bad it is; 1 is just at the limit.
    why
        Reason or source of the limit.
    do
        What to do.
    """

    kind: str
    limb: str
    first_frame: int
    last_frame: int
    amount: float
    unit: str
    limit: float
    excess: float
    why: str
    do: str
