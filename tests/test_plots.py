"""Plots: what is drawn, published figures under it, files by their suffix."""

import io
import tomllib
from functools import cache
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from ink import drawn_lines, greys, ink, ink_along, part

from gaitgen import Request, make_cycle
from gaitgen.animal.animal import ENDS
from gaitgen.commands import run
from gaitgen.errors import OutputError, RequestError
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.record import RECORD
from gaitgen.pictures.joint_panels import joint_angles_deg
from gaitgen.pictures.page import as_png
from gaitgen.pictures.plots import WHAT, plot_figure, write_plot
from gaitgen.pictures.published_angles import published_of
from gaitgen.reading.read import clip_from_bvh

CLIP = make_cycle(Request())
SVG = "{http://www.w3.org/2000/svg}"
ROWS = tomllib.loads((Path(__file__).parent / "published.toml").read_text(encoding="utf-8"))["value"]


def read_text(file):
    """All words of an SVG, or of a PDF of one page."""
    if file.suffix.lower() == ".svg":
        return " ".join(t.text or "" for t in ET.fromstring(file.read_bytes()).iter(f"{SVG}text"))
    from pypdf import PdfReader

    (page,) = PdfReader(file).pages
    return page.extract_text()


@cache
def plot(what, suffix):
    """Draw a plot of the plain walk once."""
    return write_plot(CLIP, what, suffix, "walk")


def _lines(figure):
    return [line for axes in figure.axes for line in axes.get_lines()]


@pytest.mark.sample(1)
@pytest.mark.parametrize("what", WHAT)
def test_a_picture_has_ink_where_its_lines_are_and_none_at_its_edge(what):
    figure = plot_figure(CLIP, what, "walk")
    picture = greys(as_png(figure))
    assert np.array_equal(picture, greys(plot(what, ".png")))
    lines = drawn_lines(figure)
    assert len(lines) >= 4
    for line in lines:
        assert ink_along(picture, figure, line) > (0.9 if line.get_linestyle() == "-" else 0.4)
    assert 0.01 < ink(picture) < 0.35
    assert ink(part(picture, 0.0, 0.9, 0.6, 1.0)) > 0.01  # the heading
    for edge in (picture[:4], picture[-4:], picture[:, :4], picture[:, -4:]):
        assert ink(edge) == 0.0


def test_ink_that_is_not_there_would_be_missed():
    figure = plot_figure(CLIP, "trunk", "walk")
    as_png(figure)  # lays it out
    other = greys(plot("spectrum", ".png"))
    assert np.mean([ink_along(other, figure, line) for line in drawn_lines(figure)]) < 0.4


@pytest.mark.sample(1)
@pytest.mark.parametrize("what", WHAT)
def test_a_pdf_has_one_page_and_an_svg_its_shapes(what):
    import pypdf

    pages = pypdf.PdfReader(io.BytesIO(plot(what, ".pdf"))).pages
    assert len(pages) == 1
    assert "Riding horse, walk" in pages[0].extract_text()
    tree = ET.fromstring(plot(what, ".svg"))
    assert tree.tag == f"{SVG}svg"
    assert len(tree.findall(f".//{SVG}path")) >= 4
    assert any("Riding horse, walk" in (text.text or "") for text in tree.iter(f"{SVG}text"))


@pytest.mark.sample(1, 1)
@pytest.mark.parametrize("suffix", [".pdf", ".svg"])
def test_a_plot_is_the_same_twice_and_has_no_date(suffix):
    first = plot("trunk", suffix)
    assert write_plot(make_cycle(Request()), "trunk", suffix, "walk") == first
    assert b"CreationDate" not in first
    assert b"dc:date" not in first


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("what", "frames"),
    [
        # Each plot once, and both lengths, by turns; the other half is slow.
        pytest.param(what, frames, marks=() if k % 2 == j else pytest.mark.slow)
        for k, what in enumerate(WHAT)
        for j, frames in enumerate((8, 96))
    ],
)
def test_short_and_long_strides_draw_too(what, frames):
    figure = plot_figure(make_cycle(Request(frames=frames, animal="draft_horse")), what)
    assert _lines(figure)
    assert all(np.isfinite(line.get_ydata()).all() for line in _lines(figure))


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("what", "words"),
    [
        ("footfalls", ("RH", "LF", "support")),
        ("trunk", ("hips", "chest", "head", "sway: to the left, mm")),
        ("forces", ("force on each foot, body weights", "McGuigan")),
        ("joints", ("carpus", "stifle", "hock", "Nicodemus", "published 54")),
        ("spectrum", ("cycles a stride", "elbow")),
    ],
)
def test_text_of_a_plot_stays_text(what, words):
    text = plot(what, ".svg").decode()
    for word in (*words, "Riding horse, walk"):
        assert word in text


