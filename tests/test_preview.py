"""The page that plays: its data are the clip's, it stands alone, and the server answers to nobody else."""

import contextlib
import http.client
import json
import re
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from pathlib import Path
from urllib.parse import urlencode

import numpy as np
import pytest
from pages import serving, unpacked

from gaitgen import GaitgenError, Request, animal_names, load_animal, make_cycle
from gaitgen.animal.flesh import body_of, chains_of, smooth_shares
from gaitgen.animal.foot_shape import rounded_feet
from gaitgen.animal.proportions import Proportions
from gaitgen.commands import run
from gaitgen.course.contacts import parse_contacts
from gaitgen.gait.style import Style
from gaitgen.motion.flesh import pose, standing
from gaitgen.motion.kinematics import landmark_m, world_frames
from gaitgen.page.answers import Answers
from gaitgen.page.clip_data import UNIT_M, clip_data
from gaitgen.page.controls import CONTROLS, request_from, table, values_of
from gaitgen.page.page import page
from gaitgen.page.points import points_of
from gaitgen.page.seats import MOST_CONNECTIONS
from gaitgen.page.server import TOKEN_HEADER, Desk, Server
from gaitgen.pictures.views import hull, turned_view

CLIP = make_cycle(Request())
DATA = clip_data(CLIP, "walk")
PAGE = page(DATA).decode()


def embedded(text, name):
    return json.loads(
        re.search(rf'<script type="application/json" id="{name}">(.*?)</script>', text).group(1)
    )


# The page as a file


def test_the_page_asks_the_network_for_nothing():
    assert not re.search(
        r"https?://|//[a-z]+\.|\bsrc\s*=|@import|url\(|import\(|XMLHttpRequest|WebSocket", PAGE
    )
    assert re.findall(r'href="([^"]*)"', PAGE) == ["data:,"]
    assert "default-src 'none'" in PAGE
    assert "connect-src 'none'" in PAGE
    assert not re.search(r"@[A-Z]+@", PAGE)


def test_the_page_is_small():
    assert len(PAGE.encode()) < 300_000


def test_the_page_has_the_same_bytes_each_time():
    assert page(clip_data(make_cycle(Request()), "walk")).decode() == PAGE


def test_words_of_a_skeleton_file_cannot_leave_their_place():
    text = page({**DATA, "title": '</script><b>"@SERVED@"'}).decode()
    assert embedded(text, "clip")["title"] == '</script><b>"@SERVED@"'
    assert embedded(text, "served") is None


def test_the_data_in_the_page_are_the_clip():
    data = embedded(PAGE, "clip")
    posed = pose(CLIP, np.arange(CLIP.frames))
    feet_m = unpacked(data["foot_corners"]).reshape(posed.feet_m.shape) * data["unit_m"]
    np.testing.assert_allclose(feet_m, posed.feet_m, atol=UNIT_M / 2 + 1e-9)
    balls_m = unpacked(data["balls"]).reshape(CLIP.frames, -1, 3) * data["unit_m"]
    radii_m = np.array(data["radii"]) * data["unit_m"]
    smoothed, radii = [], []
    for _, first, count in data["chains"]:
        shares = smooth_shares(count)
        points = np.einsum("pb,fbi->fpi", shares, balls_m[:, first : first + count])
        rows = (np.arange(max(len(points[0]) - 1, 1))[:, None] + [0, 1]) % len(points[0])
        smoothed.append(points[:, rows])
        radii.append(np.maximum(shares @ radii_m[first : first + count], 1e-3)[rows])
    np.testing.assert_allclose(np.concatenate(smoothed, axis=1), posed.ends_m, atol=1.5 * UNIT_M)
    np.testing.assert_allclose(np.concatenate(radii), posed.body.radii_m, atol=1.5 * UNIT_M)


def test_the_plan_in_the_page_is_the_clips():
    data = embedded(PAGE, "clip")
    assert [(p["frame"], p["name"]) for p in data["key_poses"]] == [(p.frame, p.name) for p in CLIP.key_poses]
    for foot in data["feet"]:
        limb = data["limbs"].index(foot["foot"])
        down = [row + 1 for row in range(data["frames"]) if data["planted"][row][limb]]
        assert len(down) == foot["frames_down"] + 1
        assert foot["contact_frame"] in down
    moved = data["belt_m_per_frame"] * data["frames"]
    assert moved == pytest.approx(CLIP.facts.stride_length_m)
    assert data["own"]["cannon_ratio"] == pytest.approx(0.166, abs=0.002)
    left_to_gaitgen = {row["name"] for row in table(Request()) if row["own"] is None}
    chosen = {name for name, value in data["own"].items() if isinstance(value, str) or value > 0.0}
    assert left_to_gaitgen - {"lead"} == chosen  # a walk has no lead
    assert (data["own"]["gait"], data["own"]["start"]) == ("walk", "RH")
    assert len(data["hips_mm"]) == len(data["chest_mm"]) == CLIP.frames


