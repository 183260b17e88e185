"""A trot almost on the spot: diagonal pairs, lifted high, hardly going ahead."""

import pytest
from gait_measures import contacts_s

from gaitgen import Request, make_cycle
from gaitgen.commands.check_file import check_file
from gaitgen.course.contacts import parse_contacts
from gaitgen.course.named_gait import nearest_gait
from gaitgen.course.support import support_shares, support_summary
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh import encode
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.measure import measure_feet

ENDS = ("fore", "hind")
HORSES = ["riding_horse", "draft_horse"]


def piaffe(animal="riding_horse", **rest):
    return make_cycle(Request(gait="piaffe", animal=animal, **rest))


@pytest.mark.parametrize("animal", HORSES)
def test_it_hardly_goes_ahead_on_diagonal_pairs(animal):
    clip = piaffe(animal)
    assert clip.facts.stride_length_m < 0.1 * clip.animal.hip_height_m
    shares = support_summary(support_shares(clip.steps))
    assert shares["diagonal"] > 0.9
    assert shares.get("no foot", 0.0) < 0.05
    contact, _ = contacts_s(clip)
    assert contact[0] == contact[3]
    assert contact[1] == contact[2]


@pytest.mark.parametrize("animal", HORSES)
def test_fore_feet_come_up_well_above_the_other_fetlock(animal):
    """Fore feet above the fetlock by a sixth of the cannon, hind feet to three fifths of theirs, and lower.

    Common practice, no source, has the middle of the cannon and the fetlock: elbows of ours would fold past
    their range, and in a frame.
    """
    clip = piaffe(animal)
    lift = measure_feet(clip).toe_m[..., 2].max(axis=0)
    cannon = clip.animal.joint("fore_cannon_L")
    length = float((clip.animal.tips_m[cannon] ** 2).sum() ** 0.5)
    places, _ = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    fore, hind = (places[:, clip.animal.joint(f"{end}_pastern_L"), 2].min() for end in ENDS)  # under load
    assert fore + length / 6.0 < lift[0] < fore + 0.6 * length
    assert 0.6 * hind < lift[2]
    assert lift[2] < 0.7 * lift[0]
    trot = make_cycle(Request(gait="trot", animal=animal))
    assert lift[0] > 1.2 * measure_feet(trot).toe_m[..., 2].max(axis=0)[0]


@pytest.mark.parametrize("animal", HORSES)
def test_check_finds_nothing(animal, tmp_path):
    path = tmp_path / "clip.bvh"
    path.write_bytes(encode(piaffe(animal), FileSpace()))
    checked = check_file(path, animal=animal)
    assert [(each.kind, each.limb) for each in checked.findings] == []
    assert checked.seen.gait.summary.name == "trot"


def test_contacts_of_diagonal_pairs_are_still_nearest_to_a_trot():
    assert nearest_gait(parse_contacts("RH 1-9, LF 1-9, LH 10-18, RF 10-18", 18))[0] == "trot"
