"""Reading: what is accepted, what is refused and with which words, and whatever else may come."""

import math
import re
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaitgen.errors import FileFormatError, RigError
from gaitgen.formats import read_bvh as module
from gaitgen.formats.bvh_file import world_end_sites, world_positions
from gaitgen.formats.read_bvh import read_bvh, read_bvh_bytes

HERE = Path(__file__).parent
GOLDEN = (HERE / "golden/hand.bvh").read_bytes()
LINES = GOLDEN.decode().split("\n")  # line n is LINES[n - 1]


def small(offset="1 2 3", channels="3 Xposition Yposition Zposition", rows="7 8 9", joint=""):
    """Make a file of one joint, with room for another."""
    head = f"HIERARCHY\nROOT a\n{{\nOFFSET {offset}\nCHANNELS {channels}\n{joint}\n}}\n"
    return f"{head}MOTION\nFrames: 1\nFrame Time: 0.5\n{rows}\n".encode()


def changed(line, text):
    """Replace one line, counted from 1, of the golden file."""
    return "\n".join([*LINES[: line - 1], text, *LINES[line:]]).encode()


def test_everything_in_the_golden_file():
    file = read_bvh(GOLDEN, "hand.bvh")
    assert file.joint_names == ("pelvis", "thorax_1", "head", "femur_L", "hind_hoof_L")
    assert file.parents.tolist() == [-1, 0, 1, 0, 3]
    assert file.offsets.tolist() == [[0, 0, 0], [0, 10, 50], [0, 50, 40], [12, -10, -10], [0, -40, 5]]
    assert file.end_joints.tolist() == [2, 4]
    assert file.end_offsets.tolist() == [[0, -20, 30], [0, -70, 10]]
    assert file.channels[0][:3] == ("Xposition", "Yposition", "Zposition")
    assert file.channels[4] == ("Zrotation", "Xrotation", "Yrotation")
    assert file.frame_time_s == 0.04166667
    assert file.rows.shape == (2, 18)
    assert file.rows[1, :7].tolist() == [-1, 119, 5, 0, 0, 30, 0]


@pytest.mark.parametrize(
    ("line", "name"),
    [("JOINT my  left\tchest ", "my left chest"), ("JOINT my chest {", "my chest"), ("JOINT 1 2", "1 2")],
)
def test_a_name_of_several_words_is_what_stands_before_the_brace_or_the_end_of_the_line(line, name):
    braced = changed(6, line)
    if line.endswith("{"):
        lines = braced.decode().split("\n")
        braced = "\n".join([*lines[:6], *lines[7:]]).encode()
    file = read_bvh(braced, "hand.bvh")
    assert file.joint_names == ("pelvis", name, "head", "femur_L", "hind_hoof_L")
    np.testing.assert_array_equal(file.rows, read_bvh(GOLDEN, "hand.bvh").rows)


def test_positions_worked_by_hand():
    """Standing, offsets add up. Posed, the chest looks straight down under a pelvis turned by 30 degrees.

    head in chest axes (0, 50, 40); after Rx(90) (0, -40, 50); with thorax_1's (0, 10, 50): (0, -30, 100);
    after Ry(30) (100 sin 30, -30, 100 cos 30); plus the root (-1, 119, 5).
    """
    file = read_bvh(GOLDEN, "hand.bvh")
    places = world_positions(file)
    standing = [[0, 120, 0], [0, 130, 50], [0, 180, 90], [12, 110, -10], [12, 70, -5]]
    np.testing.assert_allclose(places[0], standing, atol=1e-12)
    np.testing.assert_allclose(world_end_sites(file)[0], [[0, 160, 120], [12, 0, 5]], atol=1e-12)
    np.testing.assert_allclose(places[1, 2], [49.0, 89.0, 5.0 + 100.0 * math.cos(math.pi / 6)], atol=1e-12)