@pytest.mark.parametrize("animal", ["riding_horse", "draft_horse"])
def test_every_part_of_the_animal_is_in_the_page(animal):
    data = clip_data(make_cycle(Request(animal=animal)), "walk")
    assert {data["parts"][part] for part, _, _ in data["chains"]} == set(data["parts"])
    assert sum(count for _, _, count in data["chains"]) == len(data["radii"])


def test_the_command_writes_the_page(tmp_path, capsys):
    file = tmp_path / "new" / "walk.html"
    arguments = ["--frames", "24", "--bounce", "1.5", "--start", "LF", "--withers-height", "1.2"]
    assert run(["preview", "--html", str(file), *arguments]) == 0
    assert capsys.readouterr().out.splitlines()[-1] == f"wrote {file}"
    data = embedded(file.read_text(encoding="utf-8"), "clip")
    assert data["frames"] == 24
    assert data["withers_height_m"] == 1.2
    assert data["feet"][0]["foot"] == "LF"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--html", "walk.txt"], "; give a name that ends in .html"),
        (["--html", "walk.html", "--port", "8000"], "leave out --port"),
        (["--html", "walk.html", "--frames", "2"], "frames is 2"),
        (["--html", "walk.html", "--start", "XX"], "'XX' is not one of"),
        (["trott", "--html", "walk.html"], "unknown gait 'trott'"),
        (["--animal", "hors"], "unknown animal 'hors'"),
        (["--port", "70000"], "port is 70000"),
    ],
)
def test_what_is_not_usable_is_one_line_and_no_file(tmp_path, capsys, monkeypatch, arguments, words):
    monkeypatch.chdir(tmp_path)
    assert run(["preview", *arguments]) == 2
    complaint = capsys.readouterr().err
    assert words in complaint
    assert complaint.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


# Controls


def test_values_and_requests_go_there_and_back():
    request = Request(
        frames=20,
        frame_rate_hz=23.976,
        start="LF",
        lag=0.2,
        style=Style(nod=1.7),
        proportions=Proportions(neck_factor=1.1),
    )
    values = values_of(request)
    assert set(values) == {"frames", "fps", "start", "lag", "nod", "neck_factor"}
    assert request_from(values, request) == request
    assert values_of(Request()) == {}
    assert request_from({}, request) == Request()


FILMED = "RH 1-23, RF 10-31, LH 17-39, LF 25-47"


def test_moved_contacts_are_those_of_the_command():
    request = Request(contacts=FILMED, frames=32)
    values = values_of(request)
    assert values == {"frames": "32", "contacts": FILMED, "contact_frames": "32"}
    assert request_from(values, Request()) == request
    assert request_from({}, request).contacts is None  # what is not sent is the gait's own


def test_moved_contacts_go_with_the_length_of_the_stride():
    values = {"contacts": FILMED, "contact_frames": "32", "frames": "64"}
    longer = request_from(values, Request())
    assert longer.contacts == "LF 49-93, RF 19-61, LH 33-77, RH 1-45"
    timing = parse_contacts(longer.contacts, 64)
    half = parse_contacts(FILMED, 32)
    assert timing.contact == tuple(2 * frame for frame in half.contact)
    assert timing.down == tuple(2 * frames for frames in half.down)


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"contacts": "RH 1-23"}, "the contacts say nothing of LF, RF, LH"),
        ({"contacts": "9"}, "cannot read '9' in the contacts"),
        ({"contacts": "R" * 201}, "contacts has 201 letters"),
        ({"contacts": FILMED, "contact_frames": "x"}, "contact_frames is 'x'"),
        ({"contacts": FILMED, "contact_frames": "9999"}, "give a whole number up to 2000"),
        ({"contact_frames": "32"}, "given without contacts"),
        ({"contacts": FILMED, "lag": "0.2"}, "contacts say duty factor and lag already"),
    ],
)
def test_contacts_that_are_none(values, words):
    with pytest.raises(GaitgenError, match=re.escape(words)):
        request_from(values, Request())


