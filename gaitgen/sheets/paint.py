"""Paint one posed animal on matplotlib axes: fill over stroke, so that a layer has one line around it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from gaitgen.parameters.gait import LIMBS
from gaitgen.sheets.figure import LAYERS, PosedBody, View, capsule_outlines, hull, layers_by_nearness

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Ink:
    """Greys of a figure; 0 is black, 1 white.

    Attributes
    ----------
    near, far, body, hoof, far_hoof
        Fills of near legs, far legs, body, and hooves.
    line, soft_line, far_line
        Lines around near parts, around shoulder and thigh on the trunk, and around far parts.
    line_pt
        Width of the line around near parts; far parts get half of it. [pt]
    """

    near: float = 0.90
    far: float = 0.60
    body: float = 0.90
    hoof: float = 0.15
    far_hoof: float = 0.40
    line: float = 0.10
    soft_line: float = 0.62
    far_line: float = 0.35
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
    shift = np.array(shift_m)
    order = layers_by_nearness(posed, view)[frame]
    outlines = capsule_outlines(view.project(posed.ends_m[frame]), posed.body.radii_m) + shift
    far = far_limbs(posed, frame, view)
    brush = _Brush(axes, ink, outlines)
    upper = posed.body.is_upper
    near = [layer for layer in order if LAYERS[layer] in LIMBS and LAYERS[layer] not in far]
    for depth, layer in enumerate(order):
        name, mine = LAYERS[layer], posed.body.layers == layer
        zorder = 2.0 + 0.1 * depth
        if name in far:
            brush.shape(mine, ink.far, ink.far_line, ink.line_pt, zorder)
        elif layer in near:
            brush.shape(mine & upper, ink.body, ink.soft_line, ink.line_pt, zorder)
            brush.fill(mine & upper, ink.body, zorder + 0.03)
            brush.line(mine & ~upper, ink.line, 2.0 * ink.line_pt, zorder + 0.04)
            brush.fill(mine & upper, ink.body, zorder + 0.05)
            brush.fill(mine & ~upper, ink.near, zorder + 0.06)
        else:
            brush.shape(mine, ink.body, ink.line, 2.0 * ink.line_pt, zorder)
        if name in LIMBS:
            corners = hull(view.project(posed.hooves_m[frame, LIMBS.index(name)])) + shift
            brush.hoof(corners, is_far=name in far, zorder=zorder + 0.08)
    # Shoulder and thigh lie on the trunk: their dark line goes under it and shows only beyond it.
    brush.line(
        upper & np.isin(posed.body.layers, near),
        ink.line,
        2.0 * ink.line_pt,
        1.99 + 0.1 * _first(order, near),
    )


def _first(order: list[int], near: list[int]) -> float:
    """Place in the drawing order of the barrel, or of the first near limb if that comes earlier."""
    barrel = order.index(LAYERS.index("barrel"))
    return float(min([barrel, *(order.index(layer) for layer in near)]))


@dataclass(frozen=True, eq=False)
class _Brush:
    """Axes and outlines of all capsules; paints some of them at a time."""

    axes: Axes
    ink: Ink
    outlines: Array

    def line(self, which: npt.NDArray[np.bool_], tone: float, width_pt: float, zorder: float) -> None:
        """Paint outlines, thick, to be covered inside by a fill."""
        self._add(list(self.outlines[which]), str(tone), str(tone), width_pt, zorder)

    def fill(self, which: npt.NDArray[np.bool_], tone: float, zorder: float) -> None:
        """Fill outlines."""
        self._add(list(self.outlines[which]), str(tone), "none", 0.0, zorder)

    def shape(
        self, which: npt.NDArray[np.bool_], tone: float, line: float, width_pt: float, zorder: float
    ) -> None:
        """Fill outlines with one line around all of them."""
        self.line(which, line, width_pt, zorder)
        self.fill(which, tone, zorder + 0.02)

    def hoof(self, corners: Array, *, is_far: bool, zorder: float) -> None:
        """Fill one hoof."""
        ink = self.ink
        tone, line = (ink.far_hoof, ink.far_line) if is_far else (ink.hoof, ink.line)
        self._add([corners], str(tone), str(line), ink.line_pt * (0.5 if is_far else 1.0), zorder)

    def _add(self, polygons: list[Array], fill: str, line: str, width_pt: float, zorder: float) -> None:
        from matplotlib.collections import PolyCollection

        self.axes.add_collection(
            PolyCollection(
                polygons,
                facecolors=fill,
                edgecolors=line,
                linewidths=width_pt,
                joinstyle="round",
                zorder=zorder,
            )
        )


def far_limbs(posed: PosedBody, frame: int, view: View) -> set[str]:
    """Name the two limbs that are farther from the viewer: the far side, or the far end."""
    near = view.nearness(posed.hooves_m[frame].mean(axis=1))  # (4,)
    body = view.nearness(posed.ends_m[frame].mean(axis=1))[posed.body.layers < len(LIMBS)]
    layers = posed.body.layers[posed.body.layers < len(LIMBS)]
    mean = np.array([body[layers == limb].mean() for limb in range(len(LIMBS))])
    return {LIMBS[limb] for limb in np.argsort(0.8 * mean + 0.2 * near)[:2]}
