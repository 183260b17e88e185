"""Animal files: the animals stand, other proportions stand, and bad files are refused in one line."""

import re
import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaitgen import GaitgenError, Proportions, animal_names, load_animal
from gaitgen.animal.library import read_skeleton, skeleton_folder
from gaitgen.animal.standing import standing_landmark_m, standing_positions_m
from gaitgen.errors import AnimalError

RIDING = (skeleton_folder() / "riding_horse.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("animal", animal_names())
def test_soles_are_on_the_ground_and_withers_and_croup_at_height(animal):
    _stands(load_animal(animal))


def _stands(skeleton):
    positions = standing_positions_m(skeleton)
    for name in ("fore_hoof_L", "fore_hoof_R", "hind_hoof_L", "hind_hoof_R"):
        hoof = skeleton.hooves[name.split("_")[0]]
        assert positions[skeleton.joint(name), 2] == pytest.approx(hoof.coffin_height_m, abs=1e-3)
    assert standing_landmark_m(skeleton, "withers")[2] == pytest.approx(skeleton.withers_height_m, abs=1e-3)
    assert standing_landmark_m(skeleton, "croup")[2] == pytest.approx(skeleton.croup_height_m, abs=1e-3)
    assert skeleton.mass_shares.sum() == pytest.approx(1.0)


@given(
    st.sampled_from(animal_names()),
    st.floats(0.5, 3.0),
    st.floats(0.14, 0.19),
    st.floats(0.7, 1.4),
    st.floats(0.8, 1.2),
    st.floats(0.7, 1.3),
)
@settings(max_examples=40, deadline=None, derandomize=True)
def test_other_proportions_stand(animal, height, cannon, neck, back, head):
    skeleton = load_animal(
        animal,
        Proportions(
            withers_height_m=height,
            cannon_ratio=cannon,
            neck_factor=neck,
            back_factor=back,
            head_factor=head,
        ),
    )
    _stands(skeleton)
    assert skeleton.withers_height_m == pytest.approx(height)
    cannon_m = -skeleton.tips_m[skeleton.joint("fore_cannon_L"), 2]
    assert cannon_m / height == pytest.approx(cannon)


def test_mass_follows_height_by_the_published_power():
    # Withers height = 0.11 m^0.43 over 21 horses (J Exp Biol 209:455, table), so mass goes with height^2.33.
    small = load_animal("riding_horse", Proportions(withers_height_m=1.2))
    assert small.body_mass_kg == pytest.approx(538.0 * (1.2 / 1.6) ** (1 / 0.43), rel=0.01)


def test_every_value_has_a_source_or_is_an_estimate():
    for name in animal_names():
        tables = tomllib.loads((skeleton_folder() / f"{name}.toml").read_text(encoding="utf-8"))
        for group in ("joints", "landmarks", "hooves", "followers"):
            for key, table in tables[group].items():
                assert table["source"], f"{name} {group}.{key}"
        for key in ("track", "coupling", "back"):
            assert tables[key]["source"]
        assert tables["size"]["mass_source"]
        assert tables["size"]["height_source"]


def test_a_file_of_the_users_own(tmp_path):
    file = tmp_path / "cob.toml"
    file.write_text(
        'format = 1\nbase = "riding_horse"\nname = "cob"\n'
        "[proportions]\nwithers_height_m = 1.5\ncannon_ratio = 0.155\n",
        encoding="utf-8",
    )
    skeleton = load_animal(str(file))
    assert (skeleton.name, skeleton.withers_height_m) == ("cob", 1.5)
    _stands(skeleton)


def _without(table):
    return re.sub(rf"\[{re.escape(table)}\]\n(?:(?!\n\[).*\n)*?(?=\n\[)", "", RIDING)


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
    "another format": (RIDING.replace("format = 1", "format = 2"), "format"),
}


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
