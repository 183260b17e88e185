"""Animal files: the animals stand, other proportions stand, and bad files are refused in one line."""

import re
import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaitgen import GaitgenError, Proportions, animal_names, load_animal
from gaitgen.animal.library import joints_in_file, may_be_of, read_skeleton, skeleton_folder
from gaitgen.animal.standing import standing_landmark_m, standing_positions_m
from gaitgen.errors import AnimalError

RIDING = (skeleton_folder() / "riding_horse.toml").read_text(encoding="utf-8")

HORSES = [name for name in animal_names() if load_animal(name).species == "horse"]


@pytest.mark.parametrize("animal", animal_names())
def test_soles_are_on_the_ground_and_withers_and_croup_at_height(animal):
    _stands(load_animal(animal))


def _stands(skeleton):
    positions = standing_positions_m(skeleton)
    for limb in skeleton.limbs:
        assert positions[limb.foot_joint, 2] == pytest.approx(limb.foot.height_m, abs=1e-3)
        tip = positions[limb.foot_joint] + skeleton.tips_m[limb.foot_joint]
        np.testing.assert_allclose(tip, positions[limb.foot_joint] + limb.foot.tip_m, atol=1e-9)
    assert standing_landmark_m(skeleton, "withers")[2] == pytest.approx(skeleton.withers_height_m, abs=1e-3)
    assert standing_landmark_m(skeleton, "croup")[2] == pytest.approx(skeleton.croup_height_m, abs=1e-3)
    assert skeleton.mass_shares.sum() == pytest.approx(1.0)


@given(
    st.sampled_from(HORSES),
    st.floats(0.5, 3.0),
    st.floats(0.14, 0.19),
    st.floats(0.7, 1.4),
    st.floats(0.8, 1.2),
    st.floats(0.7, 1.3),
    st.floats(0.8, 1.25),
)
@settings(max_examples=40, deadline=None, derandomize=True)
def test_other_proportions_stand(animal, height, cannon, neck, back, head, legs):
    skeleton = load_animal(
        animal,
        Proportions(
            withers_height_m=height,
            cannon_ratio=cannon,
            leg_factor=legs,
            neck_factor=neck,
            back_factor=back,
            head_factor=head,
        ),
    )
    _stands(skeleton)
    assert skeleton.withers_height_m == pytest.approx(height)
    cannon_m = -skeleton.tips_m[skeleton.joint("fore_cannon_L"), 2]
    assert cannon_m / height == pytest.approx(cannon)


def test_headings_of_the_files_name_the_joints():
    for name in animal_names():
        joints = load_animal(name).joint_names
        bare = {joint.removesuffix("_L").removesuffix("_R") for joint in joints}
        assert set(joints_in_file(name)) == bare
        assert joints_in_file(name)[0] == joints[0]
        alike = set(may_be_of([*joints, "somebody_else"]))
        assert alike == {each for each in animal_names() if set(load_animal(each).joint_names) <= set(joints)}
    assert may_be_of(["hips", "leg_L"]) == ()


def test_mass_follows_height_by_the_published_power():
    # Withers height = 0.11 m^0.43 over 21 horses (J Exp Biol 209:455, table), so mass goes with height^2.33.
    small = load_animal("riding_horse", Proportions(withers_height_m=1.2))
    assert small.body_mass_kg == pytest.approx(538.0 * (1.2 / 1.6) ** (1 / 0.43), rel=0.01)


def test_every_value_has_a_source_or_is_an_estimate():
    for name in animal_names():
        tables = tomllib.loads((skeleton_folder() / f"{name}.toml").read_text(encoding="utf-8"))
        for group in ("joints", "landmarks", "hanging"):
            for key, table in tables[group].items():
                assert table["source"], f"{name} {group}.{key}"
        for end, limb in tables["limbs"].items():
            for key in ("foot", "path", "load"):
                assert limb[key]["source"], f"{name} limbs.{end}.{key}"
            for joint, law in limb["law"].items():
                assert law["source"], f"{name} limbs.{end}.law.{joint}"
            for key in ("track_source", "rise_source"):
                assert limb[key], f"{name} limbs.{end}"
        for key in ("back", "tempo"):
            assert tables[key]["source"]
        assert tables["tempo"]["settle_source"]
        assert tables["back"]["force_point_source"]
        assert tables["size"]["mass_source"]
        assert tables["size"]["height_source"]


