"""One thing that is wrong with a clip."""

from __future__ import annotations

from dataclasses import dataclass, field


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
        What would have been let through, in the same unit: the animal's, and what the clip's noise adds.
    excess
        How bad it is; 1 is just at the limit.
    why
        Reason or source of the limit, and by how much it is wider here.
    do
        What to do.
    joint
        The joint of the file that does it, where it is one; the limb may be a foot then.
    follows
        What else was found that this one explains.
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
    joint: str = ""
    follows: tuple[Finding, ...] = field(default=())

    @property
    def place(self) -> str:
        """Where on the body it is, for people."""
        return f"{self.limb} at {self.joint}" if self.joint and self.joint != self.limb else self.limb
