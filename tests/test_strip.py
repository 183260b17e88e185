"""Strips: a PNG, the same bytes each time, whole frames, the feet that are down."""

from dataclasses import replace
from functools import cache
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest
from ink import greys, ink
from scipy.ndimage import binary_dilation, binary_erosion, distance_transform_edt

from gaitgen import Request, make_cycle
from gaitgen.course.ground import FLAT, Ground, Heights
from gaitgen.errors import RequestError
from gaitgen.motion.flesh import pose
from gaitgen.motion.measure import measure_feet, over_origin
from gaitgen.motion.motion import KeyPose
from gaitgen.pictures.foot_names import ROOM_INCHES, name_places
from gaitgen.pictures.moments import spread_rows, strip_rows
from gaitgen.pictures.paint import Ink, paint
from gaitgen.pictures.strip import write_strip
from gaitgen.pictures.terrain import Floor, Terrain, level_terrain
from gaitgen.pictures.views import VIEWS

CLIP = make_cycle(Request())


def picture(view, ink, row=0, dpi=80):
    """Paint one pose alone: (rows, columns) of greys, 0 black to 1 white."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(4, 4), dpi=dpi)
    canvas = FigureCanvasAgg(figure)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set(xlim=(-1.2, 2.4), ylim=(-1.2, 2.4))
    axes.axis("off")
    paint(axes, pose(CLIP, [row]), 0, VIEWS[view], ink=ink)
    canvas.draw()
    return np.asarray(canvas.buffer_rgba())[..., 0] / 255.0


def solid(dots, tone):
    """Return where a picture has a tone that is not a mixture along an edge."""
    return binary_erosion(np.isclose(dots, tone, atol=0.01))


@cache
def strip(poses):
    """Draw the plain walk once."""
    return write_strip(CLIP, poses)


@pytest.mark.thorough
@pytest.mark.parametrize("poses", [4, 8])
def test_a_strip_is_a_png_and_the_same_twice(poses):
    assert write_strip(CLIP, poses) == strip(poses)
    height, width = greys(strip(poses)).shape
    assert 2000 <= width * 8 / poses <= 3000
    assert 500 <= height <= 1500
    assert width == pytest.approx(greys(strip(4)).shape[1] * poses / 4, abs=2)
    assert b"Software" not in strip(poses)


@pytest.mark.sample(1)
@pytest.mark.parametrize("poses", [4, 8])
def test_every_pose_stands_on_its_ground_with_words_under_it(poses):
    picture = greys(strip(poses))
    ground = _levels(picture)[0]  # that of the side view is the first
    columns = np.array_split(picture, poses, axis=1)
    for column in columns:
        animal, feet, words = column[:ground], column[ground - 14 : ground - 2], column[ground + 5 :]
        assert 0.15 < ink(animal) < 0.6
        assert ink(animal[:4]) < 0.002  # nothing is cut off at the top
        assert (feet < 0.3).mean() > 0.01  # feet come down to the ground
        assert ink(words[:80]) > 0.01
        assert ink(column[:, [0, -1]]) < 0.02  # each in its own column
    halves = np.array_split(picture[ground + 100 :], 2)  # front and three-quarter
    assert all(ink(view) > 0.05 for view in halves)
    shown = [column[:ground, : columns[-1].shape[1]] for column in columns]
    assert all(np.abs(a - b).mean() > 0.01 for a, b in pairwise(shown))


def _levels(picture):
    """Rows of the lines that run through almost all of the picture, one for each line."""
    rows = np.flatnonzero((picture < 0.6).mean(axis=1) > 0.85)
    return rows[np.flatnonzero(np.diff(rows, prepend=-9) > 3)].tolist()


def _ground_rows(png, poses, column, shares):
    """Rows, from the top, of the lowest dark line of the side view in a column, at shares of its width."""
    picture = np.array_split(greys(png), poses, axis=1)[column]
    height, width = picture.shape
    found = []
    for share in shares:
        middle = round(share * width)
        dark = (picture[: round(0.34 * height), middle - 1 : middle + 2] < 0.5).all(axis=1)
        found.append(int(np.flatnonzero(dark).max()))
    return np.array(found)


@pytest.mark.thorough
@pytest.mark.parametrize("grade", [0.2, -0.2])
def test_the_ground_of_a_strip_is_the_true_ground(grade):
    """On a plane of known grade the line under the figure rises by grade times distance on the paper."""
    ground = Ground(grade)
    rows = np.zeros((CLIP.frames, 3))
    slope = Terrain(ground, rows, np.zeros(CLIP.frames), CLIP.animal.withers_height_m)
    picture = write_strip(CLIP, 4, slope)
    width = greys(picture).shape[1] / 4
    left, right = _ground_rows(picture, 4, 1, (0.08, 0.96))  # beside the hooves
    assert left - right == pytest.approx(grade * 0.88 * width, abs=5)  # a mark under it is 4
    level = strip(4)
    assert np.ptp(_ground_rows(level, 4, 1, (0.08, 0.96))) == 0


def test_marks_on_the_ground_stay_where_they_are():
    """A mark that is 1 m ahead is under the body once it has gone 1 m, on a way that turns as well."""
    place = np.array([[0.0, 0.0, 0.0], [0.6, 0.8, 0.0], [1.2, 1.6, 0.0]])
    terrain = Terrain(FLAT, place, np.full(3, np.arctan2(0.8, 0.6)), 1.6)
    assert terrain.marks_m(0, (-0.1, 2.1), 0.5).tolist() == [0.0, 0.5, 1.0, 1.5, 2.0]
    assert terrain.marks_m(1, (-1.1, 0.1), 0.5) == pytest.approx([-1.0, -0.5, 0.0])


def test_ground_of_any_shape_is_seen_from_the_body():
    """A bump of the ground 2 m ahead of a body that faces left of x is found at 2 m ahead of it."""
    hill = Heights(heights_m=lambda xy: np.exp(-((xy[..., 0] - 1.0) ** 2) - (xy[..., 1] - 3.0) ** 2))
    place = np.array([[1.0, 1.0, float(hill.height_m(np.array([1.0, 1.0])))]])
    terrain = Terrain(hill, place, np.array([np.pi / 2.0]), 1.6)
    assert terrain.height_m(0, np.array([2.0, 0.0])) == pytest.approx(1.0 - np.exp(-4.0))
    assert terrain.height_m(0, np.array([0.0, 0.0])) == pytest.approx(0.0)


def test_a_shade_lies_on_the_ground_under_the_body():
    floor = Floor(level_terrain(CLIP), 0, pose(CLIP, [0]), 0)
    side, front = (floor.shade_m(VIEWS[name]).shape.bounds for name in ("side", "front"))
    assert side[1] == pytest.approx(0.0, abs=1e-9) == side[3]
    ends, radii = floor.posed.ends_m[0], floor.posed.body.radii_m
    assert side[0] == pytest.approx((ends[..., 0] - radii).min(), abs=0.01)
    assert front[2] == pytest.approx((ends[..., 1] + radii).max(), abs=0.01)


def test_a_strip_of_a_shot_does_not_show_one_moment_again_and_again():
    names = ("RH contact", "RF contact", "LH contact", "LF contact")
    keys = tuple(KeyPose(1.0 + 8.0 * k, names[k % 4]) for k in range(50))
    clip = SimpleNamespace(frames=402, key_poses=(*keys, KeyPose(402.0, "end")))
    rows = spread_rows(clip, 16)
    assert len(rows) == 16
    assert (rows[0], rows[-1]) == (0, 401)
    shown = [names[row // 8 % 4] for row in rows[1:-1]]
    assert all(2 <= shown.count(name) <= 5 for name in names)
    assert np.diff(rows).max() < 2.2 * 401 / 15


@pytest.mark.thorough
def test_a_strip_shows_the_key_poses_of_a_travelling_clip_too():
    assert (strip_rows(CLIP, 8) + 1).tolist() == [1, 5, 9, 13, 17, 21, 25, 29]
    travelling = make_cycle(Request(in_place=False, frames=24))
    drawn = [greys(write_strip(clip, 4)) for clip in (travelling, make_cycle(Request(frames=24)))]
    # Travel is taken off with a rounding in its last digit: a dot on an edge may differ by a grey of 255.
    np.testing.assert_allclose(drawn[0], drawn[1], atol=1.5 / 255.0)


def test_rows_are_whole_different_frames_of_the_first_stride():
    clip = make_cycle(Request(frames=10, strides=2))
    rows = strip_rows(clip, 16)
    assert rows.tolist() == list(range(10))


RUNS = ("trot", "pace", "canter", "gallop", "rotary_gallop", "half_bound", "pronk")


@pytest.mark.parametrize("gait", RUNS)
def test_a_strip_shows_every_landing_and_every_flight(gait):
    """A run without its flights is none, so they come first, with the landings (common practice)."""
    clip = make_cycle(Request(gait=gait, frame_rate_hz=48.0))
    rows, stride = strip_rows(clip, 8), clip.facts.frames
    assert len(set(rows.tolist())) == 8
    assert (np.diff(rows) > 0).all()
    landings = {round(float(t) * 48.0) % stride for t in clip.steps.touchdown_s}
    assert landings <= set(rows.tolist())
    in_air = ~measure_feet(clip).planted[:stride].any(axis=1)
    starts = np.flatnonzero(in_air & ~np.roll(in_air, 1))
    assert starts.size >= 1
    for start in starts:
        flight = (start + np.arange(np.argmin(np.roll(in_air, -start)))) % stride
        assert set(flight.tolist()) & set(rows.tolist())


@pytest.mark.sample(1)
@pytest.mark.parametrize("poses", [4, 6, 8, 12, 16])
def test_as_many_poses_as_are_asked_for_all_different(poses):
    for gait in ("walk", "trot", "gallop"):
        rows = strip_rows(make_cycle(Request(gait=gait)), poses)
        assert len(set(rows.tolist())) == min(poses, make_cycle(Request(gait=gait)).facts.frames)


@pytest.mark.parametrize("gait", ["trot", "pace"])
def test_both_halves_of_a_symmetrical_gait_are_shown_alike(gait):
    clip = make_cycle(Request(gait=gait, frames=18))
    rows = strip_rows(clip, 8)
    assert sorted((rows + 9) % 18) == rows.tolist()


def test_a_pose_in_the_air_says_so():
    clip = make_cycle(Request(gait="gallop", frame_rate_hz=48.0))
    words = strip_words(clip)
    flights = [text for text in words if text in {"in the air", "no foot down"}]
    assert flights
    assert not [text for text in words if text.strip() == "down:"]
    assert len(flights) + sum(text.startswith("down: ") for text in words) == 8


def strip_words(clip):
    """All words of a strip."""
    return [text for text, _ in strip_texts(clip)]


def strip_texts(clip):
    """All words of a strip and how they look, as they are drawn, without its animals."""
    written = []
    from matplotlib.axes import Axes

    plain = Axes.text

    def note(self, x, y, words, **how):
        written.append((words, how))
        return plain(self, x, y, words, **how)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Axes, "text", note)
        patch.setattr("gaitgen.pictures.strip.paint", lambda *_, **__: None)
        write_strip(clip)
    return written


@pytest.mark.sample(1)
@pytest.mark.parametrize(("gait", "way"), [("walk", 1), ("back", -1), ("piaffe", 0)])
def test_an_arrow_shows_where_each_pose_goes(gait, way, monkeypatch):
    """It points to the side of the words that it stands on: ahead is to the right. The animal is left out."""
    monkeypatch.setattr("gaitgen.pictures.strip.paint", lambda *_, **__: None)
    picture = greys(write_strip(make_cycle(Request(gait=gait))))
    ground = _levels(picture)[0]
    for column in np.array_split(picture, 8, axis=1):
        middle = column.shape[1] // 2
        found = []
        for side in (-1, 1):  # 0.97 inches off, at the height of the first line of words
            there = middle + side * 126
            dark = column[ground + 46 : ground + 66, there - 18 : there + 19] < 0.6
            high = dark.sum(axis=0)[::side]  # from the words outwards
            if high.any():
                assert high[-18:].max() > high[:18].max() >= 1  # its head is outside
                found.append(side)
        assert found == [way] * abs(way)


@pytest.mark.sample(1)
@pytest.mark.parametrize("view", ["side", "three_quarter"])
def test_far_legs_are_told_by_tone(view):
    tones = picture(view, Ink(far=0.77))
    far = np.isclose(tones, 0.77, atol=0.01).mean()
    assert 0.002 < far < 0.05
    assert np.isclose(picture(view, Ink(far=0.7)), 0.77, atol=0.01).mean() < 0.2 * far
    assert Ink().near - Ink().far > 0.4
    assert Ink().far - Ink().far_horn > 0.2


@pytest.mark.sample(1)
@pytest.mark.parametrize("row", [4, 7, 15, 23, 30])
def test_a_far_leg_goes_on_up_to_what_lies_over_it(row):
    """With paper between them a far leg looks cut in two where a near one crosses it."""
    tones = Ink(far=0.6, far_line=0.6, horn=0.3, far_horn=0.3, hair=0.3, soft_line=0.8)
    dots = picture("side", tones, row, dpi=240)
    far = solid(dots, 0.6)
    assert far.sum() > 500
    to_line = distance_transform_edt(dots > 0.2)[far]
    assert (to_line < 3.0).sum() > 40  # none, if paper is left between them


def test_from_the_front_the_mane_is_behind_the_neck(monkeypatch):
    seen = solid(picture("front", Ink(hair=0.45), dpi=240), 0.45)
    monkeypatch.setattr("gaitgen.pictures.paint._AHEAD", 2.0)  # from nowhere
    over = solid(picture("front", Ink(hair=0.45), dpi=240), 0.45)
    assert seen.sum() < 0.9 * over.sum()
    assert not (seen & ~binary_dilation(over)).any()  # dots at its edge may be another's


@pytest.mark.parametrize("view", list(VIEWS))
def test_names_of_feet_do_not_cover_one_another(view):
    """On paper two letters of that size in a box are 0.2 inches wide and 0.1 high."""
    posed = pose(CLIP, range(CLIP.frames))
    for frame in range(CLIP.frames):
        places = name_places(posed, frame, VIEWS[view], inch_m=1.16)
        apart = np.abs(places[:, None] - places[None])[np.triu_indices(4, 1)] / 1.16
        assert ((apart[:, 0] > 0.2) | (apart[:, 1] > 0.1)).all()


@pytest.mark.parametrize("gait", ["walk", "trot", "canter", "gallop"])
@pytest.mark.parametrize("frames", [17, 24, 32])
def test_between_contacts_and_flights_moments_are_even(gait, frames):
    """From one contact or flight to the next no two moments are nearer than half of what others are."""
    fps = 48.0 if gait in {"canter", "gallop"} else 24.0
    clip = make_cycle(Request(gait=gait, frames=frames, frame_rate_hz=fps))
    rows = strip_rows(clip, 8)
    events = {round(key.frame) - 1 for key in clip.key_poses if key.name.endswith(("contact", "in the air"))}
    starts = [k for k, row in enumerate(rows.tolist()) if row in events]
    parts = np.split(np.diff([*rows, rows[0] + frames]), starts[1:])
    assert starts[0] == 0
    assert any(part.size > 1 for part in parts)
    assert all(part.max() <= 2 * part.min() for part in parts)
    if gait == "trot":
        assert max(part.max() for part in parts) <= frames / 8 + 1.5


@pytest.mark.thorough
def test_a_foot_that_lands_is_named_in_white_on_black():
    words = {}
    for text, how in strip_texts(CLIP):
        words.setdefault(text, []).append(how)
    for limb in ("LF", "RF", "LH", "RH"):
        looks = words[limb]
        assert len(looks) == 24  # eight poses in three views
        assert [how["color"] for how in looks].count("1") == 3  # one pose has its contact
        assert {how["fontweight"] for how in looks} == {"bold", "normal"}
    assert len(words["1   RH contact"]) == 1


@pytest.mark.parametrize("poses", [2, 17])
def test_other_numbers_of_poses_are_refused(poses):
    with pytest.raises(RequestError, match=f"poses is {poses}"):
        write_strip(CLIP, poses)


def test_from_the_front_up_a_slope_no_name_lies_on_a_leg():
    """Hind feet stand lower there than fore ones, and are seen under them."""
    clip = make_cycle(Request(animal="elephant"))
    level = pose(over_origin(clip), np.arange(0, 40, 5))
    down_m = np.array([0.0, 0.0, 0.4, 0.4])
    posed = replace(level, feet_m=level.feet_m - down_m[:, None, None] * np.array([0.0, 0.0, 1.0]))
    view = VIEWS["front"]
    for frame in range(8):
        places = name_places(posed, frame, view, inch_m=1.16, ground_m=-down_m)
        corners = view.project(posed.feet_m[frame])
        half_m = ROOM_INCHES * 1.16 / 2.0
        for x, y in places:
            over = (corners[..., 0].min(axis=1) < x + half_m[0]) & (
                corners[..., 0].max(axis=1) > x - half_m[0]
            )
            assert over.any()
            assert y < corners[over][..., 1].min()
