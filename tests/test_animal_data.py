"""An animal is data: no name of a joint matters, nor how many there are, nor which parts it has."""

import io
from dataclasses import fields

import numpy as np
import pytest
from animal_files import (
    animal,
    merged,
    renamed,
    riding_horse,
    split,
    text,
    without,
    without_parts,
    without_sling,
)
from ink import greys, ink
from matplotlib.figure import Figure
from pages import unpacked
from pypdf import PdfReader

from gaitgen import Request, make_cycle
from gaitgen.animal.standing import standing_landmark_m, standing_positions_m
from gaitgen.formats import bvh, glb, keys
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh_file import world_positions
from gaitgen.formats.controls import control_table
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.motion.controls import controls
from gaitgen.motion.flesh import pose
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.measure import loop_gap, measure_feet, slip_m
from gaitgen.motion.report import report
from gaitgen.motion.report_text import as_text
from gaitgen.page.clip_data import clip_data
from gaitgen.pictures.paint import paint
from gaitgen.pictures.plots import WHAT, plot_figure
from gaitgen.pictures.sheet import sheet_pdf
from gaitgen.pictures.strip import write_strip
from gaitgen.pictures.views import VIEWS

SPACE = FileSpace()
HORSE = riding_horse()
NECK = ("neck_1", "neck_2", "neck_3", "atlas")
TAIL = tuple(f"tail_{k}" for k in range(1, 6))


def wider(tables, joint, angle_deg):
    """Let a joint stand at another angle."""
    tables["joints"][joint]["angle_deg"] = angle_deg
    return tables


def one_bone_less(tables, end):
    """Let cannon and pastern of one end be one bone."""
    tables = merged(tables, f"{end}_pastern")
    return wider(tables, "fore_cannon", [40.0, 200.0]) if end == "fore" else tables


def one_bone_more(tables, end, law):
    """Put a joint into the cannon of one end, under a law of its own."""
    tables = split(tables, f"{end}_cannon", f"{end}_shank", 0.45, angle_deg=[120.0, 200.0], angle_side="back")
    tables["limbs"][end]["law"][f"{end}_shank"] = law
    return tables


def two_in_the_back(tables):
    for name in ("thorax_1", "thorax_2", "thorax_3", "thorax_4", "lumbar_1"):
        tables = merged(tables, name)
    tables["limbs"]["fore"]["girdle"] = "lumbar_2"
    for axis in ("pitch", "roll", "yaw"):  # as far as all of the joints that are gone
        limits = [HORSE["joints"][name][f"{axis}_deg"] for name in HORSE["body"]["spine"][1:]]
        tables["joints"]["lumbar_2"][f"{axis}_deg"] = [sum(ends) for ends in zip(*limits, strict=True)]
    return tables


def with_more(tables):
    """Draw a mark of another name, and hang a tuft on the tail that is no part of it."""
    tables = split(tables, "tail_5", "tuft", 0.5)
    tables["hanging"]["tail"]["joints"].remove("tuft")
    tables["hanging"]["tail"]["gains"].pop()
    tables["hanging"]["tuft"] = {
        "joints": ["tuft"],
        "frequency_hz": 1.0,
        "damping_ratio": 0.3,
        "drive": 1.0,
        "most_deg": 20.0,
    }
    star = {"group": "star", "layer": "marks", "balls": [["head", 0.09, 0.0, 0.0, 0.02]]}
    return tables | {"outline": [*tables["outline"], star]}