@pytest.mark.parametrize(
    "data",
    [
        GOLDEN.replace(b"\n", b"\r\n"),
        GOLDEN.replace(b"\n", b"\r"),
        GOLDEN.replace(b" ", b"\t \t"),
        GOLDEN.replace(b"\n", b"\n \t\n"),
        GOLDEN.rstrip(b"\n"),
        b"\xef\xbb\xbf" + GOLDEN,
        GOLDEN.replace(b"90.000000", b"9.0e+01").replace(b"119.000000", b"1190000E-4"),
        re.sub(rb"\n\t*\{", b" {", GOLDEN),
        GOLDEN.replace(b"Zrotation", b"zROTATION")
        .replace(b"JOINT", b"joint")
        .replace(b"Frames:", b"frames :"),
        GOLDEN.replace(b"Frame Time: ", b"Frame Time:"),
        GOLDEN.split(b"MOTION")[0].replace(b"\n", b" ") + b"\nMOTION" + GOLDEN.split(b"MOTION")[1],
    ],
    ids=[
        "crlf",
        "cr",
        "tabs",
        "blank",
        "no-last-lf",
        "bom",
        "e",
        "braces",
        "capitals",
        "no-space",
        "one-line",
    ],
)
def test_other_spellings_of_the_same(data):
    file, golden = read_bvh(data, "x.bvh"), read_bvh(GOLDEN, "x.bvh")
    assert file.joint_names == golden.joint_names
    assert file.channels == golden.channels
    np.testing.assert_array_equal(file.rows, golden.rows)
    np.testing.assert_array_equal(world_end_sites(file), world_end_sites(golden))


def test_any_channel_set():
    joint = "JOINT b { OFFSET 1 0 0 CHANNELS 0 JOINT c { OFFSET 1 0 0 CHANNELS 1 Zrotation } }"
    file = read_bvh(small("0 0 0", "3 Zrotation Yposition Xrotation", "90 5 0 30", joint), "x.bvh")
    np.testing.assert_allclose(world_positions(file)[0], [[0, 5, 0], [0, 6, 0], [0, 7, 0]], atol=1e-12)
    assert world_end_sites(file).shape == (1, 0, 3)


CHILD = """JOINT b
{
OFFSET 0 2 0
CHANNELS 6 Xposition Yposition Zposition Zrotation Xrotation Yrotation
End Site
{
OFFSET 1 0 0
}
}"""


@pytest.mark.parametrize(("first", "adds"), [("0 2 0", False), ("0.1 2.2 0", False), ("0 0 0", True)])
def test_positions_under_the_root(first, adds):
    """Writers differ: frame 1, at rest or near it, tells whether a position replaces the OFFSET."""
    rows = f"0 0 0 {first} 0 0 0"
    file = read_bvh(small("0 0 0", rows=rows, joint=CHILD), "x.bvh")
    assert file.adds_positions is adds
    moved = replace(file, rows=np.array([[0.0, 0, 0, 1, 5, 0, 90, 0, 0]]))
    place = [1, 7, 0] if adds else [1, 5, 0]
    np.testing.assert_allclose(world_positions(moved)[0, 1], place, atol=1e-12)
    np.testing.assert_allclose(world_end_sites(moved)[0, 0], np.add(place, [0, 1, 0]), atol=1e-12)


def test_root_position_replaces_its_offset():
    assert world_positions(read_bvh(small(), "x.bvh"))[0, 0].tolist() == [7, 8, 9]
    assert world_positions(read_bvh(small(channels="1 Yposition", rows="8"), "x.bvh"))[0, 0].tolist() == [
        1,
        8,
        3,
    ]


def test_many_rows():
    rows = "\n".join(f"{i} 0 0" for i in range(3000))
    file = read_bvh(small(rows=rows).replace(b"Frames: 1", b"Frames: 3000"), "x.bvh")
    np.testing.assert_array_equal(file.rows[:, 0], np.arange(3000))
    with pytest.raises(
        FileFormatError, match=r"^x\.bvh, line 2911: a\.Yposition is 'nan'; write a finite number"
    ):
        read_bvh(
            small(rows=rows.replace("2900 0", "2900 nan")).replace(b"Frames: 1", b"Frames: 3000"), "x.bvh"
        )


