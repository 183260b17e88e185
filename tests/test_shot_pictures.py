"""Pictures of shots: what is drawn is where the shot has it, on paper and on its ground."""

import io
import re
from dataclasses import replace
from functools import cache
from itertools import combinations

import numpy as np
import pytest
from ink import greys
from lane import made_of, write_lane
from pypdf import PdfReader

from gaitgen.commands import run
from gaitgen.course.ground import FLAT, Heights
from gaitgen.course.surfaces import height_map
from gaitgen.formats import bvh, path_curve
from gaitgen.formats.axes import FileSpace
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.request import Request
from gaitgen.motion.flesh import pose
from gaitgen.motion.measure import measure_feet
from gaitgen.pictures.page import MM_PER_INCH, paper_page
from gaitgen.pictures.plan_view import bar_box, draw_plan, height_lines, plan_view, prints_m
from gaitgen.pictures.plan_words import Words
from gaitgen.pictures.shot_chart import _greatest
from gaitgen.pictures.shot_plan import Spot, distant
from gaitgen.pictures.shot_sheet import _title, both_ways, write_shot_sheet
from gaitgen.pictures.terrain import Floor, Terrain
from gaitgen.pictures.views import VIEWS
from gaitgen.reading.shot_clip import shot_from_bvh
from gaitgen.reading.shot_way import Way, ground_along, ground_near, way_beside
from gaitgen.shot.asked import Passage, ShotRequest
from gaitgen.shot.file_kind import is_shot_file
from gaitgen.shot.jump import Obstacle
from gaitgen.shot.make import make_shot
from gaitgen.shot.report import shot_report
from gaitgen.shot.request import shot_of
from gaitgen.shot.seen import plan_of, strip_of
from gaitgen.shot.shot_file import read_shot

DOTS_PER_INCH = 150
STEPS_OF_ALL_KINDS = """animal = "pig"
fps = 30

[[passage]]
gait = "walk"
strides = 2

[[passage]]
turn = 120
on = "forehand"

[[passage]]
gait = "trot"
distance = 4
"""


@pytest.fixture(scope="module")
def lane(tmp_path_factory):
    return write_lane(tmp_path_factory.mktemp("shots"))


@pytest.fixture(scope="module")
def made(lane):
    return made_of(lane)


@pytest.fixture(scope="module")
def plan(made):
    return plan_of(made)


@pytest.fixture(scope="module")
def drawn(plan):
    """Draw its sheet once, without animals, and note where the plan lies: the PDF, its pages, the view."""
    views = []

    def noted(*given):
        views.append(plan_view(*given))
        return views[-1]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("gaitgen.pictures.plan_view.plan_view", noted)
        patch.setattr("gaitgen.pictures.shot_sheet.paint", lambda *_, **__: None)  # drawn sooner without them
        pdf, pages = write_shot_sheet(plan, name="lane", pictures=True)
    return pdf, pages, views[0]


def tone_at(picture, place_mm, reach=0):
    """Darkest grey of a page near a place. [mm]"""
    column, up = (round(float(at) / MM_PER_INCH * DOTS_PER_INCH) for at in place_mm)
    row = picture.shape[0] - up
    return float(picture[row - reach : row + reach + 1, column - reach : column + reach + 1].min())


def test_every_print_is_on_the_plan_filled_if_it_is_a_right_one(drawn, plan):
    picture, view, steps = greys(drawn[1][0]), drawn[2], plan.clip.steps
    assert len(plan.prints) >= 16
    prints = prints_m(plan, 1.5 / view.scale)
    assert [limb for limb, _ in prints] == steps.limb[plan.prints].tolist()
    apart = np.array([outline.mean(axis=0) for _, outline in prints])
    for k, (limb, outline) in enumerate(prints):
        middle = view.on_page(outline.mean(axis=0))
        alone = np.delete(np.linalg.norm(apart - apart[k], axis=1), k).min() * view.scale > 2.5
        if LIMBS[limb][0] == "R":
            assert tone_at(picture, middle, 2) < 0.2
        elif alone and LIMBS[limb] == "LF":
            assert tone_at(picture, middle) > 0.9
            assert min(tone_at(picture, corner, 1) for corner in view.on_page(outline)) < 0.75


