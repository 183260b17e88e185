"""Ten rigs more that nobody had seen: twists, toes, slopes, sprawls, a machine; in every gait."""

import numpy as np
import pytest
from make_more_rigs import MORE as PLANS
from make_rigs import UNITS
from rig_measures import lift_m, nod_rad, slip_m, tracks_m

from gaitgen.commands import run
from gaitgen.commands.check_file import check_file
from gaitgen.errors import RigError
from gaitgen.formats.bvh_file import world_end_sites
from gaitgen.formats.read_bvh import read_bvh

pytestmark = pytest.mark.usefixtures("fits_once")

SLIP_M = 1e-4
WITHOUT_NECK = ("maszyna",)
TURNS = {  # what the joints of a left limb are, where that is hard to see
    ("twist", "LF"): ("humerus", "-", "radius", "-", "metacarpus", "fore_paw"),
    ("twist", "LH"): ("femur", "tibia", "metatarsus", "hind_paw"),
    ("horn", "LF"): (
        "scapula",
        "humerus",
        "radius",
        "-",
        "fore_cannon",
        "fore_pastern",
        "fore_claw",
    ),
    ("horn", "LH"): ("femur", "-", "tibia", "hind_cannon", "hind_pastern", "hind_claw"),
    ("topo", "LH"): ("femur", "tibia", "metatarsus", "hind_paw"),
    ("maszyna", "LF"): ("humerus", "-", "metacarpus", "fore_paw"),
    ("sole", "LH"): ("femur", "tibia", "hind_sole", "-", "-", "-"),
    ("pattes", "LF"): ("scapula", "humerus", "radius", "metacarpus", "fore_paw", "-"),
}


@pytest.mark.always("twist-LF", "horn-LH")  # rigs that are found for others too
@pytest.mark.parametrize(("name", "limb"), TURNS)
def test_bones_are_told_from_twists(name, limb, chart):
    assert chart(name)[1].map.limbs[limb].bones == TURNS[name, limb]


@pytest.mark.parametrize("name", PLANS)
def test_its_parts_are_found(name, chart):
    found, plan = chart(name)[1].map, PLANS[name]
    places = {}
    for limb, side in (("LF", "a"), ("RF", "b"), ("LH", "a"), ("RH", "b")):
        joints = found.limbs[limb].joints
        assert all(joint.endswith(side) for joint in joints)
        places[limb] = np.mean([plan.joints[f"{joint[:-1]}{{}}"][1][0] for joint in joints])
    assert places["LF"] == places["RF"] > places["LH"] == places["RH"]
    assert all("zaum" not in joint and "fl" not in joint for joint in (*found.neck, *found.spine))
    assert found.body == {"kaltblut": "Mitte", "reiter": "tier"}.get(name)
    goal = found.limbs["LF"].goal
    assert goal == ("Ziel_v_a" if name == "kaltblut" else None)


@pytest.mark.sample(1)
@pytest.mark.parametrize("gait", ["walk", "trot"])
@pytest.mark.parametrize("name", PLANS)
def test_it_goes_without_slip_and_passes_the_check(name, gait, clip, chart, tmp_path):
    made = clip(name, gait)
    assert slip_m(PLANS[name], made) < SLIP_M
    (tmp_path / "a.bvh").write_bytes(made.bvh())
    if made.clip.frames < 8:
        return  # too short to judge: a rodent's trot at 24 frames a second
    assert [each.kind for each in check_file(tmp_path / "a.bvh", map_path=chart(name)[0]).findings] == []


@pytest.mark.always("pattes-gallop-10")
@pytest.mark.parametrize(
    ("gait", "frames"),
    [
        *(("walk", frames) for frames in (12, 16, 24, 48, 64)),
        *(("trot", frames) for frames in (12, 24)),
        *((gait, frames) for gait in ("canter", "gallop") for frames in (10, 16)),
    ],
)
@pytest.mark.parametrize("name", ["kaltblut", "twist", "pattes", "horn", "sole", "lagarto"])
def test_feet_hold_at_every_length_and_gait(name, gait, frames, clip):
    """On the ground, and swinging ones not under it either, where the animal's own leg cannot fold so far."""
    try:
        made = clip(name, gait, frames)
    except RigError:
        return
    assert slip_m(PLANS[name], made) < SLIP_M


@pytest.mark.always("pattes")
@pytest.mark.parametrize("name", ["kaltblut", "twist", "pattes", "horn", "sole", "lagarto"])
def test_nearly_all_of_these_can_be_made(name, clip):
    """So that the test above is about something."""
    refused = set()
    for gait, frames in (("walk", 12), ("walk", 64), ("trot", 12), ("canter", 16), ("gallop", 10)):
        try:
            clip(name, gait, frames)
        except RigError:
            refused.add((gait, frames))
    assert refused == ({("canter", 16)} if name == "lagarto" else set())  # twice as long as it takes


