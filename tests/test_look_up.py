"""`gaitgen animals`: one animal in numbers and standing, all of them to scale on one page."""

import io
import json
import re
import shutil
import tomllib
from pathlib import Path

import numpy as np
import pytest
from ink import greys, ink

from gaitgen import load_animal
from gaitgen.animal.library import animal_names, skeleton_folder
from gaitgen.commands import run
from gaitgen.gait.gait import load_gait
from gaitgen.motion.flesh import standing
from gaitgen.pictures.line_up import GAP_MM, line_up_figure, write_line_up
from gaitgen.pictures.page import MM_PER_INCH
from gaitgen.pictures.rows import Item, Room, fitted_rows, largest_scale, rows_at
from gaitgen.pictures.standing_figure import StandingFigure, height_words, round_step_m

pytestmark = pytest.mark.usefixtures("fits_once")

ROOT = Path(__file__).resolve().parent.parent
NAMES = animal_names()


def content(name):
    """The file of an animal as anybody reads it."""
    return tomllib.loads((skeleton_folder() / f"{name}.toml").read_text(encoding="utf-8"))


def told(capsys, *arguments):
    assert run(["animals", *arguments]) == 0
    return capsys.readouterr().out


# --- one animal in numbers ---------------------------------------------------------------------------------


@pytest.mark.sample(5)
@pytest.mark.parametrize("name", NAMES)
def test_what_is_told_is_what_the_file_says(name, capsys):
    file, found = content(name), json.loads(told(capsys, name, "--json"))
    assert found["withers_height_m"] == file["size"]["withers_height_m"]
    assert found["body_mass_kg"] == file["size"]["body_mass_kg"]
    assert [gait["name"] for gait in found["gaits"] if gait["is_own"]] == sorted(
        file["gaits"], key=lambda own: next(g["speed_m_s"] for g in found["gaits"] if g["name"] == own)
    )
    for limb in found["limbs"]:
        own = file["limbs"][limb["end"]]
        assert limb["foot"] == own["foot"]["kind"]
        assert [bone["name"] for bone in limb["bones"]] == own["joints"][:-1]
        lengths = [file["joints"][bone]["length_m"] for bone in own["joints"][:-1]]
        assert [bone["length_m"] for bone in limb["bones"]] == pytest.approx(lengths, abs=1e-6)
        assert limb["leg_length_m"] == pytest.approx(sum(lengths) + own["foot"]["height_m"], abs=1e-6)
        assert limb["top_height_m"] < limb["leg_length_m"]
        assert limb["foot_length_m"] == pytest.approx(own["foot"]["toe_m"] + own["foot"]["heel_m"])


@pytest.mark.parametrize("name", NAMES)
def test_strides_speeds_and_feet_on_the_ground_agree(name, capsys):
    found = json.loads(told(capsys, name, "--json"))
    for gait in found["gaits"]:
        assert gait["speed_m_s"] == pytest.approx(gait["stride_length_m"] * gait["frequency_hz"], rel=1e-6)
        fore, hind = gait["duty_factor_fore"], gait["duty_factor_hind"]
        assert gait["duty_factor"] == pytest.approx((fore + hind) / 2.0)
        more = load_gait(gait["name"]).as_used_by(load_animal(name)).fore_duty_more
        assert fore - hind == pytest.approx(more)


@pytest.mark.sample(5)
@pytest.mark.parametrize("name", NAMES)
def test_every_source_of_the_file_is_listed_once(name, capsys):
    text = (skeleton_folder() / f"{name}.toml").read_text(encoding="utf-8")
    file = content(name)
    written = set(re.findall(r'^\w*source = "(.*)"$', text, flags=re.MULTILINE)) | {*file["sources"].values()}
    listed = [source["text"] for source in json.loads(told(capsys, name, "--json"))["sources"]]
    assert len(listed) == len(set(listed))
    assert {line.replace("\\", "") for line in written} == {line.replace("\\", "") for line in listed}


