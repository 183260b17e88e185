"""A posed animal flat, as it is seen from somewhere: outlines of its parts, to be united."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

from gaitgen.animal.flesh import Body
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.flesh import PosedBody
from gaitgen.pictures.overlay import common
from gaitgen.pictures.silhouette import Silhouette, silhouette, unite
from gaitgen.pictures.views import View, capsule_outlines, hull

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Flat:
    """One pose as it is seen: outlines of all capsules and feet. [m]

    What is always drawn together is united once.
    """

    outlines: Array
    feet: list[Array]
    height_m: float
    groups: tuple[Bools, ...]

    @classmethod
    def of(cls, posed: PosedBody, frame: int, view: View) -> Flat:
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

    def limb(self, body: Body, limb: str, which: Bools, also: Sequence[Any] = ()) -> Any:  # noqa: ANN401
        """Return some capsules of a limb with its foot, and what is a shape already."""
        return self.shape(which & body.limbs([limb]), [LIMBS.index(limb)], also).shape

    def above(self, which: Bools, level_m: float) -> Any:  # noqa: ANN401
        """Return what of some capsules is higher than a level."""
        shape = self.shape(which).shape
        if shape.is_empty:
            return shape
        left, _, right, high = shape.bounds
        return common(shape, shapely.box(left, min(level_m, high), right, high))

    @cached_property
    def united(self) -> list[Any]:
        """The union of each group."""
        return [unite(list(self.outlines[group])) for group in self.groups]


@lru_cache(maxsize=32)
def groups_of(body: Body) -> tuple[Bools, ...]:
    """Sort the capsules into groups, (capsules,) each, of one layer that lie on the trunk alike."""
    sorts = np.stack([body.layers, body.is_upper, body.has_line], axis=1)
    return tuple(np.all(sorts == sort, axis=1) for sort in np.unique(sorts, axis=0))
