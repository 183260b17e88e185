"""The page in a real browser: it plays, turns, and its sliders change the pose and the written file."""

import json
import re
import time
from urllib.parse import parse_qsl

import pytest
from browser import chromium
from make_apart_rigs import APART
from make_eleven_rigs import ELEVEN
from make_rigs import base
from make_rigs import text as rig_text
from pages import serving

from gaitgen import Request
from gaitgen.commands import run
from gaitgen.page.server import Desk

CTRL, SHIFT = 2, 8

pytestmark = [
    pytest.mark.skipif(chromium() is None, reason="no chromium is installed"),
    pytest.mark.usefixtures("fits_once"),
]


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    file = tmp_path_factory.mktemp("written") / "walk.html"
    assert run(["preview", "--html", str(file)]) == 0
    return file


@pytest.fixture
def desk(tmp_path):
    return Desk(Request(), tmp_path / "out")


def frame(browser):
    return int(browser.run("document.getElementById('frame').textContent"))


def text(browser, name):
    return browser.run(f"document.getElementById({json.dumps(name)}).textContent")


def box(browser, selector):
    element = f"document.querySelector('{selector}')"
    code = f"(b => [b.left, b.top, b.width, b.height])({element}.getBoundingClientRect())"
    return browser.run(code)


def drawn(browser):
    """Return the picture of the animal as it is on its canvas."""
    return browser.run("document.getElementById('picture').toDataURL()")


def pose_at(browser, key):
    browser.click(f"#poses li:nth-child({key}) button")
    return drawn(browser)


def test_pictures_differ_as_the_poses_differ(shown):
    first, third, fifth = (pose_at(shown, key) for key in (1, 3, 5))
    assert len({first, third, fifth}) == 3
    assert frame(shown) == 17
    assert text(shown, "moment") == "LH contact; down: RH RF LH"
    assert pose_at(shown, 1) == first
    assert pose_at(shown, 9) == first  # the last frame repeats the first
    assert frame(shown) == 33


def test_keys_step_and_space_plays(shown):
    pose_at(shown, 3)
    shown.press("ArrowRight")
    assert frame(shown) == 10
    shown.press("ArrowRight", modifiers=8)
    assert frame(shown) == 13
    shown.press("Home")
    shown.press("ArrowLeft")
    assert frame(shown) == 32
    shown.press("End")
    assert frame(shown) == 33
    shown.press("Home")
    shown.press(" ")
    shown.until("document.getElementById('frame').textContent !== '1'")
    assert text(shown, "play") == "Pause"
    shown.press(" ")
    still = frame(shown)
    assert shown.run(
        "new Promise(done => setTimeout(() => done(document.getElementById('frame').textContent), 200))"
    ) == str(still)


def test_a_click_on_the_bars_goes_there(shown):
    left, top, width, _ = box(shown, "#bars")
    x = left + 62 + (width - 80) * 8 / 32
    shown.mouse("mousePressed", x, top + 60, button="left", buttons=1, clickCount=1)
    shown.mouse("mouseReleased", x, top + 60, button="left", buttons=0, clickCount=1)
    assert frame(shown) == 9
    assert shown.run("document.querySelector('#poses [aria-current=true] span').textContent") == "RF contact"


def test_views_turning_ghosts_and_onion_skin_change_the_picture(shown):
    pose_at(shown, 4)
    pictures = [drawn(shown)]
    for key in "234":
        shown.press(key)
        pictures.append(drawn(shown))
    left, top, width, height = box(shown, "#picture")
    middle = (left + width / 2, top + height / 2)
    shown.drag(middle, (middle[0] + 90, middle[1] - 120))
    pictures.append(drawn(shown))
    shown.press("1")
    assert drawn(shown) == pictures[0]
    shown.press("g")
    pictures.append(drawn(shown))
    assert "Key ghosts" in text(shown, "legend")
    shown.press("g")
    shown.press("o")
    pictures.append(drawn(shown))
    shown.press("o")
    assert drawn(shown) == pictures[0]
    assert len(set(pictures)) == len(pictures)


def drag_slider(browser, name, share):
    browser.run(f"document.getElementById('control_{name}').scrollIntoView({{block: 'center'}})")
    left, top, width, height = box(browser, f"#control_{name}")
    now = float(
        browser.run(f"(i => (i.value - i.min) / (i.max - i.min))(document.getElementById('control_{name}'))")
    )
    ends = [(left + 8 + (width - 16) * at, top + height / 2) for at in (now, share)]
    browser.run("delete document.body.dataset.state")
    browser.drag(*ends)
    browser.until("document.body.dataset.state === 'shown'")
    return browser.run(f"document.getElementById('control_{name}').value")