def test_people_are_told_size_limbs_gaits_and_sources(capsys):
    said = told(capsys, "elephant")
    file = content("elephant")
    assert said.startswith("Elephant (elephant)\n")
    assert f"withers {file['size']['withers_height_m']:.2f} m" in said
    assert "3000 kg" in said
    assert "column" in said
    for gait in load_animal("elephant").gaits:
        assert re.search(rf"^  {gait} +\d", said, flags=re.MULTILINE)
    assert not re.search(
        r"^  trot ", said, flags=re.MULTILINE
    )  # an elephant has none (Hutchinson et al. 2006, J Exp Biol 209:3812)
    plain = " ".join(said.split())
    assert file["size"]["mass_source"] in plain
    assert max(map(len, said.splitlines())) <= 112


def test_a_file_of_ones_own_is_told_with_the_sources_of_both(tmp_path, capsys):
    mine = tmp_path / "cob.toml"
    mine.write_text(
        'format = 2\nbase = "riding_horse"\nname = "cob"\ntitle = "My cob"\nsource = "measured at home"\n'
        "[proportions]\nwithers_height_m = 1.50\n",
        encoding="utf-8",
    )
    said = told(capsys, str(mine))
    assert said.startswith("My cob (cob)\n")
    assert "withers 1.50 m" in said
    sources = json.loads(told(capsys, str(mine), "--json"))["sources"]
    assert {"measured at home", content("riding_horse")["size"]["mass_source"]} <= {
        s["text"] for s in sources
    }


def test_a_size_of_ones_own_is_not_said_to_be_from_the_sources_of_the_base(tmp_path, capsys):
    mine, bear = tmp_path / "badger.toml", content("brown_bear")["size"]
    start = 'format = 2\nbase = "brown_bear"\nname = "badger"\n'
    mine.write_text(f"{start}[proportions]\nwithers_height_m = 0.28\n", encoding="utf-8")
    about = {s["text"]: s["about"] for s in json.loads(told(capsys, str(mine), "--json"))["sources"]}
    assert about["your own file, which names no source"] == ["size height"]
    assert bear["height_source"] not in about
    assert "size mass" in about[bear["mass_source"]]
    mine.write_text(f'{start}[proportions]\nbody_mass_kg = 11.0\nsource = "weighed"\n', encoding="utf-8")
    about = {s["text"]: s["about"] for s in json.loads(told(capsys, str(mine), "--json"))["sources"]}
    assert "proportions" in about["weighed"]
    assert "your own file, which names no source" not in about
    assert bear["mass_source"] not in about
    assert bear["height_source"] in about


@pytest.mark.thorough
def test_a_rig_is_told_with_whom_it_borrows_from(tmp_path, capsys):
    rig, map_path = tmp_path / "rig.bvh", tmp_path / "rig.toml"
    shutil.copy(ROOT / "tests" / "rigs" / "plain.bvh", rig)
    assert run(["fit", str(rig), "--map", str(map_path), "--animal", "dog"]) == 0
    capsys.readouterr()
    said = told(capsys, str(map_path))
    assert "borrowed from dog" in said
    assert content("dog")["sources"]["lengths"][:40] not in " ".join(said.split())
    assert content("dog")["sources"]["masses"][:40] in " ".join(said.split())
    assert re.search(r"^  rotary_gallop ", said, flags=re.MULTILINE)


REFUSED = {
    ("hors",): "unknown animal 'hors'",
    ("riding_hors",): "did you mean 'riding_horse'",
    ("missing.toml",): "missing.toml is not there",
    ("--picture", "x.png"): "a picture shows one animal; name it: gaitgen animals NAME --picture FILE",
    ("cat", "--picture", "x.bmp"): "cannot write x.bmp: a picture has the suffix .png, .pdf or .svg",
    ("--sheet", "x"): "cannot write x: a picture has the suffix .png, .pdf or .svg",
}


