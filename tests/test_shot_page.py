"""The page of a shot: its data are the shot, its path goes there and back, and a browser drags it."""

import io
import json
import math

import numpy as np
import pytest
import shapely
from browser import chromium
from lane import LANE, made_of, write_lane
from pages import unpacked

from gaitgen.commands import run
from gaitgen.course.path import Path as Way
from gaitgen.errors import RequestError
from gaitgen.motion.measure import measure_feet
from gaitgen.page.path_points import PathPoints, points_from, points_of_pieces, with_path
from gaitgen.page.shot_data import shot_data
from gaitgen.page.shot_desk import ShotDesk, along, path_points, read_text
from gaitgen.shot.asked import Mark
from gaitgen.shot.make import make_shot
from gaitgen.shot.request import shot_of
from gaitgen.shot.shot_file import read_shot
from gaitgen.shot.way import through

SHIFT = 8
needs_browser = pytest.mark.skipif(chromium() is None, reason="no chromium is installed")


@pytest.fixture(scope="module")
def lane(tmp_path_factory):
    return write_lane(tmp_path_factory.mktemp("shots"))


@pytest.fixture(scope="module")
def made(lane):
    return made_of(lane)


@pytest.fixture(scope="module")
def data(made):
    return shot_data(made, "lane", ((0.0, 0.0), (5.0, 0.0)))


def test_feet_of_the_page_are_in_the_world_where_the_shot_has_them(made, data):
    """Planted soles, taken back from the frame that goes along, are at the places of their steps."""
    corners = unpacked(data["foot_corners"]).reshape(-1, 4, 8, 3)[:, :, :4] * data["unit_m"]
    x, y, z, heading = np.array(data["way"]).T
    turn = np.stack([np.cos(heading), -np.sin(heading), np.sin(heading), np.cos(heading)], -1).reshape(
        -1, 2, 2
    )
    there = np.einsum("fij,flcj->flci", turn, corners[..., :2]) + np.stack([x, y], -1)[:, None, None]
    planted = measure_feet(made.clip).planted
    for limb, first, last, flat, height in data["prints"]:
        outline = np.array(flat).reshape(-1, 2)
        row = round((max(first, 1.0) + min(last, data["frames"] + 1.0)) / 2.0) - 1
        if not planted[row, limb]:
            continue
        assert np.linalg.norm(there[row, limb].mean(axis=0) - outline.mean(axis=0)) < 0.04
        assert (corners[row, limb, :, 2] + z[row]).mean() == pytest.approx(height, abs=0.03)


def test_the_ground_along_the_way_is_the_ground(data):
    ribbon = unpacked(data["ribbon"]).reshape(-1, 5, 3) * data["unit_m"]
    assert ribbon[..., 2] == pytest.approx(0.08 * ribbon[..., 0], abs=2e-4)
    way = np.array(data["way"])[:, :2]
    away = np.linalg.norm(ribbon[None, :, 2, :2] - way[:, None], axis=-1).min(axis=1)
    assert away.max() < 0.12  # the path runs along its middle
    stations = np.linalg.norm(np.diff(ribbon[:, 2, :2], axis=0), axis=1)
    assert stations == pytest.approx(data["ribbon_station_m"], rel=0.01)


def test_the_plan_says_what_happens(data):
    assert [what for _, _, what in data["stretches"]] == ["walk", "walk to trot", "trot"]
    assert data["stretches"][-1][1] == data["frames"] + 1
    assert [label for label, _ in data["heights"]][:1] != []
    label, lines = data["heights"][0]
    xs = np.array(lines[0]).reshape(-1, 2)[:, 0]
    assert 0.08 * xs == pytest.approx(float(label.removesuffix(" m")), abs=0.01)


LEGS = [
    ((3.0, 0.0), (7.0 * math.radians(50.0), -1.0 / 7.0)),
    ((2.0, 0.0), (6.0 * math.pi, 1.0 / 6.0), (4.0, 0.0)),  # right round to where it came from
    ((6.0 * math.radians(40.0), 1.0 / 6.0), (5.0, 0.0), (6.0 * math.radians(90.0), -1.0 / 6.0)),
    (),
]


@pytest.mark.parametrize("legs", LEGS)
def test_points_of_a_path_lead_along_the_same_path(legs):
    """Corners of the turns, taken as points, give the way again that they are of."""
    path = points_of_pieces(legs, (1.0, -2.0), 0.3, 30.0)
    pieces, heading = through(list(path.points), path.radius_m)
    distances = np.linspace(0.0, 25.0, 60)
    before = Way((1.0, -2.0), 0.3, (*legs, (math.inf, 0.0))).at(distances)[0]
    after = Way(path.points[0], heading, (*pieces, (math.inf, 0.0))).at(distances)[0]
    assert np.abs(before - after).max() < 0.02