def test_prints_are_where_the_feet_are_planted_and_face_where_they_face(plan):
    steps = plan.clip.steps
    for k, (_, outline) in zip(plan.prints, prints_m(plan), strict=True):
        ahead = np.array([np.cos(steps.heading_rad[k]), np.sin(steps.heading_rad[k])])
        along = (outline - steps.place_m[k, :2]) @ ahead
        assert along.max() == pytest.approx(0.0, abs=0.01)  # the place of a step is the toe
        assert along.min() < -0.05


def test_the_way_is_drawn_from_its_start_to_its_end(drawn, plan):
    picture, view = greys(drawn[1][0]), drawn[2]
    way = view.on_page(plan.way_m[:: len(plan.way_m) // 60])
    assert np.mean([tone_at(picture, at, 1) < 0.85 for at in way]) > 0.95
    beside = way + 4.7 * np.array([0.6, 0.8])
    assert np.mean([tone_at(picture, at, 1) < 0.85 for at in beside]) < 0.4


def test_a_way_that_turns_and_climbs_both_ways_is_told_so():
    """It was told as "none" once, as they are as far."""
    heading = np.concatenate([np.linspace(0.0, 180.0, 50), np.linspace(180.0, 90.0, 50)])
    assert both_ways(heading, ("left", "right"), "{:.0f}°", 0.5) == "180° left, 90° right"
    assert both_ways(-heading, ("left", "right"), "{:.0f}°", 0.5) == "90° left, 180° right"
    assert both_ways(0.01 * heading, ("up", "down"), "{:.2f} m", 0.005) == "1.80 m up, 0.90 m down"
    assert not both_ways(np.zeros(9), ("up", "down"), "{:.2f} m", 0.005)


def test_the_sheet_says_what_happens_where_and_when(drawn, plan):
    pdf, pages, _ = drawn
    assert len(pages) == len(PdfReader(io.BytesIO(pdf)).pages) <= 2
    assert len(pdf) < 600_000
    words = PdfReader(io.BytesIO(pdf)).pages[0].extract_text()
    for stretch in plan.stretches:
        assert f"{stretch.first_frame}  {stretch.what}" in words
    assert "turns\n50° right" in words
    assert f"1 to {plan.clip.frames}" in words
    assert f"{plan.terrain.gone_m[-1]:.1f} m" in words
    assert "/Date" not in str(PdfReader(io.BytesIO(pdf)).metadata)


def boxes_of(page, words):
    """Where words stand on a page that is drawn, with their low and high corners. [mm]"""
    page.figure.canvas.draw()
    to_mm = page.figure.dpi / MM_PER_INCH
    found = [text for each in (page.figure, *page.figure.axes) for text in each.texts]
    return [(each.get_text(), each.get_window_extent().get_points() / to_mm) for each in found if words(each)]


def overlap(one, other):
    return bool((one[0] < other[1]).all() and (other[0] < one[1]).all())


def test_words_at_one_place_stand_beside_each_other_and_off_what_is_there():
    page = paper_page("a4")
    at, there = np.array([100.0, 150.0]), np.array([[98.0, 154.0], [102.0, 158.0]])
    words = Words(page, (20.0, 100.0, 160.0, 100.0), prints=[there])
    names = [f"{k}  goes" for k in range(6)]
    for name in names:
        words.write(at, 6.5 * np.array([[0.0, 1.0], [1.0, 0.0]]), name, 8.0)
    boxes = boxes_of(page, lambda text: text.get_text() in names)
    assert [name for name, _ in boxes] == names
    assert not any(overlap(one, other) for (_, one), (_, other) in combinations(boxes, 2))
    assert not any(overlap(box, there) for _, box in boxes)
    wider = [box + np.array([[-1.2, 0.0], [1.2, 0.0]]) for _, box in boxes]
    assert not any(overlap(one, other) for one, other in combinations(wider, 2))  # 2.4 mm between them


@pytest.mark.thorough
def test_words_of_a_plan_with_turns_on_the_spot_cover_no_other_and_no_print(tmp_path):
    path = tmp_path / "round.toml"
    turns = "".join(
        f'[[passage]]\nturn = {turn}\n[[passage]]\ngait = "walk"\nstrides = 2\n' for turn in (90, -180)
    )
    path.write_text('animal = "dog"\n[[passage]]\ngait = "walk"\nstrides = 2\n' + turns, encoding="utf-8")
    shot = plan_of(make_shot(shot_of(read_shot(path))))
    page = paper_page("a4")
    view = draw_plan(page, shot, (9.0, 100.0, 192.0, 150.0))
    boxes = boxes_of(page, lambda text: text.get_text())
    said = [name for name, _ in boxes]
    assert all(f"{each.first_frame}  {each.what}" in said for each in shot.stretches)
    assert not [(a, b) for (a, one), (b, other) in combinations(boxes, 2) if overlap(one, other)]
    outlines = [view.on_page(outline) for _, outline in prints_m(shot, 1.5 / view.scale)]
    prints = [np.stack([each.min(axis=0), each.max(axis=0)]) for each in outlines]
    assert not [name for name, box in boxes if any(overlap(box, each) for each in prints)]


def test_bars_of_the_chart_are_dark_while_feet_are_down(drawn, plan):
    picture = greys(drawn[1][0])
    planted = measure_feet(plan.clip).planted
    rows = {name: _bar_row(picture, name) for name in ("RH", "RF")}
    left, right = 26.0, 201.0  # of the chart on A4 [mm]
    for name, row in rows.items():
        limb = LIMBS.index(name)
        frames = np.arange(1, plan.clip.frames - 1)
        clear = np.array([len({*planted[k - 1 : k + 2, limb].tolist()}) == 1 for k in frames])
        xs = left + frames[clear] / (plan.clip.frames - 1) * (right - left)
        columns = np.round(xs / MM_PER_INCH * DOTS_PER_INCH).astype(int)
        assert ((picture[row, columns] < 0.3) == planted[frames[clear], limb]).mean() > 0.98


def _bar_row(picture, name):
    """Row of pixels in the middle of the bars of a right foot on A4, from the top."""
    from gaitgen.pictures.shot_chart import AXIS_MM, ROW_MM, ROWS
    from gaitgen.pictures.shot_sheet import LEGEND_MM, MARGIN_MM

    up = MARGIN_MM + LEGEND_MM + AXIS_MM + (len(ROWS) - ROWS.index(name) - 0.75) * ROW_MM
    return picture.shape[0] - round(up / MM_PER_INCH * DOTS_PER_INCH)


@cache
def _floor_rows(frames):
    return np.linspace(0, frames - 1, 9).astype(int)


def test_planted_feet_stand_on_the_ground_that_is_drawn(plan):
    """From the side, the line under the near feet meets their soles; the grade is 8 % along x."""
    rows = _floor_rows(plan.clip.frames)
    posed, planted = pose(plan.still, rows), measure_feet(plan.clip).planted[rows]
    rises = []
    for k, row in enumerate(rows):
        floor = Floor(plan.terrain, int(row), posed, k)
        line = floor.lines_m(VIEWS["side"], (-2.0, 2.0))[-1]
        rises.append(np.polyfit(line[:, 0], line[:, 1], 1)[0])
        under = floor.feet_m(VIEWS["side"])
        soles = posed.feet_m[k, :, :4, 2].min(axis=1)
        assert np.abs(soles - under)[planted[k]].max() < 0.02
    expected = 0.08 * np.cos(plan.terrain.heading_rad[rows])
    assert rises == pytest.approx(expected.tolist(), abs=1e-6)


@pytest.mark.thorough
def test_a_strip_of_a_shot_has_two_lines_of_eight(made):
    height, width = greys(strip_of(made, 16)).shape
    assert 2000 < width < 3000
    assert 1000 < height < 2500


def test_a_hole_in_the_ground_is_drawn_as_none():
    pit = Heights(heights_m=lambda xy: np.where(xy[..., 0] > 1.0, np.nan, 0.2))
    places = np.array([[0.0, 0.0], [2.0, 0.0]])
    assert pit.known_m(places).tolist() == [0.2, pytest.approx(np.nan, nan_ok=True)]
    terrain = Terrain(pit, np.array([[0.0, 0.0, 0.2]]), np.zeros(1), 1.6)
    assert terrain.height_m(0, places)[0] == 0.0
    assert FLAT.known_m(places).tolist() == [0.0, 0.0]


@pytest.fixture(scope="module")
def turning(tmp_path_factory):
    """Write a clip with small steps on the spot and quick ones of a trot; its plan, and its BVH."""
    folder = tmp_path_factory.mktemp("turning")
    file = folder / "pig.toml"
    file.write_text(STEPS_OF_ALL_KINDS, encoding="utf-8")
    made, clip = made_of(file), folder / "pig.bvh"
    clip.write_bytes(bvh.encode(made.clip, FileSpace()))
    rate_hz = made.clip.frame_rate_hz
    (folder / "pig.path.csv").write_bytes(path_curve.encode(*made.root_motion(), FileSpace(), rate_hz))
    return plan_of(made), clip


@pytest.mark.thorough
def test_a_clip_of_a_shot_shows_every_step_of_its_turns_and_paces(turning):
    plan, clip = turning
    _has_the_landings_of(plan, shot_from_bvh(clip, way_beside(clip)))


def test_who_goes_ahead_after_a_wide_turn_goes_ahead(turning, capsys):
    plan, clip = turning
    run(["check", str(clip)])
    speed = float(re.search(r" (\S+) m/s\n", capsys.readouterr().out)[1])
    seconds = (plan.clip.frames - 1) / plan.clip.frame_rate_hz
    assert speed == pytest.approx(plan.terrain.ahead_m / seconds, rel=0.05)


def test_lines_of_equal_height_of_a_clip_are_drawn_beside_its_way_alone():
    """What is known of its ground is how high it is under the way; in the middle of a bend nothing is."""
    turned = np.linspace(0.0, np.pi, 200)
    place = 9.0 * np.stack([np.sin(turned), 1.0 - np.cos(turned), 0.1 * turned], axis=1)
    way = Way(place, turned)
    ground = ground_near(way, ground_along(way), 1.2)
    assert ground.known_m(place[:, :2]) == pytest.approx(place[:, 2], abs=1e-9)
    assert np.isnan(ground.known_m(np.array([0.0, 9.0])))
    lines = [line for _, each in height_lines(ground, np.full(2, -3.0), np.full(2, 21.0)) for line in each]
    assert len(lines) >= 5
    middle = np.array([0.0, 9.0])
    away = np.abs(np.linalg.norm(np.concatenate(lines) - middle, axis=1) - 9.0)
    assert away.max() < 2.5


def test_what_is_left_of_a_sum_of_heights_is_written_as_none():
    assert [f"{_greatest(value):g}" for value in (5.6e-11, 2.1004, 4.387, 0.034)] == [
        "0",
        "2.1",
        "4.4",
        "0.03",
    ]


@pytest.mark.thorough
def test_a_shot_is_read_back_from_its_clip_and_its_way(plan, lane, tmp_path):
    """Contacts found in the file are those that the shot was laid out with, to a frame and 3 cm."""
    assert run(["shot", str(lane), "--out", str(tmp_path), "--unit", "m", "--up", "z"]) == 0
    clip = tmp_path / "lane.bvh"
    found = shot_from_bvh(clip, way_beside(clip))
    assert found.way_m == pytest.approx(plan.way_m, abs=1e-5)
    assert found.terrain.heading_rad == pytest.approx(plan.terrain.heading_rad, abs=1e-6)
    assert found.still.root_path_m == pytest.approx(plan.still.root_path_m, abs=1e-4)
    _has_the_landings_of(plan, found)
    assert [each.what[:4] for each in found.stretches] == ["goes"]


def _has_the_landings_of(plan, found):
    """Assert that the steps of a plan are found: to a frame and 3 cm, all of each foot but one at most."""
    rate = plan.clip.frame_rate_hz
    for limb in range(4):
        asked, got = _landings(plan, limb, rate), _landings(found, limb, rate)
        for frame, place in got.items():
            near = min(asked, key=lambda each: abs(each - frame))
            assert abs(near - frame) <= 1
            assert place == pytest.approx(asked[near], abs=0.03)
        assert len(got) >= len(asked) - 1


def _landings(plan, limb, rate):
    """Frame, from 0, to place of the contacts of one foot inside a shot."""
    steps, last = plan.clip.steps, plan.clip.frames - 1
    frames = np.rint(steps.touchdown_s * rate).astype(int)
    mine = (steps.limb == limb) & (frames > 0) & (frames < last - 1)
    return {int(frames[k]): steps.place_m[k].tolist() for k in np.flatnonzero(mine)}


def test_sheet_and_report_tell_the_same_way(made, plan):
    assert plan.terrain.ahead_m == pytest.approx(shot_report(made).distance_m, abs=0.01)


@pytest.mark.sample(4)
@pytest.mark.parametrize(
    ("way", "words"),
    [
        ("frame,time_s\n1,0\n", "is no way of a shot; it wants the columns path.Xposition"),
        (
            "path.Xposition,path.Yposition,path.Zposition,path.heading\n0,0,0,0\n",
            "has 1 rows and lane.bvh",
        ),
        ("path.Xposition,path.Yposition,path.Zposition,path.heading\n0,x,0,0\n", "and numbers in them"),
        ("path.Xposition,path.Yposition,path.Zposition,path.heading\n0,inf,0,0\n", "that are not finite"),
    ],
)
def test_a_way_that_is_none_is_one_line(made, tmp_path, capsys, way, words):
    (tmp_path / "lane.bvh").write_bytes(bvh.encode(made.clip, FileSpace()))
    (tmp_path / "lane.path.csv").write_text(way, encoding="utf-8")
    capsys.readouterr()
    assert run(["sheet", str(tmp_path / "lane.bvh"), "--out", str(tmp_path / "s.pdf")]) == 2
    error = capsys.readouterr().err
    assert words in error
    assert error.count("\n") == 1
    assert not (tmp_path / "s.pdf").exists()


def test_words_are_chosen_far_enough_apart():
    assert distant([0.0, 1.0, 2.5, 4.0, 4.5], 2.0) == [0, 2, 4]


def test_a_shot_file_is_told_from_a_gait_file(lane, tmp_path):
    gait = tmp_path / "own.toml"
    gait.write_text('name = "own"\nsays = "[[passage]] in a text"\n', encoding="utf-8")
    assert is_shot_file(str(lane))
    assert not is_shot_file(str(gait))
    assert not is_shot_file("walk")
    assert not is_shot_file(str(tmp_path / "none.toml"))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("plot",), "is a shot, and this shows one stride; give a gait, or draw the shot with gaitgen sheet"),
        (("sheet", "--frames", "20"), "is a shot and says itself how it goes; leave out --frames"),
    ],
)
def test_what_a_shot_does_not_take_is_refused_in_one_line(lane, tmp_path, capsys, monkeypatch, words, said):
    monkeypatch.chdir(tmp_path)
    assert run([words[0], str(lane), *words[1:]]) == 2
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1
    assert not list(tmp_path.iterdir())


