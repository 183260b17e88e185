"""Ten rigs in other names, axes and units, with props and helpers: found, walked, styled, drawn, checked."""

import re
from functools import cache

import numpy as np
import pytest
from make_plain_rigs import PLAIN

from gaitgen import Request
from gaitgen.commands import run
from gaitgen.commands.check_file import check_file
from gaitgen.course.stance import stance_state
from gaitgen.formats.bvh_file import placed, world_end_sites
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.formats.units import UNIT_WORDS
from gaitgen.gait.gait import LIMBS
from gaitgen.rigs.command import cycle_on_rig, fit

SLIP_M = 1e-4
# Of each rig: its unit; pelvis, chest, first of the neck, head, jaw, left ear, first of the tail; tops of the
# left limbs, and how many joints they have.
FOUND = {
    "vaca": ("ft", "cadera cruz cuello_bajo cabeza mandibula oreja_izq cola1", "escapula_izq 6 femur_izq 5"),
    "okami": ("dm", "koshi sebone_3 kubi_1 atama ago mimi_hidari shippo_1", "kata_hidari 5 momo_hidari 4"),
    "nashorn": (
        "mm",
        "Becken Brustkorb Hals_01 Kopf Kiefer Ohr_li Schwanz_01",
        "Schulter_li 5 Huefte_li 4",
    ),
    "chameau": ("m", "bassin dos_d cou_1 tete levre oreille_g queue_1", "omoplate_g 6 cuisse_g 5"),
    "lisica": ("1.05 m", "zdjelica kralj_4 vrat_1 glava celjust uhoL rep_1", "lopaticaL 5 bedroL 4"),
    "jabuti": ("cm", "bacia peito pesc1 cabeca - - rabo", "ombro_esq 4 quadril_esq 4"),
    "ljama": ("in", "pelvi torace collo1 testa - - -", "braccio_sx 3 coscia_sx 3"),
    "ritter": ("cm", "Hips Withers Neck0 Head Jaw LeftEar Tail0", "LeftFShoulder 6 LeftBThigh 5"),
    "j9": ("ft", "joint01 joint14 joint27 joint29 joint30 joint31 joint33", "joint15 5 joint02 4"),
    "hirvio": ("mm", "lantio selka3 kaula1 paa leuka korva_v hanta", "lapa_v 6 reisi_v 5"),
}


@pytest.fixture(scope="module")
def chart(tmp_path_factory):
    folder = tmp_path_factory.mktemp("plain")

    @cache
    def of(name):
        path = folder / f"{name}.toml"
        (folder / f"{name}.bvh").write_text(PLAIN[name].text())
        found = fit(folder / f"{name}.bvh", path)
        path.write_text(re.sub("(?m)^unit = .*", f'unit = "{FOUND[name][0]}"', path.read_text()))
        return path, found

    return of


def tracks_m(made):
    """Joints by name and toes (frames, 4, 3) in the written file; forward, left, up, in metres."""
    file, rig = read_bvh(made.bvh(), made.rig.name), made.rig
    turn = np.array(rig.axes).T * rig.metres_per_unit
    joints = np.swapaxes(placed(file)[0] @ turn, 0, 1)
    ends = world_end_sites(file) @ turn
    lasts = [file.joint_names.index(rig.map.limbs[limb].joints[-1]) for limb in LIMBS]
    toes = [ends[:, file.end_joints.tolist().index(last)] for last in lasts]
    return dict(zip(file.joint_names, joints, strict=True)), np.stack(toes, axis=1)


def test_another_animal_is_taken_where_joints_would_bend_backward(chart):
    """A tortoise with its elbows straight out, most like a dachshund: with its laws they would turn over."""
    found = chart("jabuti")[1]
    said = next(doubt.text for doubt in found.doubts if doubt.topic == "template")
    assert "with the limb laws of dachshund the shoulder of this rig would go" in said
    assert f"{found.map.template} is taken" in said
    assert found.map.template != "dachshund"


def slip_m(made):
    """How far planted toes go over the ground, and above and under their height in it."""
    clip, toes = made.clip, tracks_m(made)[1]
    moments = np.arange(clip.frames) / clip.frame_rate_hz
    state = stance_state(clip.steps, moments)
    toes[..., :2] += (moments[:, None] * clip.belt_m_s)[:, None] - state.place_m[..., :2]
    planted = toes[state.planted]
    return float(np.abs(planted - np.median(planted, axis=0)).max())


def nod_rad(made):
    """Range of the pitch of the line from the neck to the head against the line from pelvis to chest."""
    joints, own = tracks_m(made)[0], made.rig.map
    lines = joints[own.head] - joints[own.neck[0]], joints[own.chest] - joints[own.pelvis]
    pitch = [np.arctan2(line[:, 2], np.hypot(line[:, 0], line[:, 1])) for line in lines]
    return float(np.ptp(pitch[0] - pitch[1]))


