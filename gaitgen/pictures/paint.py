"""Paint one posed animal on matplotlib axes, layer over layer, each with one line around it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import shapely

from gaitgen.animal.flesh import Body
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.flesh import PosedBody
from gaitgen.pictures.far_side import seen_part, tail_loops, upper_alone, with_rounded
from gaitgen.pictures.nearness import far_limbs, joint_up_m, limbs_by_nearness, near_flaps, seen_marks, tail_place
from gaitgen.pictures.silhouette import Silhouette, drawn_path, silhouette, unite
from gaitgen.pictures.views import View, capsule_outlines, hull

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# How wide a hollow between a far thigh and the belly the skin spans, as a share of the figure's height.
FOLD_SHARE = 0.09
# What of a far limb stands out of the trunk and does not reach lower than this under its middle is trunk, as a
# share of the height.
LOWER_SHARE = 0.08
# How round the trunk is drawn where neck and back meet, as a share of the figure's height.
BEND_SHARE = 0.04
# From so much in front (the cosine of the angle to the way the animal faces) the mane is behind the neck.
_AHEAD = 0.9


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
    brush = _Brush(axes, ink or Ink(), _Flat.of(posed, frame, view), posed.body, np.array(shift_m))
    order, far = limbs_by_nearness(posed, frame, view), far_limbs(posed, frame, view)
    behind, near = ([name for name in order if (name in far) == is_far] for is_far in (True, False))
    is_front, is_side = view.towards[0] > _AHEAD, view.name == "side"
    body, flat = posed.body, brush.flat
    uppers, trunk = body.is_upper & body.limbs(behind), body.layer("trunk")
    passing = uppers & ~body.has_line & (is_front | ~body.is_bone)
    legs = {limb: brush.leg(limb, body.limbs([limb]) & ~passing, trunk, has_fold=is_side) for limb in behind}
    tail_at = len(behind) if is_front else tail_place(posed, frame, view, behind)
    tail = flat.shape(body.layer("tail")).shape
    torso = flat.shape(passing | trunk | (body.is_upper & ~body.has_line & body.limbs(near)))
    if not is_front:
        tops = [flat.above(uppers & body.limbs([limb]), joint_up_m(posed, frame, view, limb)) for limb in behind]
        torso = with_rounded(torso, tops)
        legs_over, beside = brush.near_legs(near), shapely.union_all([torso.rounded(BEND_SHARE), tail])
        alone = [
            upper_alone(legs[k], flat.shape(uppers & body.limbs([k])).shape, legs_over, beside, flat.height_m)
            for k in behind
        ]
        torso = silhouette([], flat.height_m, [torso.shape, *alone])
        loops = tail_loops(torso.rounded(BEND_SHARE), legs_over, tail, flat.height_m)
        torso = silhouette([], flat.height_m, [torso.shape, loops])
    round_torso = torso.rounded(BEND_SHARE)
    cover = [brush.near_legs(near), round_torso]
    for k, limb in enumerate(behind):
        if k == tail_at:
            brush.tail()
        over = [*cover, *(legs[other] for other in behind[k + 1 :]), *([tail] if tail_at > k else [])]
        brush.far_leg(limb, legs[limb], over)
    if tail_at == len(behind):
        brush.tail()
    brush.trunk(near, torso, mane_behind=is_front)
    brush.head(near_flaps(posed, frame, view), seen_marks(posed, frame, view))


@dataclass(frozen=True, eq=False)
class _Flat:
    """One pose as it is seen: outlines of all capsules and feet. [m]

    What is always drawn together is united once.
    """

    outlines: Array
    feet: list[Array]
    height_m: float
    groups: tuple[Bools, ...]

    @classmethod
    def of(cls, posed: PosedBody, frame: int, view: View) -> _Flat:
        """Project a pose, in whole micrometres: what differs in the last bits alone is drawn the same."""
        ends_m, feet_m = (
            np.round(places, 6) for places in (posed.ends_m[frame], posed.rounded_feet_m[frame])
        )
        outlines = np.round(capsule_outlines(view.project(ends_m), posed.body.radii_m), 6)
        feet = [hull(corners) for corners in np.round(view.project(feet_m), 6)]
        return cls(outlines, feet, float(np.ptp(posed.ends_m[frame, ..., 2])), groups_of(posed.body))

    def shape(self, which: Bools, feet: Sequence[int] = (), also: Sequence[Any] = ()) -> Silhouette:
        """Unite some capsules and feet, and what is a shape already."""
        whole = [k for k, group in enumerate(self.groups) if np.all(which[group])]
        rest = which & ~np.any([self.groups[k] for k in whole], axis=0)
        polygons = [*self.outlines[rest], *(self.feet[k] for k in feet)]
        return silhouette(polygons, self.height_m, [*also, *(self.united[k] for k in whole)])

    def above(self, which: Bools, level_m: float) -> Any:  # noqa: ANN401
        """Return what of some capsules is higher than a level."""
        shape = self.shape(which).shape
        if shape.is_empty:
            return shape
        left, _, right, high = shape.bounds
        return shape.intersection(shapely.box(left, min(level_m, high), right, high))

    def fold(self, which: Bools, parts: Bools, share: float) -> Any:  # noqa: ANN401
        """Return the skin in hollows between a limb and the trunk, on the side on which the trunk is."""
        own, other = self.shape(which), self.shape(parts)
        if own.shape.is_empty:
            return own.shape
        skin = self.shape(which | parts).rounded(share).difference(other.rounded(share))
        left, low, right, high = own.shape.buffer(2.0 * share * self.height_m).bounds
        middle, is_ahead = own.shape.centroid.x, other.shape.centroid.x > own.shape.centroid.x
        return skin.intersection(
            shapely.box(middle if is_ahead else left, low, right if is_ahead else middle, high)
        )

    @cached_property
    def united(self) -> list[Any]:
        """The union of each group."""
        return [unite(list(self.outlines[group])) for group in self.groups]


@lru_cache(maxsize=32)
def groups_of(body: Body) -> tuple[Bools, ...]:
    """Sort the capsules into groups, (capsules,) each, of one layer that lie on the trunk alike."""
    sorts = np.stack([body.layers, body.is_upper, body.has_line], axis=1)
    return tuple(np.all(sorts == sort, axis=1) for sort in np.unique(sorts, axis=0))


@dataclass(eq=False)
class _Brush:
    """Axes and the flat figure; paints some of its parts at a time, each time above the last."""

    axes: Axes
    ink: Ink
    flat: _Flat
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

    def head(self, over: Bools, marks: Bools) -> None:
        """Paint the head between its far and its near flaps, and the marks that are seen on it."""
        ink, body = self.ink, self.body
        for which in (body.layer("flap") & ~over, body.layer("head"), over):
            self.shape(which, ink.near, ink.line, ink.line_pt)
        self.fill(self.flat.shape(marks), ink.line)

    def near_legs(self, near: Sequence[str]) -> Any:  # noqa: ANN401
        """Return the legs of the near side with their feet."""
        return self.flat.shape(self.body.limbs(near), [LIMBS.index(limb) for limb in near]).shape

    def leg(self, limb: str, which: Bools, trunk: Bools, *, has_fold: bool) -> Any:  # noqa: ANN401
        """Return the whole of a far leg with its foot and, if wanted, its fold of skin."""
        upper = which & self.body.is_upper
        folds = [self.flat.fold(upper, trunk, FOLD_SHARE)] if has_fold else []
        return self.flat.shape(which, [LIMBS.index(limb)], folds).shape

    def far_leg(self, limb: str, leg: Any, over: Sequence[Any]) -> None:  # noqa: ANN401
        """Paint what is seen of a leg of the far side, darker, beside what lies over it."""
        ink, width_pt, k = self.ink, 0.5 * self.ink.line_pt, LIMBS.index(limb)
        seen, edge = seen_part(leg, over, self.flat.height_m)
        self._add(seen, str(ink.far), "none", 0.0)
        self._add(edge, "none", str(ink.far_line), width_pt)
        if self.body.is_horn[k]:
            foot = silhouette([self.flat.feet[k]], self.flat.height_m).shape
            self._add(foot.intersection(seen), str(ink.far_horn), "none", 0.0)
            self._add(foot.boundary.intersection(seen), "none", str(ink.far_line), width_pt)

    def near_leg(self, limb: str, which: Bools, torso: Silhouette) -> None:
        """Paint a leg of the near side: a soft line where it lies on the trunk, a dark one below."""
        ink, is_upper = self.ink, self.body.is_upper
        leg = self.flat.shape(which, self._skin(limb))
        lower = self.flat.shape(which & ~is_upper, self._skin(limb))
        self.fill(leg, ink.near)
        self.line(leg.edge_of(*self.edged(which & is_upper)), ink.soft_line, ink.line_pt)
        upper = self.flat.shape(which & is_upper)
        edge = leg.edge_of(lower, upper)
        self.line(edge.intersection(torso.shape), ink.soft_line, ink.line_pt)
        self.line(edge.difference(torso.shape), ink.line, ink.line_pt)
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
