"""The outline of a standing animal from the side, to be measured like a drawing: edges, depths, lengths."""

import numpy as np
import shapely

from gaitgen.animal.flesh import LAYERS
from gaitgen.animal.standing import standing_landmark_m
from gaitgen.motion.flesh import standing
from gaitgen.pictures.views import VIEWS, capsule_outlines


class Outline:
    """The side view of an animal; x forward, z up, in shares of its withers height.

    ``layers`` and ``names`` choose parts: layers of the drawing, and joints or groups of the file.
    """

    def __init__(self, animal):
        self.animal, self.size_m = animal, animal.withers_height_m
        self.body = standing(animal, 4)
        ends = VIEWS["side"].project(self.body.ends_m[0])
        self.parts = capsule_outlines(ends, self.body.body.radii_m) / self.size_m

    def landmark(self, name):
        """Place (x, z) of a landmark."""
        return standing_landmark_m(self.animal, name)[[0, 2]] / self.size_m

    def shape(self, layers=(), names=()):
        """Unite some parts."""
        body = self.body.body
        mine = np.isin(body.layers, [LAYERS.index(name) for name in layers]) | np.isin(body.names, names)
        return shapely.union_all([shapely.Polygon(part) for part in self.parts[mine]])

    @staticmethod
    def span(shape, z=None, x=None):
        """Lowest and highest place at which a level line z (or an upright one x) cuts a shape."""
        line = [(-9.0, z), (9.0, z)] if x is None else [(x, -9.0), (x, 9.0)]
        box = shape.intersection(shapely.LineString(line)).bounds
        return (box[0], box[2]) if x is None else (box[1], box[3])

    @staticmethod
    def reach(shape, start, end):
        """Length of a shape along the direction from one point to another."""
        along = np.subtract(end, start) / np.linalg.norm(np.subtract(end, start))
        return float(np.ptp(shapely.get_coordinates(shape) @ along))

    @staticmethod
    def depth(shape, start, end, share):
        """Depth of a shape across a line from one point to another, at a share of its length."""
        start, end = np.asarray(start), np.asarray(end)
        across = np.array([-(end - start)[1], (end - start)[0]]) / np.linalg.norm(end - start)
        middle = start + share * (end - start)
        cut = shape.intersection(shapely.LineString([middle - 2.0 * across, middle + 2.0 * across]))
        return float(np.ptp(shapely.get_coordinates(cut) @ across))