def test_points_of_a_file_are_its_points():
    points = [(0.0, 0.0), (8.0, 0.0), (12.0, 6.0), (20.0, 6.0)]
    pieces, heading = through(points, 5.0)
    found = points_of_pieces(tuple(pieces), points[0], heading, 15.0)
    assert np.array(found.points) == pytest.approx(np.array(points), abs=2e-3)


def test_a_curve_has_few_points_that_it_goes_by():
    """A path of many short pieces, as of a file of points, is dragged by some of its points."""
    bends = 0.12 * np.sin(np.linspace(0.0, 2.0 * np.pi, 200))
    pieces = tuple((0.15, float(bend)) for bend in bends)
    path = points_of_pieces(pieces, (0.0, 0.0), 0.0, 20.0)
    assert 3 <= len(path.points) <= 24
    line = shapely.linestrings(path.points)
    way = Way((0.0, 0.0), 0.0, (*pieces, (math.inf, 0.0))).at(np.linspace(0.0, 29.0, 80))[0]
    assert shapely.distance(line, shapely.points(way)).max() < 0.3


def test_marks_are_on_the_plan_of_the_page(made):
    marks = (Mark((3.0, 0.5), frame=40), Mark((5.0, -1.0), foot=1), Mark((6.0, -2.0), halts=True))
    found = shot_data(made, "lane", marks=marks)["spots"]
    assert found == [[3.0, 0.5, "here at 40"], [5.0, -1.0, "RF"], [6.0, -2.0, "halt"]]


def test_a_path_is_put_into_the_text_and_all_else_stays():
    path = PathPoints(((0.0, 0.0), (8.25, -1.0), (12.0, -6.5)), 5.0)
    made = with_path(LANE, path, "lane.toml")
    kept = [line for line in LANE.splitlines() if not line.startswith(("[path]", "legs"))]
    assert [line for line in made.splitlines() if line in kept] == kept
    assert "slope = 8  # per cent" in made
    assert with_path(made, path, "lane.toml") == made
    plain = LANE[: LANE.index("[path]")]
    assert "[8.25, -1]," in with_path(plain, path, "lane.toml")


def test_a_path_that_cannot_be_replaced_is_refused():
    inline = "path = { points = [[0, 0], [9, 0]] }\n" + LANE[: LANE.index("[path]")]
    with pytest.raises(RequestError, match="its path cannot be replaced; write it as a table"):
        with_path(inline, PathPoints(((0.0, 0.0), (9.0, 1.0)), 5.0), "lane.toml")
    deep = LANE + "\n[x]\n" + "a." * 90 + "a = 1\n"
    with pytest.raises(RequestError, match=r"lane\.toml: its path cannot be replaced"):
        with_path(deep, PathPoints(((0.0, 0.0), (9.0, 1.0)), 5.0), "lane.toml")


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"points": "0,0;x,1"}, "no numbers"),
        ({"points": "0,0"}, "the path has 1 points; give 2 to 60"),
        ({"points": "0,0;1"}, "of two numbers each"),
        ({"points": "0,0;nan,1"}, "of two numbers each"),
        ({"points": "0,0;9,0", "radius": "0"}, "a radius from 0.1 m"),
        ({"nod": "2"}, "unknown control 'nod'"),
    ],
)
def test_a_path_that_is_none_is_one_line(values, words):
    with pytest.raises(RequestError, match=words):
        points_from(values)


@pytest.fixture
def desk(tmp_path, made):
    file = write_lane(tmp_path)
    return ShotDesk(file, read_shot(file), made, lambda asked: make_shot(shot_of(asked)), read_text(file))


@pytest.mark.thorough
def test_a_dragged_path_makes_the_shot_anew_and_is_written_beside_the_file(desk):
    """What the page writes, read by `gaitgen shot`, is the shot that the page showed."""
    values = {"points": "0,0;6,1;12,6", "radius": "8"}
    shown = json.loads(desk.clip("points=0,0;6,1;12,6&radius=8"))
    heading = np.array(shown["way"])[:, 3]
    assert heading[0] == pytest.approx(math.atan2(1.0, 6.0), abs=0.02)
    answer = json.loads(desk.write(json.dumps({"values": values}).encode()))
    assert desk.file.read_text(encoding="utf-8") == LANE  # what somebody wrote is kept
    beside = desk.file.with_name("lane.2.toml")
    assert answer["files"] == [str(beside)]
    assert "is not as gaitgen wrote it, so it is kept" in answer["said"][0]
    again = shot_data(make_shot(shot_of(read_shot(beside))), "lane")
    assert np.array(again["way"]) == pytest.approx(np.array(shown["way"]), abs=2e-3)
    answer = json.loads(desk.write(json.dumps({"values": {}}).encode()))
    assert answer["fates"] == ["replaced"]
    assert answer["files"] == [str(beside)]