def test_points_of_trails_are_where_the_clip_has_them():
    data = embedded(PAGE, "clip")
    names = [name for name, _, _ in data["points"]]
    assert {"LF", "RF", "LH", "RH", "croup", "withers", "poll"} <= set(names)
    assert len(set(names)) == len(names)
    paths_m = unpacked(data["point_paths"]).reshape(CLIP.frames, len(names), 3) * data["unit_m"]
    np.testing.assert_allclose(paths_m[0], paths_m[-1], atol=UNIT_M)  # a trail of a cycle closes
    posed = pose(CLIP, np.arange(CLIP.frames))
    for row, limb in enumerate(data["limbs"]):
        assert data["points"][names.index(limb)] == [limb, limb, limb[0]]
        toe_m = posed.feet_m[:, row, :2].mean(axis=1)  # middle of the front edge of the sole
        np.testing.assert_allclose(paths_m[:, names.index(limb)], toe_m, atol=0.02)
    places, world = world_frames(CLIP.animal, CLIP.root_path_m, CLIP.rotations)
    for name in ("croup", "withers", "poll"):
        expected = landmark_m(CLIP.animal, places, world, name)
        np.testing.assert_allclose(paths_m[:, names.index(name)], expected, atol=UNIT_M)


@pytest.mark.sample(4, 9)
@pytest.mark.parametrize("animal", animal_names())
def test_every_animal_has_a_page(animal):
    """Each part of its figure is one that the page knows, and flaps are on the side that they are on."""
    data = clip_data(make_cycle(Request(animal=animal)), "walk")
    chains = chains_of(load_animal(animal))
    assert len(data["chains"]) == len(chains)
    flaps = [data["parts"][part] for part, *_ in data["chains"] if data["parts"][part].endswith(" flap")]
    assert flaps.count("L flap") == flaps.count("R flap")


@pytest.mark.parametrize("animal", ["cat", "elephant"])
def test_every_animal_has_points_for_trails(animal):
    points = points_of(load_animal(animal))
    assert [point.name for point in points][:4] == ["LF", "RF", "LH", "RH"]
    assert {point.side for point in points} == {"L", "R", ""}
    assert all(point.side in {"L", "R"} for point in points if point.name.startswith("point_of"))


def test_sliders_reach_only_what_a_request_takes():
    for control in CONTROLS:
        if control.is_choice:
            continue
        for value in (control.least, control.greatest):
            text = str(int(value)) if control.is_whole else str(value)
            request_from({control.name: text}, Request())


# The server


@pytest.fixture
def server(tmp_path):
    with serving(Desk(Request(), tmp_path / "out")) as server:
        yield server


def ask(server, path, method="GET", body=None, **headers):
    connection = http.client.HTTPConnection("127.0.0.1", server.server_port, timeout=20)
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    connection.request(method, path, body, named)
    reply = connection.getresponse()
    data = reply.read().decode()
    connection.close()
    return reply, data


def write(server, values, name="", **headers):
    body = json.dumps({"values": values, "name": name})
    return ask(server, "/write", "POST", body, **{TOKEN_HEADER: server.desk.token, **headers})


def test_the_server_listens_on_this_machine_only(server):
    assert server.socket.getsockname()[0] == "127.0.0.1"
    assert server.url == f"http://127.0.0.1:{server.server_port}/"


def test_the_served_page_has_the_clip_and_the_controls(server):
    reply, text = ask(server, "/")
    assert reply.status == 200
    assert reply.headers["X-Frame-Options"] == "DENY"
    assert embedded(text, "clip") == json.loads(json.dumps(DATA))
    served = embedded(text, "served")
    assert [row["name"] for row in served["controls"]] == [control.name for control in CONTROLS]
    assert served["token"] == server.desk.token
    assert "connect-src 'self'" in text