def test_a_shot_called_as_its_animal_is_titled_once(plan):
    shown = plan.clip.animal.title
    assert _title(plan, shown.lower()) == shown
    assert _title(plan, "lane") == f"{shown}, lane"


def test_lines_of_height_leave_no_crumbs_where_ground_is_level_at_one_of_them():
    """A picture of eight bits: level, but for rounded heights, and a hill; every line goes round the hill."""
    at = 0.05 * np.arange(121) - 3.0
    hill = np.maximum(0.0, 1.0 - (at[:, None] ** 2 + at[None, :] ** 2) / 4.0) / 2.0
    rows = np.where(hill > 0.0, hill, 1e-4 * (np.random.default_rng(1).integers(0, 2, hill.shape) - 0.5))
    found = height_lines(height_map(rows, 0.05, (-3.0, -3.0), "hill.png"), np.full(2, -2.9), np.full(2, 2.9))
    assert found[0][0] == 0.0
    assert [len(lines) for _, lines in found] == [1] * len(found)


def test_a_fence_is_on_the_plan_with_its_height_and_no_line_of_its_ground_is_said_to_be_level():
    """It was a line of 0 m, or fell between the points that ground is looked at."""
    canter = Passage(cycle=Request(gait="canter", animal="dog"), strides=7)
    made = make_shot(shot_of(ShotRequest((canter,), jumps=(Obstacle(9.0, 0.19, 0.1),))))
    plan = plan_of(made)
    (fence,) = plan.fences
    np.testing.assert_allclose(fence.corners_m.mean(axis=0), made.path.at(np.array(9.0))[0], atol=1e-9)
    assert np.ptp(fence.corners_m, axis=0)[0] == pytest.approx(0.1)
    assert height_lines(plan.ground, np.zeros(2), np.full(2, 9.0)) == []
    page = paper_page("a4")
    draw_plan(page, plan, (15.0, 100.0, 180.0, 70.0))
    words = [text.get_text() for text in page.axes.texts]
    assert "0.19 m high" in words
    assert "0 m" not in words