def test_a_file_of_the_users_own(tmp_path):
    file = tmp_path / "cob.toml"
    file.write_text(
        'format = 2\nbase = "riding_horse"\nname = "cob"\n'
        "[proportions]\nwithers_height_m = 1.5\ncannon_ratio = 0.155\n",
        encoding="utf-8",
    )
    skeleton = load_animal(str(file))
    assert (skeleton.name, skeleton.withers_height_m) == ("cob", 1.5)
    _stands(skeleton)


LLAMA = (
    'format = 2\nbase = "dromedary"\nname = "llama"\nwithout = ["{}"]\n[proportions]\nbody_mass_kg = 130.0\n'
)


def test_an_animal_of_ones_own_may_be_without_a_part_of_the_flesh_of_its_base(tmp_path):
    file = tmp_path / "llama.toml"
    file.write_text(LLAMA.format("hump"), encoding="utf-8")
    llama, camel = load_animal(str(file)), load_animal("dromedary")
    groups = [{group for _, _, _, group in animal.outline} for animal in (llama, camel)]
    assert groups[1] - groups[0] == {"hump"}
    _stands(llama)
    plain = read_skeleton(LLAMA.format("hump").split("[")[0].encode() + b'["hump"]\n', "llama.toml")
    assert plain.body_mass_kg == camel.body_mass_kg
    with pytest.raises(AnimalError) as caught:
        read_skeleton(LLAMA.format("humpp").encode(), "llama.toml")
    assert "without has 'humpp'; did you mean 'hump'; dromedary has " in str(caught.value)


def _without(table):
    return re.sub(rf"\[{re.escape(table)}\]\n(?:(?!\n\[).*\n)*?(?=\n\[)", "", RIDING)


