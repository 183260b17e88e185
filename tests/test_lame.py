"""Lame on a named leg, and factors of single legs: what they do to the motion, and what they say."""

import numpy as np
import pytest
from damage import columns
from gait_laws import (
    assert_bones_and_joints_hold,
    assert_contacts_come_back_from_the_file,
    assert_feet_stand_still_on_the_ground,
    assert_forces_obey_newton,
    assert_nothing_is_infinite,
)
from gait_measures import height_m, lame, lows_differ_mm, once_a_stride_mm

from gaitgen import Request, Style, make_cycle
from gaitgen.batch.plan import parse_style
from gaitgen.commands import run
from gaitgen.commands.check_file import check_file
from gaitgen.errors import RequestError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh import encode
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.leg_factors import FEET, LegFactors, parse_legs
from gaitgen.gait.presets import mixed
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.measure import loop_gap, measure_feet
from gaitgen.pipeline import settle
from gaitgen.pipeline.temper import tempered
from gaitgen.pipeline.to_clip import to_clip

HIPS = {"L": "femur_L", "R": "femur_R"}


def made(gait="walk", **rest):
    return make_cycle(Request(gait=gait, **rest))


def load_shares(clip):
    """Share of the weight that each foot carries over a stride, (4,)."""
    force = clip.plan.force_n[: clip.facts.frames].mean(axis=0)
    return force / force.sum()


def middle_of_stance(clip, foot):
    """Row in the middle of a foot's stance."""
    steps, row = clip.steps, list(clip.steps.limb).index(LIMBS.index(foot))
    middle_s = (steps.touchdown_s[row] + steps.liftoff_s[row]) / 2.0
    return round(middle_s * clip.frame_rate_hz) % clip.facts.frames


# What lameness does


@pytest.mark.sample(2)
@pytest.mark.parametrize("foot", ["LF", "RF"])
@pytest.mark.parametrize(
    ("gait", "animal"),
    [
        ("trot", "riding_horse"),
        ("walk", "riding_horse"),
        ("trot", "dog"),
        ("trot", "pony"),
        ("trot", "draft_horse"),
        ("trot", "donkey"),
        ("trot", "cow"),
        ("pace", "dromedary"),
        ("walk", "dromedary"),
        ("walk", "elephant"),
        ("amble", "elephant"),
    ],
)
def test_head_is_up_while_a_lame_foreleg_carries_and_down_on_the_sound_one(gait, animal, foot):
    """Down on the sound leg: Keegan 2005, from a summary."""
    clip, other = made(gait, animal=animal, named_style=f"lame {foot}"), "RF" if foot == "LF" else "LF"
    head = height_m(clip, "poll")
    wave = np.fft.rfft(head)[1]
    once = np.real(wave * np.exp(2j * np.pi * np.arange(head.size) / head.size))
    assert once[middle_of_stance(clip, foot)] > 0.6 * once.max()
    assert once[middle_of_stance(clip, other)] < 0.6 * once.min()


@pytest.mark.parametrize("foot", ["LH", "RH"])
@pytest.mark.parametrize("gait", ["walk", "trot"])
def test_side_of_the_pelvis_of_a_lame_hind_leg_rises_and_falls_more(gait, foot):
    clip, sound = made(gait, named_style=f"lame {foot}"), made(gait)

    def ranges(clip):
        places, _ = world_frames(clip.animal, clip.root_path_m, clip.rotations)
        return {side: float(np.ptp(places[:, clip.animal.joint(name), 2])) for side, name in HIPS.items()}

    own, other, usual = ranges(clip)[foot[0]], ranges(clip)["RL"["LR".index(foot[0])]], ranges(sound)["L"]
    assert own > usual + 2e-3
    assert own > 1.1 * other


@pytest.mark.parametrize(("gait", "most"), [("walk", 0.35), ("trot", 0.4)])
def test_a_lame_hind_leg_is_seen_in_24_frames_a_second(gait, most):
    """Seen from a difference of the two sides of about a quarter on (Parkes et al. 2009, from memory)."""
    clip = made(gait, named_style="lame RH")
    places, _ = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    left, right = (float(np.ptp(places[:, clip.animal.joint(HIPS[side]), 2])) for side in "LR")
    assert 0.22 < 1.0 - left / right < most


@pytest.mark.sample(1)
@pytest.mark.parametrize("foot", FEET)
def test_lame_leg_carries_less_and_its_mate_more(foot):
    shares, usual = load_shares(made("trot", named_style=f"lame {foot}")), load_shares(made("trot"))
    row = FEET.index(foot)
    assert shares[row] < 0.985 * usual[row]
    assert shares[row ^ 1] > 1.015 * usual[row ^ 1]
    assert shares[row] / shares[row ^ 1] == pytest.approx(0.89, abs=0.02)


