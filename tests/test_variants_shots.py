"""Many shots: files, animals, styles and values of the files; made as alone, kept, gone on with, refused."""

import csv
import shutil
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from gaitgen.batch import shots
from gaitgen.batch.run import run_variants
from gaitgen.batch.shot_plan import plan_shots
from gaitgen.batch.table import TABLE
from gaitgen.commands import run
from gaitgen.errors import RequestError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.hand_off import HandOff
from gaitgen.shot.changed_file import parse_change

pytestmark = pytest.mark.usefixtures("fits_once")

HERE = Path(__file__).resolve().parent
# Two strides of a cycle: the least that a shot can be, and what a test need not wait for.
SHORT = 'animal = "dog"\nstart = "going"\nend = "going"\n\n[[passage]]\ngait = "walk"\nstrides = 2\n'


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """An empty folder with short.toml, to be in."""
    monkeypatch.chdir(tmp_path)
    Path("short.toml").write_text(SHORT)
    return tmp_path


def _many(*arguments, out="made"):
    return run(["variants", *arguments, "--no-keys", "--workers", "1", "--out", out])


def _rows(out="made"):
    with Path(out, TABLE).open(encoding="utf-8") as file:
        return {row["name"]: row for row in csv.DictReader(file)}


def _contents(out):
    return {path.name: path.read_bytes() for path in Path(out).iterdir() if path.name != TABLE}


@pytest.mark.usefixtures("folder")
def test_the_files_are_those_that_one_shot_has_alone(capsys):
    Path("trotting.toml").write_text(SHORT.replace("walk", "trot"))
    assert _many("short.toml", "trotting.toml", "--style", "big: bounce=1.2") == 0
    assert set(_rows()) == {"short_big", "trotting_big"}
    assert [row["gait"] for row in _rows().values()] == ["walk", "trot"]
    assert [row["animal"] for row in _rows().values()] == ["dog", "dog"]
    Path("short.toml").write_text("bounce = 1.2\n" + SHORT)
    capsys.readouterr()
    assert run(["shot", "short.toml", "--no-keys", "--out", "alone", "--name", "short_big"]) == 0
    alone, many = _contents("alone"), _contents("made")
    for end in ("bvh", "channels.csv", "path.csv"):
        assert many[f"short_big.{end}"] == alone[f"short_big.{end}"]


@pytest.mark.usefixtures("folder")
def test_values_of_the_file_are_varied_and_name_the_files():
    vary = ["--vary", "passage.1.speed=0.9,1.1", "--vary", "passage.1.gait=walk"]
    assert _many("short.toml", *vary, "--animal", "riding_horse,dog", "--style", "tired", "--fps", "12") == 0
    rows = _rows()
    assert list(rows) == [
        f"short_{animal}_passage_1_speed_{speed}_passage_1_gait_walk_tired"
        for speed in ("0p9", "1p1")
        for animal in ("riding_horse", "dog")
    ]
    speeds = [float(row["speed_m_s"]) for row in rows.values()]
    assert np.allclose(speeds, [0.9, 0.9, 1.1, 1.1], atol=0.03)  # strides of whole frames
    assert {(row["fps"], row["style"]) for row in rows.values()} == {("12", "tired")}


@pytest.mark.usefixtures("folder")
def test_a_second_run_makes_what_is_new_and_keeps_what_was_edited(capsys):
    assert _many("short.toml", "--vary", "passage.1.strides=1,2") == 0
    before = _contents("made")
    capsys.readouterr()
    shutil.move("short.toml", "elsewhere.toml")
    Path("short.toml").write_text(Path("elsewhere.toml").read_text())
    assert _many("short.toml", "--vary", "passage.1.strides=1,2,3") == 0
    assert "made 1, kept 2" in capsys.readouterr().out
    assert before.items() <= _contents("made").items()
    edited = Path("made/short_passage_1_strides_1.bvh")
    edited.write_text("by hand")
    assert _many("short.toml", "--vary", "passage.1.strides=1,2,3") == 0
    assert "it is kept; the new files are beside it" in capsys.readouterr().err
    assert edited.read_text() == "by hand"
    assert Path("made/short_passage_1_strides_1.2.bvh").is_file()
    Path("short.toml").write_text(SHORT.replace("dog", "cat"))  # what is asked now is another
    assert _many("short.toml", "--vary", "passage.1.strides=2") == 0
    assert "was made from another request or version, and is replaced" in capsys.readouterr().err