FORE = '["scapula", "humerus", "radius", "fore_cannon", "fore_pastern", "fore_hoof"]'
HIND = '["femur", "tibia", "hind_cannon", "hind_pastern", "hind_hoof"]'
SPINE = '["pelvis", "lumbar_2", "lumbar_1", "thorax_4", "thorax_3", "thorax_2", "thorax_1"]'
BAD = {
    "not TOML": ("joints = [", "is not TOML"),
    "no bone": (_without("joints.tibia"), r"tibia"),
    "no length": (
        RIDING.replace("[joints.tibia]", "[joints.tibia]\n#").replace(
            "length_m = 0.39\ndirection_deg = -115.0", ""
        ),
        r"\[joints.tibia\] has no length_m; add length_m = <metres>",
    ),
    "zero length": (
        RIDING.replace("length_m = 0.39\ndirection_deg = -115.0", "length_m = 0.0\ndirection_deg = -115.0"),
        r"\[joints.tibia\] length_m is 0; a bone needs a length above 0",
    ),
    "cycle": (
        RIDING.replace('[joints.lumbar_2]\nparent = "pelvis"', '[joints.lumbar_2]\nparent = "thorax_1"'),
        "cycle of parents",
    ),
    "stranger": (
        RIDING.replace('[joints.tibia]\nparent = "femur"', '[joints.tibia]\nparent = "femurr"'),
        "did you mean 'femur'",
    ),
    "range the wrong way": (
        RIDING.replace("angle_deg = [60.0, 165.0]", "angle_deg = [165.0, 60.0]"),
        r"angle_deg is \[165, 60\], the wrong way round; write \[60, 165\]",
    ),
    "stands outside its range": (
        RIDING.replace("angle_deg = [60.0, 165.0]", "angle_deg = [60.0, 100.0]"),
        r"\[joints.tibia\] stands at 147.0 degrees, outside",
    ),
    "cannot stand": (
        RIDING.replace("length_m = 0.42\n", "length_m = 0.32\n"),
        "cannot stand: the sole of fore_hoof",
    ),
    "withers": (
        RIDING.replace("withers_height_m = 1.6", "withers_height_m = 1.7"),
        "cannot stand: the withers",
    ),
    "unknown key": (RIDING.replace("body_mass_kg", "body_mas_kg"), "body_mass_kg"),
    "a word for a number": (
        RIDING.replace("body_mass_kg = 538.0", 'body_mass_kg = "heavy"'),
        "body_mass_kg is 'heavy'",
    ),
    "not a number": (RIDING.replace("body_mass_kg = 538.0", "body_mass_kg = nan"), "body_mass_kg is nan"),
    "empty": ("", "has no format"),
    "the format of before": (
        RIDING.replace("format = 2", "format = 1"),
        r"top level format is 1, an old one; write the tables \[body\], .* as in .*, and format = 2",
    ),
    "a format to come": (RIDING.replace("format = 2", "format = 3"), "format is 3, .*; write format = 2"),
    "a word for a format": (RIDING.replace("format = 2", 'format = "2"'), "format is '2'; write a number"),
    "no tempo": (_without("tempo"), r"has no table \[tempo\]; add \[tempo\]"),
    "no body": (_without("body"), r"has no table \[body\]; add \[body\]"),
    # Limbs
    "no hind limbs": (RIDING.replace("[limbs.hind", "[limbs.rear"), r"has no table \[limbs.hind\]; add"),
    "a third limb": (
        RIDING + '[limbs.middle]\njoints = ["femur"]\n',
        r"\[limbs\] has an unknown key 'middle'; take it out",
    ),
    "a limb without joints": (
        RIDING.replace(f"joints = {HIND}\n", ""),
        r'\[limbs.hind\] has no joints; add joints = \["<name>", "<name>"\]',
    ),
    "a limb of one joint": (
        RIDING.replace(HIND, '["femur"]'),
        r"\[limbs.hind\] joints has fewer than two joints; a limb is at least a bone and a foot",
    ),
    "a limb without a foot": (
        _without("limbs.hind.foot"),
        r"has no table \[limbs.hind.foot\]; add \[limbs.hind.foot\]",
    ),
    "a foot of no kind": (
        RIDING.replace('kind = "hoof"', 'kind = "wheel"', 1),
        r"\[limbs.fore.foot\] kind is 'wheel'; write one of hoof, cloven hoof, paw",
    ),
    "a foot under the ground": (
        RIDING.replace("height_m = 0.06", "height_m = 0.09", 1),
        "cannot stand: the sole of fore_hoof is 30.1 mm under the ground; make the bones .* 0.0301 m shorter",
    ),
    "limbs that share a joint": (
        RIDING.replace(HIND, HIND.replace("hind_pastern", "fore_pastern")),
        r"\[limbs\] fore and hind both have 'fore_pastern'; a joint is in one limb only",
    ),
    "limbs that share all": (
        RIDING.replace(HIND, FORE),
        r"\[limbs\] fore and hind both have 'fore_cannon'; a joint is in one limb only",
    ),
    "a limb with a gap": (
        RIDING.replace(HIND, HIND.replace('"tibia", ', "")),
        r"\[joints.hind_cannon\] parent is 'tibia'; write 'femur'",
    ),
    "a limb with a stranger": (
        RIDING.replace(HIND, HIND.replace("tibia", "tibea")),
        r"\[limbs.hind\] joints names 'tibea', which is no joint; did you mean 'tibia'",
    ),
    "a limb joint without an angle": (
        RIDING.replace(
            'angle_deg = [60.0, 165.0]\nangle_side = "back"\nangle_name = "stifle"', "pitch_deg = [-5.0, 5.0]"
        ),
        r"\[joints.tibia\] is in a limb; add angle_deg and angle_side",
    ),
    "a girdle that is no joint": (
        RIDING.replace('girdle = "pelvis"', 'girdle = "pelviss"'),
        r"\[limbs.hind\] girdle 'pelviss' is no single joint; did you mean 'pelvis'",
    ),
    "a girdle of a pair": (
        RIDING.replace('girdle = "pelvis"', 'girdle = "femur_L"'),
        r"\[limbs.hind\] girdle 'femur_L' is no single joint",
    ),
    "no girdle": (RIDING.replace('girdle = "pelvis"\n', ""), r"\[limbs.hind\] has no girdle; add girdle = "),
    "a girdle that carries another limb": (
        RIDING.replace('girdle = "pelvis"', 'girdle = "lumbar_1"'),
        r"\[limbs.hind\] femur hangs on 'pelvis'; let its parent be the girdle, or a sling on the girdle",
    ),
    "a girdle within the spine": (
        RIDING.replace(SPINE, SPINE.replace(', "thorax_1"', "")),
        r"\[limbs.fore\] girdle is 'thorax_1'; fore limbs hang on the last joint of the spine, 'thorax_2'",
    ),
    "a sling that is no joint": (
        RIDING.replace('sling = "sling"', 'sling = "slung"'),
        r"\[limbs.fore\] scapula hangs on 'sling'; let its parent be the girdle, or a sling on the girdle",
    ),
    "a sling without a side": (
        RIDING.replace("offset_m = [0.0, 0.1, 0.0]", "offset_m = [0.0, 0.01, 0.0]"),
        r"\[joints.scapula\] is 0.01 m to the left of its sling 'sling', too little .* write offset_m = ",
    ),
    "a sling on the midline": (
        RIDING.replace("direction_deg = 90.0\npaired = true", "direction_deg = 90.0", 1),
        r"\[joints.sling\] is the sling of a limb; add paired = true",
    ),
    "a cannon that is no lower joint": (
        RIDING.replace('cannon = "hind_cannon"', 'cannon = "femur"'),
        r"\[limbs.hind\] cannon 'femur' is none of hind_cannon, hind_pastern; name one, or leave it out",
    ),
    "half a joint on the trunk": (
        RIDING.replace("on_trunk = 1\n", "on_trunk = 1.5\n"),
        r"\[limbs.hind\] on_trunk is 1.5; write a whole number from 0 to 5",
    ),
    # Laws
    "a law without an unknown": (
        re.sub(r"(law\.tibia\]|law\.hind_cannon\]\n.*)\nopens = \S+", r"\1", RIDING),
        r"\[limbs.hind.law\] cannot reach the ground: below femur no joint opens with the unknown; write",
    ),
    "a law that only follows": (
        RIDING.replace(
            "[limbs.hind.law.tibia]\n",
            "".join(f"[limbs.hind.law.{n}]\nfollows = 0.2\n" for n in ("femur", "tibia")),
        ).replace("opens = 0.9\n", "follows = 0.9\n"),
        r"\[limbs.hind.law\] cannot reach the ground: below hind_pastern no joint opens",
    ),
    "a law that follows below": (
        RIDING.replace("[limbs.hind.law.tibia]\n", "[limbs.hind.law.tibia]\nfollows = 0.2\n"),
        r"\[limbs.hind.law\] lets every joint follow, or one below a joint that points; follow from the top",
    ),
    "a law of a stranger": (
        RIDING.replace("[limbs.hind.law.tibia]", "[limbs.hind.law.tibea]"),
        r"\[limbs.hind.law\] has a law for 'tibea', which bends no limb here; did you mean 'tibia'",
    ),
    "a limb shorter than it stands": (
        RIDING.replace("straightest_deg = 160.0", "straightest_deg = 140.0"),
        r"\[limbs.hind.law\] cannot reach the ground: tibia stands at 147.0 degrees, past .* 140; write 148",
    ),
    "a limb that opens to fold": (
        RIDING.replace("[limbs.hind.law.tibia]\nopens = 1.0", "[limbs.hind.law.tibia]\nopens = -1.0"),
        r"\[limbs.hind.law\] cannot reach the ground: it does not grow longer .* tibia, hind_cannon opens",
    ),
    "a joint that opens by next to nothing": (
        RIDING.replace("[limbs.hind.law.tibia]\nopens = 1.0", "[limbs.hind.law.tibia]\nopens = 1e-320"),
        r"\[limbs.hind.law.tibia\] opens is 9.99989e-321, next to nothing; write 0, or 0.001 or more",
    ),
    "a fold that ends before its peak": (
        RIDING.replace("fold_to = 0.92", "fold_to = 0.3"),
        r"\[limbs.fore.law.fore_cannon\] fold_to is 0.3, not after fold_share = 0.37; let the fold end later",
    ),
    "a foot that hangs after it levels": (
        RIDING.replace("hang_full = 0.2", "hang_full = 0.65", 1),
        r"\[limbs.fore.path\] shares of hanging and levelling are out of order; let them grow from",
    ),
    "a foot that eases too long": (
        RIDING.replace("ease_in = 0.34", "ease_in = 0.84", 1),
        r"\[limbs.fore.path\] ease_in and ease_out are more than 1 together; make one smaller",
    ),
    # Spine and head
    "a spine out of order": (
        RIDING.replace(SPINE, SPINE.replace('"lumbar_2", "lumbar_1"', '"lumbar_1", "lumbar_2"')),
        r"\[joints.lumbar_1\] parent is 'lumbar_2'; the spine of \[body\] needs 'pelvis'",
    ),
    "a spine with a gap": (
        RIDING.replace(SPINE, SPINE.replace('"lumbar_1", ', "")),
        r"\[joints.thorax_4\] parent is 'lumbar_1'; the spine of \[body\] needs 'lumbar_2'",
    ),
    "a spine that begins late": (
        RIDING.replace(SPINE, SPINE.replace('"pelvis", ', "")),
        r"\[body\] spine begins with 'lumbar_2'; begin with the root, 'pelvis'",
    ),
    "a spine of one joint": (
        RIDING.replace(SPINE, '["pelvis"]'),
        r"\[body\] spine has one joint; name the root and at least the chest",
    ),
    "a spine with a pair": (
        RIDING.replace(SPINE, '["pelvis", "femur"]'),
        r"\[body\] spine names 'femur', which is no single joint",
    ),
    "a spine with a joint twice": (
        RIDING.replace(SPINE, '["pelvis", "pelvis"]'),
        r"\[body\] spine has 'pelvis' twice; name each joint once",
    ),
    "a spine off the midline": (
        RIDING.replace("offset_m = [0.0, 0.0, 0.0]", "offset_m = [0.0, 0.1, 0.0]", 1),
        r"\[joints.lumbar_2\] offset_m is 0.1 m to the left; the spine is on the midline, write \[0, 0",
    ),
    "a root off the origin": (
        RIDING.replace("offset_m = [0.0, 0.0, 1.44]", "offset_m = [0.3, 0.0, 1.44]"),
        r"\[joints.pelvis\] offset_m is 0.3 m forward; the root is over the origin, write \[0.0, 0.0, 1.44\]",
    ),
    "a head that is none": (
        RIDING.replace('head = "head"', 'head = "heed"'),
        r"\[body\] head 'heed' is no single joint in front of the spine; did you mean 'head'",
    ),
    "a head of a pair": (RIDING.replace('head = "head"', 'head = "ear"'), "head 'ear' is no single joint"),
    "a head in the spine": (RIDING.replace('head = "head"', 'head = "thorax_1"'), "in front of the spine"),
    # What hangs
    "a joint that hangs twice": (
        RIDING.replace('joints = ["jaw"]', 'joints = ["head"]'),
        r"\[hanging.jaw\] joints names 'head', which is in \[hanging.head\] already; take it out of one",
    ),
    "a limb that hangs": (
        RIDING.replace('joints = ["jaw"]', 'joints = ["tibia"]'),
        r"\[hanging.jaw\] joints names 'tibia', which is in \[limbs.hind\] already; take it out of one",
    ),
    "a sling that hangs": (
        RIDING.replace('joints = ["jaw"]', 'joints = ["sling"]'),
        r"\[hanging.jaw\] joints names 'sling', which is in \[limbs.fore\] already",
    ),
    "a spine that hangs": (
        RIDING.replace('joints = ["jaw"]', 'joints = ["lumbar_1"]'),
        r"\[hanging.jaw\] joints names 'lumbar_1', which is in the spine of \[body\] already",
    ),
    "a stranger that hangs": (
        RIDING.replace('joints = ["jaw"]', 'joints = ["jow"]'),
        r"\[hanging.jaw\] joints names 'jow', which is no joint; did you mean 'jaw'",
    ),
    "a row out of order": (
        RIDING.replace('"neck_2", "neck_3"', '"neck_3", "neck_2"'),
        r"\[joints.neck_3\] parent is 'neck_2'; write 'neck_1'",
    ),
    "a row that splits": (
        RIDING.replace(
            '[hanging.head]\njoints = ["head"]', '[hanging.head]\njoints = ["head", "ear"]'
        ).replace('[hanging.ear]\njoints = ["ear"]', '[hanging.ear]\njoints = ["tail_5"]'),
        r"\[hanging.head\] joints has 'head' on the midline and 'ear' in a pair; let the pair hang by itself",
    ),
    "gains of other joints": (
        RIDING.replace("gains = [0.80, 0.95, 1.0, 1.0]", "gains = [0.80, 0.95, 1.0]"),
        r"\[hanging.neck\] gains is \[0.8, 0.95, 1.0\]; write 4 numbers in square brackets",
    ),
    "a style of hanging": (
        RIDING.replace('style = "nod"', 'style = "nob"'),
        r'\[hanging.neck\] style is \'nob\'; write "nod" or "overlap"',
    ),
    # Names
    "a joint that is named like one of a pair": (
        RIDING.replace("[joints.jaw]", "[joints.jaw_L]").replace('["jaw"]', '["jaw_L"]'),
        r"\[joints.jaw_L\] has a name that no joint can have; write letters, digits and _, and paired = true",
    ),
    "a landmark on a pair": (
        RIDING.replace('joint = "humerus_L"', 'joint = "humerus"'),
        r"\[landmarks.point_of_shoulder\] joint 'humerus' is no joint; did you mean 'humerus_L'",
    ),
}


