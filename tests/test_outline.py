"""The drawn animal, measured like a drawing: girth, hock, knee, elbow, head, mane, hooves.

Where no source is named, the rule is common practice in drawing and judging horses, without a source.
"""

from itertools import pairwise

import numpy as np
import pytest
import shapely
from outline import Outline

from gaitgen import Request, animal_names, load_animal, make_cycle
from gaitgen.animal.foot_shape import rounded_feet
from gaitgen.animal.standing import standing_positions_m
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.flesh import pose, standing
from gaitgen.pictures.paint import Ink, paint
from gaitgen.pictures.views import VIEWS

HORSES = [name for name in animal_names() if load_animal(name).species == "horse"]
ANIMALS = [*HORSES, "cat", "elephant"]


def outline_of(name):
    return Outline(load_animal(name))


def joints_of(outline, limb):
    """Places (x, z) of the joints of a limb, in shares of the withers height."""
    rows = list(outline.animal.limb(limb).joints)
    return standing_positions_m(outline.animal)[rows][:, [0, 2]] / outline.size_m


@pytest.mark.parametrize("animal", HORSES)
def test_the_belly_is_deepest_at_the_girth_and_rises_to_the_flank(animal):
    outline = outline_of(animal)
    trunk, elbow = outline.shape(["trunk"]), outline.landmark("point_of_elbow")
    stifle = joints_of(outline, "hind")[1]
    places = np.linspace(stifle[0] + 0.1, elbow[0] + 0.05, 60)
    low = np.array([outline.span(trunk, x=x)[0] for x in places])
    deepest = places[low.argmin()]
    assert -0.10 < deepest - elbow[0] < 0.02  # a hand behind the elbow, not in the middle of the barrel
    behind = low[places < deepest]
    assert np.diff(behind).max() < 1e-3  # it rises all the way
    assert behind[0] - low.min() > 0.06
    assert np.interp((stifle[0] + deepest) / 2.0, places, low) - low.min() > 0.015


@pytest.mark.parametrize("animal", HORSES)
def test_the_hock_has_a_point_and_a_waist_above_it(animal):
    outline = outline_of(animal)
    leg, point = outline.shape(["RH"]), outline.landmark("point_of_hock")
    _, stifle, hock, fetlock, _ = joints_of(outline, "hind")
    cannon = outline.span(leg, z=(hock[1] + fetlock[1]) / 2.0)
    at_point = outline.span(leg, z=point[1])
    assert 0.015 < cannon[0] - at_point[0] < 0.04  # the point stands out behind the cannon
    above = outline.span(leg, z=point[1] + 0.06)
    assert above[0] - at_point[0] > 0.03  # and behind the tendon that comes down to it
    waist = min(outline.depth(leg, stifle, hock, share) for share in (0.55, 0.6, 0.65, 0.7, 0.75))
    joint = max(outline.depth(leg, stifle, hock, share) for share in (0.8, 0.85, 0.9))
    assert joint > 1.15 * waist
    assert joint > 1.8 * (cannon[1] - cannon[0])


@pytest.mark.parametrize("animal", HORSES)
def test_elbow_knee_and_fetlock_are_wider_than_what_is_above_and_below(animal):
    outline = outline_of(animal)
    leg = outline.shape(["RF"])
    _, _, elbow, knee, fetlock, _ = joints_of(outline, "fore")
    widths = {
        name: np.ptp(outline.span(leg, z=z))
        for name, z in {
            "forearm": elbow[1] - 0.5 * (elbow[1] - knee[1]),
            "over the knee": knee[1] + 0.2 * (elbow[1] - knee[1]),
            "knee": knee[1] + 0.01,
            "cannon": knee[1] - 0.45 * (knee[1] - fetlock[1]),
            "fetlock": fetlock[1],
        }.items()
    }
    assert widths["forearm"] > 1.15 * widths["over the knee"]
    assert widths["knee"] > 1.03 * widths["over the knee"]
    assert widths["knee"] > 1.3 * widths["cannon"]
    assert widths["fetlock"] > 1.2 * widths["cannon"]
    point = outline.span(leg, z=outline.landmark("point_of_elbow")[1])[0]
    forearm = outline.span(leg, z=elbow[1] - 0.1)[0]
    assert forearm - point > 0.008


@pytest.mark.parametrize("animal", HORSES)
def test_the_withers_are_two_and_a_half_heads_high(animal):
    outline = outline_of(animal)
    poll, muzzle = outline.landmark("poll"), outline.landmark("muzzle")
    head = outline.shape(names=["face", "cheek", "jaw", "brow"])
    assert 1.0 / outline.reach(head, poll, muzzle) == pytest.approx(2.5, abs=0.05)
    assert outline.depth(head, poll, muzzle, 0.33) > 1.9 * outline.depth(head, poll, muzzle, 0.85)
    neck = outline.shape(names=["crest", "neck", "throat"])
    rows = [outline.animal.neck[1], outline.animal.neck[-1]]
    base, top = standing_positions_m(outline.animal)[rows][:, [0, 2]] / outline.size_m
    depths = [outline.depth(neck, base, top, share) for share in (0.0, 0.25, 0.5, 0.75, 1.0)]
    assert all(after < 0.95 * before for before, after in pairwise(depths))  # tapers to the throat latch