@pytest.mark.usefixtures("served")
def test_a_slider_changes_the_pose_and_the_written_file(browser, tmp_path):
    browser.press("3")
    plain = pose_at(browser, 4)
    lift = drag_slider(browser, "lift", 0.4)
    assert float(lift) > 1.2
    assert frame(browser) == 13
    assert (
        browser.run("document.querySelector('[data-view=three_quarter]').getAttribute('aria-pressed')")
        == "true"
    )
    assert drawn(browser) != plain
    frames = drag_slider(browser, "frames", 0.1)
    assert int(frames) < 24
    assert abs((frame(browser) - 1) / int(frames) - 12 / 32) <= 1 / int(frames)
    browser.run("document.getElementById('stem').value = 'dragged'")
    browser.click("#write")
    browser.until("document.getElementById('written').textContent")
    made = {path.name: path.read_bytes() for path in (tmp_path / "out").glob("dragged*")}
    assert f"In {tmp_path / 'out'}\nNew: dragged.bvh, " in text(browser, "written")
    again = ["cycle", "walk", "--lift", lift, "--frames", frames, "--name", "dragged"]
    assert run([*again, "--out", str(tmp_path / "again")]) == 0
    assert made == {path.name: path.read_bytes() for path in (tmp_path / "again").glob("dragged*")}
    assert browser.complaints() == []


def settled(browser):
    browser.until("document.body.dataset.state === 'shown'")


def reload(browser, again=None):
    """Load the page again, in a way of its own if one is given, and wait until it shows its motion."""
    browser.run("window.isOld = true")
    again() if again else browser.ask("Page.reload")
    browser.until("!window.isOld && document.readyState === 'complete'")
    settled(browser)


def slide(browser, name, *values):
    """Move a slider over some values in one gesture, faster than any answer comes."""
    moves = ";".join(f"i.value = {value}; i.dispatchEvent(new Event('input'))" for value in values)
    browser.run(
        f"(i => {{ {moves}; i.dispatchEvent(new Event('pointerup')); }})"
        f"(document.getElementById('control_{name}'))"
    )
    settled(browser)


def value(browser, name):
    return browser.run(f"document.getElementById('control_{name}').value")


def address(browser):
    return dict(parse_qsl(browser.run("location.hash.slice(1)"), keep_blank_values=True))


def bars(browser):
    """Return contact and lift-off of each foot, as the handles on the time line have them."""
    handles = browser.run(
        "[...document.querySelectorAll('.end')].map(h => [h.getAttribute('aria-label'), "
        "Number(h.getAttribute('aria-valuenow'))])"
    )
    found = {}
    for label, at in handles:
        found.setdefault(label[:2], []).append(at)
    return found


def drag_end(browser, label, frames):
    """Drag the end of a bar by some frames."""
    left, top, width, height = box(browser, f'[aria-label="{label}"]')
    a_frame = (box(browser, "#bars")[2] - 82) / browser.run("page.clip.frames")
    start = (left + width / 2, top + height / 2)
    browser.drag(start, (start[0] + frames * a_frame, start[1]))
    settled(browser)


@pytest.mark.thorough
@pytest.mark.usefixtures("served")
def test_undo_and_redo_go_back_and_on_a_gesture_at_a_time(browser):
    plain = pose_at(browser, 4)
    slide(browser, "lift", 1.1, 1.2, 1.3)
    lifted = pose_at(browser, 4)
    slide(browser, "nod", 0.5, 1.5)
    browser.press("z", modifiers=CTRL)
    settled(browser)
    assert (value(browser, "lift"), value(browser, "nod")) == ("1.3", "1")
    assert drawn(browser) == lifted
    browser.press("z", modifiers=CTRL)  # one gesture of three values is one step
    settled(browser)
    assert value(browser, "lift") == "1"
    assert drawn(browser) == plain
    assert browser.run("document.getElementById('undo').disabled")
    browser.press("Z", modifiers=CTRL | SHIFT)
    settled(browser)
    assert value(browser, "lift") == "1.3"
    browser.click("#redo")
    settled(browser)
    assert value(browser, "nod") == "1.5"
    assert browser.run("document.getElementById('redo').disabled")
    browser.click("#reset")
    settled(browser)
    assert drawn(browser) == plain
    browser.click("#undo")
    settled(browser)
    assert (value(browser, "lift"), value(browser, "nod")) == ("1.3", "1.5")
    slide(browser, "lift", 1.5, 1.3)  # back to where it began is no step
    browser.click("#undo")
    settled(browser)
    assert value(browser, "nod") == "1"


