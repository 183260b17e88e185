"""Far legs in a picture: in one piece but for what lies over them, joined to the figure, without cuts.

What the drawing is held to here is common practice, no source.
"""

from functools import cache

import numpy as np
import pytest
import shapely
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from scipy.ndimage import binary_dilation, binary_opening, label

from gaitgen import Request, animal_names, load_animal, make_cycle
from gaitgen.animal.flesh import LAYERS, body_of
from gaitgen.commands import run
from gaitgen.motion.flesh import pose
from gaitgen.pictures import far_side
from gaitgen.pictures.nearness import far_limbs, near_flaps
from gaitgen.pictures.overlay import common
from gaitgen.pictures.paint import Ink, paint
from gaitgen.pictures.pose_cell import extent
from gaitgen.pictures.views import VIEWS, capsule_outlines

FAR, NEAR, LINE = 0.6, 0.9, 0.0
# Dots to the height of a figure, and what is left around it.
DOTS, EDGE = 500, 10
TONES = Ink(
    near=NEAR,
    far=FAR,
    far_line=FAR,
    far_horn=FAR,
    horn=0.3,
    hair=0.3,
    line=LINE,
    soft_line=0.8,
    line_pt=1.0,
)


# Always drawn, once for all that is looked at: hooves and paws.
TRIED = ("cat",)


@cache
def fastest(animal):
    """Pose an animal in every row of its fastest gait."""
    return posed_in(animal, load_animal(animal).gaits[-1])


def posed_in(animal, gait):
    """Pose an animal in every row of a gait."""
    clip = make_cycle(Request(animal=animal, gait=gait))
    return pose(clip, range(clip.facts.frames))


def layers_of(animal):
    """Name the layers that an animal has."""
    return {LAYERS[layer] for layer in body_of(load_animal(animal)).layers}


class Drawn:
    """One pose in dots, and where its metres are in them."""

    def __init__(self, posed, row, view):
        self.height_m = float(np.ptp(posed.ends_m[row, ..., 2]))
        left, right, low, high = extent(posed, view)
        self.dots_m = DOTS / self.height_m
        edge_m = EDGE / self.dots_m
        self.left, self.high = left - edge_m, high + edge_m
        size = (right - left + 2.0 * edge_m, high - low + 2.0 * edge_m)
        figure = Figure(figsize=[length * self.dots_m / 100.0 for length in size], dpi=100)
        canvas = FigureCanvasAgg(figure)
        self.axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        self.axes.set(xlim=(self.left, right + edge_m), ylim=(low - edge_m, self.high))
        self.axes.axis("off")
        paint(self.axes, posed, row, view, ink=TONES)
        canvas.draw()
        self.grey = np.asarray(canvas.buffer_rgba())[..., 0] / 255.0

    def solid(self, tone):
        """Return where it has a tone that is not a mixture along an edge."""
        return binary_opening(np.isclose(self.grey, tone, atol=0.01), iterations=1)

    def at(self, places_m):
        """Greys at places (points, 2). [m]"""
        columns = (places_m[:, 0] - self.left) * self.dots_m
        rows = (self.high - places_m[:, 1]) * self.dots_m
        return self.grey[rows.astype(int), columns.astype(int)]


@cache
def fastest_drawn(animal, row, view):
    """Draw an animal in one row of its fastest gait."""
    return Drawn(fastest(animal), row, VIEWS[view])


def pieces(mask):
    """Tell the pieces of a mask from one another."""
    marks, count = label(mask, np.ones((3, 3)))
    return [marks == number for number in range(1, count + 1)]


@pytest.mark.always(*TRIED)
@pytest.mark.parametrize("animal", animal_names())
def test_nothing_of_a_far_leg_is_a_crumb_or_lies_apart_from_the_figure(animal):
    """A piece is larger than a square of a fortieth of the height, and beside the near side."""
    posed = fastest(animal)
    for row in range(len(posed.ends_m)):
        drawn = fastest_drawn(animal, row, "side")
        figure = (drawn.grey < 0.95) & ~np.isclose(drawn.grey, FAR, atol=0.06)
        near = binary_dilation(figure, iterations=round(0.016 * DOTS))
        for piece in pieces(drawn.solid(FAR)):
            assert piece.sum() > (DOTS / 40.0) ** 2, row
            assert (piece & near).any(), row


@pytest.mark.always("cat-None")
@pytest.mark.parametrize(
    ("animal", "gait"),
    [*((name, None) for name in animal_names()), ("cat", "walk")],
)
def test_no_far_leg_is_cut_straight_across(animal, gait):
    """Where the body's line over a far leg ends in the open, as at rump and breast, it does not lie level."""
    posed = fastest(animal) if gait is None else posed_in(animal, gait)
    for row in range(len(posed.ends_m)):
        drawn = fastest_drawn(animal, row, "side") if gait is None else Drawn(posed, row, VIEWS["side"])
        assert longest_cut(drawn) < 0.05 * DOTS, row


