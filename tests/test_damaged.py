"""Whatever a file holds, its reader takes it or refuses it in a line; damaged by bench/fuzz_damage.py."""

import importlib.util
import random
import re
import time
from importlib import resources
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gaitgen import Request, make_cycle
from gaitgen.animal.library import animal_names, load_animal, read_skeleton, skeleton_folder
from gaitgen.animal.toml_table import nearest, parse
from gaitgen.batch.table import COLUMNS, TABLE, read_table, table_bytes
from gaitgen.check.limits import load_limits
from gaitgen.errors import FileFormatError, GaitgenError, RequestError
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.formats.record import digests_in
from gaitgen.gait.gait import load_gait
from gaitgen.reading.read import clip_from_bvh
from gaitgen.rigs.find import find_rig
from gaitgen.rigs.map_file import map_from_table
from gaitgen.rigs.map_text import write_map
from gaitgen.rigs.rig import make_rig
from gaitgen.shot.file_kind import is_shot_file
from gaitgen.shot.shot_file import read_shot

HERE = Path(__file__).parent
RIG = HERE / "rigs" / "plain.bvh"
_SPEC = importlib.util.spec_from_file_location("fuzz", HERE / "bench" / "fuzz_damage.py")
FUZZ = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(FUZZ)
SEEDS = st.integers(0, 2**32 - 1)


def many(examples):
    return settings(
        max_examples=examples, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
    )


def only_our_error(read, *arguments):
    """Read; return None if it was refused in one line of reasonable length, soon."""
    start = time.process_time()
    try:
        return read(*arguments)
    except GaitgenError as error:
        text = str(error)
        assert text
        assert "\n" not in text
        assert len(text) < 2000
        return None
    finally:
        assert time.process_time() - start < 20.0


def damaged(data, seed):
    return FUZZ.damaged(data, random.Random(seed))  # noqa: S311


ANIMALS = {name: (skeleton_folder() / f"{name}.toml").read_bytes() for name in animal_names()}


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", ANIMALS)
@given(seed=SEEDS)
@many(60)
def test_animals(name, seed):
    animal = only_our_error(read_skeleton, damaged(ANIMALS[name], seed), "a.toml")
    if animal is not None:
        assert np.isfinite(animal.offsets_m).all()
        assert np.isfinite(animal.tips_m).all()


GAIT = (resources.files("gaitgen") / "gaits" / "walk.toml").read_bytes()


@given(seed=SEEDS)
@many(200)
def test_gaits(tmp_path, seed):
    path = tmp_path / "g.toml"
    path.write_bytes(damaged(GAIT, seed))
    gait = only_our_error(load_gait, str(path))
    if gait is not None:
        assert 0.0 <= gait.duty_factor_range[0] <= gait.duty_factor_range[1] <= 1.0


LIMITS = (resources.files("gaitgen") / "check" / "limits" / "horse.toml").read_bytes()


@pytest.mark.thorough
@given(seed=SEEDS)
@many(200)
def test_limits(tmp_path, seed):
    path = tmp_path / "l.toml"
    path.write_bytes(damaged(LIMITS, seed))
    only_our_error(load_limits, "horse", path)


RIG_FILE = read_bvh(RIG.read_bytes(), "rig.bvh")
MAP = write_map(find_rig(RIG_FILE, "rig.bvh")[0], RIG, RIG.with_name("m.toml"))


@given(seed=SEEDS)
@many(200)
def test_maps(seed):
    def read(data):
        return map_from_table(parse(data, "m.toml"), RIG_FILE)

    found = only_our_error(read, damaged(MAP, seed))
    if found is not None:
        only_our_error(make_rig, RIG.read_bytes(), "rig.bvh", found, load_animal(found.template))


@pytest.mark.thorough
@given(seed=SEEDS)
@many(60)
def test_rigs(seed):
    def read(data):
        return find_rig(read_bvh(data, "rig.bvh"), "rig.bvh")

    only_our_error(read, damaged(RIG.read_bytes(), seed))


WALK = bvh.encode(make_cycle(Request(frames=12)), FileSpace())


@pytest.mark.thorough
@given(seed=SEEDS)
@many(60)
def test_clips(tmp_path, seed):
    path = tmp_path / "c.bvh"
    path.write_bytes(damaged(WALK, seed))
    clip = only_our_error(clip_from_bvh, path)
    if clip is not None:
        assert np.isfinite(clip.rotations).all()
        assert np.isfinite(clip.root_path_m).all()