def test_a_change_brings_the_clip_of_that_request(server):
    reply, text = ask(server, "/clip?frames=24&nod=1.5&animal=draft_horse&withers_height=1.5")
    assert reply.status == 200
    asked = Request(
        animal=load_animal("draft_horse", Proportions(withers_height_m=1.5)), frames=24, style=Style(nod=1.5)
    )
    assert json.loads(text) == json.loads(json.dumps(clip_data(make_cycle(asked), "walk")))


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("frames=abc", "frames is 'abc'; give a whole number"),
        ("frames=3", "needs at least 8 frames"),
        ("nod=nan", "style factor nod is nan"),
        ("nod=inf", "style factor nod is inf"),
        ("lag=1.9", "lag is 1.9; give a number from 0 to 0.99"),
        ("nod=1&nod=2", "given twice"),
        ("colour=red", "unknown control 'colour'"),
        ("contacts=RH+1-23", "the contacts say nothing of LF, RF, LH"),
        ("contacts=RH+1-40,+RF+9-31,+LH+17-39,+LF+25-47", "RH is down from 1 to 40"),
        ("animal=/etc/passwd", "unknown animal"),
        ("animal=../riding_horse.toml", "unknown animal"),
        ("gait=/etc/walk.toml", "unknown gait"),
        ("start=XX", "start is 'XX'"),
        ("withers_height=-1", "withers_height_m is -1"),
    ],
)
def test_a_bad_parameter_is_one_line(server, query, words):
    reply, text = ask(server, f"/clip?{query}")
    assert reply.status == 400
    assert words in json.loads(text)["error"]
    assert "\n" not in json.loads(text)["error"]


def test_the_button_writes_what_the_command_writes(server, tmp_path):
    reply, text = write(server, {"frames": "16", "lift": "1.2"}, "mine")
    assert reply.status == 200
    made = {Path(path).name: Path(path).read_bytes() for path in json.loads(text)["files"]}
    cycle = tmp_path / "cycle"
    assert (
        run(["cycle", "walk", "--frames", "16", "--lift", "1.2", "--out", str(cycle), "--name", "mine"]) == 0
    )
    assert made == {path.name: path.read_bytes() for path in cycle.glob("mine*")}
    assert {"mine.bvh", "mine.channels.csv"} <= set(made)
    _, text = write(server, {"frames": "16"})
    assert json.loads(text)["files"][0] == str(tmp_path / "out" / "riding_horse_walk_16.bvh")


def test_a_second_write_says_what_it_did(server, tmp_path):
    values = {"frames": "16"}
    _, text = write(server, values, "mine")
    first = json.loads(text)
    assert first["fates"] == ["new"] * len(first["files"])
    _, text = write(server, values, "mine")
    assert json.loads(text) == {**first, "fates": ["unchanged"] * len(first["files"])}
    _, text = write(server, {"frames": "16", "lift": "1.2"}, "mine")
    again = json.loads(text)
    assert again["files"] == first["files"]
    assert set(again["fates"]) == {"replaced"}
    (tmp_path / "out" / "mine.bvh").write_text("by hand")
    _, text = write(server, values, "mine")
    beside = json.loads(text)
    assert {Path(path).name.split(".")[1] for path in beside["files"]} == {"2"}
    assert set(beside["fates"]) == {"new"}
    assert "so it is kept" in beside["said"][0]
    assert (tmp_path / "out" / "mine.bvh").read_text() == "by hand"


def test_bars_that_were_moved_write_what_the_command_writes(server, tmp_path):
    reply, text = write(server, {"contacts": FILMED, "contact_frames": "32"}, "mine")
    assert reply.status == 200
    made = {Path(path).name: Path(path).read_bytes() for path in json.loads(text)["files"]}
    cycle = tmp_path / "cycle"
    assert run(["cycle", "walk", "--contacts", FILMED, "--out", str(cycle), "--name", "mine"]) == 0
    assert made == {path.name: path.read_bytes() for path in cycle.glob("mine*")}


@pytest.mark.parametrize(
    "headers",
    [
        {"Host": "elsewhere.example"},
        {"Host": "127.0.0.1"},
        {"Origin": "http://elsewhere.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:1"},
        {"Sec_Fetch_Site": "cross-site"},
        {"Sec_Fetch_Site": "same-site"},
    ],
)
def test_pages_from_elsewhere_are_refused(server, tmp_path, headers):
    for path in ("/", "/clip"):
        if path == "/" and "Sec_Fetch_Site" in headers:
            continue  # a link may lead here
        reply, text = ask(server, path, **headers)
        assert reply.status == 403
        assert server.desk.token not in text
    reply, _ = write(server, {}, **headers)
    assert reply.status == 403
    assert not (tmp_path / "out").exists()


def test_our_own_origin_is_answered(server):
    for host in ("127.0.0.1", "localhost"):
        own = f"{host}:{server.server_port}"
        reply, _ = ask(server, "/clip", Host=own, Origin=f"http://{own}", Sec_Fetch_Site="same-origin")
        assert reply.status == 200