@pytest.mark.usefixtures("served")
def test_a_choice_that_a_gait_does_not_have_says_none(browser):
    chosen = "document.getElementById('control_lead').selectedOptions[0].textContent"
    assert browser.run(chosen) == "none"
    browser.run(
        "(i => { i.value = 'canter'; i.dispatchEvent(new Event('input')); })"
        "(document.getElementById('control_gait'))"
    )
    browser.until(f"{chosen} === 'left'")
    poses = "document.querySelectorAll('#poses button').length"
    assert browser.run(poses) < 9  # of a walk; there are fewer poses in a canter of fewer frames
    assert text(browser, "title") == "Riding horse, canter"
    assert browser.complaints() == []


@pytest.mark.thorough
@pytest.mark.usefixtures("served")
def test_every_gait_is_shown_from_every_side(browser):
    """Backwards, on the spot, and with fewer or more key poses and frames than the one before."""
    for key in "got":
        browser.press(key)
    for gait in ("back", "walk", "gallop", "piaffe", "canter", "back", "pronk"):
        browser.run(f"page.desk.set('gait', '{gait}', null)")
        settled(browser)
        for view in "1234":
            browser.press(view)
        assert text(browser, "title") == f"Riding horse, {gait}"
        assert browser.run("document.getElementById('trouble').hidden")
        assert browser.complaints() == []


@pytest.mark.usefixtures("served")
def test_a_slider_is_moved_and_set_back_by_keys(browser):
    browser.press("s")
    browser.run("document.getElementById('control_lift').focus()")
    for _ in range(3):
        browser.press("ArrowRight")
    settled(browser)
    assert float(value(browser, "lift")) > 1.0
    assert frame(browser) == 1  # the slider has the arrows, not the frame
    browser.press("Delete")
    settled(browser)
    assert value(browser, "lift") == "1"
    browser.press("Escape")
    browser.press("ArrowRight")
    assert frame(browser) == 2


@pytest.mark.thorough
def test_a_reload_and_going_back_keep_the_sliders(browser, served):
    slide(browser, "lift", 1.3)
    slide(browser, "frames", 24)
    drag_end(browser, "RF contact", 1)
    browser.press("Escape")  # the end of the bar has the arrows
    browser.press("3")
    browser.press("t")
    browser.press("ArrowRight")
    browser.press("a")
    browser.until("location.hash.includes('page.loop')")
    kept = address(browser)
    moved = bars(browser)
    for away in (lambda: browser.ask("Page.reload"), lambda: leave_and_go_back(browser)):
        reload(browser, away)
        assert value(browser, "lift") == "1.3"
        assert bars(browser) == moved
        assert browser.run("document.getElementById('trails').getAttribute('aria-pressed')") == "true"
        assert text(browser, "looped") == "plays 2 to 25"
        assert address(browser) == kept
    for _ in range(3):
        browser.press("z", modifiers=CTRL)
    settled(browser)
    assert value(browser, "lift") == "1"  # what was undone is remembered too
    browser.until("new URLSearchParams(location.hash.slice(1)).get('own') === ''")
    assert address(browser)["own"] == ""
    assert browser.complaints() == []
    browser.open("about:blank")
    browser.open(f"{served.url}#frames=20&elsewhere=1")
    settled(browser)
    assert "20 frames" in text(browser, "subtitle")
    browser.run("location.hash = '#frames=24&page.view=front&page.loop=3-9/24'")
    browser.until("document.getElementById('subtitle').textContent.includes('24 frames')")
    assert text(browser, "looped") == "plays 3 to 9"
    assert browser.run("document.querySelector('[data-view=front]').getAttribute('aria-pressed')") == "true"


@pytest.mark.usefixtures("served")
def test_a_reload_at_once_keeps_the_last_change_too(browser):
    """The address is written a moment later, and a reload begins with what it had."""
    slide(browser, "lift", 1.1, 1.3)
    slide(browser, "nod", 1.4)
    reload(browser)
    assert (value(browser, "lift"), value(browser, "nod")) == ("1.3", "1.4")
    browser.press("z", modifiers=CTRL)
    settled(browser)
    assert (value(browser, "lift"), value(browser, "nod")) == ("1.3", "1")
    assert browser.complaints() == []


def leave_and_go_back(browser):
    browser.open("about:blank")
    browser.run("history.back()")
    browser.until("location.href !== 'about:blank'")


