"""Timing from film: contacts and lift-offs, even or limping, and what gait they amount to."""

import numpy as np
import pytest

from gaitgen import Request, make_cycle
from gaitgen.animal.library import animal_names
from gaitgen.commands.check_file import check_file
from gaitgen.course.contacts import contacts_text, parse_contacts, stretched
from gaitgen.course.cycle import cycle_steps
from gaitgen.course.named_gait import summarise
from gaitgen.course.path import Path
from gaitgen.errors import GaitError, RequestError
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.gait.gait import LIMBS, load_gait
from gaitgen.motion.measure import found_feet, loop_gap, range_margins_rad, slip_m
from gaitgen.motion.report import report
from gaitgen.shot.asked import Passage, ShotRequest
from gaitgen.shot.make import make_shot
from gaitgen.shot.request import shot_of

EVEN = "RH 1-23, RF 9-31, LH 17-39, LF 25-47"
WRAPPED = "RH 1-23, RF 9-31, LH 17-7, LF 25-15"
UNEVEN = "RH 1-22, RF 8-30, LH 17-7, LF 25-15"
LIMPING = "RH 1-20, RF 7-29, LH 15-39, LF 24-47"


def test_even_contacts_are_the_default_walk():
    film, plain = make_cycle(Request(contacts=EVEN)), make_cycle(Request(duty_factor=22 / 32))
    np.testing.assert_allclose(film.rotations, plain.rotations, atol=1e-9)


@pytest.mark.parametrize(
    "contacts", [EVEN, WRAPPED, LIMPING, UNEVEN, "rh 1-21,LF 29-49 , RF 9 - 30,LH 16-38"]
)
def test_contacts_come_out_as_they_were_read(contacts):
    clip = make_cycle(Request(contacts=contacts))
    asked = parse_contacts(contacts, 32)
    planted = found_feet(clip).planted
    for k in range(len(LIMBS)):
        rows = (asked.contact[k] + np.arange(asked.down[k] + 1)) % 32
        np.testing.assert_array_equal(planted[:, k], np.isin(np.arange(33) % 32, rows))
    assert slip_m(clip) < 5e-4
    assert loop_gap(clip) < 1e-9
    topics = {notice.topic for notice in clip.notices}
    assert range_margins_rad(clip).min() > -1e-9 or "range" in topics


def test_a_stance_that_wraps_round_the_loop_is_the_one_that_runs_on():
    assert parse_contacts(WRAPPED, 32) == parse_contacts(EVEN, 32)
    assert parse_contacts(contacts_text(parse_contacts(LIMPING, 32)), 32) == parse_contacts(LIMPING, 32)


# Orders in which walking feet land: lateral, diagonal, and the pair of a side or of a diagonal at once.
FOOTFALLS = {
    "lateral couplets": "RH 1-23, RF 5-27, LH 17-7, LF 21-11",
    "diagonal couplets": "RH 1-23, RF 13-3, LH 17-7, LF 29-19",
    "diagonal sequence": "RH 1-23, RF 25-15, LH 17-7, LF 9-31",
    "trot": "RH 1-21, RF 17-5, LH 17-5, LF 1-21",
    "pace": "RH 1-21, RF 1-21, LH 17-5, LF 17-5",
}


@pytest.mark.parametrize("name", FOOTFALLS)
def test_any_footfall_that_walks_is_made_and_keeps_its_feet(name):
    clip = make_cycle(Request(contacts=FOOTFALLS[name]))
    assert name in summarise(clip.steps).name
    assert slip_m(clip) < 5e-4
    assert loop_gap(clip) < 1e-9


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    "contacts",
    [
        EVEN,
        UNEVEN,
        pytest.param(
            FOOTFALLS["lateral couplets"],
            marks=pytest.mark.xfail(strict=True, reason="its elbows give 12.01 degrees, 12 are let through"),
        ),
        FOOTFALLS["diagonal couplets"],
    ],
)
def test_what_is_made_from_contacts_passes_the_check(contacts, tmp_path):
    path = tmp_path / "filmed.bvh"
    path.write_bytes(bvh.encode(make_cycle(Request(contacts=contacts)), FileSpace()))
    assert check_file(path).findings == ()


