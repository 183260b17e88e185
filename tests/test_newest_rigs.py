"""Ten rigs with odd trees: found or refused with what to do, walked, styled, judged, drawn and carried."""

import re
from functools import cache

import numpy as np
import pytest
from make_newest_rigs import NEWEST, flat_text, newest_text, upside_text
from marked import marked
from rig_measures import has_styles, slip_m
from test_carry_rigs import drawn_and_carried

from gaitgen import Request
from gaitgen.commands import run
from gaitgen.commands.check_file import check_file
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.reading.read import clip_from_bvh
from gaitgen.rigs.command import cycle_on_rig, fit
from gaitgen.rigs.map_file import read_map

pytestmark = pytest.mark.filterwarnings("ignore:Gimbal lock")  # of the writer of rigs with turned axes
SLIP_M = 1e-4
WITHOUT_NECK = ("ploche",)
PARTS = {  # the first and the last joint of the back, the head, the left ear, the first of the tail
    "ogonek": ("krzyz", "mostek", "leb", "uszko_a", None),
    "dvojka": ("panev", "hrud", "temeno", "boltec_a", None),
    "knirps": ("hinten", "vorn", "kopf", "lauscher_a", None),
    "torsade": ("croupe", "garrot", "crane", "pavillon_b", "fouet1"),
    "scorcio": ("bacino", "petto", "muso", "orecchio_a", "frusta1"),
    "lezak": ("zad", "predek", "hlavicka", "usi_a", "chvost1"),
    "endlos": ("Kreuz", "Bug", "Haupt", "Ohr_a", "Wedel1"),
    "krumm": ("kern", "brust", "schaedel", "ohr_a", "rute1"),
    "ploche": ("taz", "grud", "bashka", "uho_a", "hvost1"),
    "畑の獣": ("腰", "胸", "頭", "耳 甲 a", "尾 1"),
}
LEGS = {  # of left limbs: what each joint turns
    ("dvojka", "LF"): ("scapula", "-", "-", "humerus", "radius", "fore_cannon", "fore_pastern", "fore_claw"),
    ("lezak", "LH"): ("femur", "tibia", "metatarsus", "hind_paw"),  # folded: in order
    ("knirps", "LF"): ("humerus", "radius"),
    ("knirps", "LH"): ("femur", "tibia"),
    ("torsade", "LF"): (
        *("scapula", "humerus", "-", "-", "-", "radius", "-", "fore_cannon", "fore_pastern", "fore_hoof"),
    ),
    ("torsade", "LH"): ("femur", "-", "tibia", "-", "hind_cannon", "hind_pastern", "hind_hoof"),
    ("endlos", "LH"): ("femur", "tibia", "hind_cannon", "hind_pastern", "hind_hoof", "-"),
    ("krumm", "LF"): ("scapula", "humerus", "-", "radius", "metacarpus", "fore_paw"),
}


@pytest.fixture(scope="module")
def chart(tmp_path_factory):
    folder = tmp_path_factory.mktemp("newest")

    @cache
    def of(name):
        path = folder / f"{name}.toml"
        (folder / f"{name}.bvh").write_text(newest_text(name), encoding="utf-8")
        found = fit(folder / f"{name}.bvh", path)
        written, unit = path.read_text(encoding="utf-8"), f'unit = "{NEWEST[name].unit}"'
        path.write_text(re.sub("(?m)^unit = .*", unit, written), encoding="utf-8")
        return path, found

    return of


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", NEWEST)
def test_its_parts_are_found(name, chart):
    found = chart(name)[1].map
    tail = found.tail[0] if found.tail else None
    assert (found.spine[0], found.spine[-1], found.head, found.ear_left, tail) == PARTS[name]
    for limb, own in found.limbs.items():
        if (name, limb) in LEGS:
            assert own.bones == LEGS[name, limb]
        sides = {"a": limb[0] == "L", "b": limb[0] == "R"}
        assert {sides[joint[-1]] for joint in own.joints} == {name != "torsade"}, "names do not tell"


def test_a_rig_that_is_a_little_lopsided_goes_straight_ahead(chart):
    """Joints put by hand, a millimetre or two off: forward is the axis of the file."""
    assert chart("krumm")[1].map.forward == (0.0, 0.0, 1.0)


@pytest.mark.thorough
def test_what_is_odd_is_said(chart):
    said = {name: " ".join(notice.text for notice in chart(name)[1].notices) for name in NEWEST}
    assert "hind legs stand folded to 4" in said["lezak"]
    assert all("folded" not in said[name] for name in NEWEST if name != "lezak")
    assert "frame 1 is taken as its standing pose" in said["scorcio"]
    assert all(
        "no tail found" in said[name]
        for name, parts in PARTS.items()
        if parts[-1] is None and name != "knirps"
    )
    assert "'sheya' before the chest stays still" in said["ploche"]
    assert "'ogon1', which lie behind it; a tail that carries the trunk stays still" in said["ogonek"]
    assert "'ocasA_a' and its mirror image hang behind the hips and stay still" in said["dvojka"]
    assert all("hang behind the hips" not in said[name] for name in NEWEST if name != "dvojka")