def test_an_interrupted_run_goes_on_where_it_stopped(folder):
    plan = plan_shots(["short.toml"], vary=["passage.1.strides=1,2,3"])

    def stop_after_two(done, _all):
        if done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_variants(plan, FileSpace(), HandOff(keys=False), folder / "made", workers=1, tell=stop_after_two)
    assert len(_rows()) == 2
    outcome = run_variants(plan, FileSpace(), HandOff(keys=False), folder / "made", workers=1)
    assert (outcome.made, outcome.kept) == (1, 2)


@pytest.mark.thorough  # always of cycles, in test_variants
def test_more_cores_give_the_same_bytes(folder):
    plan = plan_shots(["short.toml"], vary=["passage.1.strides=1,2"])
    for workers in (1, 2):
        run_variants(plan, FileSpace(), HandOff(keys=False), folder / f"by_{workers}", workers=workers)
    assert _contents("by_1") == _contents("by_2")
    assert Path("by_1", TABLE).read_bytes() == Path("by_2", TABLE).read_bytes()


@pytest.mark.usefixtures("folder")
def test_what_cannot_be_made_is_told_shot_by_shot(capsys):
    Path("odd.toml").write_text(SHORT.replace('"walk"', '"wolk"'))
    Path("broken.toml").write_text('animal = "dog\n[[passage]]\n')
    Path("tight.toml").write_text(f"{SHORT}\n[path]\nlegs = [{{ turn = 90, radius = 0.1 }}]\n")
    files = ["short.toml", "odd.toml", "broken.toml", "tight.toml", "none.toml"]
    assert _many(*files) == 2
    error = capsys.readouterr().err
    assert (
        "odd is not made: odd.toml: line 6: [passage, number 1] gait is 'wolk'; did you mean 'walk'" in error
    )
    assert "broken is not made: broken.toml" in error
    assert "tight is not made: tight.toml: line 10: [path] legs" in error
    assert "none is not made: none.toml is not there" in error
    assert "4 of 5 are not made" in error
    assert [row["notices"] == "not_made" for row in _rows().values()] == [False, True, True, True, True]
    assert {path.split(".")[0] for path in _contents("made")} == {"short"}
    assert _many("short.toml", "--vary", "passage.1.strides=1,2,lots,more,most") == 2
    error = capsys.readouterr().err
    assert "strides is 'lots'; write a number" in error
    assert error.count("is not made") == 3  # each for a reason of its own
    assert (
        _many("short.toml", "--vary", "end=slow", "--style", "tired", "--style", "light", "--style", "old")
        == 2
    )


@pytest.mark.usefixtures("folder")
def test_all_that_a_file_names_goes_with_it():
    """Workers may be elsewhere: pictures, gait files and animals are sent as they are."""
    Path("in").mkdir()
    Image.fromarray(np.full((8, 8), 40, np.uint8)).save("in/hills.png")
    walk = (HERE.parent / "gaitgen" / "gaits" / "walk.toml").read_text()
    Path("in/own.toml").write_text(walk)
    ground = '[ground]\nimage = "hills.png"\nmetres_per_pixel = 4.0\nheights = [0, 1]\ncorner = [-12, -12]\n'
    Path("in/hilly.toml").write_text(SHORT.replace('"walk"', '"own.toml"') + ground)
    plan = plan_shots(["in/hilly.toml"])
    shutil.move("in", "gone")
    made = shots.make_asked(plan[0].request, plan[0].request.animal, FileSpace())
    assert made.root_motion()[0][0, 2] == pytest.approx(40 / 255, abs=1e-6)
    other = plan_shots(["gone/hilly.toml"])
    assert other[0].request.copies == plan[0].request.copies