def test_what_no_leg_can_do_is_refused_with_what_to_do(clip):
    said = (
        r"a gallop of 16 frames.*more than the legs of lagarto.*give at most 9 frames.*a gallop of 8 frames"
    )
    with pytest.raises(RigError, match=said):
        clip("lagarto", "gallop", 16)


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("name", "gait"),
    [
        (name, gait)
        for name in ("kaltblut", "twist", "horn", "sole")
        for gait in ("walk", "trot", "canter")
        if (name, gait) != ("sole", "canter")  # no bear canters: it is far past its ranges without a style
    ],
)
def test_styles_have_their_effect_in_every_gait(name, gait, clip):
    plain, lifted = clip(name, gait), clip(name, gait, lift=1.4)
    is_held = any(notice.topic == "style" for notice in lifted.clip.notices)
    assert lift_m(PLANS[name], lifted) / lift_m(PLANS[name], plain) > (1.1 if is_held else 1.25)


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", [name for name in PLANS if name not in WITHOUT_NECK])
def test_nod_nods(name, clip):
    assert 1.3 <= nod_rad(PLANS[name], clip(name, nod=1.4)) / nod_rad(PLANS[name], clip(name)) <= 1.5


@pytest.mark.parametrize("gait", ["walk", "trot"])
def test_toes_beside_the_main_one_stay_on_the_ground(gait, clip):
    plan, made = PLANS["pattes"], clip("pattes", gait)
    file = read_bvh(made.bvh(), "pattes")
    ends = world_end_sites(file) @ np.array(plan.axes, dtype=float).T * UNITS[plan.unit]
    toes = [row for row, joint in enumerate(file.end_joints) if "b_" in file.joint_names[joint]]
    assert len(toes) == 16
    assert ends[:, toes, 2].min() > -SLIP_M


COMMANDS = {
    "sheet": (["sheet", "canter", "--png", "--out", "{}"], "sole_canter_*_2.png"),
    "plot": (["plot", "gallop", "--what", "joints", "--out", "{}/p.svg"], "p.svg"),
    "preview": (["preview", "trot", "--html", "{}/w.html"], "w.html"),
    "cycle": (
        ["cycle", "canter", "--out", "{}", "--glb", "--controls", "--pose-frames", "--strip", "{}/s.png"],
        "sole_canter_*.glb",
    ),
    "variants": (["variants", "trot", "--frames", "14,16", "--workers", "1", "--out", "{}"], "variants.csv"),
}


@pytest.mark.parametrize(
    "command",
    [
        "plot",
        "preview",
        "variants",
        pytest.param("sheet", marks=pytest.mark.thorough),
        pytest.param("cycle", marks=pytest.mark.thorough),
    ],
)
def test_every_command_takes_the_map_in_a_run(command, chart, tmp_path, capsys, monkeypatch):
    for room in ("strip", "pose_cell", "standing_figure"):  # without their animals pictures are drawn sooner
        monkeypatch.setattr(f"gaitgen.pictures.{room}.paint", lambda *_, **__: None)
    line, made = COMMANDS[command]
    assert run([part.format(tmp_path) for part in line] + ["--animal", str(chart("sole")[0])]) == 0
    assert list(tmp_path.glob(made))
    for clip_file in tmp_path.glob("sole*.bvh"):
        if "poses" not in clip_file.name:
            assert run(["check", str(clip_file), "--map", str(chart("sole")[0])]) == 0
    capsys.readouterr()


def test_check_takes_a_map_where_an_animal_is_asked_for(chart, clip, tmp_path, capsys):
    path, line = str(chart("sole")[0]), ["check", str(tmp_path / "a.bvh")]
    (tmp_path / "a.bvh").write_bytes(clip("sole", "trot").bvh())
    assert run([*line, "--map", path]) == 0
    said = capsys.readouterr().out
    assert run([*line, "--animal", path]) == 0
    assert capsys.readouterr().out == said
    assert run([*line, "--animal", path, "--map", path]) == 2
    assert "give one of them, as --map" in capsys.readouterr().err


def test_a_leg_without_a_shoulder_blade_carries_the_body_as_high(clip):
    """A blade that cannot turn reaches no farther: hips and withers are not lowered for its reach."""
    made = clip("twist", "trot")
    joints, _ = tracks_m(PLANS["twist"], made)
    assert not [notice for notice in made.clip.notices if "rig's legs reach" in notice.text]
    for end in ("H", "F"):
        tops = [made.rig.map.limbs[side + end].joints[0] for side in "LR"]
        stands = np.mean([made.rig.places_m[made.rig.joint(top)][2] for top in tops])
        assert np.mean([joints[top][:, 2] for top in tops]) > 0.9 * stands
