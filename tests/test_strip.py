"""Strips: a PNG, the same bytes each time, whole frames, the feet that are down."""

from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from ink import greys, ink

from gaitgen import Request, make_cycle
from gaitgen.errors import RequestError
from gaitgen.motion.flesh import pose
from gaitgen.motion.measure import measure_feet
from gaitgen.pictures.paint import Ink, paint
from gaitgen.pictures.strip import letter_places, strip_rows, write_strip
from gaitgen.pictures.views import VIEWS

CLIP = make_cycle(Request())


def picture(view, ink):
    """Paint the first pose alone: (rows, columns) of greys, 0 black to 1 white."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(4, 4), dpi=80)
    canvas = FigureCanvasAgg(figure)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set(xlim=(-1.2, 2.4), ylim=(-1.2, 2.4))
    axes.axis("off")
    paint(axes, pose(CLIP, [0]), 0, VIEWS[view], ink=ink)
    canvas.draw()
    return np.asarray(canvas.buffer_rgba())[..., 0] / 255.0


@cache
def strip(poses):
    """Draw the plain walk once."""
    return write_strip(CLIP, poses)


def test_a_strip_is_a_png_and_the_same_twice():
    assert write_strip(CLIP, 4) == strip(4)
    height, width = greys(strip(8)).shape
    assert 2000 <= width <= 3000
    assert 500 <= height <= 1500
    assert greys(strip(4)).shape[1] == pytest.approx(width / 2, abs=2)
    assert b"Software" not in strip(8)


@pytest.mark.parametrize("poses", [4, 8])
def test_every_pose_stands_on_its_ground_with_words_under_it(poses):
    picture = greys(strip(poses))
    (ground,) = _levels(picture)
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


def test_a_strip_shows_the_key_poses_of_a_travelling_clip_too():
    assert (strip_rows(CLIP, 8) + 1).tolist() == [1, 5, 9, 13, 17, 21, 25, 29]
    travelling = make_cycle(Request(in_place=False, frames=24))
    assert write_strip(travelling, 4) == write_strip(make_cycle(Request(frames=24)), 4)


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
    """All words of a strip, as they are drawn, without its animals."""
    written = []
    from matplotlib.axes import Axes

    plain = Axes.text

    def note(self, x, y, words, **how):
        written.append(words)
        return plain(self, x, y, words, **how)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Axes, "text", note)
        patch.setattr("gaitgen.pictures.strip.paint", lambda *_, **__: None)
        write_strip(clip)
    return written


@pytest.mark.parametrize("view", ["side", "three_quarter"])
def test_far_legs_are_told_by_tone(view):
    tones = picture(view, Ink(far=0.77))
    far = np.isclose(tones, 0.77, atol=0.01).mean()
    assert 0.002 < far < 0.05
    assert np.isclose(picture(view, Ink(far=0.7)), 0.77, atol=0.01).mean() < 0.2 * far


def test_from_the_front_the_mane_is_behind_the_neck(monkeypatch):
    seen = np.isclose(picture("front", Ink(hair=0.4)), 0.4, atol=0.01)
    monkeypatch.setattr("gaitgen.pictures.paint._AHEAD", 2.0)  # from nowhere
    over = np.isclose(picture("front", Ink(hair=0.4)), 0.4, atol=0.01)
    assert seen.sum() < 0.9 * over.sum()
    assert not (seen & ~over).any()


@pytest.mark.parametrize("view", list(VIEWS))
def test_letters_do_not_cover_one_another(view):
    posed = pose(CLIP, range(CLIP.frames))
    for frame in range(CLIP.frames):
        places = letter_places(posed, frame, VIEWS[view], inch_m=1.16)
        apart = np.abs(places[:, None] - places[None])[np.triu_indices(4, 1)]
        assert ((apart[:, 0] > 0.08) | (apart[:, 1] > 0.08)).all()


@pytest.mark.parametrize("poses", [2, 17])
def test_other_numbers_of_poses_are_refused(poses):
    with pytest.raises(RequestError, match=f"poses is {poses}"):
        write_strip(CLIP, poses)