@pytest.mark.sample(1, 6)
@pytest.mark.parametrize("name", PLAIN)
def test_its_parts_are_found(name, chart):
    found, (_, parts, limbs) = chart(name)[1].map, FOUND[name]
    own = (found.pelvis, found.chest, found.neck[0], found.head, found.jaw, found.ear_left, *found.tail[:1])
    assert [each or "-" for each in own] == parts.split()[: len(own)]
    assert bool(found.tail) == (parts.split()[-1] != "-")
    fore, hind = (found.limbs[limb].joints for limb in ("LF", "LH"))
    assert f"{fore[0]} {len(fore)} {hind[0]} {len(hind)}" == limbs


@pytest.mark.sample(1, 6)
@pytest.mark.parametrize("name", PLAIN)
def test_its_unit_is_guessed_or_told(name, chart):
    found, unit = chart(name)[1], FOUND[name][0]
    said = next(doubt.text for doubt in found.doubts if doubt.topic == "unit")
    word = UNIT_WORDS.get(unit, unit)
    assert found.map.unit == unit or f" {word} (" in said or f"; {word} would fit" in said or unit == "1.05 m"


@pytest.mark.thorough
@pytest.mark.parametrize("name", PLAIN)
def test_it_walks_without_slip_and_what_check_finds_is_known(name, clip, chart, tmp_path):
    made = clip(name)
    assert slip_m(made) < SLIP_M
    assert made.bvh().split(b"MOTION")[0] == PLAIN[name].text().encode().split(b"MOTION")[0]
    (tmp_path / "a.bvh").write_bytes(made.bvh())
    found = {each.kind for each in check_file(tmp_path / "a.bvh", map_path=chart(name)[0]).findings}
    assert not found


@pytest.mark.sample(1, 6)
@pytest.mark.parametrize("name", PLAIN)
def test_nod_nods(name, clip):
    assert 1.3 <= nod_rad(clip(name, nod=1.4)) / nod_rad(clip(name)) <= 1.5


@pytest.mark.thorough
@pytest.mark.parametrize("name", PLAIN)
def test_sheet_page_strip_and_controls_are_made(name, chart, tmp_path):
    rig = str(chart(name)[0])
    line = ["cycle", "walk", "--animal", rig, "--out", str(tmp_path), "--name", "a", "--controls", "--glb"]
    assert run([*line, "--strip", str(tmp_path / "s.png")]) == 0
    assert run(["sheet", str(tmp_path / "a.bvh"), "--animal", rig, "--out", str(tmp_path / "a.pdf")]) == 0
    assert run(["preview", str(tmp_path / "a.bvh"), "--animal", rig, "--html", str(tmp_path / "a.html")]) == 0


def rise(made):
    """How far the head goes up and down in a walk, as a share of the height of the hips."""
    path = tracks_m(made)[0][made.rig.map.head][:, 2]
    return float(np.ptp(path)) / made.clip.animal.hip_height_m


@pytest.mark.thorough  # always `test_nod_nods`, on a rig of each file
@pytest.mark.parametrize(
    ("degrees", "keeps_rise"), [(-40.0, True), (-20.0, True), (12.0, True), (25.0, False)]
)
def test_a_neck_nods_alike_whatever_way_it_points(degrees, keeps_rise, tmp_path):
    """A wolf whose neck is turned up or down keeps its nod and, unless it is steep, the rise of its head."""
    made = []
    for turn in (0.0, degrees):
        rig = turned_neck(PLAIN["okami"], np.radians(turn))
        (tmp_path / "a.bvh").write_text(rig.text())
        fit(tmp_path / "a.bvh", tmp_path / "a.toml", animal="dog", force=True)
        path = tmp_path / "a.toml"
        path.write_text(re.sub("(?m)^unit = .*", 'unit = "dm"', path.read_text()))
        made.append(cycle_on_rig(str(path), Request(gait="walk")))
    assert 0.75 < nod_rad(made[1]) / nod_rad(made[0]) < 1.33
    assert not keeps_rise or 0.75 < rise(made[1]) / rise(made[0]) < 1.33


def turned_neck(rig, turn_rad):
    """The same rig with its neck and head turned about the first joint of the neck, upward above zero."""
    made = type(rig)(rig.metres, *rig.axes, rig.order, places=rig.places)
    _, (_, y0, z0) = rig.joints["kubi_1"]
    cos, sin = np.cos(turn_rad), np.sin(turn_rad)
    moved = {"kubi_1"}

    def turned(place):
        x, y, z = place
        up, ahead = y - y0, z - z0
        return (x, y0 + cos * up + sin * ahead, z0 - sin * up + cos * ahead)

    for name, (parent, place) in rig.joints.items():
        if parent in moved:
            moved.add(name)
        made.add(name, parent, *(turned(place) if name in moved else place))
    made.ends = {name: turned(place) if name in moved else place for name, place in rig.ends.items()}
    return made