ANIMALS = {
    "no ears": without(HORSE, "ear"),
    "no jaw": without(HORSE, "jaw"),
    "no tail": without(HORSE, *TAIL),
    "a stiff neck": without_parts(HORSE, "neck", "head"),
    "nothing that hangs": without_parts(HORSE, *HORSE["hanging"]),
    "no head": without(HORSE, *NECK, "head", "jaw", "ear"),
    "two neck joints": merged(merged(HORSE, "atlas"), "neck_2"),
    "one neck joint": merged(merged(merged(HORSE, "atlas"), "neck_3"), "neck_2"),
    "five neck joints": split(HORSE, "neck_3", "neck_4", 0.5),
    "two joints in the back": two_in_the_back(HORSE),
    "eight joints in the back": split(HORSE, "lumbar_1", "lumbar_0", 0.5),
    "no pastern before": one_bone_less(HORSE, "fore"),
    "no pastern behind": one_bone_less(HORSE, "hind"),
    "no pastern": one_bone_less(one_bone_less(HORSE, "fore"), "hind"),
    "one more joint behind": one_bone_more(HORSE, "hind", {"fold_deg": 20.0, "source": "made up"}),
    "one more joint before": one_bone_more(HORSE, "fore", {"load_deg_kg_n": 0.2, "source": "made up"}),
    "one more joint that opens": one_bone_more(HORSE, "hind", {"opens": 0.2, "source": "made up"}),
    "no slings": without_sling(HORSE),
    "a star and a second tail": with_more(HORSE),
}


@pytest.fixture(scope="module")
def walks():
    made = {}

    def walk(name):
        if name not in made:
            made[name] = make_cycle(Request(animal=animal(ANIMALS[name])))
        return made[name]

    return walk


# --- names -----------------------------------------------------------------------------------------------


def test_tables_are_written_as_they_were_read():
    here, there = animal(HORSE), animal(renamed(HORSE, lambda name: name))
    assert here.joint_names == there.joint_names
    np.testing.assert_array_equal(here.offsets_m, there.offsets_m)
    np.testing.assert_array_equal(here.offsets_m, make_cycle(Request()).animal.offsets_m)


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("new", "frames"),
    [
        (lambda name: f"j{list(HORSE['joints']).index(name):02d}", 16),
        (lambda name: f"z{99 - list(HORSE['joints']).index(name):02d}", 32),  # in the other order
        (lambda name: name[::-1].strip("_0123456789") + str(len(name)) + name[-1], 16),
    ],
    ids=["numbers", "from the end", "backwards"],
)
def test_other_names_make_the_same_motion(new, frames):
    """To the last bit: rotations, root, forces, curves, poses, numbers, and every number of the files."""
    plain, other = (
        make_cycle(Request(animal=animal(tables), frames=frames)) for tables in (HORSE, renamed(HORSE, new))
    )
    assert not set(plain.animal.joint_names) & set(other.animal.joint_names)
    np.testing.assert_array_equal(other.rotations, plain.rotations)
    np.testing.assert_array_equal(other.root_path_m, plain.root_path_m)
    for curve in fields(plain.plan):
        np.testing.assert_array_equal(*(getattr(each.plan, curve.name) for each in (other, plain)))
    assert (other.facts, other.key_poses) == (plain.facts, plain.key_poses)
    np.testing.assert_array_equal(
        bvh.channel_table(other, SPACE)[1], bvh.channel_table(plain, SPACE)[1], strict=True
    )
    chosen = [keys.channel_keys(clip, SPACE) for clip in (other, plain)]
    for field in ("channel", "frame", "value", "tangent_in", "tangent_out"):
        np.testing.assert_array_equal(*(getattr(each, field) for each in chosen))
    np.testing.assert_array_equal(
        *(control_table(controls(clip), SPACE)[1] for clip in (other, plain)), strict=True
    )
    data = [clip_data(clip, "walk") for clip in (other, plain)]
    for field in ("balls", "feet", "radii", "chains", "own"):
        assert data[0][field] == data[1][field]


@pytest.mark.thorough
def test_other_names_draw_the_same_pictures(monkeypatch):
    other = make_cycle(Request(animal=animal(renamed(HORSE, lambda name: f"q_{name}"))))
    plain = make_cycle(Request(animal=animal(HORSE)))
    assert write_strip(other, 4) == write_strip(plain, 4)
    monkeypatch.setattr("gaitgen.pictures.pose_cell.paint", lambda *_, **__: None)  # as in the strip
    assert sheet_pdf(other) == sheet_pdf(plain)