def test_a_path_that_no_legs_can_take_is_refused_and_writes_nothing(desk):
    with pytest.raises(RequestError, match="turns right back at point 2"):
        desk.write(json.dumps({"values": {"points": "0,0;6,0;0,0.1"}}).encode())
    with pytest.raises(RequestError, match="not of this page"):
        desk.write(b'{"values": {"points": 3}}')
    desk.file.write_text(f"{LANE}\n# mine", encoding="utf-8")
    with pytest.raises(RequestError, match="has been changed since it was read"):
        desk.write(b'{"values": {}}')
    assert [file.name for file in desk.file.parent.iterdir()] == ["lane.toml"]


def test_the_request_along_another_path_is_that_of_the_file_else(desk):
    asked = along(desk.request, PathPoints(((1.0, 1.0), (9.0, 1.0)), 6.0))
    assert asked.passages == desk.request.passages
    assert asked.ground == desk.request.ground
    assert (asked.start_m, asked.heading_rad) == ((1.0, 1.0), 0.0)
    assert path_points(desk.request, desk.made).radius_m == 7.0


# In a browser


@pytest.fixture(scope="module")
def written(lane):
    file = lane.with_suffix(".html")
    assert run(["preview", str(lane), "--html", str(file)]) == 0
    return file


def pixels(png):
    """Decode a picture: (rows, columns, 3) from 0 to 1."""
    from matplotlib.image import imread

    return imread(io.BytesIO(png), format="png")[..., :3]


def go_to(browser, frame):
    browser.run(f"page.player.goTo({frame})")


@needs_browser
def test_prints_appear_where_feet_come_down(shown, made):
    """From above, what is drawn on the ground has the prints of all stances that have begun, no more."""
    shown.press("4")
    drawn = []
    for frame in (1, 40, 80):
        go_to(shown, frame)
        code = f"page.clip.prints.filter(p => p[1] <= {frame}).length"
        shown.run(
            "window.fills = 0; window.plain ||= CanvasRenderingContext2D.prototype.fill;"
            "CanvasRenderingContext2D.prototype.fill = function (...given) {"
            " const old = this.fillStyle === 'rgba(60, 50, 40, 0.45)';"
            " if (this.canvas.id === 'picture' && old) window.fills += 1;"
            " return window.plain.apply(this, given); }; page.draw()"
        )
        near = shown.run(
            f"page.clip.prints.filter(p => p[1] <= {frame} && p[2] < {frame} && Math.abs("
            f"page.belt.local({frame - 1}, p[3][0], p[3][1], p[4])[0]) <= 2.1 * page.figure.size).length"
        )
        assert shown.run("window.fills") == near
        drawn.append(shown.run(code))
    steps = made.clip.steps
    begun = [int((steps.touchdown_s * 24.0 + 1.0 <= f).sum()) for f in (1, 40, 80)]
    outside = int((steps.liftoff_s < 0.0).sum())
    assert drawn == [each - outside for each in begun]
    assert drawn[0] < drawn[1] < drawn[2]


@needs_browser
def test_the_camera_follows_and_may_hold_its_direction(shown):
    """The trunk stays in the picture to the last frame; held, the view turns as the animal does not."""
    spots = []
    for frame in (1, 60, 110):
        go_to(shown, frame)
        x, y = shown.run(
            "(() => { const c = page.view.camera(), p = project(c, page.figure.middle);"
            " return [p.x / c.middle[0], p.y / c.middle[1]]; })()"
        )
        spots.append((x, y))
        brown = pixels(shown.picture("#stage"))
        assert ((brown[..., 0] > brown[..., 2] + 0.2).mean()) > 0.05
    assert np.ptp(np.array(spots), axis=0).max() < 1e-6
    go_to(shown, 1)
    shown.press("v")
    first = shown.run("page.view.camera().towards")
    go_to(shown, 110)
    held = shown.run("page.view.camera().towards")
    turned = math.radians(shown.run("page.turnedBy()"))
    assert abs(turned) > 0.3
    cos, sin = math.cos(turned), math.sin(turned)
    assert [cos * held[0] - sin * held[1], sin * held[0] + cos * held[1]] == pytest.approx(
        first[:2], abs=1e-6
    )