def test_nothing_is_written_without_the_token_or_for_a_broken_request(server, tmp_path):
    good = json.dumps({"values": {}, "name": ""})
    token = {TOKEN_HEADER: server.desk.token}
    assert ask(server, "/write", "POST", good)[0].status == 403
    assert ask(server, "/write", "POST", good, **{TOKEN_HEADER: "guess"})[0].status == 403
    for body in ("", "{", "[]", '{"values": {"frames": 16}, "name": ""}', '{"values": {}, "name": 1}'):
        assert ask(server, "/write", "POST", body, **token)[0].status == 400
    assert ask(server, "/write", "POST", good, Content_Length="999999", **token)[0].status == 400
    for name in ("../walk", "a/b", "a\\b", ".", "a\nb", "a\0b"):
        reply, text = write(server, {}, name)
        assert reply.status == 400
        assert "give a plain file name" in json.loads(text)["error"]
    assert ask(server, "/write")[0].status == 404
    assert ask(server, "/page.js")[0].status == 404
    assert not (tmp_path / "out").exists()


def send(server, data, *, patience_s=20.0):
    """Send some bytes as they are, and return the whole answer."""
    with socket.create_connection(("127.0.0.1", server.server_port), timeout=patience_s) as connection:
        with contextlib.suppress(OSError):  # it may answer, and close, before it has read all
            connection.sendall(data)
            connection.shutdown(socket.SHUT_WR)
        answer = b""
        with contextlib.suppress(ConnectionError):
            while more := connection.recv(65536):
                answer += more
    return answer


def post(server, body, length=None):
    lines = [
        "POST /write HTTP/1.1",
        f"Host: 127.0.0.1:{server.server_port}",
        f"{TOKEN_HEADER}: {server.desk.token}",
        f"Content-Length: {len(body) if length is None else length}",
    ]
    return send(server, "\r\n".join(lines).encode() + b"\r\n\r\n" + body)


HOST = b"Host: 127.0.0.1:PORT\r\n\r\n"
NO_REQUESTS = {
    "nothing": b"",
    "a line": b"\r\n",
    "binary": bytes(range(256)) + b"\r\n\r\n",
    "two words": b"GET /\r\n\r\n",
    "two words and a host": b"GET /\r\n" + HOST,
    "four words": b"GET / / HTTP/1.1\r\n" + HOST,
    "another protocol": b"GET / QRST/1.1\r\n" + HOST,
    "a version": b"GET / HTTP/9.9.9\r\n" + HOST,
    "a huge version": b"GET / HTTP/1." + b"9" * 5000 + b"\r\n" + HOST,
    "another method": b"BREW / HTTP/1.1\r\n" + HOST,
    "no address": b"GET //[ HTTP/1.1\r\n" + HOST,
    "a bad address": b"GET http://[::1/clip HTTP/1.1\r\n" + HOST,
    "letters": b"GET /\xff\xfe%ff%00 HTTP/1.1\r\n" + HOST,
    "a long line": b"GET /clip?" + b"x" * 100_000 + b" HTTP/1.1\r\n" + HOST,
    "many headers": b"GET /none HTTP/1.1\r\n" + b"A: b\r\n" * 500 + HOST,
    "a long header": b"GET /none HTTP/1.1\r\nA: " + b"b" * 100_000 + b"\r\n" + HOST,
    "no colon": b"GET /none HTTP/1.1\r\nA b\r\n" + HOST,
    "a host of another script": b"GET / HTTP/1.1\r\nHost: \xff\r\n\r\n",
    "half": b"GET / HTTP/1.1\r\nHo",
    "a huge number": b"GET /clip?frames=" + b"9" * 400 + b" HTTP/1.1\r\n" + HOST,
    "a larger number": b"GET /clip?frames=" + b"9" * 5000 + b" HTTP/1.1\r\n" + HOST,
    "many controls": b"GET /clip?" + b"&".join(b"a%d=1" % k for k in range(5000)) + b" HTTP/1.1\r\n" + HOST,
}