@pytest.mark.thorough
@pytest.mark.usefixtures("folder")
def test_rigs_take_them():
    shutil.copy(HERE / "rigs" / "plain.bvh", "rig.bvh")
    assert run(["fit", "rig.bvh", "--animal", "riding_horse", "--map", "rig.toml"]) == 0
    Path("short.toml").write_text(SHORT.replace('"dog"', '"rig.toml"'))
    assert _many("short.toml") == 0
    assert run(["shot", "short.toml", "--no-keys", "--out", "alone"]) == 0
    assert _contents("made")["short.bvh"] == _contents("alone")["short.bvh"]


WRONG = {
    "cycles and shots": (["walk", "short.toml"], "'walk' is no shot file; give shot files"),
    "two gaits": (["walk", "trot"], "cycles are of one gait, and walk, trot are 2; give one of them"),
    "lengths": (["short.toml", "--frames", "24"], "--frames is for cycles; leave it out"),
    "lead": (["short.toml", "--lead", "left"], "--lead is for cycles; leave it out"),
    "vary a cycle": (["walk", "--vary", "passage.1.speed=1"], "none is given; name one, or leave out --vary"),
    "no values": (["short.toml", "--vary", "speed"], "cannot read 'speed'; write a key of the shot file"),
    "no such style": (["short.toml", "--style", "sad"], "cannot read the style 'sad'"),
    "no such animal": (["short.toml", "--animal", "dgo"], "did you mean 'dog'"),
    "twice": (["short.toml", "short.toml"], "two variants would be called 'short'"),
    "far too many": (
        ["short.toml", *["--vary", "fps=" + ",".join(map(str, range(10, 60)))] * 3],
        "this makes 125000 variants; ask for 1 to 10000",
    ),
    "no such passage": (
        ["short.toml", "--vary", "passage.2.speed=1"],
        "short.toml: passage.2.speed cannot be varied, as passage.2 is not there: passage has 1",
    ),
    "no such table": (["short.toml", "--vary", "ground.slope=1"], "as ground is not there; write a key"),
    "a key of a word": (["short.toml", "--vary", "animal.size=1"], "animal is no table with keys"),
}


@pytest.mark.parametrize("case", WRONG)
@pytest.mark.usefixtures("folder")
def test_what_is_asked_wrongly_is_one_line_and_writes_nothing(capsys, case):
    arguments, words = WRONG[case]
    assert _many(*arguments) == 2
    error = capsys.readouterr().err
    assert words in error
    assert error.count("\n") == 1
    assert not Path("made").exists()


VALUES = {
    "fps=12,24": [12, 24],
    "style=tired": ["tired"],
    "a.b='tired, old',light": ["tired, old", "light"],
    "at=[1,2],[3.5,4]": [[1, 2], [3.5, 4]],
    "points=[[0,0],[5,0]]": [[[0, 0], [5, 0]]],
    "halt=true": [True],
    "style=tired,old 0.5": ["tired", "old 0.5"],
    "style=it's": ["it's"],
    "legs=[{ straight = 2 }],[{ turn = 9, radius = 3 }]": [
        [{"straight": 2}],
        [{"turn": 9, "radius": 3}],
    ],
}


@pytest.mark.parametrize("text", VALUES)
def test_values_are_read_as_in_the_file_and_words_stand_for_themselves(text):
    found = parse_change(text)
    assert [change.value for change in found] == VALUES[text]
    assert {change.key for change in found} == {text.partition("=")[0]}


@pytest.mark.parametrize("text", ["", "=1", "fps", "fps=", "a b=1", "fps=" + "1," * 2000])
def test_what_is_no_key_with_values(text):
    with pytest.raises(RequestError, match=r"cannot read|give 1 to 1000"):
        parse_change(text)