# --- joints and parts ------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ANIMALS)
def test_it_stands(name):
    made = animal(ANIMALS[name])
    positions = standing_positions_m(made)
    for limb in made.limbs:
        assert positions[limb.foot_joint, 2] == pytest.approx(limb.foot.height_m, abs=1e-3)
    assert standing_landmark_m(made, "withers")[2] == pytest.approx(made.withers_height_m, abs=1e-3)
    assert made.mass_shares.sum() == pytest.approx(1.0)
    joints = len(riding_horse()["joints"])
    assert text(ANIMALS[name]) != text(HORSE)
    assert len(ANIMALS[name]["joints"]) != joints or name in {"a stiff neck", "nothing that hangs"}


@pytest.mark.parametrize("name", ANIMALS)
def test_it_walks(name, walks):
    clip = walks(name)
    assert np.isfinite(clip.rotations).all()
    feet = measure_feet(clip)
    assert slip_m(clip, feet) < 5e-4
    assert feet.lowest_m.min() > -1e-3
    assert loop_gap(clip) < 1e-9
    assert feet.toe_m[..., 2].max(axis=0).min() > 0.02  # every foot is lifted
    assert not [n.text for n in clip.notices if n.topic in {"range", "reach"}]


@pytest.mark.parametrize("name", ANIMALS)
def test_it_is_written(name, walks):
    clip = walks(name)
    file = read_bvh(bvh.encode(clip, SPACE), name)
    order = [file.joint_names.index(joint) for joint in clip.animal.joint_names]
    places = world_positions(file)[:, order] / 100.0
    ours, _ = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    np.testing.assert_allclose(places, ours[..., [1, 2, 0]], atol=1e-4)
    chosen = keys.channel_keys(clip, SPACE)
    assert slip_m(keys.played_clip(clip, chosen, SPACE)) < 3.5e-3
    names, table = control_table(controls(clip), SPACE)
    assert np.isfinite(table).all()
    assert ("head.Xposition" in names) == (clip.animal.head is not None)
    assert as_text(report(clip))


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", ANIMALS)
def test_it_is_drawn(name, walks):
    """Two poses, the page and the plots; sheets, strips and skins of some are below."""
    clip = walks(name)
    posed = pose(clip, [0, clip.frames // 3])
    for frame, view in enumerate(("side", "three_quarter")):
        axes = Figure(figsize=(2, 2)).add_axes((0, 0, 1, 1))
        paint(axes, posed, frame, VIEWS[view])
        assert len(axes.patches) > 10
        assert all(np.isfinite(patch.get_path().vertices).all() for patch in axes.patches)
    data = clip_data(clip, "walk")
    assert len(unpacked(data["balls"])) == clip.frames
    for what in WHAT:
        assert plot_figure(clip, what).axes


# Each leaves out another part that sheets and strips have a mark or a word for, and skins a place.
DRAWN_WHOLE = ("no tail", "no head", "no pastern")


@pytest.mark.thorough
@pytest.mark.parametrize(
    "name",
    [name if name in DRAWN_WHOLE else pytest.param(name, marks=pytest.mark.slow) for name in ANIMALS],
)
@pytest.mark.parametrize("painted", [False, pytest.param(True, marks=pytest.mark.thorough)])
def test_its_sheet_strip_and_skin_are_made(painted, name, walks, monkeypatch):
    """Without the animals in them sheets and strips are drawn sooner, with every mark and word."""
    for room in () if painted else ("strip", "pose_cell"):
        monkeypatch.setattr(f"gaitgen.pictures.{room}.paint", lambda *_, **__: None)
    clip = walks(name)
    low, high = _mesh_of(glb.encode(clip)).bounds
    assert 0.9 * clip.animal.withers_height_m < high[1] < 1.6 * clip.animal.withers_height_m
    assert low[1] == pytest.approx(0.0, abs=1e-3)  # soles on the ground
    words = PdfReader(io.BytesIO(sheet_pdf(clip, gait="walk"))).pages[0].extract_text()
    assert all(foot in words for foot in ("LF", "RF", "LH", "RH"))
    strip = greys(write_strip(clip))
    assert strip.shape[1] > 2 * strip.shape[0]  # poses beside each other
    assert 0.005 < ink(strip) < 0.5


def _mesh_of(data):
    import trimesh

    (mesh,) = trimesh.load(io.BytesIO(data), file_type="glb").geometry.values()
    return mesh