@pytest.mark.parametrize("kind", NO_REQUESTS)
def test_what_is_no_request_is_refused_in_one_line(server, kind, capfd):
    data = NO_REQUESTS[kind]
    answer = send(server, data.replace(b"PORT", b"%d" % server.server_port))
    if answer:  # half a request may be answered or not
        body = json.loads(answer.rpartition(b"\r\n\r\n")[2] if b"\r\n\r\n" in answer else answer)
        assert list(body) == ["error"]
        assert "\n" not in body["error"]
        assert len(body["error"]) < 1000
        assert not answer.startswith(b"HTTP/1.0 200")
    assert ask(server, "/")[0].status == 200  # it goes on
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize(
    ("body", "length"),
    [
        (b"[" * 20_000, None),
        (b'{"values": {"a": ' * 1000, None),
        (b"9" * 20_000, None),
        (b"{}", "9" * 5000),
        (b"{}", "-1"),
        (b"{}", "\u0662"),
        (b"{}", "1e3"),
        (b'{"values": {}, "name": "\\udcff"}', None),
        (b'{"values": {"frames": "%s"}, "name": ""}' % (b"9" * 4000), None),
        (b"{}", "200"),
    ],
)
def test_bodies_that_are_none(server, tmp_path, capfd, body, length):
    answer = post(server, body, length)
    assert answer.startswith(b"HTTP/1.0 400 ")
    assert "\n" not in json.loads(answer.rpartition(b"\r\n\r\n")[2])["error"]
    assert not (tmp_path / "out").exists()
    assert capfd.readouterr() == ("", "")


def test_a_client_that_sends_a_byte_now_and_then_is_left(server, monkeypatch, capfd):
    monkeypatch.setattr("gaitgen.page.server._Handler.timeout", 0.5)
    start, sent = time.monotonic(), 0
    connection = socket.create_connection(("127.0.0.1", server.server_port), timeout=20.0)
    with connection, contextlib.suppress(ConnectionError):
        for _ in range(100):
            connection.sendall(b"G")
            sent += 1
            time.sleep(0.05)
            connection.setblocking(False)
            with contextlib.suppress(BlockingIOError):
                if connection.recv(100) == b"":
                    break
            connection.settimeout(20.0)
    assert time.monotonic() - start > 0.4
    assert sent < 60, "three seconds of bytes, however busy the machine is"
    assert ask(server, "/")[0].status == 200
    assert capfd.readouterr() == ("", "")


def test_a_client_that_reads_nothing_is_left(server, monkeypatch, capfd):
    monkeypatch.setattr("gaitgen.page.server._Handler.timeout", 0.5)
    before = threading.active_count()
    with socket.socket() as connection:
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 2048)
        connection.connect(("127.0.0.1", server.server_port))
        connection.sendall(b"GET / HTTP/1.1\r\n" + HOST.replace(b"PORT", b"%d" % server.server_port))
        deadline = time.monotonic() + 20.0
        time.sleep(0.3)
        while threading.active_count() > before and time.monotonic() < deadline:
            time.sleep(0.05)
        assert threading.active_count() <= before
    assert capfd.readouterr() == ("", "")


def test_more_connections_than_there_are_places_for_are_turned_away(tmp_path):
    said = []
    with serving(Desk(Request(), tmp_path / "out"), say=said.append) as served:
        with contextlib.ExitStack() as held:
            address = ("127.0.0.1", served.server_port)
            idle = [
                held.enter_context(socket.create_connection(address, 20)) for _ in range(MOST_CONNECTIONS)
            ]
            for connection in idle:
                connection.sendall(b"G")
            refused = [send(served, b"") for _ in range(3)]
        for answer in refused:
            assert answer.startswith(b"HTTP/1.0 503 ")
            assert f"{MOST_CONNECTIONS} connections" in json.loads(answer.rpartition(b"\r\n\r\n")[2])["error"]
        (line,) = said
        assert line.startswith(f"{MOST_CONNECTIONS} connections are open at once")
        assert line.endswith("; more are turned away.")
        deadline = time.monotonic() + 20.0
        while ask(served, "/clip")[0].status != 200:  # the places are free again
            assert time.monotonic() < deadline
            time.sleep(0.05)


def test_a_folder_that_is_gone_is_said_on_the_page(tmp_path, monkeypatch, capfd):
    gone = tmp_path / "gone"
    gone.mkdir()
    monkeypatch.chdir(gone)
    with serving(Desk(Request(frames=12), Path())) as served:
        gone.rmdir()
        reply, text = write(served, {})
        assert reply.status >= 400
        assert "\n" not in json.loads(text)["error"]
        assert ask(served, "/clip")[0].status == 200
    assert capfd.readouterr() == ("", "")