@pytest.mark.parametrize("animal", HORSES)
def test_the_mane_goes_from_poll_to_withers(animal):
    outline = outline_of(animal)
    left, _, right, _ = outline.shape(["mane"]).bounds
    assert abs(left - outline.landmark("withers")[0]) < 0.02
    assert abs(right - outline.landmark("poll")[0]) < 0.03


def test_the_heavy_horse_has_a_crest_and_feather_of_its_own():
    """It is another animal, not the riding horse with every radius scaled alike."""
    riding, draft = outline_of("riding_horse"), outline_of("draft_horse")

    def shares(outline):
        leg = outline.shape(["RF"])
        _, _, _, knee, fetlock, foot = joints_of(outline, "fore")
        cannon = np.ptp(outline.span(leg, z=0.35 * fetlock[1] + 0.65 * knee[1]))
        pastern = np.ptp(outline.span(leg, z=(fetlock[1] + foot[1]) / 2.0))
        crest, poll = outline.shape(names=["crest", "mane"]), outline.landmark("poll")
        chord = shapely.LineString([outline.landmark("withers"), poll])
        above = [p for p in shapely.get_coordinates(crest) if p[0] < poll[0] and p[1] > chord.bounds[1]]
        ends = np.array(chord.coords)
        line_z = np.interp(np.array(above)[:, 0], ends[:, 0], ends[:, 1])
        return pastern / cannon, float((np.array(above)[:, 1] - line_z).max())

    (thin, flat), (feathered, arched) = shares(riding), shares(draft)
    assert feathered > 1.5 * thin
    assert arched > flat + 0.015


def test_the_heavy_horse_is_built_otherwise_and_not_only_thicker():
    """Short legs under a deep body, so that bones alone tell the two apart (common practice, no source)."""

    def shares(name):
        outline = outline_of(name)
        _, _, elbow, knee, *_ = joints_of(outline, "fore")
        trunk = outline.shape(["trunk"])
        x = elbow[0] - 0.1
        return (
            elbow[1],
            knee[1],
            np.ptp(outline.span(trunk, x=x)),
            outline.animal.hip_height_m / outline.size_m,
        )

    riding, draft = shares("riding_horse"), shares("draft_horse")
    assert draft[0] < riding[0] - 0.03  # the elbow, in withers heights
    assert draft[1] < riding[1] - 0.01  # the knee
    assert draft[2] > riding[2] + 0.04  # how deep the girth is
    assert draft[3] < riding[3] - 0.02  # the hip


@pytest.mark.sample(1)
@pytest.mark.parametrize("animal", ANIMALS)
def test_no_plate_is_pinned_on_shoulder_or_hip(animal):
    """Soft lines inside the trunk end below its back: blade and hip pass into it."""
    from matplotlib.figure import Figure

    skeleton = load_animal(animal)
    axes = Figure().add_axes((0.0, 0.0, 1.0, 1.0))
    paint(axes, standing(skeleton, 4), 0, VIEWS["side"], ink=Ink(soft_line=0.777))
    lines = [patch for patch in axes.patches if np.isclose(patch.get_edgecolor()[0], 0.777)]
    assert len(lines) >= 1
    top = max(line.get_path().vertices[:, 1].max() for line in lines)
    assert top < 0.92 * skeleton.withers_height_m
    for line in lines:
        vertices = line.get_path().vertices
        starts = np.flatnonzero(line.get_path().codes == line.get_path().MOVETO)
        for piece in np.split(vertices, starts[1:]):
            assert np.linalg.norm(piece[0] - piece[-1]) > 0.5 * np.ptp(piece[:, 1])  # open, no plate


@pytest.mark.parametrize("animal", ANIMALS)
def test_feet_are_round_from_above_and_keep_toe_heel_and_width(animal):
    corners = standing(load_animal(animal), 4).feet_m[0]
    rounded = rounded_feet(corners)
    assert rounded.shape == (4, 48, 3)
    np.testing.assert_allclose(rounded.min(axis=1), corners.min(axis=1), atol=1e-9)
    np.testing.assert_allclose(rounded.max(axis=1), corners.max(axis=1), atol=1e-9)
    for foot, box in zip(rounded, corners, strict=True):
        sole = shapely.Polygon(foot[:24, :2])
        share = sole.area / np.prod(np.ptp(box[:4, :2], axis=0))
        assert np.pi / 4.0 < share < 0.88


@pytest.mark.parametrize("animal", ANIMALS)
def test_no_leg_is_drawn_under_the_ground_in_a_walk(animal):
    clip = make_cycle(Request(animal=animal, frames=24))
    posed = pose(clip, np.arange(24))
    legs = posed.body.limbs(LIMBS)
    low_m = (posed.ends_m[:, legs][..., 2] - posed.body.radii_m[legs]).min()
    assert low_m > -0.005 * clip.animal.withers_height_m  # a paw's pad gives; feather lies on the ground