@needs_browser
def test_the_plan_moves_with_the_frames_and_is_not_for_dragging_in_a_file(shown):
    assert shown.run("document.querySelectorAll('.point').length") == 0
    assert shown.run("document.getElementById('path').hidden")
    go_to(shown, 1)
    first = pixels(shown.picture("#map"))
    go_to(shown, 100)
    assert np.abs(pixels(shown.picture("#map")) - first).max() > 0.3
    shown.press("p")
    assert not shown.run("document.getElementById('map').checkVisibility()")
    shown.press("p")
    assert shown.run("document.getElementById('map').checkVisibility()")


@pytest.mark.thorough
@needs_browser
def test_a_point_that_is_dragged_takes_the_shot_along_and_is_written(browser, served, desk):
    before = browser.run("page.clip.way.at(-1)")
    x, y = browser.run(
        "(({ x, y, width, height }) => [x + width / 2, y + height / 2])"
        "(page.map.handles[1].getBoundingClientRect())"
    )
    browser.drag((x, y), (x - 20, y + 30))
    moved = browser.run("page.desk.points[1]")
    assert moved[1] < -0.3
    browser.until("document.body.dataset.state === 'shown'", 90.0)
    assert browser.run("page.clip.path_points[1]") == moved
    assert browser.run("page.clip.way.at(-1)") != before
    browser.press("w")
    browser.until("document.getElementById('path_written').textContent.includes('Write 1')")
    beside = read_shot(desk.file.with_name("lane.2.toml"))
    found = points_of_pieces(beside.pieces, beside.start_m, beside.heading_rad, 0.0).points
    assert found[1] == pytest.approx(moved, abs=0.01)
    assert desk.file.read_text(encoding="utf-8") == LANE
    browser.press("z", modifiers=2)
    browser.until("document.body.dataset.state === 'shown'", 90.0)
    assert browser.run("page.clip.way.at(-1)") == before
    assert browser.complaints() == []
    assert browser.requests()[0] == served.url


@needs_browser
@pytest.mark.usefixtures("served")
def test_points_are_moved_added_and_taken_out_by_keys(browser):
    waits = "document.body.dataset.state === 'shown'"
    count = browser.run("page.desk.points.length")
    start = browser.run("page.desk.points[0]")
    browser.press("d")
    browser.press("ArrowUp")
    browser.until(waits, 90.0)
    assert browser.run("page.desk.points[0]") == pytest.approx([start[0], start[1] + 0.1])
    browser.press("ArrowLeft", modifiers=SHIFT)
    browser.until(waits, 90.0)
    assert browser.run("page.desk.points[0]") == pytest.approx([start[0] - 1.0, start[1] + 0.1])
    browser.press("Insert")
    assert browser.run("page.desk.points.length") == count + 1
    browser.press("Delete")
    assert browser.run("page.desk.points.length") == count
    browser.press("Delete", modifiers=SHIFT)
    browser.until(waits, 90.0)
    assert browser.run("page.desk.points[0]") == start


@needs_browser
@pytest.mark.usefixtures("served")
def test_every_button_of_a_shot_has_a_key_and_a_word_in_the_help(browser):
    buttons = browser.run(
        "[...document.querySelectorAll('button')].filter(b => b.checkVisibility())"
        ".filter(b => !b.closest('#poses, #points, #feet, #no_points')).map(b => b.title)"
    )
    keys = " ".join(browser.run("[...document.querySelectorAll('#keys dt')].map(node => node.textContent)"))
    assert all(buttons)
    for title in buttons:
        words = title.split("(")[-1].removeprefix("Key ").split(",")[0]
        assert words.split(" ")[0].strip(")") in keys or "arrow" in title, title
    assert {"P", "V", "D", "U", "W", "Insert", "Delete"} <= set(keys.split(" "))


@pytest.mark.thorough
@needs_browser
@pytest.mark.parametrize(("width", "height"), [(390, 844), (800, 1100), (1400, 900)])
def test_nothing_of_a_shot_is_cut_off(browser, served, width, height):
    from test_preview_browser import INSIDE

    browser.ask(
        "Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=False
    )
    try:
        browser.open("about:blank")
        browser.open(served.url)
        browser.press("t")
        browser.run("scrollTo(0, 0); document.querySelectorAll('.panel').forEach(p => p.scrollTo(0, 0))")
        assert browser.run(INSIDE) == []
    finally:
        browser.ask("Emulation.clearDeviceMetricsOverride")