def test_a_folder_that_cannot_be_made_is_said_on_the_page(server, tmp_path):
    (tmp_path / "out").write_text("a file")
    reply, text = write(server, {})
    assert reply.status == 400
    assert "choose a folder that is not a file" in json.loads(text)["error"]


def test_a_name_that_is_too_long_is_said_on_the_page(server, tmp_path):
    out = tmp_path / "out"
    out.mkdir()
    reply, text = write(server, {}, "n" * 300)
    assert reply.status == 400
    assert json.loads(text)["error"] == "File name too long; choose a shorter name"
    assert list(out.iterdir()) == []


def test_an_occupied_port_is_one_line(capsys):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert run(["preview", "--port", str(port)]) == 2
    assert f"cannot serve on port {port}" in capsys.readouterr().err


def test_the_keyboard_ends_it_cleanly_and_nothing_heavy_is_loaded():
    code = (
        "import sys, atexit; from gaitgen.commands import main; "
        "heavy = {'matplotlib', 'trimesh', 'bvhio'}; "
        "atexit.register(lambda: print(sorted(heavy & set(sys.modules)))); main()"
    )
    process = subprocess.Popen(
        [sys.executable, "-u", "-c", code, "preview"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    url = re.match(r"http://127\.0\.0\.1:(\d+)/ ", process.stdout.readline())
    with socket.create_connection(("127.0.0.1", int(url.group(1))), 5):
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=20)
    assert process.returncode == 0
    assert err == ""
    assert out.splitlines()[-1] == "[]"


# One end of the second bar moved by some frames, and what is sent; a foot is down and up for a frame or more.
MOVED = {
    ("contact", 2): "RH 1-22, RF 11-30, LH 17-38, LF 25-46",
    ("contact", -9): "RH 1-22, RF 32-62, LH 17-38, LF 25-46",
    ("lift-off", 3): "RH 1-22, RF 9-33, LH 17-38, LF 25-46",
    ("lift-off", 40): "RH 1-22, RF 9-40, LH 17-38, LF 25-46",
    ("contact", 40): "RH 1-22, RF 29-30, LH 17-38, LF 25-46",
    ("lift-off", -40): "RH 1-22, RF 9-10, LH 17-38, LF 25-46",
}


# The drawing script against the printed figure


def test_the_script_projects_smooths_and_rounds_like_the_sheets():
    if shutil.which("node") is None:
        pytest.skip("node is not installed")
    generator = np.random.default_rng(7)
    points = generator.normal(size=(12, 3))
    views = [(90.0, 0.0), (0.0, 0.0), (38.0, 12.0), (200.0, 71.0)]
    chains = [generator.uniform(0.1, 1.0, size=(count, 4)) for count in (1, 2, 3, 6)]
    discs = [[0, 0, 3, 10, 2, 1], [5, 5, 1, 0, 0, 2.5], [0, 0, 3, 1, 0, 1], [0, 0, 1, 0.5, 0, 4]]
    stances = [[1, 22, 32], [17, 22, 32]]
    feet = standing(CLIP.animal, 4).feet_m[0]
    asked = {
        "views": views,
        "points": points.tolist(),
        "chains": [chain.ravel().tolist() for chain in chains],
        "discs": discs,
        "stances": stances,
        "moved": [[DATA["feet"], 1, end, by, 32] for end, by in MOVED],
        "feet": feet.tolist(),
    }
    script = Path(__file__).parent / "js" / "preview_geometry.cjs"
    done = subprocess.run(
        ["node", str(script)],
        input=json.dumps(asked),
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    got = json.loads(done.stdout)
    for (azimuth, elevation), mine in zip(views, got["views"], strict=True):
        view = turned_view("any", azimuth, elevation)
        np.testing.assert_allclose(mine["towards"], view.towards, atol=1e-12)
        shown = np.array([[p["x"], -p["y"]] for p in mine["shown"]])
        np.testing.assert_allclose(shown, view.project(points), atol=1e-12)
    for chain, mine in zip(chains, got["chains"], strict=True):
        expected = smooth_shares(len(chain)) @ chain
        np.testing.assert_allclose(np.reshape(mine, (-1, 4)), expected, atol=1e-12)
    angles = np.linspace(0.0, 2.0 * np.pi, 180)
    ways = np.stack([np.cos(angles), np.sin(angles)])
    for row, mine in zip(np.array(discs, dtype=float).reshape(-1, 2, 3), got["hulls"], strict=True):
        # The hull of two discs reaches as far in every direction as the disc that reaches farther; the
        # script's arcs are cut into 40 steps here.
        reach = (row[:, :2] @ ways + row[:, 2:]).max(axis=0)
        np.testing.assert_allclose(
            (np.array(mine) @ ways).max(axis=0), reach, atol=4 * (1 - np.cos(np.pi / 40))
        )
        assert _area(np.array(mine)) == pytest.approx(_area(hull(np.array(mine))), rel=1e-9)
    np.testing.assert_allclose([[p["x"], p["y"]] for p in got["convex"]], hull(points[:, :2]), atol=1e-12)
    np.testing.assert_allclose(got["feet"], rounded_feet(feet), atol=1e-12)
    assert got["moved"] == list(MOVED.values())
    for text in got["moved"][:4]:  # the others are no walk
        parse_contacts(text, 32)
    assert got["spans"] == [[[1, 23]], [[17, 33], [1, 7]]]


def _area(corners):
    x, y = corners.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2.0


def test_feet_of_the_page_are_those_of_the_body():
    assert len(body_of(CLIP.animal).feet) == 4
    assert len(DATA["radii"]) == sum(len(chain.balls) for chain in chains_of(CLIP.animal))


def test_numbers_are_in_the_words_of_the_report():
    said = dict(DATA["numbers"])
    assert said["peak force fore"].endswith(" body weights")
    assert said["tightest joint"].endswith("\u00b0 to spare")


# Answers that have been given


def test_a_slider_that_goes_back_has_its_clip_at_once(tmp_path, monkeypatch):
    """An answer that has been given is not made again, and its bytes are the same."""
    made = []
    monkeypatch.setattr("gaitgen.page.desk.clip_data", lambda *given: made.append(1) or clip_data(*given))
    desk = Desk(Request(), tmp_path)
    first, other, again = (desk.clip(f"bounce={bounce}") for bounce in ("1.1", "1.2", "1.1"))
    assert first == again != other
    assert len(made) == 2


def test_a_clip_of_a_file_is_made_anew_each_time(tmp_path):
    """Somebody may have changed the file meanwhile."""
    written = (Path(__file__).parents[1] / "skeletons" / "dog.toml").read_text(encoding="utf-8")
    path = tmp_path / "hound.toml"
    path.write_text(written, encoding="utf-8")
    desk = Desk(Request(animal=str(path)), tmp_path)
    query = urlencode({"animal": path, "bounce": 1.1})
    before = desk.clip(query)
    title = re.search(r'(?m)^title = "(.*)"', written)[1]
    path.write_text(written.replace(f'"{title}"', '"Another"'), encoding="utf-8")
    after = desk.clip(query)
    assert json.loads(before)["title"] == title
    assert json.loads(after)["title"] == "Another"


def test_answers_are_made_once_for_all_who_wait_and_faults_are_not_kept():
    answers, begun, go, made = Answers(2), threading.Event(), threading.Event(), []

    def slow():
        begun.set()
        assert go.wait(10.0)
        made.append(1)
        return b"slow"

    heard = []
    threads = [threading.Thread(target=lambda: heard.append(answers.of("a", slow))) for _ in range(3)]
    threads[0].start()
    assert begun.wait(10.0)
    for thread in threads[1:]:
        thread.start()
    go.set()
    for thread in threads:
        thread.join(10.0)
    assert heard == [b"slow"] * 3
    assert len(made) == 1

    def fails():
        raise GaitgenError("no")

    for _ in range(2):
        with pytest.raises(GaitgenError, match="no"):
            answers.of("b", fails)
    assert answers.of("b", lambda: b"b") == b"b"
    assert answers.of("c", lambda: b"c") == b"c"  # the third takes the place of the first
    assert answers.of("a", lambda: b"anew") == b"anew"


def test_what_outlasts_the_server_is_no_fault(monkeypatch, capsys):
    """A client that is answered while it ends may find anything closed; before that it is a fault."""
    server = Server(Desk(Request(), Path()))
    monkeypatch.setattr(sys, "exc_info", lambda: (ValueError, ValueError("closed"), None))
    server.handle_error(None, ("127.0.0.1", 1))
    assert "Exception occurred" in capsys.readouterr().err
    server.finish()
    server.handle_error(None, ("127.0.0.1", 1))
    assert capsys.readouterr().err == ""