def test_text_of_a_pdf_can_be_read():
    import pypdf

    page = pypdf.PdfReader(io.BytesIO(plot("footfalls", ".pdf"))).pages[0]
    assert {"RH", "LF", "support", "33", "22"} <= set(page.extract_text().split())


@pytest.mark.parametrize(
    "row", published_of("horse", "walk").extremes, ids=lambda row: f"{row.joint}-{row.which}"
)
def test_shaded_extremes_are_the_published_ones(row):
    """The same mean stands in published.toml, with its source; its text holds mean and deviation."""
    horse = CLIP.animal
    bone = horse.joint_names[horse.angle_names.index(row.joint)].removesuffix("_L")
    match = next(
        item
        for item in ROWS
        if item["measure"] == f"joint_{row.which}_deg" and item["inputs"].get("joint") == bone
    )
    assert match["expected"] == row.mean_deg
    assert f"{row.mean_deg:.0f} +- {row.deviation_deg:.0f}" in match["locator"]


def test_the_shaded_peak_is_the_published_one():
    """McGuigan & Wilson 2003, Table 2."""
    row = next(item for item in ROWS if item["measure"] == "peak_force_n_kg")
    assert (row["expected"], row["tolerance"]) == published_of("horse", "walk").peak_fore_n_kg


def test_the_shaded_peak_of_a_trot_is_its_own():
    """McGuigan & Wilson 2003, Table 2."""
    row = next(item for item in ROWS if item["locator"].startswith("Table 2: trot, peak vertical force"))
    assert (row["expected"], row["tolerance"]) == published_of("horse", "trot").peak_fore_n_kg


@pytest.mark.thorough
@pytest.mark.parametrize(("gait", "forces"), [("trot", "at a trot"), ("gallop", None)])
def test_figures_of_a_walk_are_not_laid_under_a_run(gait, forces, tmp_path):
    clip = make_cycle(Request(gait=gait))
    path = tmp_path / "read.bvh"
    path.write_bytes(bvh.encode(clip, FileSpace()))
    for shown in (clip, clip_from_bvh(path)):
        assert "Nicodemus" not in write_plot(shown, "joints", ".svg", gait).decode()
        text = write_plot(shown, "forces", ".svg", gait).decode()
        assert ("McGuigan" in text) is (forces is not None)
        assert forces is None or forces in text


def test_forces_of_the_feet_sum_to_the_total_drawn():
    """Body weights by the standard gravity of ISO 80000-3, 9.80665 m/s^2."""
    # At 96 frames a stride, as finely as forces are solved: between fewer frames their kinks are lost.
    clip = make_cycle(Request(frames=96))
    figure = plot_figure(clip, "forces")
    feet = [
        line.get_ydata()
        for line in figure.axes[0].get_lines()
        if line.get_label() in {"LF", "RF", "LH", "RH"}
    ]
    total = max(figure.axes[1].get_lines(), key=lambda line: len(line.get_ydata())).get_ydata()
    assert len(feet) == 4
    np.testing.assert_allclose(np.sum(feet, axis=0), total, atol=1e-9)
    weight_n = clip.animal.body_mass_kg * 9.80665
    np.testing.assert_allclose(total, clip.plan.force_n.sum(axis=1) / weight_n, atol=1e-9)
    assert np.mean(total[:-1]) == pytest.approx(1.0, abs=1e-3)


def test_joint_angles_start_at_the_contact_of_their_leg():
    """A stride that starts elsewhere has the same angles, counted from contact."""
    other = make_cycle(Request(start="LF"))
    for end in ENDS:
        (share, here), (also, there) = joint_angles_deg(CLIP, end), joint_angles_deg(other, end)
        np.testing.assert_allclose(share, np.arange(33) / 32, atol=1e-6)
        np.testing.assert_allclose(also, share, atol=1e-6)
        for title, curve in here.items():
            np.testing.assert_allclose(curve, there[title], atol=0.05)