@pytest.mark.thorough
def test_an_end_of_a_bar_that_is_dragged_takes_the_walk_along(browser, tmp_path, served):
    own = bars(browser)
    assert own == {"RH": [1, 22], "RF": [9, 30], "LH": [17, 6], "LF": [25, 14]}
    plain = pose_at(browser, 3)
    drag_end(browser, "RF contact", 2)
    assert bars(browser) == {**own, "RF": [11, 30]}
    assert drawn(browser) != plain
    assert browser.run("page.clip.feet.find(foot => foot.foot === 'RF').contact_frame") == 11
    assert browser.run("page.clip.key_poses.some(pose => pose.frame === 11 && pose.name === 'RF contact')")
    assert text(browser, "contacts_said") == "Contacts moved by hand"
    assert browser.run("document.getElementById('control_lag').disabled")
    drag_end(browser, "LH lift-off", 1)  # of a stance that goes on into the next stride
    drag_end(browser, "RH contact", -1)  # and one that comes to do so
    moved = {**own, "RF": [11, 30], "LH": [17, 7], "RH": [32, 22]}
    assert bars(browser) == moved
    browser.run("document.getElementById('stem').value = 'moved'")
    browser.click("#write")
    browser.until("document.getElementById('written').textContent")
    settled(browser)
    contacts = "RH 32-54, RF 11-30, LH 17-39, LF 25-46"
    again = ["cycle", "walk", "--contacts", contacts, "--name", "moved", "--out", str(tmp_path / "again")]
    assert run(again) == 0
    made = {path.name: path.read_bytes() for path in (tmp_path / "out").glob("moved*")}
    assert made == {path.name: path.read_bytes() for path in (tmp_path / "again").glob("moved*")}
    slide(browser, "frames", 64)
    assert bars(browser)["RF"] == [21, 59]
    slide(browser, "frames", 32)
    assert bars(browser) == moved
    for _ in range(3):
        browser.press("z", modifiers=CTRL)
        settled(browser)
    assert bars(browser) == {**own, "RF": [11, 30], "LH": [17, 7]}
    left, top, width, height = box(browser, '[aria-label="LF contact"]')
    for count in (1, 2):
        for kind in ("mousePressed", "mouseReleased"):
            at = (left + width / 2, top + height / 2)
            browser.mouse(kind, *at, button="left", buttons=1, clickCount=count)
    settled(browser)
    assert bars(browser) == own
    assert text(browser, "contacts_said") == "Contacts of the gait"
    assert drawn(browser) == plain
    assert not browser.run("document.getElementById('control_lag').disabled")
    assert browser.complaints() == []
    assert served.desk.request.contacts is None


@pytest.mark.usefixtures("served")
def test_an_end_of_a_bar_is_moved_by_keys(browser):
    own = bars(browser)
    browser.press("c")
    assert browser.run("document.activeElement.getAttribute('aria-label')") == "RH contact"
    browser.press("ArrowRight")
    settled(browser)
    assert bars(browser)["RH"] == [2, 22]
    assert frame(browser) == 1
    browser.press("ArrowLeft")
    settled(browser)
    assert bars(browser) == own
    for _ in range(2):  # round the loop, in the same row
        browser.press("ArrowLeft")
        settled(browser)
    assert bars(browser) == {**own, "RH": [31, 22]}
    assert next(iter(bars(browser))) == "RH"
    browser.press("c", modifiers=SHIFT)
    settled(browser)
    assert bars(browser) == own
    assert text(browser, "contacts_said") == "Contacts of the gait"


@pytest.mark.thorough
def test_one_request_is_under_way_and_the_last_change_wins(browser, served, monkeypatch):
    asked, at_once, most = [], [], []
    answer = Desk.clip

    def slow(desk, query):
        asked.append(query)
        at_once.append(query)
        most.append(len(at_once))
        time.sleep(0.4)
        at_once.remove(query)
        return answer(desk, query)

    monkeypatch.setattr(Desk, "clip", slow)
    slide(browser, "lift", *[round(1 + step / 20, 2) for step in range(1, 9)])
    assert max(most) == 1
    assert asked == ["lift=1.05", "lift=1.4"]
    browser.run("[1.5, 1.6].forEach(v => page.desk.set('lift', String(v), null)); page.desk.write()")
    browser.run("page.desk.set('lift', '1.7', null)")
    settled(browser)
    assert asked[2:] == ["lift=1.5", "lift=1.7"]
    assert max(most) == 1
    assert value(browser, "lift") == "1.7"
    files = list((served.desk.out).glob("*.bvh"))
    again = ["cycle", "walk", "--lift", "1.6", "--out", str(served.desk.out / "again")]
    assert run(again) == 0  # what was written is what was there when the button was pressed
    assert [file.read_bytes() for file in files] == [
        (served.desk.out / "again" / file.name).read_bytes() for file in files
    ]


def test_a_server_that_is_gone_is_said(browser, served):
    served.shutdown()
    served.server_close()
    for step in range(8):  # connections that the browser had opened before are answered yet
        browser.run(f"page.desk.set('lift', '{1.1 + step / 20:.2f}', null)")
        settled(browser)
        if text(browser, "trouble"):
            break
    assert text(browser, "trouble") == "gaitgen does not answer; is it still running?"