def longest_cut(drawn):
    """Longest level line between body and far leg that goes through to the paper on one side. [dots]"""
    far, dark, paper = drawn.solid(FAR), drawn.grey < 0.3, drawn.grey > 0.97
    reach, longest = round(0.016 * DOTS) + 2, 0
    rows, columns = np.nonzero(far & ~np.roll(far, 1, axis=0))  # tops of what is of the far tone
    # Lower than a fifth of the figure there is no body: there a near sole lies over a far foot.
    ground = np.flatnonzero(drawn.grey.min(axis=1) < 0.97).max()
    is_body = rows < ground - 0.2 * DOTS
    for down, first in zip(rows[is_body], columns[is_body], strict=True):
        if not dark[down - reach : down, first].any():
            continue
        for way in (1, -1):  # along the top as long as it stays level, and a line lies over it
            last = first
            while (
                far[down - 1 : down + 2, last].any()
                and not far[down - 4 : down - 1, last].any()
                and dark[down - reach : down, last].any()
            ):
                last += way
            ahead = sorted((last + 3 * way, last + 8 * way))
            if paper[down - 8 : down + 1, slice(*ahead)].all():
                longest = max(longest, abs(last - first))
    return longest


@pytest.mark.always("cat-side")
@pytest.mark.parametrize("view", ["side", "three_quarter"])
@pytest.mark.parametrize("animal", animal_names())
def test_far_arm_and_thigh_are_in_the_tone_of_their_leg(animal, view):
    """Under shoulder and hip what is well clear of the body is the leg's: no bag at the breast."""
    posed = fastest(animal)
    for row in range(len(posed.ends_m)):
        assert light_share(posed, row, VIEWS[view], fastest_drawn(animal, row, view)) < 0.15, row


def light_share(posed, row, view, drawn):
    """Share of what is seen of far arms and thighs, well clear of what lies over it, in the body's tone."""
    body = posed.body
    outlines = capsule_outlines(view.project(posed.ends_m[row]), body.radii_m)
    far = sorted(far_limbs(posed, row, view))
    own = body.limbs(far) & body.is_upper & (body.has_line | body.is_bone)
    marks = body.layers == LAYERS.index("marks")
    over = shapely.union_all(shapely.polygons(outlines[~marks & ~body.limbs(far)]))
    over = over.union(shapely.union_all(shapely.polygons(outlines[body.limbs(far) & body.is_upper & ~own])))
    clear = over.buffer(0.03 * drawn.height_m)
    light, whole = 0, 1
    for limb in far:
        mine = own & body.limbs([limb])
        bones = np.flatnonzero(mine & body.is_bone)
        joint = view.project(posed.ends_m[row, bones[-1], 0])[1]
        seen = shapely.union_all(shapely.polygons(outlines[mine])).difference(clear)
        left, low, right, high = seen.bounds if not seen.is_empty else (0.0, 0.0, 0.0, 0.0)
        level = joint - 0.03 * drawn.height_m
        if seen.is_empty or low > level:
            continue
        seen = seen.intersection(shapely.box(left, low, right, min(level, high)))
        for part in shapely.get_parts(seen):
            if part.area < (0.12 * drawn.height_m) ** 2:  # a small piece may pass for body
                continue
            grid = np.stack(np.meshgrid(np.linspace(left, right, 60), np.linspace(low, high, 60)), axis=-1)
            places = grid.reshape(-1, 2)
            tones = drawn.at(places[shapely.contains_xy(part, places)])
            light += np.isclose(tones, NEAR, atol=0.02).sum()
            whole += len(tones)
    return light / whole


@pytest.mark.sample(1)
@pytest.mark.parametrize("animal", [name for name in animal_names() if "flap" in layers_of(name)])
def test_a_flap_is_before_the_head_or_behind_it_as_a_whole(animal):
    """An ear that turns does not get half as wide."""
    posed = fastest(animal)
    body = posed.body
    for row in range(len(posed.ends_m)):
        for view in VIEWS.values():
            over = near_flaps(posed, row, view)
            for chain in np.unique(body.chains[body.layer("flap")]):
                assert len(set(over[body.chains == chain])) == 1


def test_where_the_geometry_gives_up_on_edges_that_nearly_touch_they_are_laid_on_a_grid(monkeypatch):
    """As it did once on a pose of a shot, whose files were then not written."""
    one, other = shapely.box(0.0, 0.0, 1.0, 1.0), shapely.box(0.5, 0.0, 2.0, 1.0)
    plain = shapely.intersection

    def gives_up(*shapes, grid_size=None):
        if grid_size is None:
            raise shapely.errors.GEOSException("cannot tell")
        return plain(*shapes, grid_size=grid_size)

    monkeypatch.setattr(shapely, "intersection", gives_up)
    assert common(one, other).equals(shapely.box(0.5, 0.0, 1.0, 1.0))


@pytest.mark.thorough
@pytest.mark.sample(1, 1)
@pytest.mark.parametrize("animal", ["elephant", "cat", *sorted(set(animal_names()) - {"elephant", "cat"})])
def test_no_far_leg_is_lost_in_a_strip(animal, monkeypatch, tmp_path):
    """The geometry library now and then gives back nothing of a shape that it makes thinner."""
    areas, found = [], far_side.seen_part

    def looked_at(leg, over, height_m):
        areas.append(leg.area / height_m**2)
        return found(leg, over, height_m)

    monkeypatch.setattr(far_side, "seen_part", looked_at)
    out = ["--out", str(tmp_path), "--strip", str(tmp_path / "a.png"), "--no-keys"]
    assert run(["cycle", "walk", "--animal", animal, *out]) == 0
    assert len(areas) > 16
    assert min(areas) > 0.02