def test_lame_leg_is_down_for_a_shorter_time_at_a_walk_and_strides_are_shorter():
    """Serra Braganca et al. 2021, EVJ, abstract: stance and stride shorter; second force peak lower."""
    clip, sound = made(named_style="lame LF"), made()
    stance = {
        LIMBS[limb]: off - on
        for limb, on, off in zip(clip.steps.limb, clip.steps.touchdown_s, clip.steps.liftoff_s, strict=True)
    }
    assert stance["LF"] < stance["RF"] - 1.0 / 24.0
    assert clip.facts.stride_length_m < 0.97 * sound.facts.stride_length_m


def test_signs_are_smaller_at_a_walk_than_at_a_trot():
    """Serra Braganca et al. 2021, EVJ, abstract."""
    walk, trot = lame("walk", "LF", frames=28), lame("trot", "LF")
    sound = made(frames=28)
    assert once_a_stride_mm(walk, "poll") - once_a_stride_mm(sound, "poll") < once_a_stride_mm(trot, "poll")


def test_strength_says_how_much_of_it():
    half, whole, twice = (once_a_stride_mm(lame("trot", "LF", much), "poll") for much in (0.5, 1.0, 2.0))
    assert half == pytest.approx(whole / 2.0, rel=0.1)
    assert twice == pytest.approx(2.0 * whole, rel=0.1)


def test_a_stranger_sees_it():
    """Common practice, no source: as large as the usual bob of the head, or a hip that clearly hikes."""
    sound = float(np.ptp(height_m(lame("trot", "LF", 0.0), "poll")))
    assert 1e-3 * lows_differ_mm(lame("trot", "LF"), "poll", "LF") > sound
    assert lows_differ_mm(lame("trot", "LH"), "croup", "LH") > 15.0
    assert mixed(["old 0.5"], Style()).reach == pytest.approx(0.8**0.5)


def test_left_and_right_are_mirror_images():
    left, right = lame("trot", "LF"), lame("trot", "RF")
    half = left.facts.frames // 2
    assert height_m(left, "poll") == pytest.approx(np.roll(height_m(right, "poll"), half), abs=1e-4)


@pytest.mark.sample(1)
@pytest.mark.parametrize("animal", ["riding_horse", "dog"])
@pytest.mark.parametrize("gait", ["walk", "trot"])
@pytest.mark.parametrize("style", ["lame LF", "lame RH 2", "lame LH, tired"])
def test_laws_hold(animal, gait, style):
    settled = settle(Request(gait=gait, animal=animal, named_style=style))
    tried = tempered(settled)
    clip = to_clip(settled, tried, tried.notices)
    assert_nothing_is_infinite(clip)
    assert_bones_and_joints_hold(clip)
    assert_feet_stand_still_on_the_ground(clip)
    assert loop_gap(clip) < 1e-9
    assert_forces_obey_newton(clip.animal, tried.solved.body)
    assert_contacts_come_back_from_the_file(clip, FileSpace())


def test_report_says_what_the_lame_leg_carries():
    (said,) = [
        notice.text for notice in made("trot", named_style="lame LF").notices if notice.topic == "lame"
    ]
    assert said == "LF carries 89 % of what RF does."


# What the check says


def found_in(clip, tmp_path, **meant):
    path = tmp_path / "clip.bvh"
    path.write_bytes(encode(clip, FileSpace()))
    return [
        (each.kind, each.limb) for each in check_file(path, animal=str(clip.animal.name), **meant).findings
    ]


@pytest.mark.sample(2)
@pytest.mark.parametrize("animal", ["riding_horse", "dog"])
@pytest.mark.parametrize(("gait", "style"), [("walk", "lame LF"), ("walk", "lame RH"), ("trot", "lame RF 2")])
def test_check_finds_no_fault_in_what_is_meant(animal, gait, style, tmp_path):
    clip = made(gait, animal=animal, named_style=style)
    assert found_in(clip, tmp_path, meant=style.split()[1]) == []


def test_check_names_the_lame_leg_where_it_is_not_meant(tmp_path):
    clip = made(named_style="lame RF 2")
    assert found_in(clip, tmp_path) == [("asymmetry", "RF")]
    assert found_in(clip, tmp_path, meant="RF") == []


STYLED = [("walk", "lame RH 2"), ("walk", "lame LF 2"), ("walk", "proud 2"), ("trot", "lame RH 2")]


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("gait", "style", "animal"),
    [(*each, animal) for each in STYLED for animal in ("riding_horse", "dog", "elephant")],
)
def test_what_a_style_shows_is_no_fault_where_the_style_is_meant(animal, gait, style, tmp_path):
    """A horse's lame RH 2 at a walk limps, and bends its loin by more than a sound one's limit."""
    if animal == "elephant" and gait == "trot":
        gait = "amble"
    clip = made(gait, animal=animal, named_style=style)
    assert found_in(clip, tmp_path, style=style) == []