def test_a_leg_that_leads_upwards_is_refused(tmp_path):
    """What the unit is guessed from is then no height at all."""
    path, up = tmp_path / "c.bvh", WALK.decode()
    below = re.compile(r"(JOINT hind_cannon_L\s*\{\s*OFFSET \S+) (-\S+)")
    assert len(below.findall(up)) == 1
    path.write_text(below.sub(r"\1 150.0", up))
    with pytest.raises(FileFormatError, match="its hind leg does not reach down with all rotations zero"):
        clip_from_bvh(path)


ROW = dict.fromkeys(COLUMNS, "1") | {"name": "w", "files": "w.bvh:0123456789abcdef"}
ROWS = table_bytes([{**ROW, "name": f"w{k}", "files": f"w{k}.bvh:0123456789abcdef"} for k in range(5)])


@given(seed=SEEDS)
@many(200)
def test_tables_of_variants(tmp_path, seed):
    """No row may name a file outside of its folder, or hold what a terminal would obey."""
    (tmp_path / TABLE).write_bytes(damaged(ROWS, seed))
    rows, damage = read_table(tmp_path)
    assert "\n" not in damage
    for name, row in rows.items():
        assert row["name"] == name
        assert tuple(row) == COLUMNS
        assert all(value.isprintable() for value in row.values())
        assert not set("/\\") & set(row["files"])


@given(data=st.binary(max_size=300))
@many(200)
def test_bytes(tmp_path, data):
    path = tmp_path / "x"
    path.write_bytes(data)
    (tmp_path / TABLE).write_bytes(data)
    only_our_error(read_skeleton, data, "a.toml")
    only_our_error(load_limits, "horse", path)
    only_our_error(clip_from_bvh, path)
    read_table(tmp_path)


DEEP = "too many brackets, or parts of a name, inside each other"
MONSTERS = {
    "a name of many parts": ("x = 1\n" + "a." * 400_000 + "a = 1", f"is not TOML ({DEEP}, in line 2); "),
    "a table of many parts": ("[" + "a . " * 20_000 + "a]", f"is not TOML ({DEEP}, in line 1); "),
    "a name of some parts": ("[x]\n" + "a." * 60 + "a = 1", f"[x] a.a has {DEEP}; "),
    "brackets": ("x = 1\ny = " + "[" * 5000 + "]" * 5000, f"is not TOML ({DEEP}, in line 2); "),
    "some brackets": ("y = " + "[" * 40 + "]" * 40, f"top level y has {DEEP}; "),
    "thousands of digits": (
        "x = 1\ny = " + "9" * 5000,
        "is not TOML (a number of more than 4300 digits, in line 2); ",
    ),
    "in base sixteen": ("[x]\ny = 0x" + "f" * 5000, "[x] y has thousands of digits; "),
}


@pytest.mark.sample(10)
@pytest.mark.parametrize("kind", MONSTERS)
def test_what_toml_lets_pass_and_nobody_means(kind):
    """Some would be read for hours: Python's reader takes the square of the parts of a name."""
    text, words = MONSTERS[kind]
    start = time.process_time()
    with pytest.raises(GaitgenError) as refused:
        parse(text.encode(), "a.toml")
    assert time.process_time() - start < 2.0
    assert words in str(refused.value)
    assert "\n" not in str(refused.value)


def quick(read, *arguments):
    """Call, and return what comes of it, which takes no longer than a second of the processor."""
    start = time.process_time()
    found = read(*arguments)
    assert time.process_time() - start < 1.0
    return found


def test_long_files_are_read_in_time_that_goes_with_their_length(tmp_path):
    """Each of these once took the square of it, or hundreds of times as long."""
    blank = tmp_path / "blank.toml"
    blank.write_text("\n" * 300_000)
    assert not quick(is_shot_file, str(blank))
    blank.write_text("\n" * 300_000 + " [[ passage ]]\n")
    assert quick(is_shot_file, str(blank))
    whole = "0123456789abcdef"
    assert quick(digests_in, "x" * 1_000_000) == []
    assert quick(digests_in, "x:" * 500_000) == []
    assert digests_in(f"a.bvh:{whole} b c.csv:{whole}") == [("a.bvh", whole), ("b c.csv", whole)]
    assert digests_in(f"a/b.bvh:{whole} c:d:{whole} e:{whole}") == [("e", whole)]
    assert quick(nearest, "x" * 300_000, {"walk", "x" * 200_000}) == ""


def test_more_marks_than_anybody_sets_are_refused(tmp_path):
    path = tmp_path / "s.toml"
    path.write_text('[[passage]]\ngait = "walk"\nstrides = 1\n' + "[[mark]]\nat = [1, 2]\nframe = 3\n" * 501)
    with pytest.raises(RequestError, match="mark is there 501 times; give at most 500 marks"):
        read_shot(path)