@pytest.mark.usefixtures("served")
def test_a_second_write_says_what_it_did_on_the_page(browser, tmp_path):
    names = "riding_horse_walk_32.bvh, riding_horse_walk_32.channels.csv, riding_horse_walk_32.keys.csv"
    for count, words in enumerate(("New", "There already, unchanged"), start=1):
        browser.press("w")
        browser.until(f"document.getElementById('written').textContent.startsWith('Write {count}')")
        assert text(browser, "written") == f"Write {count}\nIn {tmp_path / 'out'}\n{words}: {names}"
    slide(browser, "lift", 1.2)
    browser.press("w")
    browser.until("document.getElementById('written').textContent.startsWith('Write 3')")
    assert f"New: {names.replace('32', '32_lift_1p2')}" in text(browser, "written")
    (tmp_path / "out" / "riding_horse_walk_32_lift_1p2.bvh").write_text("by hand")
    browser.press("w")
    browser.until("document.getElementById('written').textContent.startsWith('Write 4')")
    assert "New: riding_horse_walk_32_lift_1p2.2.bvh, " in text(browser, "written")
    assert "so it is kept" in text(browser, "written")


def test_trails_are_drawn_through_the_chosen_points(shown):
    plain = pose_at(shown, 2)
    shown.press("t")
    feet = drawn(shown)
    assert feet != plain
    chosen = "[...document.querySelectorAll('#points input:checked')].map(box => box.value)"
    assert shown.run(chosen) == ["LF", "RF", "LH", "RH"]
    shown.click("#points input[value=withers]")
    assert drawn(shown) != feet
    # Where the trail says the withers are, the picture has the mark of the point.
    colour = shown.run(
        "(() => { const camera = page.view.camera();"
        " const row = page.clip.points.findIndex(point => point[0] === 'withers');"
        " const at = page.trails.path(row, camera)[page.player.frame - 1];"
        " return [...document.getElementById('picture').getContext('2d')"
        ".getImageData(Math.round(at.x * camera.dots), Math.round(at.y * camera.dots), 1, 1).data]; })()"
    )
    assert colour == [0xB2, 0x46, 0x1B, 255]
    shown.click("#points input[value=withers]")
    assert drawn(shown) == feet
    shown.click("#no_points")
    assert drawn(shown) == plain
    shown.click("#points input[value=poll]")
    assert shown.run("document.getElementById('trails').getAttribute('aria-pressed')") == "true"
    shown.press("t")
    assert drawn(shown) == plain
    shown.press("t", modifiers=SHIFT)
    assert shown.run("document.activeElement.value") == "LF"


def test_only_the_frames_of_the_loop_are_played(shown):
    seen = (  # until it has begun again and all six have been drawn, however long a busy machine takes
        "new Promise(done => { const seen = new Set(), draw = page.player.onFrame; let last = 0, again;"
        " const end = () => { page.player.onFrame = draw; done([...seen].sort((a, b) => a - b)); };"
        " page.player.onFrame = () => { draw(); again ||= page.player.frame < last; last = page.player.frame;"
        " seen.add(last); if (again && seen.size >= 6) end(); }; setTimeout(end, 30000); })"
    )
    pose_at(shown, 3)
    shown.press("a")
    for _ in range(5):
        shown.press("ArrowRight")
    shown.press("b")
    assert text(shown, "looped") == "plays 9 to 14"
    shown.press("Home")
    shown.press("q")  # at a quarter of the speed, so that a busy machine draws every frame
    shown.press(" ")
    assert shown.run(seen) == [9, 10, 11, 12, 13, 14]
    shown.press(" ")
    left, top, *_ = box(shown, ".loop.to")
    a_frame = (box(shown, "#bars")[2] - 82) / 32
    shown.drag((left + 9, top + 8), (left + 9 + 10 * a_frame, top + 8))
    assert text(shown, "looped") == "plays 9 to 24"
    shown.press("ArrowLeft")  # the end that was dragged has the focus
    assert text(shown, "looped") == "plays 9 to 23"
    shown.run("document.querySelector('.loop.from').focus()")
    for _ in range(20):
        shown.press("ArrowRight")
    assert text(shown, "looped") == "plays 22 to 23"  # an end stops beside the other
    shown.press("l")
    assert text(shown, "looped") == "plays all"
    shown.press("Escape")
    pose_at(shown, 9)
    shown.press("a")  # nothing is left to play from the last frame
    assert text(shown, "looped") == "plays 32 to 33"
    shown.click("#loop_all")
    assert text(shown, "looped") == "plays all"


