"""Paint one posed animal on matplotlib axes: fill over stroke, so that a layer has one line around it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from gaitgen.animal.flesh import LAYERS
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.flesh import PosedBody
from gaitgen.pictures.views import View, capsule_outlines, hull

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# Looking this much along the animal's side, the limbs of the other side are the far ones.
_SIDE_SHARE = 0.3
# Of two eyes the one that is farther away by more than this share of their distance is not seen.
_EYE_SHARE = 0.2


@dataclass(frozen=True)
class Ink:
    """Greys of a figure; 0 is black, 1 white.

    Attributes
    ----------
    near, far, hair, horn, far_horn
        Fills of body and near legs, far legs, mane and tail, and feet of horn.
    line, soft_line, far_line
        Lines around near parts, around shoulder and thigh on the trunk, and around far parts.
    line_pt
        Width of the line around near parts; far parts get half of it. [pt]
    """

    near: float = 0.91
    far: float = 0.62
    hair: float = 0.50
    horn: float = 0.15
    far_horn: float = 0.35
    line: float = 0.10
    soft_line: float = 0.66
    far_line: float = 0.30
    line_pt: float = 1.1


def paint(
    axes: Axes,
    posed: PosedBody,
    frame: int,
    view: View,
    *,
    shift_m: tuple[float, float] = (0.0, 0.0),
    ink: Ink | None = None,
) -> None:
    """Draw one pose of a body.

    Parameters
    ----------
    axes
        Where to draw; its units are metres.
    posed, frame
        The body, and which of its poses.
    view
        Where from.
    shift_m
        Shift of the picture to the right and upward. [m]
    ink
        Greys and line widths.
    """
    ink = ink or Ink()
    body, shift = posed.body, np.array(shift_m)
    outlines = capsule_outlines(view.project(posed.ends_m[frame]), body.radii_m) + shift
    feet = [hull(corners) + shift for corners in view.project(posed.feet_m[frame])]
    brush = _Brush(axes, ink, outlines, feet, body.is_horn)
    limbs = limbs_by_nearness(posed, frame, view)
    far = far_limbs(posed, frame, view)
    shoulders = np.zeros_like(body.is_upper)
    if view.name != "side":  # the far shoulder is a part of the breast, not of the far leg
        shoulders = body.is_upper & np.isin(body.layers, [LIMBS.index("LF"), LIMBS.index("RF")])
    for limb in (name for name in limbs if name in far):
        brush.far_leg(limb, (body.layers == LIMBS.index(limb)) & ~shoulders)
    near = [name for name in limbs if name not in far]
    near_parts = np.isin(body.layers, [LIMBS.index(name) for name in near])
    trunk = body.layers == LAYERS.index("trunk")
    brush.shape(body.layers == LAYERS.index("tail"), ink.hair, ink.line, ink.line_pt)
    brush.line(near_parts | trunk | shoulders, ink.line, 2.0 * ink.line_pt)
    brush.fill(trunk, ink.near)
    for limb in far & {"LF", "RF"}:
        brush.shape((body.layers == LIMBS.index(limb)) & shoulders, ink.near, ink.soft_line, ink.line_pt)
    brush.fill(body.layers == LAYERS.index("mane"), ink.hair)
    for limb in near:
        brush.near_leg(limb, body.layers == LIMBS.index(limb), body.is_upper)
    over = _near_flaps(posed, frame, view)
    under = (body.layers == LAYERS.index("flap")) & ~over
    brush.shape(under, ink.near, ink.line, 2.0 * ink.line_pt)
    brush.shape(body.layers == LAYERS.index("head"), ink.near, ink.line, 2.0 * ink.line_pt)
    brush.shape(over, ink.near, ink.line, ink.line_pt)
    brush.fill(_seen_marks(posed, frame, view), ink.line)


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


def _near_flaps(posed: PosedBody, frame: int, view: View) -> Bools:
    """Flaps on the side of the head that is seen, which lie over it."""
    flaps = np.asarray(posed.body.layers == LAYERS.index("flap"))
    if not flaps.any():
        return flaps
    places = posed.ends_m[frame].mean(axis=1)
    middle = places[posed.body.layers == LAYERS.index("head")].mean(axis=0)
    tops = [posed.ends_m[frame, int(np.argmax(posed.body.layers == limb)), 0] for limb in range(len(LIMBS))]
    left = (tops[0] - tops[1]) / np.linalg.norm(tops[0] - tops[1])
    side = (places - middle) @ left * float(view.nearness(left))
    reach_m = float(np.abs((places[flaps] - middle) @ left).max())
    return np.asarray(flaps & (side > _SIDE_SHARE * reach_m))


def _seen_marks(posed: PosedBody, frame: int, view: View) -> Bools:
    """Eyes and nostrils on the side of the head that is seen."""
    marks = posed.body.layers == LAYERS.index("marks")
    places = posed.ends_m[frame].mean(axis=1)
    near, names = view.nearness(places), np.array(posed.body.names)
    seen = np.zeros_like(marks)
    for name in set(names[marks]):
        mine = marks & (names == name)
        apart_m = float(np.linalg.norm(np.ptp(places[mine], axis=0)))
        seen |= mine & (near >= near[mine].mean() - _EYE_SHARE * apart_m)
    return np.asarray(seen)


@dataclass(eq=False)
class _Brush:
    """Axes and outlines of all capsules; paints some of them at a time, each time above the last."""

    axes: Axes
    ink: Ink
    outlines: Array
    feet: list[Array]
    is_horn: tuple[bool, ...]
    zorder: float = 2.0

    def line(self, which: Bools, tone: float, width_pt: float) -> None:
        """Paint outlines, thick, to be covered inside by a fill."""
        self._add(list(self.outlines[which]), tone, str(tone), width_pt)

    def fill(self, which: Bools, tone: float) -> None:
        """Fill outlines."""
        self._add(list(self.outlines[which]), tone, "none", 0.0)

    def shape(self, which: Bools, tone: float, line: float, width_pt: float) -> None:
        """Fill outlines with one line around all of them."""
        self.line(which, line, width_pt)
        self.fill(which, tone)

    def far_leg(self, limb: str, which: Bools) -> None:
        """Paint a leg of the far side, flat and darker."""
        ink = self.ink
        self.line(which, ink.far_line, ink.line_pt)
        self._skin(limb, ink.far_line, str(ink.far_line), ink.line_pt)
        self.fill(which, ink.far)
        self._skin(limb, ink.far, "none", 0.0)
        self._horn(limb, ink.far_horn, ink.far_line, 0.5 * ink.line_pt)

    def near_leg(self, limb: str, which: Bools, is_upper: Bools) -> None:
        """Paint a leg of the near side: a soft line where it lies on the trunk, a dark one below."""
        ink = self.ink
        self.line(which & is_upper, ink.soft_line, ink.line_pt)
        self.line(which & ~is_upper, ink.line, 2.0 * ink.line_pt)
        self._skin(limb, ink.line, str(ink.line), 2.0 * ink.line_pt)
        self.fill(which, ink.near)
        self._skin(limb, ink.near, "none", 0.0)
        self._horn(limb, ink.horn, ink.line, ink.line_pt)

    def _skin(self, limb: str, tone: float, line: str, width_pt: float) -> None:
        """Paint a foot of skin: with a line under the fill of its leg, without one over it."""
        k = LIMBS.index(limb)
        if not self.is_horn[k]:
            self._add([self.feet[k]], tone, line, width_pt)

    def _horn(self, limb: str, tone: float, line: float, width_pt: float) -> None:
        k = LIMBS.index(limb)
        if self.is_horn[k]:
            self._add([self.feet[k]], tone, str(line), width_pt)

    def _add(self, polygons: list[Array], fill: float, line: str, width_pt: float) -> None:
        from matplotlib.collections import PolyCollection

        self.zorder += 0.01
        self.axes.add_collection(
            PolyCollection(
                polygons,
                facecolors=str(fill),
                edgecolors=line,
                linewidths=width_pt,
                joinstyle="round",
                zorder=self.zorder,
            )
        )