@pytest.mark.sample(1)
@pytest.mark.parametrize("share", [0.07, 0.11])
def test_crosses_of_marks_and_the_bar_of_the_scale_are_free_of_words(share, tmp_path):
    """A frame stood under a cross, and the height of a line of the ground in the words of the scale."""
    path = tmp_path / "hill.toml"
    path.write_text(
        'animal = "pony"\n[[passage]]\ngait = "walk"\nstrides = 3\n[[passage]]\nhalt = 24\n'
        '[[passage]]\ngait = "walk"\nstrides = 3\n[[mark]]\nat = [4.3, 0.3]\nhalt = true\n'
        '[[mark]]\nfoot = "RH"\nat = [6.6, -0.2]\nframe = 190\n'
        f"[path]\npoints = [[0, 0], [12, 0]]\n[ground]\nslope = {100.0 * share}\n",
        encoding="utf-8",
    )
    asked = read_shot(path)
    shot = plan_of(make_shot(shot_of(asked)), asked.marks)
    page, place = paper_page("a4"), (9.0, 100.0, 192.0, 80.0)
    view = draw_plan(page, shot, place)
    boxes = boxes_of(page, lambda text: text.get_text())
    crosses = [view.on_page(np.array(mark.place_m)) for mark in shot.marks]
    assert len(crosses) == 2
    for cross in crosses:
        assert not [name for name, box in boxes if overlap(box, np.stack([cross - 1.6, cross + 1.6]))]
    scale = [box for name, box in boxes if name in {"1 m", "2 m"}]
    assert len(scale) == 1
    heights = [(name, box) for name, box in boxes if name.startswith("+")]
    assert len(heights) > 3
    assert not [name for name, box in heights if overlap(box, scale[0])]
    bar = bar_box(view, place)
    assert not [name for name, box in boxes if name not in {"1 m", "2 m"} and overlap(box, bar)]
    for name in [name for name, _ in boxes if name.isdigit()][1:4]:  # where a frame would be written
        at = dict(boxes)[name].mean(axis=0)
        x, y = (at - [view.left, view.bottom]) / view.scale
        other = paper_page("a4")
        again = draw_plan(other, replace(shot, marks=(*shot.marks, Spot((x, y), "here"))), place)
        cross = again.on_page(np.array([x, y]))
        found = boxes_of(other, lambda text: text.get_text())
        assert not [word for word, box in found if overlap(box, np.stack([cross - 1.6, cross + 1.6]))]


@pytest.mark.parametrize(("stride_mm", "least_mm"), [(2.0, 1.5), (4.0, 2.0), (9.0, 2.2)])
def test_prints_are_as_large_as_their_strides_leave_room_for(stride_mm, least_mm):
    """Half of the way from one print of a foot to its next, from 1.5 to 2.2 mm."""
    from types import SimpleNamespace

    from gaitgen.pictures.print_size import least_print_mm

    limb = np.tile(np.arange(4), 5)
    place = np.stack([np.repeat(np.arange(5.0), 4), np.zeros(20), np.zeros(20)], axis=1)
    clip = SimpleNamespace(steps=SimpleNamespace(limb=limb, place_m=place))
    shot = SimpleNamespace(clip=clip, prints=list(range(20)))
    assert least_print_mm(shot, stride_mm) == pytest.approx(least_mm)