def test_the_picture_is_zoomed_shifted_and_turned_by_keys(shown):
    pose_at(shown, 4)
    plain = drawn(shown)
    for there, back in (("+", "-"), ("r", "R"), ("e", "E")):
        shown.press(there)
        assert drawn(shown) != plain
        shown.press(back, modifiers=SHIFT if back.isupper() else 0)
        shown.press("1" if there != "+" else back)
        shown.press("f")
        assert drawn(shown) == plain
    shown.press("ArrowUp", modifiers=CTRL)
    assert drawn(shown) != plain
    shown.press("ArrowDown", modifiers=CTRL)
    assert drawn(shown) == plain
    left, top, width, height = box(shown, "#picture")
    at = (left + 0.3 * width, top + 0.6 * height)
    place = "(([x, y]) => [x, y])(page.view.camera().middle)"
    middle, scale = shown.run(place), shown.run("page.view.camera().scale")
    shown.mouse("mouseWheel", *at, deltaX=0, deltaY=-240)
    shown.until(f"page.view.camera().scale > {scale}")
    by = shown.run("page.view.camera().scale") / scale
    for axis, (pointer, edge) in enumerate(zip(at, (left, top), strict=True)):
        expected = (pointer - edge) - by * ((pointer - edge) - middle[axis])
        assert shown.run(place)[axis] == pytest.approx(expected, abs=1.0)


def test_every_key_of_the_help_is_heard_and_what_needs_a_server_is_not_in_a_file(shown):
    shown.press("?")
    assert shown.run("document.getElementById('help').open")
    listed = shown.run("[...document.querySelectorAll('#keys dt')].map(node => node.textContent)")
    assert {"Space", "A, B", "T", "Shift + T", "Ctrl + \u2190 \u2192 \u2191 \u2193"} <= set(listed)
    assert not {"Ctrl + Z", "W", "C", "Drag the end of a bar"} & set(listed)
    for name in ("desk", "files", "contacts"):
        assert shown.run(f"document.getElementById('{name}').hidden")
    assert shown.run("document.querySelectorAll('.end').length") == 0
    for key in ("z", "w", "c", "s"):  # none of these is anybody's here
        shown.press(key, modifiers=CTRL if key == "z" else 0)


@pytest.mark.usefixtures("served")
def test_every_button_has_a_key(browser):
    buttons = browser.run(
        "[...document.querySelectorAll('button')].filter(b => !b.closest('#poses, #points, .pair'))"
        ".map(b => b.title)"
    )
    keys = set(browser.run("[...document.querySelectorAll('#keys dt')].map(node => node.textContent)"))
    assert all(buttons)
    named = re.findall(r"Key (\S)", " ".join(buttons))
    heard = " ".join(keys)
    assert len(named) > 15
    assert all(key in heard for key in named)
    assert {"Ctrl + Z", "Ctrl + Shift + Z", "Shift + Delete", "Shift + C", "W", "M", "S", "C"} <= keys


@pytest.mark.parametrize("width", [390, 1400])
def test_names_of_trails_do_not_lie_on_one_another(browser, written, width):
    """Of all points, in every frame of the cycle; feet pass each other, and the croup is over the tail."""
    browser.ask(
        "Emulation.setDeviceMetricsOverride", width=width, height=900, deviceScaleFactor=1, mobile=False
    )
    try:
        browser.open(written.as_uri())
        browser.run("page.trails.set(page.clip.points.map(([name]) => name), true)")
        covered = browser.run(
            "Array.from({length: page.clip.frames}, (_, row) => { page.player.goTo(row + 1); page.draw();"
            " const own = page.trails.boxes_px;"
            " return own.length + ' ' + own.some((a, k) => own.slice(k + 1).some(b =>"
            " a.x < b.x + b.width && b.x < a.x + a.width && Math.abs(a.y - b.y) < 12)); })"
        )
        assert len(covered) > 30
        assert all(int(each.split()[0]) > 8 for each in covered)
        assert [row for row, each in enumerate(covered) if each.endswith("true")] == []
    finally:
        browser.ask("Emulation.clearDeviceMetricsOverride")


INSIDE = """
(() => {
  const width = document.documentElement.clientWidth, bad = [];
  if (document.documentElement.scrollWidth > width) bad.push("the page is wider than the window");
  const things = [...document.querySelectorAll(
    "button, input, select, summary, canvas, h1, h2, label, dd, dt, output, p, .handle")];
  const seen = things.filter(node => node.checkVisibility({ visibilityProperty: true }));
  const box = node => {  // what is seen of it: a panel that scrolls cuts it off
    const b = node.getBoundingClientRect(), panel = node.closest(".panel");
    if (!panel || getComputedStyle(panel).overflowY === "visible") return b;
    const p = panel.getBoundingClientRect(), { left, right } = b;
    return { left, right, top: Math.max(b.top, p.top), bottom: Math.min(b.bottom, p.bottom) };
  };
  for (const node of seen) {
    const b = box(node), inside = b.left >= -0.5 && b.right <= width + 0.5;
    if (!inside || node.scrollWidth > node.clientWidth + 1 && getComputedStyle(node).overflow === "hidden") {
      bad.push(`${node.tagName} ${node.id || node.textContent} is cut off`);
    }
  }
  const solid = seen.filter(node => /BUTTON|INPUT|SELECT|SUMMARY|CANVAS/.test(node.tagName));
  solid.forEach((a, k) => solid.slice(k + 1).forEach(b => {
    const [p, q] = [box(a), box(b)];
    const wide = Math.min(p.right, q.right) - Math.max(p.left, q.left);
    const high = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top);
    if (wide > 1.5 && high > 1.5) bad.push(`${a.id || a.textContent} lies on ${b.id || b.textContent}`);
  }));
  return bad;
})()
"""


