"""The page in a real browser: it plays, turns, and its sliders change the pose and the written file."""

import json
import threading

import pytest
from browser import Browser, chromium

from gaitgen import Request
from gaitgen.commands import run
from gaitgen.page.server import Desk, Server

pytestmark = pytest.mark.skipif(chromium() is None, reason="no chromium is installed")


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    browser = Browser(tmp_path_factory.mktemp("profile"))
    yield browser
    browser.close()


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    file = tmp_path_factory.mktemp("written") / "walk.html"
    assert run(["preview", "--html", str(file)]) == 0
    return file


@pytest.fixture
def shown(browser, written):
    browser.events.clear()
    browser.open(written.as_uri())
    yield browser
    assert browser.complaints() == []
    assert browser.requests() == [written.as_uri()]


@pytest.fixture
def served(browser, tmp_path):
    server = Server(Desk(Request(), tmp_path / "out"))
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    browser.events.clear()
    browser.open(server.url)
    yield server
    browser.open("about:blank")
    server.shutdown()
    thread.join()
    server.server_close()


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
    assert str(tmp_path / "out" / "dragged.bvh") in text(browser, "written")
    again = ["cycle", "walk", "--lift", lift, "--frames", frames, "--name", "dragged"]
    assert run([*again, "--out", str(tmp_path / "again")]) == 0
    assert made == {path.name: path.read_bytes() for path in (tmp_path / "again").glob("dragged*")}
    assert browser.complaints() == []


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
    browser.click("#own")
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