FAULTS = {
    "empty": (b"", "line 1: the file is empty; give a BVH, which begins with HIERARCHY"),
    "other file": (b"glTF", "line 1: found 'glTF' instead of 'HIERARCHY'; a BVH file begins with HIERARCHY"),
    "binary": (
        b"HIERARCHY\n\xff\xfe",
        "line 2: byte 0xff is not text; save the file as plain ASCII or UTF-8",
    ),
    "no root": (
        changed(2, "JOINT pelvis"),
        "line 2: found 'JOINT' instead of 'ROOT'; the first joint is written",
    ),
    "no name": (changed(6, "JOINT"), "line 7: JOINT has no name; write one after JOINT"),
    "no brace": (
        changed(7, ""),
        "line 8: found 'OFFSET' instead of '{'; open joint 'thorax_1' with a brace",
    ),
    "no brace on its line": (
        changed(6, "JOINT my chest OFFSET 0 0 0").replace(
            b"\n\t{\n\t\tOFFSET 0.000000 10", b"\n\t\tOFFSET 0.000000 10"
        ),
        "line 7: found 'OFFSET' instead of '{'; open joint 'my chest OFFSET 0 0 0' with a brace",
    ),
    "twice": (
        changed(10, "JOINT pelvis"),
        "line 10: a second joint is named 'pelvis'; give each its own name",
    ),
    "brace": (changed(19, ""), "line 34: the joints end before the brace that closes the ROOT"),
    "extra brace": (changed(34, "} }"), "line 34: found '}' after the root was closed; keep one ROOT"),
    "two roots": (
        changed(34, "} ROOT b {"),
        "line 34: found 'ROOT' after the root was closed; keep one ROOT",
    ),
    "strange": (
        changed(14, "SCALE 1"),
        "line 14: found 'SCALE' inside 'head'; a joint holds OFFSET, CHANNELS,",
    ),
    "no offset": (changed(8, ""), "line 19: joint 'thorax_1' of line 6 has no OFFSET; add one"),
    "no channels": (changed(9, ""), "line 19: joint 'thorax_1' of line 6 has no CHANNELS; add one"),
    "two offsets": (changed(9, "OFFSET 0 0 0"), "line 9: joint 'thorax_1' has two OFFSET; keep one"),
    "two channels": (changed(10, "CHANNELS 0"), "line 10: joint 'thorax_1' has two CHANNELS; keep one"),
    "offset": (
        changed(8, "OFFSET 0 x 0"),
        "line 8: OFFSET of 'thorax_1' is 'x'; write a finite number below 1e+09",
    ),
    "count": (
        changed(9, "CHANNELS 7"),
        "line 9: 'thorax_1' has '7' channels; write a whole number from 0 to 6",
    ),
    "word": (
        changed(9, "CHANNELS 1 Wrotation"),
        "line 9: 'thorax_1' has the channel 'Wrotation'; use each of Xposit",
    ),
    "word twice": (
        changed(9, "CHANNELS 2 Zrotation Zrotation"),
        "line 9: 'thorax_1' has the channel 'Zrotation'; use",
    ),
    "too few words": (
        changed(9, "CHANNELS 4 Zrotation Xrotation Yrotation"),
        "line 10: 'thorax_1' has the channel",
    ),
    "end": (changed(14, "End"), "line 15: found '{' instead of 'Site'; write 'End Site'"),
    "end offset": (changed(16, ""), "line 17: found '}' instead of 'OFFSET'; an End Site holds one OFFSET"),
    "end brace": (
        changed(17, "OFFSET"),
        "line 17: found 'OFFSET' instead of '}'; close the End Site with a brace",
    ),
    "no motion": (
        "\n".join(LINES[:34]).encode(),
        "line 34: there is no MOTION after the joints; the file is cut sh",
    ),
    "no frames": ("\n".join(LINES[:35]).encode(), "line 35: the file ends before 'Frames: <number of rows>'"),
    "no time": ("\n".join(LINES[:36]).encode(), "line 36: the file ends before 'Frame Time: <seconds>'"),
    "frames": (
        changed(36, "Frames: -2"),
        "line 36: Frames is '-2'; write the number of rows as a whole number",
    ),
    "frames word": (
        changed(36, "Frames 2"),
        "line 36: found 'Frames 2'; write 'Frames: <number of rows>' there",
    ),
    "huge": (changed(36, "Frames: " + "9" * 5000), "line 36: Frames is '99999999999999"),
    "time": (
        changed(37, "Frame Time: fast"),
        "line 37: Frame Time is 'fast'; write a finite number below 1e+09",
    ),
    "time 0": (
        changed(37, "Frame Time: 0"),
        "line 37: Frame Time is '0'; write the seconds from one frame to the",
    ),
    "time -1": (
        changed(37, "Frame Time: -1"),
        "line 37: Frame Time is '-1'; write the seconds from one frame to",
    ),
    "time near 0": (
        changed(37, "Frame Time: 1e-320"),
        "line 37: Frame Time is '1e-320'; write the seconds from one frame to the next, from 1e-05 to 1000",
    ),
    "time 1e6": (
        changed(37, "Frame Time: 1e6"),
        "line 37: Frame Time is '1e6'; write the seconds from one frame to the next, from 1e-05 to 1000",
    ),
    "a long name": (
        changed(10, "JOINT " + "n" * 201),
        "line 10: the name 'nnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnn...' has 201 letters; give one of at most",
    ),
    "missing row": (changed(39, ""), "line 40: the file has 1 rows, but says Frames: 2; make them agree"),
    "extra row": (
        changed(40, LINES[37]),
        "line 40: the file has 3 rows, but says Frames: 2; make them agree",
    ),
    "many": (
        changed(36, "Frames: 99999999"),
        "line 40: the file has 2 rows, but says Frames: 99999999; make them",
    ),
    "short row": (
        changed(39, "1 2 3"),
        "line 39: the row has 3 numbers; the joints above need 18, so write it again",
    ),
    "nan": (
        GOLDEN.replace(b"119.0", b"nan"),
        "line 39: pelvis.Yposition is 'nan00000'; write a finite number below",
    ),
    "NaN": (
        GOLDEN.replace(b"119.000000", b"NaN"),
        "line 39: pelvis.Yposition is 'NaN'; write a finite number below",
    ),
    "inf": (
        GOLDEN.replace(b"119.000000", b"-inf"),
        "line 39: pelvis.Yposition is '-inf'; write a finite number be",
    ),
    "large": (
        GOLDEN.replace(b"119.000000", b"1e400"),
        "line 39: pelvis.Yposition is '1e400'; write a finite numb",
    ),
    "underscore": (
        GOLDEN.replace(b"119.000000", b"1_1"),
        "line 39: pelvis.Yposition is '1_1'; write a finite nu",
    ),
    "comma": (
        GOLDEN.replace(b"119.000000", b"119,0"),
        "line 39: pelvis.Yposition is '119,0'; write a finite numb",
    ),
    "no channel": (
        small(channels="0", rows=""),
        "line 2: no joint has a channel; give the ROOT its CHANNELS",
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_every_fault_is_named_with_file_line_and_remedy(name):
    data, message = FAULTS[name]
    with pytest.raises(FileFormatError) as caught:
        read_bvh(data, "dir/x.bvh")
    assert str(caught.value).startswith(f"dir/x.bvh, {message}")
    assert "\n" not in str(caught.value)


def test_too_large_a_file_is_refused(monkeypatch):
    monkeypatch.setattr(module, "LARGEST_FILE_BYTES", 2_000_000)
    with pytest.raises(
        FileFormatError, match=r"^x\.bvh, line 1: the file has 3 MB; split it into parts below 2 MB$"
    ):
        read_bvh(b" " * 3_000_000, "x.bvh")


def test_a_file_that_is_too_large_is_not_read_at_all(tmp_path):
    path = tmp_path / "x.bvh"
    with path.open("wb") as file:
        file.truncate(50_000_000_000)  # of which nothing is on the disk
    with pytest.raises(RigError, match=r"x\.bvh has more than 100 MB; give a part of the clip$"):
        read_bvh_bytes(path, "clip")
    with pytest.raises(RigError, match=r"x\.bvh has more than 100 MB; give a rig with one frame$"):
        read_bvh_bytes(path)


def long_clip(frames, joints=4, line_end="\n"):
    """A clip of many frames whose numbers are all one letter long."""
    tree = "JOINT j{} {{ OFFSET 0 1 0 CHANNELS 3 Zrotation Xrotation Yrotation"
    head = "HIERARCHY ROOT a { OFFSET 0 0 0 CHANNELS 3 Xposition Yposition Zposition "
    head += " ".join(tree.format(i) for i in range(joints - 1)) + " }" * joints
    row = " ".join(["1"] * (3 * joints)) + line_end
    return f"{head}\nMOTION\nFrames: {frames}\nFrame Time: 0.01\n".encode() + frames * row.encode()


def test_more_motion_than_is_looked_at_is_refused():
    with pytest.raises(
        FileFormatError,
        match=r"^x\.bvh, line 3: the file has 250001 frames of 4 joints; give a part, at most 250000 frames$",
    ):
        read_bvh(long_clip(250_001), "x.bvh")
    assert len(read_bvh(long_clip(2000), "x.bvh").rows) == 2000


@pytest.mark.parametrize("letters", [b"\n", b"\r\n", b"\r"])
def test_too_many_lines_are_refused(letters):
    with pytest.raises(
        FileFormatError,
        match=r"^x\.bvh, line 2000000: the file goes on after 2000000 lines; take out the blank",
    ):
        read_bvh(letters * 2_000_001, "x.bvh")


def test_too_many_joints_are_refused():
    with pytest.raises(
        FileFormatError, match=r"^x\.bvh, line 1: the file has more than 4000 joints; leave out"
    ):
        read_bvh(long_clip(1, joints=4001), "x.bvh")
    assert len(read_bvh(long_clip(1, joints=4000), "x.bvh").joint_names) == 4000


def test_a_row_of_millions_is_counted_not_kept():
    with pytest.raises(
        FileFormatError, match=r"line 39: the row has 1000000 numbers; the joints above need 18"
    ):
        read_bvh(changed(39, "1 " * 1_000_000), "x.bvh")


MEMORY = """
import sys
from gaitgen.formats import read_bvh as module
from test_read_bvh import long_clip
data = {
    "motion": lambda: long_clip(249_000),
    "lines": lambda: b"\\n" * module.MOST_LINES,
    "one row": lambda: long_clip(1) + b"11 " * 33_000_000,
    "words": lambda: b"HIERARCHY ROOT a { OFFSET 0 0 0 " + b"x{ " * 33_000_000,
    "joints": lambda: long_clip(1, joints=4000).replace(b"}", b"} " * 20_000, 1),
    "another script": lambda: "\\u99ac ".encode() * 24_000_000,
}[sys.argv[1]]()[: module.LARGEST_FILE_BYTES]
try:
    module.read_bvh(data, "x.bvh")
except module.FileFormatError:
    pass
print(next(line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM:")))
"""


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["motion", "lines", "one row", "words", "joints", "another script"])
def test_memory_is_bounded_whatever_is_in_the_file(kind):
    done = subprocess.run(
        [sys.executable, "-c", MEMORY, kind], capture_output=True, text=True, check=True, cwd=HERE
    )
    assert int(done.stdout) < 1_000_000  # kilobytes


def test_deep_nesting_is_read():
    deep = 3000
    joints = "".join(f"JOINT j{i} {{ OFFSET 0 1 0 CHANNELS 0 " for i in range(deep)) + " }" * deep
    file = read_bvh(small(joint=joints), "x.bvh")
    assert world_positions(file)[0, -1].tolist() == [7, 8 + deep, 9]


def only_our_error(data):
    """Read whatever comes; nothing but our error may come out, soon, and what is read can be placed."""
    start = time.process_time()
    refusal = ""
    try:
        file = read_bvh(data, "x.bvh")
    except FileFormatError as fault:
        refusal = str(fault)
    else:
        assert np.isfinite(world_positions(file)).all()
        assert np.isfinite(world_end_sites(file)).all()
    assert not refusal or (refusal.startswith("x.bvh, line ") and "\n" not in refusal)
    assert time.process_time() - start < 10.0


QUICK = settings(max_examples=400, deadline=None)


@given(st.binary(max_size=300))
@QUICK
def test_random_bytes(data):
    only_our_error(data)


@given(st.integers(0, len(GOLDEN)))
@QUICK
def test_cut_short(length):
    only_our_error(GOLDEN[:length])


@given(st.integers(0, len(GOLDEN) - 1), st.integers(0, 40), st.binary(max_size=12))
@QUICK
def test_bytes_replaced(start, length, data):
    only_our_error(GOLDEN[:start] + data + GOLDEN[start + length :])


WORDS = sorted({word for line in LINES for word in line.split()} | {"1e308", "nan", "-1", "0", "\x00", "٣"})


@pytest.mark.thorough
@given(st.lists(st.tuples(st.integers(0, 200), st.sampled_from(WORDS)), min_size=1, max_size=4))
@QUICK
def test_words_replaced(changes):
    words = GOLDEN.decode().replace("\n", " \n ").split(" ")
    for place, word in changes:
        words[place % len(words)] = word
    only_our_error(" ".join(words).encode())


@given(st.integers(-5, 10**9), st.integers(0, 5), st.integers(0, 40))
@QUICK
def test_row_counts(frames, rows, numbers):
    head = GOLDEN.split(b"Frames:")[0].decode()
    row = " ".join(["1.5"] * numbers)
    text = f"{head}Frames: {frames}\nFrame Time: 0.1\n" + f"{row}\n" * rows
    only_our_error(text.encode())


@pytest.mark.thorough
@given(st.lists(st.sampled_from(LINES), max_size=50))
@QUICK
def test_lines_shuffled(lines):
    only_our_error("\n".join([*LINES[:5], *lines, *LINES[34:]]).encode())