@pytest.mark.thorough
def test_a_style_that_is_meant_hides_no_fault_beside_it(tmp_path):
    """The limp is found if another style is meant, or another leg; so is a bone that jumps, in its style."""
    clip = made(named_style="lame LF 2")
    for other in ("tired", "lame RH 2"):
        assert ("asymmetry", "LF") in found_in(clip, tmp_path, style=other), other
    file = read_bvh(encode(clip, FileSpace()), "clip.bvh")
    rows = file.rows.copy()
    rows[12, columns(file, "humerus_L")["X"]] += 8.0
    path = tmp_path / "clip.bvh"
    head = encode(clip, FileSpace()).decode().split("Frame Time:")[0]
    lines = "\n".join(" ".join(f"{value:.6f}" for value in row) for row in rows)
    path.write_text(f"{head}Frame Time: {file.frame_time_s:.6f}\n{lines}\n", encoding="utf-8")
    found = check_file(path, style="lame LF 2").findings
    assert [(each.kind, each.joint) for each in found] == [("pop", "humerus_L")]


def test_factors_of_legs_may_be_meant_too(tmp_path):
    legs = "LF: reach=0.8 lift=1.3"
    clip = made(legs=legs)
    assert found_in(clip, tmp_path, legs=legs) == []
    assert "what a cycle in the style LF: reach" in check_file(tmp_path / "clip.bvh", legs=legs).text()


@pytest.mark.sample(1)
@pytest.mark.parametrize(("style", "said"), [("lame RF", "higher over RF"), ("lame LH 2", "higher over LH")])
def test_check_says_over_which_leg_head_or_hips_go_up(style, said, tmp_path):
    path = tmp_path / "clip.bvh"
    path.write_bytes(encode(made("trot", named_style=style), FileSpace()))
    assert said in check_file(path).text()
    path.write_bytes(encode(made("trot"), FileSpace()))
    assert "higher over" not in check_file(path).text()


# Factors of single legs


def toe_lifts(clip):
    return measure_feet(clip).toe_m[..., 2].max(axis=0)


def test_one_leg_is_lifted_higher_and_the_others_are_not():
    plain, high = made(), made(legs="LF: lift=1.4")
    more = toe_lifts(high) / toe_lifts(plain)
    assert more[0] > 1.25
    assert more[1:] == pytest.approx(1.0, abs=0.05)


def test_groups_of_legs_are_named():
    assert parse_legs("hind: lift=1.2, left: reach=0.9") == LegFactors(
        lift=(1.0, 1.0, 1.2, 1.2), reach=(0.9, 1.0, 0.9, 1.0)
    )
    assert parse_legs("lf: lift=1.2 weight=0.5") == parse_legs("LF: weight=0.5, LF: lift=1.2")


def test_factors_beside_a_style_are_multiplied():
    both = settle(Request(gait="walk", named_style="lame LF", legs="LF: lift=1.5")).request.style
    assert both.legs.lift[0] == pytest.approx(0.9 * 1.5)


def test_a_leg_that_cannot_is_held_back_and_the_report_names_it():
    clip = made(legs="LF: lift=3")
    (said,) = [notice.text for notice in clip.notices if notice.topic == "style"]
    assert said.startswith("only part of the style is applied: LF lift ")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("XF: lift=1", "cannot read 'XF: lift=1' in the factors of legs; write them like 'LF: lift=1.3"),
        ("LF lift=1", "cannot read 'LF lift=1' in the factors of legs"),
        ("LF:", "cannot read 'LF:' in the factors of legs"),
        ("LF: hop=1", "cannot read 'hop=1' of LF; write FACTOR=NUMBER, with lift, weight, reach, load"),
        ("LF: lift=high", "'high' of LF is no number; write lift=<number>"),
        ("LF: lift=9", r"factor LF lift is 9; give a number from 0\.3 to 3"),
        ("fore: load=0.9", "load of fore says nothing: it is shared between the two legs of a pair"),
    ],
)
def test_factors_that_cannot_be_read_are_refused(text, said, capsys):
    with pytest.raises(RequestError, match=said):
        made(legs=text)
    assert run(["cycle", "walk", "--legs", text, "--out", "nowhere"]) == 2
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("lame", "the style 'lame' names no leg; write it like 'lame LF', with one of LF, RF, LH, RH"),
        ("lame XF", "the style 'lame XF' names no leg"),
        (
            "lame LF much",
            "cannot read 'much' in the style 'lame LF much'; after its name goes how much of it",
        ),
        ("tired LF", "cannot read 'LF' in the style 'tired LF'"),
        ("tired 9", "a number from 0 to 3"),
    ],
)
def test_styles_that_cannot_be_read_are_refused(text, said):
    with pytest.raises(RequestError, match=said):
        made(named_style=text)


def test_variants_take_a_lame_leg():
    assert parse_style("lame LF 0.5") == ("lame_LF_0_5", mixed(["lame LF 0.5"], Style()))
    at_a_run = parse_style("lame LF", walks=False)[1]
    assert at_a_run.legs.reach == (1.0, 1.0, 1.0, 1.0)


def test_it_is_said_why_a_walk_on_given_contacts_hardly_limps():
    contacts = "RH 1-23, RF 9-31, LH 17-39, LF 25-47"
    clip = make_cycle(Request(frames=32, contacts=contacts, named_style="lame LF"))
    (said,) = [notice.text for notice in clip.notices if notice.topic == "lame"]
    assert said.startswith("LF carries 98 % of what RF does: in slow strides less is spared")
    assert "its foot is down as long as its mate's" in said
