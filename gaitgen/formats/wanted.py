"""Which files an animator wants beside the motion."""

from __future__ import annotations

from dataclasses import dataclass, field

from gaitgen.errors import RequestError
from gaitgen.motion.tolerance import Tolerance
from gaitgen.option import option


@dataclass(frozen=True)
class HandOff:
    """What is wanted beside the motion: what each field asks for is said by its option.

    Attributes
    ----------
    tolerance
        How far the splines may be from the motion; options of its own.
    """

    keys: bool = field(
        default=True,
        metadata=option("Write NAME.keys.csv, the motion as a few keys with tangents, or not"),
    )
    sparse: bool = field(
        default=False,
        metadata=option(
            "Write only the keys that the tolerance needs, not one on every key pose of every channel",
            "channels that rest get none",
        ),
    )
    controls: bool = field(
        default=False,
        metadata=option(
            "Also write NAME.controls.csv and NAME.controls.keys.csv: feet, trunk, head and tail as "
            "curves in space, for a rig with controls"
        ),
    )
    key_poses: bool = field(
        default=False,
        metadata=option(
            "Also write NAME.poses.bvh, whose frames are the key poses alone",
            "the report says which frames of the clip they are",
            name="pose_frames",
        ),
    )
    tolerance: Tolerance = field(default_factory=Tolerance)
    rig_scale: float | None = field(
        default=None,
        metadata=option(
            "Size of your rig over that of the animal", "scales the control curves; 1 if not given"
        ),
    )
    rig_height: float | None = field(
        default=None,
        metadata=option(
            "Withers height of your rig in the unit of the files", "another way to give its size"
        ),
    )

    def __post_init__(self) -> None:
        """Refuse what would have no effect.

        Raises
        ------
        RequestError
            If the size of a rig is given and no control curves are wanted.
        """
        if not self.controls and not (self.rig_scale is None and self.rig_height is None):
            raise RequestError("the size of a rig changes the control curves only; add --controls")