@pytest.mark.thorough
def test_two_tails_swing_where_the_map_lets_them(chart, clip, tmp_path):
    tables = "".join(
        f'\n[hanging.tail_{side}]\njoints = {[f"ocas{k}_{letter}" for k in "ABC"]}\nlike = "tail"\n'
        for side, letter in ("La", "Rb")
    )
    path = chart("dvojka")[0]
    (tmp_path / "dvojka.bvh").write_bytes(path.with_suffix(".bvh").read_bytes())
    (tmp_path / "two.toml").write_text(path.read_text(encoding="utf-8") + tables, encoding="utf-8")
    swung = cycle_on_rig(str(tmp_path / "two.toml"), Request(gait="walk"))
    still = clip("dvojka")
    for joint in ("ocasA_a", "ocasC_a", "ocasA_b", "ocasC_b"):
        row = swung.rig.file.joint_names.index(joint)
        turned, kept = (turns_deg(made.motion.changes, made.rig.file, row) for made in (swung, still))
        assert turned > 0.5
        assert kept < 1e-5


def turns_deg(changes, file, row):
    """How far a joint turns against the one above it in a clip, at the most."""
    local = np.swapaxes(changes[:, file.parents[row]], -1, -2) @ changes[:, row]
    cosine = (np.einsum("fij,ij->f", local, local[0]) - 1.0) / 2.0
    return float(np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0)).max()))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (flat_text, "limb LF is one joint, 'lap_a'; hang the joints of each leg on one another"),
        (upside_text, "no standing four-legged rig: "),
    ],
)
def test_trees_that_carry_no_leg_are_refused_with_what_to_do(text, said, tmp_path, capsys):
    (tmp_path / "odd.bvh").write_text(text())
    assert run(["fit", str(tmp_path / "odd.bvh"), "--map", str(tmp_path / "odd.toml")]) == 2
    heard = capsys.readouterr().err
    assert said in heard
    assert heard.count("\n") == 1
    assert not (tmp_path / "odd.toml").exists()


@pytest.mark.thorough
@pytest.mark.parametrize("gait", ["walk", "trot", "canter"])
@pytest.mark.parametrize("name", NEWEST)
def test_it_goes_without_slip_and_what_check_finds_is_known(name, gait, clip, chart, tmp_path):
    made = clip(name, gait)
    assert slip_m(NEWEST[name], made) < SLIP_M
    own = chart(name)[0].with_suffix(".bvh").read_bytes().split(b"MOTION")[0]
    assert made.bvh().startswith(own)
    (tmp_path / "a.bvh").write_bytes(made.bvh())
    found = {each.kind for each in check_file(tmp_path / "a.bvh", map_path=chart(name)[0]).findings}
    assert not found


@pytest.mark.thorough
@pytest.mark.parametrize(
    "joint",
    [marked("ua_a", why="its leg and frame are named; the joint is from 15 degrees on", name="ua_a"), "us_b"],
)
def test_a_pop_is_found_where_left_and_right_have_other_joints(joint, clip, chart, tmp_path):
    """A joint that is out by 12 degrees in one frame; the legs of this rig have 6, 5, 4 and 3 joints."""
    made, path = clip("krumm", frames=20), chart("krumm")[0]
    limbs = read_map(path)[0].limbs
    assert len(limbs["LF"].joints) != len(limbs["RF"].joints)
    assert len(limbs["LH"].joints) != len(limbs["RH"].joints)
    lines = made.bvh().decode().splitlines()
    first = next(k for k, line in enumerate(lines) if line.startswith("Frame Time")) + 1
    file = made.rig.file
    column = channel_columns(file, "rotation")[file.joint_names.index(joint)][1]
    row = lines[first + 7].split()
    row[column] = f"{float(row[column]) + 12.0:.6f}"
    lines[first + 7] = " ".join(row)
    (tmp_path / "popped.bvh").write_text("\n".join(lines) + "\n")
    found = check_file(tmp_path / "popped.bvh", map_path=path).findings
    every = [each for finding in found for each in (finding, *finding.follows)]
    assert joint in {each.limb for each in every if each.kind == "pop"}


@pytest.mark.thorough
@pytest.mark.parametrize("name", [name for name in NEWEST if name not in WITHOUT_NECK])
def test_styles_have_their_effect(name, clip):
    assert has_styles(NEWEST[name], clip, name)


@pytest.mark.thorough  # always drawn in test_rig_pictures, and carried in test_carry_rigs
@pytest.mark.parametrize("name", NEWEST)
def test_a_refined_clip_is_drawn_and_carried_to_another_length(name, clip, chart, tmp_path):
    made, path = clip(name, frames=24), chart(name)[0]
    carried = drawn_and_carried(made, path, tmp_path)
    drawn = clip_from_bvh(tmp_path / "refined.bvh", str(path))
    np.testing.assert_allclose(
        np.sort(drawn.steps.touchdown_s) * 24 % 24, np.sort(made.clip.steps.touchdown_s) * 24 % 24, atol=1e-6
    )
    own, *_ = read_map(path)
    assert own.head in {joint.joint for joint in carried.joints()}