def test_the_carpus_is_straight_in_stance_on_the_plot():
    """Until the heel leaves the ground; then it breaks with the heel, to 165 to 172 degrees at lift-off."""
    share, angles = joint_angles_deg(CLIP, "fore")
    stance = share / CLIP.facts.duty_factor
    assert angles["carpus"][stance < CLIP.animal.limb("fore").path.heel_off_share].min() > 178.0
    assert angles["carpus"][stance < 1.0].min() > 165.0
    assert angles["carpus"].min() < 140.0


def test_another_plot_or_suffix_is_refused():
    with pytest.raises(RequestError, match="plot is 'sway'; use one of footfalls, trunk"):
        plot_figure(CLIP, "sway")
    with pytest.raises(OutputError, match=r"a plot has the suffix \.png, \.pdf or \.svg"):
        write_plot(CLIP, "trunk", ".bmp")


@pytest.mark.thorough
def test_the_command_draws_by_suffix_and_refuses_others_in_one_line(tmp_path, capsys):
    for what, suffix in (("forces", ".SVG"), ("joints", ".pdf")):
        target = tmp_path / f"{what}{suffix}"
        assert run(["plot", "walk", "--what", what, "--out", str(target), "--animal", "draft_horse"]) == 0
        assert what in read_text(target)
    capsys.readouterr()
    assert run(["plot", "walk", "--out", str(tmp_path / "p.gif")]) == 2
    error = capsys.readouterr().err
    assert "p.gif: a plot has the suffix .png, .pdf or .svg" in error
    assert error.count("\n") == 1
    assert run(["plot", "walk", "--what", "colour"]) == 2
    assert run(["plot", "walk", "--bounce", "9", "--out", str(tmp_path / "p.png")]) == 2
    assert "style factor bounce is 9" in capsys.readouterr().err
    assert not (tmp_path / "p.png").exists()


def test_without_a_file_name_the_plot_is_named_after_the_request(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert run(["plot", "walk", "--what", "spectrum", "--frames", "16"]) == 0
    made = ["riding_horse_walk_16_spectrum.png"]
    assert [path.name for path in tmp_path.iterdir() if path.name != RECORD] == made


def _bands(figure):
    """Shaded bands of all panels."""
    return [patch for axes in figure.axes for patch in axes.patches]


@pytest.mark.sample(1)
@pytest.mark.parametrize(("what", "bands"), [("joints", 9), ("forces", 1)])
def test_published_figures_are_drawn_for_their_gait_and_species_alone(what, bands):
    assert len(_bands(plot_figure(CLIP, what))) == bands
    source = {"joints": "Nicodemus", "forces": "McGuigan"}[what]
    trot = Request(gait="trot" if what == "joints" else "pace")  # a horse's trot has a peak of its own
    for request in (trot, Request(gait="gallop"), Request(animal="dog")):
        figure = plot_figure(make_cycle(request), what)
        assert not _bands(figure)
        words = [text.get_text() for axes in figure.axes for text in axes.texts]
        assert not any("published" in word for word in words)
        assert source not in (figure.get_supxlabel() or "")
    assert source in plot_figure(CLIP, what).get_supxlabel()


@pytest.mark.sample(1)
@pytest.mark.parametrize(("gait", "bands"), [("walk", 9), ("trot", 0)])
def test_a_clip_that_is_read_has_the_figures_of_the_gait_that_it_shows(gait, bands, tmp_path):
    from gaitgen.reading.read import clip_from_bvh

    assert run(["cycle", gait, "--out", str(tmp_path), "--name", "a"]) == 0
    assert len(_bands(plot_figure(clip_from_bvh(tmp_path / "a.bvh"), "joints"))) == bands


@pytest.mark.sample(1)
@pytest.mark.parametrize(("animal", "words"), [("riding_horse", "carpus (knee)"), ("dog", "carpus (wrist)")])
def test_joints_are_called_as_people_call_them(animal, words):
    clip = make_cycle(Request(animal=animal))
    assert any(axes.get_ylabel() == f"{words}, degrees" for axes in plot_figure(clip, "joints").axes)
    labels = [
        text.get_text() for axes in plot_figure(clip, "spectrum").axes for text in axes.get_legend().texts
    ]
    assert words in labels