@pytest.mark.parametrize("arguments", REFUSED, ids=" ".join)
def test_what_cannot_be_told_is_one_line_and_nothing_is_written(arguments, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert run(["animals", *arguments]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert REFUSED[arguments] in said.err
    assert said.err.count("\n") == 1
    assert not list(tmp_path.iterdir())


# --- one animal standing -----------------------------------------------------------------------------------


def highest_m(animal):
    """The highest point of the flesh, from its balls alone."""
    posed = standing(animal, 4)
    return float((posed.ends_m[..., 2] + posed.body.radii_m).max())


def _ruled(picture):
    """Rows of a picture that are ruled from side to side, beside the figures; the last is the ground."""
    beside = np.concatenate([picture[:, 122:150], picture[:, 1005:1028]], axis=1)
    rows = np.flatnonzero((beside < 0.9).all(axis=1))
    return rows[np.flatnonzero(np.diff(rows, prepend=-9) > 2)]


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", ["cat", "elephant"])
def test_the_picture_stands_beside_a_true_scale(name, tmp_path, capsys):
    target = tmp_path / "a.png"
    said = told(capsys, name, "--picture", str(target))
    assert said.startswith(load_animal(name).title)  # the numbers are told all the same
    picture = greys(target.read_bytes())
    animal = load_animal(name)
    rows = _ruled(picture)
    step_m = round_step_m(highest_m(animal), 7)
    assert len(rows) == int(highest_m(animal) / step_m) + 1
    pixels = np.diff(rows).mean()
    body = picture[140:, 130:1020]  # under the heading
    top = 140 + np.flatnonzero((body < 0.25).any(axis=1))[0]
    assert (rows[-1] - top) / pixels * step_m == pytest.approx(highest_m(animal), rel=0.02)
    for edge in (picture[:4], picture[-4:], picture[:, :4], picture[:, -4:]):
        assert ink(edge) == 0.0


def test_the_picture_has_its_numbers_as_text(tmp_path):
    import pypdf

    target = tmp_path / "a.pdf"
    assert run(["animals", "red_deer", "--picture", str(target)]) == 0
    (page,) = pypdf.PdfReader(target).pages
    words = page.extract_text()
    for word in ("Red deer", "withers 1.20 m", "160 kg", "0.6 m", "rotary gallop"):
        assert word in words


def test_far_legs_show_and_heights_are_true():
    """An oblique projection keeps what lies in the picture's plane as it is (ISO 5456-3)."""
    figure = StandingFigure(load_animal("riding_horse"))
    assert figure.height_m == pytest.approx(highest_m(figure.animal), abs=1e-9)
    view = np.array([[0.0, 0.1, 0.0], [0.0, -0.1, 0.0], [1.0, 0.1, 0.5]])
    from gaitgen.pictures.standing_figure import STANDING_VIEWS

    far, near, moved = STANDING_VIEWS["side"].project(view)
    assert far[0] - near[0] > 0.05
    assert moved - far == pytest.approx([1.0, 0.5])


@pytest.mark.parametrize(
    ("span_m", "step_m", "height_m", "words"),
    [(1.9, 0.2, 0.4, "0.4 m"), (0.36, 0.05, 0.15, "15 cm"), (5.4, 1.0, 4.0, "4 m"), (0.02, 0.002, 0.0, "0")],
)
def test_steps_of_a_scale_are_round(span_m, step_m, height_m, words):
    assert round_step_m(span_m, 7) == pytest.approx(step_m)
    assert height_words(height_m, step_m) == words


# --- all of them to scale ----------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [1, 2, 7, 40])
@pytest.mark.parametrize("seed", range(3))
def test_rows_hold_everything_once_and_the_scale_is_the_largest(count, seed):
    made = np.random.default_rng(seed)
    items = sorted(
        (Item(float(w), float(h), float(n)) for w, h, n in made.uniform(0.1, [4, 5, 20], (count, 3))),
        key=lambda item: -item.height_m,
    )
    room = Room(270.0, 180.0, 10.0)
    scale, rows = largest_scale(items, room)
    assert [k for row in rows for k in row] == list(range(count))
    for row in rows:
        taken = sum(items[k].width_mm(scale) for k in row) + GAP_MM * (len(row) - 1)
        assert taken <= room.width_mm + 1e-9
    assert sum(items[row.start].height_m * scale + room.words_mm for row in rows) <= room.height_mm + 1e-9
    assert rows_at(items, 1.001 * scale, room) is None
    less, fewer = fitted_rows(items, room)
    assert (less, fewer) == (scale, rows) or (less >= 0.9 * scale and len(fewer) < len(rows))
    assert rows_at(items, less, room) == fewer


def test_none_stands_alone_in_a_row_for_a_trifle():
    """Eight that fill a row, and a ninth that fits into it at 95 of 100 parts."""
    items = [Item(3.0, 2.0, 1.0)] * 8 + [Item(1.0, 0.5, 1.0)]
    room = Room(8 * 30.0 + 7 * GAP_MM, 60.0, 10.0)
    assert len(largest_scale(items, room)[1]) == 2
    assert [len(row) for row in fitted_rows(items, room)[1]] == [9]


@pytest.mark.thorough
def test_the_line_up_is_to_scale_and_names_all(monkeypatch):
    picture = greys(write_line_up([load_animal(name) for name in NAMES], ".png"))
    assert picture.shape == pytest.approx((210 / MM_PER_INCH * 150, 297 / MM_PER_INCH * 150), abs=1.0)
    for edge in (picture[:8], picture[-8:], picture[:, :8], picture[:, -8:]):
        assert ink(edge) == 0.0
    import pypdf

    monkeypatch.setattr("gaitgen.pictures.standing_figure.paint", lambda *_, **__: None)  # its words alone
    (page,) = pypdf.PdfReader(io.BytesIO(write_line_up([load_animal(n) for n in NAMES], ".pdf"))).pages
    words = page.extract_text()
    for name in NAMES:
        assert load_animal(name).title in words
    times = int(re.search(r"1 : (\d+) on A4", words)[1])
    ground = np.flatnonzero((picture[:, 100:1690] < 0.5).mean(axis=1) > 0.9)[0]
    figures = picture[100:ground, 100:1690]  # the first row, under the heading
    top = 100 + np.flatnonzero((figures < 0.25).any(axis=1))[0]
    paper_m = (ground - top) / 150 * MM_PER_INCH / 1000.0
    tallest_m = max(highest_m(load_animal(name)) for name in NAMES)
    assert paper_m * times == pytest.approx(tallest_m, rel=0.02)


def _names(figure):
    """Boxes of all words of a figure, in pixels."""
    figure.draw_without_rendering()
    return [text.get_window_extent() for axes in figure.axes for text in axes.texts]


@pytest.fixture
def no_figures(monkeypatch):
    """Leave the animals out: where words stand does not depend on their ink."""
    monkeypatch.setattr("gaitgen.pictures.standing_figure.paint", lambda *_, **__: None)


@pytest.mark.sample(1)
@pytest.mark.usefixtures("no_figures")
@pytest.mark.parametrize("names", [("cat",), NAMES, (*NAMES, *NAMES, *NAMES)], ids=["one", "all", "many"])
def test_words_of_the_line_up_do_not_touch(names):
    figure = line_up_figure([load_animal(name) for name in names])
    boxes = _names(figure)
    assert len(boxes) >= 2 * len(names)
    for k, box in enumerate(boxes):
        assert not any(box.overlaps(other) for other in boxes[k + 1 :])
        assert box.x0 > 0
        assert box.x1 < figure.bbox.width


@pytest.mark.usefixtures("no_figures")
def test_small_ones_are_drawn_once_more_where_they_would_be_lost():
    words = [
        t.get_text() for axes in line_up_figure([load_animal(n) for n in NAMES]).axes for t in axes.texts
    ]
    assert words.count("Cat") == 2
    assert words.count("Elephant") == 1
    assert any("once more" in word for word in words)
    alone = [t.get_text() for axes in line_up_figure([load_animal("cat")]).axes for t in axes.texts]
    assert alone.count("Cat") == 1


def test_ones_own_animal_stands_among_them(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("gaitgen.pictures.standing_figure.paint", lambda *_, **__: None)
    mine = tmp_path / "cob.toml"
    mine.write_text(
        'format = 2\nbase = "riding_horse"\nname = "cob"\ntitle = "My cob"\n'
        "[proportions]\nwithers_height_m = 1.50\n",
        encoding="utf-8",
    )
    target = tmp_path / "all.svg"
    told(capsys, str(mine), "--sheet", str(target))
    assert "My cob" in target.read_text(encoding="utf-8")
    assert "Elephant" in target.read_text(encoding="utf-8")