LIMPS = {
    "short right hind": LIMPING,
    "short right fore": "RH 1-23, RF 9-28, LH 17-39, LF 24-49",
    "a little": UNEVEN,
    "quick right hind": "RH 1-19, RF 9-31, LH 16-40, LF 25-47",
    "quick left hind": "RH 0-24, RF 9-31, LH 17-36, LF 25-47",
}


EACH = pytest.mark.parametrize("name", LIMPS)


@pytest.mark.sample(1)
@EACH
def test_all_that_is_wrong_with_a_limp_is_that_it_limps(name, tmp_path):
    path = tmp_path / "filmed.bvh"
    path.write_bytes(bvh.encode(make_cycle(Request(contacts=LIMPS[name])), FileSpace()))
    assert {found.kind for found in check_file(path).findings} <= {"asymmetry"}
    assert check_file(path, contacts=LIMPS[name]).findings == ()


@pytest.mark.sample(1)
@EACH
def test_nothing_pops_in_a_limp(name, tmp_path):
    path = tmp_path / "filmed.bvh"
    path.write_bytes(bvh.encode(make_cycle(Request(contacts=LIMPS[name])), FileSpace()))
    for found in check_file(path).findings + check_file(path, contacts=LIMPS[name]).findings:
        kinds = {found.kind, *(after.kind for after in found.follows)}
        assert not kinds & {"pop", "speed jumps at the loop", "rotation jump"}, found


@pytest.mark.sample(1)
@pytest.mark.parametrize("limp", [{"contacts": LIMPING}, {"named_style": "lame RH 2"}])
def test_a_limp_in_a_shot_is_that_of_its_cycle(limp):
    request = Request(frames=32, **limp)
    shot = make_shot(shot_of(ShotRequest((Passage(request, strides=2),), starts=False, ends=False)))
    own = make_cycle(request).rotations[:32]
    alike = np.abs((shot.clip.rotations[:32] * own).sum(axis=-1))  # of quaternions, whatever their sign
    np.testing.assert_allclose(alike, 1.0, atol=1e-14)


def test_no_foot_of_a_limp_covers_more_ground_than_one_of_a_level_walk():
    """The foot that is down for longest goes as far in stance as all do where all are down as long."""
    limp = make_cycle(Request(contacts=LIMPING))
    level = make_cycle(Request(duty_factor=24 / 32, frames=32))

    def farthest_m(clip):
        steps = clip.steps
        return steps.travel_m_s[0] * (steps.liftoff_s - steps.touchdown_s).max()

    assert farthest_m(limp) == pytest.approx(farthest_m(level), rel=1e-6)
    assert limp.facts.speed_m_s < make_cycle(Request(contacts=EVEN)).facts.speed_m_s


def test_a_limp_stays_a_limp():
    summary = summarise(make_cycle(Request(contacts=LIMPING)).steps)
    assert summary.asymmetry > 0.1
    assert summary.duty_factor[3] == pytest.approx(19 / 32)
    assert summary.duty_factor[2] == pytest.approx(24 / 32)


# Names by the lag of the fore foot: Hildebrand 1976, and 1989, BioScience 39:766-775 (from memory).
@pytest.mark.parametrize(
    ("fore", "name"),
    [
        ((3, 19), "walk, lateral sequence, lateral couplets"),
        ((9, 25), "walk, lateral sequence, single foot"),
        ((13, 29), "walk, lateral sequence, diagonal couplets"),
        ((17, 33), "walk, trot"),
        ((2, 18), "walk, pace"),
    ],
)
def test_gaits_have_the_names_of_the_science(fore, name):
    contacts = f"RH 1-23, LH 17-39, RF {fore[0]}-{fore[0] + 22}, LF {fore[1]}-{fore[1] + 22}"
    timing = parse_contacts(contacts, 32)
    track = np.array([0.1, -0.1, 0.1, -0.1])
    assert summarise(cycle_steps(timing, 24.0, Path.straight(1.0), np.zeros(4), track)).name == name