@pytest.mark.parametrize("kind", ["served", "written"])
@pytest.mark.parametrize(("width", "height"), [(390, 844), (800, 1100), (1024, 768), (1400, 900)])
def test_nothing_covers_anything_and_nothing_is_cut_off(browser, request, kind, width, height):
    made = request.getfixturevalue(kind)
    browser.ask(
        "Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=False
    )
    try:
        browser.open("about:blank")
        browser.open(made.url if kind == "served" else made.as_uri())
        for key in "gt?":
            browser.press(key)
        browser.run("scrollTo(0, 0); document.querySelectorAll('.panel').forEach(p => p.scrollTo(0, 0))")
        if kind == "served":
            browser.run("page.desk.set('lift', '1.2', null)")
            settled(browser)
        assert browser.run(INSIDE) == []
        if kind == "served":
            reached = reach_every_slider(browser)
            assert len(reached) > 15
            assert all(reached.values()), reached
    finally:
        browser.ask("Emulation.clearDeviceMetricsOverride")


def reach_every_slider(browser):
    """Tell of every slider whether a pointer can get at it once it has the focus."""
    return browser.run(
        "Object.fromEntries([...document.querySelectorAll('#controls input')].map(input => {"
        " input.focus(); const b = input.getBoundingClientRect();"
        " const hit = document.elementFromPoint(b.left + b.width / 2, b.top + b.height / 2);"
        " return [input.id, hit === input]; }))"
    )


@pytest.mark.usefixtures("served")
def test_what_is_refused_is_said_on_the_page(browser):
    browser.run(
        "(input => { input.min = 1; input.value = 2; input.dispatchEvent(new Event('input')); })"
        "(document.getElementById('control_frames'))"
    )
    browser.until("!document.getElementById('trouble').hidden")
    assert (
        text(browser, "trouble") == "frames is 2; a walk needs at least 8 frames to tell its contacts apart"
    )
    assert "32 frames" in text(browser, "subtitle")
    browser.click("#reset")
    browser.until("document.getElementById('trouble').hidden")


def test_a_page_from_elsewhere_can_neither_read_nor_write(browser, served, tmp_path):
    elsewhere = tmp_path / "elsewhere.html"
    elsewhere.write_text("<!doctype html><title>elsewhere</title>")
    browser.open(elsewhere.as_uri())
    sent = json.dumps({"values": {}, "name": "stolen"})
    for mode in ("cors", "no-cors"):
        code = (
            f"fetch('{served.url}write', {{method: 'POST', mode: '{mode}', body: {json.dumps(sent)}}})"
            ".then(reply => reply.text(), () => 'refused')"
        )
        assert browser.run(code) in {"refused", ""}
    assert browser.run(f"fetch('{served.url}').then(reply => reply.text(), () => 'refused')") == "refused"
    assert not (tmp_path / "out").exists()


def test_sizes_of_a_rig_are_its_own(browser, tmp_path):
    """Sliders of proportions are still on a rig, which would refuse them, and nothing of them is sent."""
    browser.open("about:blank")
    browser.events.clear()  # what pages before it were refused
    (tmp_path / "own_rig.bvh").write_text(rig_text(base()))
    path = tmp_path / "own_rig.toml"
    assert run(["fit", str(tmp_path / "own_rig.bvh"), "--map", str(path)]) == 0
    sizes = "[...document.querySelectorAll('#controls input')].filter(i => i.disabled).map(i => i.id)"
    with serving(Desk(Request(animal=str(path)), tmp_path / "out")) as server:
        browser.open(server.url)
        browser.until(f"{sizes}.length > 0")
        still = browser.run(sizes)
        assert {"control_withers_height", "control_neck_factor"} <= set(still)
        chosen = "document.getElementById('control_animal').selectedOptions[0].textContent"
        assert browser.run(chosen) == "own_rig"
        choose = (
            "((id, value) => (i => { i.value = value; i.dispatchEvent(new Event('input')); })"
            "(document.getElementById(id)))"
        )
        browser.run(f"{choose}('control_animal', 'pony')")
        browser.until(f"{sizes}.length === 0 && document.body.dataset.state === 'shown'")
        browser.run(f"{choose}('control_neck_factor', '1.2')")
        browser.run(f"{choose}('control_animal', {json.dumps(str(path))})")
        title = "document.getElementById('title').textContent"
        browser.until(f"{title}.startsWith('Rig own_rig') && document.body.dataset.state === 'shown'")
        assert browser.run(sizes) == still
        assert browser.complaints() == []
        browser.open("about:blank")


