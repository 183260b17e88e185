"""Which parts of a posed animal are near the viewer, and which are hidden behind others."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from gaitgen.animal.flesh import LAYERS
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.flesh import PosedBody
from gaitgen.pictures.views import View

Bools = npt.NDArray[np.bool_]

# Looking this much along the animal's side, the limbs of the other side are the far ones.
_SIDE_SHARE = 0.3
# Of two eyes the one that is farther away by more than this share of their distance is not seen.
_EYE_SHARE = 0.2


def limbs_by_nearness(posed: PosedBody, frame: int, view: View) -> list[str]:
    """Name the limbs, farthest first."""
    near = view.nearness(posed.ends_m[frame].mean(axis=1))  # (capsules,)
    depth = [near[posed.body.layers == limb].mean() for limb in range(len(LIMBS))]
    return [LIMBS[limb] for limb in np.argsort(depth, kind="stable")]


def far_limbs(posed: PosedBody, frame: int, view: View) -> set[str]:
    """Name the two limbs that are farther from the viewer: those of the far side, or of the far end."""
    tops = [posed.ends_m[frame, int(np.argmax(posed.body.layers == limb)), 0] for limb in range(len(LIMBS))]
    centre = np.array(tops)  # (4, 3) in LIMBS order
    across = centre[2] - centre[3]
    across_share = float(view.nearness(across) / np.linalg.norm(across))
    if abs(across_share) > _SIDE_SHARE:
        return {"RF", "RH"} if across_share > 0.0 else {"LF", "LH"}
    depth = view.nearness(centre)
    return {"LF", "RF"} if depth[0] + depth[1] < depth[2] + depth[3] else {"LH", "RH"}


def tail_place(posed: PosedBody, frame: int, view: View, limbs: Sequence[str]) -> int:
    """Return before which of some limbs, farthest first, the tail is painted; their number is after all."""
    near, layers = view.nearness(posed.ends_m[frame].mean(axis=1)), posed.body.layers
    tail = layers == LAYERS.index("tail")
    if not tail.any():
        return len(limbs)
    depth = [near[layers == LIMBS.index(limb)].mean() for limb in limbs]
    return int(np.searchsorted(depth, near[tail].mean()))


def joint_up_m(posed: PosedBody, frame: int, view: View, limb: str) -> float:
    """Return how high in the picture the last bone of a limb begins that lies on the trunk. [m]"""
    body = posed.body
    last = np.flatnonzero(body.is_bone & body.is_upper & body.limbs([limb]))[-1]
    return float(view.project(posed.ends_m[frame, last, 0])[1])


def near_flaps(posed: PosedBody, frame: int, view: View) -> Bools:
    """Return which flaps are on the side of the head that is seen, and so lie over it."""
    flaps = np.asarray(posed.body.layers == LAYERS.index("flap"))
    if not flaps.any():
        return flaps
    places = posed.ends_m[frame].mean(axis=1)
    middle = places[posed.body.layers == LAYERS.index("head")].mean(axis=0)
    tops = [posed.ends_m[frame, int(np.argmax(posed.body.layers == limb)), 0] for limb in range(len(LIMBS))]
    left = (tops[0] - tops[1]) / np.linalg.norm(tops[0] - tops[1])
    side = (places - middle) @ left * float(view.nearness(left))
    reach_m = float(np.abs((places[flaps] - middle) @ left).max())
    seen = np.zeros_like(flaps)
    for turn in (1.0, -1.0):  # a flap is over the head or behind it as a whole
        one = flaps & (turn * ((places - middle) @ left) > 0.0)
        seen |= one & (side[one].max(initial=0.0) > _SIDE_SHARE * reach_m)
    return seen


def seen_marks(posed: PosedBody, frame: int, view: View) -> Bools:
    """Return which eyes and nostrils are on the side of the head that is seen."""
    marks = posed.body.layers == LAYERS.index("marks")
    places = posed.ends_m[frame].mean(axis=1)
    near, names = view.nearness(places), np.array(posed.body.names)
    seen = np.zeros_like(marks)
    for name in set(names[marks]):
        mine = marks & (names == name)
        apart_m = float(np.linalg.norm(np.ptp(places[mine], axis=0)))
        seen |= mine & (near >= near[mine].mean() - _EYE_SHARE * apart_m)
    return np.asarray(seen)