def test_feet_that_land_all_together_are_no_pace():
    """A lag names only gaits in which left and right take turns (Hildebrand M. 1965, Science 150:701-708)."""
    together = make_cycle(Request(contacts="LH 1-27, LF 2-28, RH 3-29, RF 4-30", frames=30))
    assert summarise(together.steps).name == "no named gait"
    turns = make_cycle(Request(contacts="LH 1-23, LF 2-24, RH 17-39, RF 18-40", frames=32))
    assert summarise(turns.steps).name == "walk, pace"


@pytest.mark.parametrize("dash", ["\u2010", "\u2013", "\u2014", "\u2212"])
def test_dashes_stand_for_hyphens(dash):
    text = "RH 1-23, RF 9-31, LH 17-39, LF 25-47"
    assert parse_contacts(text.replace("-", dash), 32) == parse_contacts(text, 32)


BAD = {
    "RH 1-23, RF 9-31, LH 17-39": "say nothing of LF",
    "RH 1-23, RF 9-31, LH 17-39, LH 25-47": "LH is given twice",
    "RH 1-23, RF 9-31, LH 17-39, XX 25-47": "no foot 'XX'",
    "RH 1-23, RF 9-31, LH 17-39, LF soon": "cannot read 'LF soon'",
    "RH 23-23, RF 9-31, LH 17-39, LF 25-47": "RH is down from 23 to 23",
    "RH 40-1, RF 9-31, LH 17-39, LF 25-47": "RH is down from 40 to 1",
    "RH 1-40, RF 9-31, LH 17-39, LF 25-47": "RH is down from 1 to 40",
    "": "cannot read ''",
}


@pytest.mark.parametrize("text", BAD)
def test_contacts_that_cannot_be_read_are_refused(text):
    with pytest.raises(GaitError, match=BAD[text]):
        make_cycle(Request(contacts=text))


@pytest.mark.parametrize(
    "text", ["RH 23-1, RF 9-31, LH 17-39, LF 25-47", "RH 1-10, RF 9-31, LH 17-39, LF 25-47"]
)
def test_contacts_with_a_pair_in_the_air_are_made_and_said_to_be_no_walk(text):
    clip = make_cycle(Request(gait="walk", contacts=text))
    assert np.isfinite(clip.rotations).all()
    assert slip_m(clip) < 5e-4
    assert "duty_factor" in {notice.topic for notice in clip.notices}


def test_contacts_choose_the_gait_they_are_nearest_to():
    trot = "RH 1-9, LF 1-9, LH 10-18, RF 10-18"
    assert make_cycle(Request(contacts=trot, frames=18)).asked.gait == "trot"
    gallop = "LH 1-4, RH 3-6, LF 6-9, RF 8-11"
    assert make_cycle(Request(contacts=gallop, frames=12)).asked.gait == "gallop"
    assert make_cycle(Request(contacts=EVEN, frames=32)).asked.gait == "walk"
    uneven = "RH 1-22, RF 8-30, LH 17-7, LF 25-15"  # beats of a running walk, feet down as long as at a walk
    assert make_cycle(Request(contacts=uneven, frames=32)).asked.gait == "walk"


def test_of_gaits_whose_contacts_are_as_near_the_speed_chooses_and_all_words_name_it():
    """A running walk and a walk share their beats, and are not as fast."""
    slow = "LH 1-21, LF 6-27, RH 16-4, RF 24-10"  # of a big cat, at 0.9 m/s
    clip = make_cycle(Request(animal="big_cat", contacts=slow, frames=34, frame_rate_hz=30.0))
    assert clip.facts.speed_m_s < 1.2
    assert "big_cat_walk_34" in clip.stem
    assert report(clip).gait == "walk, lateral sequence, single foot"
    assert "duty_factor" not in {notice.topic for notice in clip.notices}
    fast = "LH 1-12, LF 5-15, RH 10-21, RF 14-24"
    clip = make_cycle(Request(contacts=fast, frames=18))
    assert clip.facts.speed_m_s > 2.0
    assert "running_walk" in clip.stem
    assert report(clip).gait == "running walk, lateral sequence, single foot"
    told = make_cycle(Request(gait="running_walk", contacts=EVEN, frames=32))
    mean = f"duty factor {told.facts.duty_factor:.2f} is outside 0.55 to 0.60"
    assert any(mean in notice.text for notice in told.notices)
    uneven = make_cycle(Request(gait="running_walk", contacts=slow, frames=34, frame_rate_hz=30.0))
    assert f"duty factor {uneven.facts.duty_factor:.2f} is" in str(uneven.notices)