@pytest.mark.sample(20)
@pytest.mark.parametrize("fault", BAD)
def test_bad_files_are_refused_in_one_line(fault):
    text, words = BAD[fault]
    assert text != RIDING
    with pytest.raises(AnimalError) as caught:
        read_skeleton(text.encode(), "mine.toml")
    assert re.search(words, str(caught.value)), str(caught.value)
    assert str(caught.value).startswith("mine.toml")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    "proportions",
    [
        {"withers_height_m": 0.0},
        {"withers_height_m": float("nan")},
        {"body_mass_kg": -1.0},
        {"cannon_ratio": 0.5},
        {"neck_factor": float("inf")},
    ],
)
def test_bad_proportions_are_refused(proportions):
    with pytest.raises(AnimalError, match=next(iter(proportions))):
        Proportions(**proportions)


def test_an_unknown_animal_suggests_the_nearest():
    with pytest.raises(AnimalError, match="did you mean 'draft_horse'"):
        load_animal("draught_horse")


@pytest.mark.parametrize("path", ["nowhere.toml", "."])
def test_paths_that_are_no_file(path, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("folder.toml").mkdir()
    for name in (path if path.endswith(".toml") else "./x.toml", "folder.toml"):
        with pytest.raises(AnimalError):
            load_animal(name)


LINES = RIDING.splitlines()


@given(st.data())
@settings(max_examples=150, deadline=None, derandomize=True)
def test_damaged_files_end_in_one_clear_line(data):
    kind = data.draw(st.sampled_from(["cut", "drop", "swap", "number", "bytes"]))
    lines = list(LINES)
    at = data.draw(st.integers(0, len(lines) - 1))
    if kind == "cut":
        lines = lines[:at]
    elif kind == "drop":
        del lines[at]
    elif kind == "swap":
        other = data.draw(st.integers(0, len(lines) - 1))
        lines[at], lines[other] = lines[other], lines[at]
    elif kind == "number":
        value = data.draw(st.one_of(st.floats(), st.integers(-(10**30), 10**30)))
        lines[at] = re.sub(r"-?\d+\.?\d*", repr(value), lines[at], count=1)
    raw = "\n".join(lines).encode()
    if kind == "bytes":
        raw = data.draw(st.binary(max_size=400)) + raw[: data.draw(st.integers(0, 200))]
    said = "a skeleton that can be used"
    try:
        assert np.all(np.isfinite(read_skeleton(raw, "mine.toml").offsets_m))
    except GaitgenError as error:
        said = str(error)
    assert "\n" not in said
    assert len(said) > 20
