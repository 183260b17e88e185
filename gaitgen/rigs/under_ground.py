"""What hangs on a rig and comes under the ground, as a tail that stands on it already."""

from __future__ import annotations

import numpy as np

from gaitgen.errors import Notice
from gaitgen.motion.kinematics import fixed_points
from gaitgen.rigs.pose import Placed, RigMotion
from gaitgen.rigs.rig import Rig

LEAST_SHARE = 0.02  # of the height of the hips: what is less far under the ground is flesh (estimate)


def under_ground_notices(rig: Rig, motion: RigMotion) -> tuple[Notice, ...]:
    """Say which rows that hang come under level ground, and how far.

    Parameters
    ----------
    rig, motion
        The rig, and its pose over time on level ground.
    """
    own = rig.map
    rows = {"tail": own.tail, **{name: part.joints for name, part in own.hanging.items()}}
    places = Placed(motion.root_m, motion.moved_m).paths_m(rig, motion.changes)
    hips = float(np.mean([rig.places_m[limb.joints[0], 2] for limb in rig.limbs[2:]]))
    said = []
    for name, names in rows.items():
        if not names:
            continue
        last = rig.joint(names[-1])
        nodes = [last, *np.flatnonzero(rig.rest.parents == last).tolist()]
        arms = rig.places_m[nodes] - rig.places_m[last]
        ends = fixed_points(places, motion.changes, [last] * len(nodes), arms)
        frame, _ = np.unravel_index(int(ends[..., 2].argmin()), ends.shape[:2])
        low = float(ends[..., 2].min())
        if low < -LEAST_SHARE * hips:
            text = (
                f"the end of the {name}, {names[-1]}, comes {-1000.0 * low:.0f} mm under the ground, at most "
                f"in frame {frame + 1}: it hangs as low; lift it there, or make it swing less "
                "(overlap below 1)."
            )
            said.append(Notice("ground", text))
    return tuple(said)