def test_contacts_beside_a_lead_or_another_gait_are_refused_or_said():
    canter = "LH 1-6, RH 5-10, LF 5-11, RF 9-14"
    with pytest.raises(RequestError, match="leave lead out"):
        Request(gait="canter", lead="left", contacts=canter)
    said = {notice.topic for notice in make_cycle(Request(gait="trot", contacts=canter, frames=15)).notices}
    assert "contacts" in said
    said = {notice.topic for notice in make_cycle(Request(gait="canter", contacts=canter, frames=15)).notices}
    assert "contacts" not in said


def test_a_speed_far_beyond_the_animal_is_refused():
    with pytest.raises(RequestError, match=r"riding_horse goes at up to 17\.6 m/s"):
        make_cycle(Request(gait="gallop", speed_m_s=30.0))


def test_contacts_and_a_lag_contradict_each_other():
    with pytest.raises(RequestError, match="leave those out"):
        Request(contacts=EVEN, lag=0.2)


def test_a_gait_file_with_contacts(tmp_path):
    file = tmp_path / "tired.toml"
    file.write_text(
        'name = "tired"\ntitle = "Tired walk"\nlag = 0.25\nduty_factor_range = [0.58, 0.85]\n'
        f'froude_limit = 0.35\nleast_frames = 8\ncontacts = "{LIMPING}"\ncontact_frames = 32\n',
        encoding="utf-8",
    )
    clip = make_cycle(Request(gait=str(file), frames=48))
    asked = stretched(parse_contacts(LIMPING, 32), 48, whole_frames=True)
    order = clip.steps.limb
    np.testing.assert_allclose(clip.steps.touchdown_s * 24.0, np.array(asked.contact)[order])
    assert summarise(clip.steps).asymmetry > 0.1


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("name = ", "is not TOML"),
        ('name = "x"\ntitle = "X"\nlag = 0.25', "has no duty_factor_range"),
        ('name = "x"\ntitle = "X"\nlag = 1.9\nduty_factor_range = [0.6, 0.8]', "lag is 1.9"),
        ('name = "x"\ntitle = "X"\nlag = 0.2\nduty_factor_range = [0.8, 0.6]', "the wrong way round"),
    ],
)
def test_bad_gait_files(text, words, tmp_path):
    file = tmp_path / "x.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(GaitError, match=words):
        load_gait(str(file))


def test_a_walk_in_diagonal_sequence_is_made_and_told():
    """Mammals but primates walk in lateral sequence: Hildebrand 1976 and 1989 (BioScience 39:766-775)."""
    for contacts, is_told in (
        ("LH 1-22, RF 9-30, RH 17-38, LF 25-46", True),
        ("RH 1-23, RF 9-31, LH 17-39, LF 25-47", False),
    ):
        clip = make_cycle(Request(frames=32, contacts=contacts))
        said = [notice.text for notice in clip.notices if notice.topic == "sequence"]
        assert bool(said) == is_told
    clip = make_cycle(Request(frames=32, contacts="LH 1-22, RF 9-30, RH 17-38, LF 25-46"))
    assert any("in which no animal here walks" in notice.text for notice in clip.notices)


def test_no_animal_here_walks_in_diagonal_sequence():
    for name in animal_names():
        made = make_cycle(Request(animal=name))
        assert max(summarise(made.steps).lag) < 0.5, name