@pytest.mark.thorough
@pytest.mark.parametrize("kind", ["rig", "own animal"])
def test_the_page_is_the_same_tool_on_a_rig_and_on_an_animal_of_ones_own(kind, browser, tmp_path):
    """Bars, sliders, undo, a reload and the files, on joints in letters of no language too."""
    path = tmp_path / "own.toml"
    if kind == "rig":
        (tmp_path / "own.bvh").write_text(rig_text(ELEVEN["grouped"]))
        assert run(["fit", str(tmp_path / "own.bvh"), "--map", str(path)]) == 0
    else:
        sizes = "[proportions]\nwithers_height_m = 0.90\nleg_factor = 1.2\nneck_factor = 1.1\n"
        path.write_text(f'format = 2\nbase = "dog"\nname = "own"\n\n{sizes}')
    browser.open("about:blank")
    browser.events.clear()
    with serving(Desk(Request(animal=str(path)), tmp_path / "out")) as server:
        browser.open(server.url)
        browser.until("typeof page !== 'undefined' && Boolean(page.clip)")
        for key in "gt?":
            browser.press(key)
        assert browser.run(INSIDE) == []
        browser.press("?")
        own = bars(browser)
        drag_end(browser, "RF contact", 2)
        moved = {**own, "RF": [own["RF"][0] + 2, own["RF"][1]]}
        assert bars(browser) == moved
        slide(browser, "lift", 1.1, 1.3)
        slide(browser, "nod", 1.4)
        reload(browser)
        assert (bars(browser), value(browser, "lift"), value(browser, "nod")) == (moved, "1.3", "1.4")
        for count, words in enumerate(("New", "There already, unchanged"), start=1):
            browser.press("w")
            browser.until(f"document.getElementById('written').textContent.startsWith('Write {count}')")
            assert f"{words}: own_" in text(browser, "written")
        for _ in range(3):
            browser.press("z", modifiers=CTRL)
            settled(browser)
        assert (bars(browser), value(browser, "lift"), value(browser, "nod")) == (own, "1", "1")
        assert browser.complaints() == []
        browser.open("about:blank")


@pytest.mark.thorough
@pytest.mark.parametrize("width", [390, 800])
def test_a_narrow_page_of_a_rig_is_whole_and_keeps_what_was_edited(width, browser, tmp_path):
    """A trunk of sixteen joints: sliders, bars, a reload, writing twice, and over an edited file."""
    (tmp_path / "fil.bvh").write_text(rig_text(APART["fil"]))
    path, out = tmp_path / "fil.toml", tmp_path / "out"
    assert run(["fit", str(tmp_path / "fil.bvh"), "--map", str(path)]) == 0
    browser.open("about:blank")
    browser.events.clear()
    browser.ask(
        "Emulation.setDeviceMetricsOverride", width=width, height=900, deviceScaleFactor=1, mobile=False
    )
    try:
        with serving(Desk(Request(animal=str(path)), out)) as server:
            browser.open(server.url)
            browser.until("typeof page !== 'undefined' && Boolean(page.clip)")
            for key in "gt":
                browser.press(key)
            assert browser.run(INSIDE) == []
            browser.run("document.getElementById('bars').scrollIntoView({block: 'center'})")
            own = bars(browser)
            drag_end(browser, "RF contact", 2)
            moved = {**own, "RF": [own["RF"][0] + 2, own["RF"][1]]}
            assert bars(browser) == moved
            slide(browser, "lift", 1.1, 1.3)
            reload(browser)
            assert (bars(browser), value(browser, "lift")) == (moved, "1.3")
            browser.run("scrollTo(0, 0)")
            assert browser.run(INSIDE) == []
            for count, words in enumerate(("New", "There already, unchanged", "Kept"), start=1):
                if words == "Kept":
                    clip = next(out.glob("*.bvh"))
                    clip.write_bytes(b"edited by hand\n")
                browser.press("w")
                browser.until(f"document.getElementById('written').textContent.startsWith('Write {count}')")
                assert f"{words}: " in text(browser, "written")
            assert clip.read_bytes() == b"edited by hand\n"
            assert browser.run(INSIDE) == []
            assert browser.complaints() == []
            browser.open("about:blank")
    finally:
        browser.ask("Emulation.clearDeviceMetricsOverride")
