"""Paint one posed animal on matplotlib axes, layer over layer, each with one line around it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from gaitgen.animal.flesh import Body
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.flesh import PosedBody
from gaitgen.pictures.far_side import BEND_SHARE, sides_of
from gaitgen.pictures.flat import Flat
from gaitgen.pictures.nearness import (
    far_limbs,
    joint_up_m,
    limbs_by_nearness,
    near_flaps,
    seen_marks,
    tail_place,
)
from gaitgen.pictures.overlay import common, together, without
from gaitgen.pictures.silhouette import Silhouette, drawn_path, silhouette
from gaitgen.pictures.views import View

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# A flap on the far side of the head that shows by less than this share of it is not drawn.
SPECK_SHARE = 0.06
# From so much in front (the cosine of the angle to the way the animal faces) the mane is behind the neck.
_AHEAD = 0.9
# From no farther in front or behind (the same cosine) the neck lies over a flap of the far side.
_BESIDE = 0.3


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

    near: float = 0.93
    far: float = 0.50
    hair: float = 0.34
    horn: float = 0.15
    far_horn: float = 0.24
    line: float = 0.10
    soft_line: float = 0.66
    far_line: float = 0.24
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
    brush = _Brush(axes, ink or Ink(), Flat.of(posed, frame, view), posed.body, np.array(shift_m))
    order, far = limbs_by_nearness(posed, frame, view), far_limbs(posed, frame, view)
    behind, near = ([name for name in order if (name in far) == is_far] for is_far in (True, False))
    levels_m = {limb: joint_up_m(posed, frame, view, limb) for limb in behind}
    is_front = view.towards[0] > _AHEAD
    sides = sides_of(
        brush.flat, posed.body, behind, near, levels_m, is_front=is_front, has_folds=view.name == "side"
    )
    tail_at = len(behind) if is_front else tail_place(posed, frame, view, behind)
    for k, limb in enumerate(behind):
        if k == tail_at:
            brush.tail()
        brush.far_leg(limb, *sides.seen(limb, behind[k + 1 :], has_tail_over=tail_at > k))
    if tail_at == len(behind):
        brush.tail()
    brush.trunk(near, sides.torso, mane_behind=is_front)
    neck = sides.torso if abs(view.towards[0]) < _BESIDE else None
    brush.head(near_flaps(posed, frame, view), seen_marks(posed, frame, view), neck)


@dataclass(eq=False)
class _Brush:
    """Axes and the flat figure; paints some of its parts at a time, each time above the last."""

    axes: Axes
    ink: Ink
    flat: Flat
    body: Body
    shift_m: Array
    zorder: float = 2.0

    def fill(self, shape: Silhouette, tone: float) -> None:
        """Fill a shape."""
        self._add(shape.shape, str(tone), "none", 0.0)

    def line(self, edge: Any, tone: float, width_pt: float) -> None:  # noqa: ANN401
        """Draw edges."""
        self._add(edge, "none", str(tone), width_pt)

    def shape(self, which: Bools, tone: float, line: float, width_pt: float) -> None:
        """Fill parts with one line around all of them."""
        self._add(self.flat.shape(which).shape, str(tone), str(line), width_pt)

    def edged(self, which: Bools) -> tuple[Silhouette, Silhouette]:
        """Return those of some parts whose edge is seen, and those that pass into what is under them."""
        has_line = self.body.has_line
        return self.flat.shape(which & has_line), self.flat.shape(which & ~has_line)

    def trunk(self, near: Sequence[str], torso: Silhouette, *, mane_behind: bool) -> None:
        """Paint a torso, the mane and the near legs, farthest first."""
        ink, body, flat = self.ink, self.body, self.flat
        if mane_behind:
            self.shape(body.layer("mane"), ink.hair, ink.line, 0.5 * ink.line_pt)
        skin = [k for limb in near for k in self._skin(limb)]
        whole = flat.shape(body.limbs(near), skin, [torso.rounded(BEND_SHARE)])
        self.fill(whole, ink.near)
        for limb in near:
            self.near_leg(limb, body.limbs([limb]), torso)
        self.line(whole.edge, ink.line, ink.line_pt)
        if not mane_behind:
            self.shape(body.layer("mane"), ink.hair, ink.line, 0.5 * ink.line_pt)
        for limb in near:
            self.near_foot(limb)

    def tail(self) -> None:
        """Paint the tail."""
        self.shape(self.body.layer("tail"), self.ink.hair, self.ink.line, self.ink.line_pt)

    def head(self, over: Bools, marks: Bools, neck: Silhouette | None = None) -> None:
        """Paint the head between its far and its near flaps, and the marks that are seen on it.

        A far flap is painted where it looks out of a ``neck`` that lies over it, if one does.
        """
        ink, body = self.ink, self.body
        head, behind = body.layer("head"), body.layer("flap") & ~over
        on_neck = [] if neck is None else [neck.shape]
        hiding = together([self.flat.shape(head | over).shape, *on_neck])
        for chain in np.unique(body.chains[behind]):
            flap = self.flat.shape(body.chains == chain).shape
            if without(flap, hiding).area < SPECK_SHARE * flap.area:
                behind &= body.chains != chain
        far = self.flat.shape(behind).shape
        for fill, line, shape in (
            (str(ink.near), "none", far),
            ("none", str(ink.line), far.boundary),
        ):
            self._add(without(shape, on_neck[0]) if on_neck else shape, fill, line, ink.line_pt)
        for which in (head, over):
            self.shape(which, ink.near, ink.line, ink.line_pt)
        self.fill(self.flat.shape(marks), ink.line)

    def far_leg(self, limb: str, seen: Any, edge: Any) -> None:  # noqa: ANN401
        """Paint what is seen of a leg of the far side, darker, with those of its edges that are seen."""
        ink, width_pt, k = self.ink, 0.5 * self.ink.line_pt, LIMBS.index(limb)
        self._add(seen, str(ink.far), "none", 0.0)
        self._add(edge, "none", str(ink.far_line), width_pt)
        if self.body.is_horn[k]:
            foot = silhouette([self.flat.feet[k]], self.flat.height_m).shape
            self._add(common(foot, seen), str(ink.far_horn), "none", 0.0)
            self._add(common(foot.boundary, seen), "none", str(ink.far_line), width_pt)

    def near_leg(self, limb: str, which: Bools, torso: Silhouette) -> None:
        """Paint a leg of the near side: a soft line where it lies on the trunk, a dark one below."""
        ink, is_upper = self.ink, self.body.is_upper
        leg = self.flat.shape(which, self._skin(limb))
        lower = self.flat.shape(which & ~is_upper, self._skin(limb))
        self.fill(leg, ink.near)
        self.line(leg.edge_of(*self.edged(which & is_upper)), ink.soft_line, ink.line_pt)
        upper = self.flat.shape(which & is_upper)
        edge = leg.edge_of(lower, upper)
        self.line(common(edge, torso.shape), ink.soft_line, ink.line_pt)
        self.line(without(edge, torso.shape), ink.line, ink.line_pt)
        self.near_foot(limb)

    def near_foot(self, limb: str) -> None:
        """Paint a foot of horn of the near side."""
        self._horn(limb, self.ink.horn, self.ink.line, 0.5 * self.ink.line_pt)

    def _skin(self, limb: str) -> tuple[int, ...]:
        """Return the foot of a limb if it is of skin, which is one shape with its leg."""
        k = LIMBS.index(limb)
        return () if self.body.is_horn[k] else (k,)

    def _horn(self, limb: str, tone: float, line: float, width_pt: float) -> None:
        k = LIMBS.index(limb)
        if self.body.is_horn[k]:
            foot = silhouette([self.flat.feet[k]], self.flat.height_m)
            self._add(foot.shape, str(tone), str(line), width_pt)

    def _add(self, geometry: Any, fill: str, line: str, width_pt: float) -> None:  # noqa: ANN401
        from matplotlib.patches import PathPatch

        path = drawn_path(geometry, self.shift_m)
        if path is None:
            return
        self.zorder += 0.01
        look = {"facecolor": fill, "edgecolor": line, "linewidth": width_pt, "joinstyle": "round"}
        self.axes.add_artist(PathPatch(path, capstyle="round", zorder=self.zorder, **look))
