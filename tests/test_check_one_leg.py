"""A leg is told whose one joint was damaged, not its sound mate; a trunk without pitch is told as that."""

import numpy as np
import pytest
from damage import base, columns, seen_again, with_rows

from gaitgen.check.check import check
from gaitgen.check.frame_rate import frame_rate_doubt
from gaitgen.gait.gait import LIMBS

FRAMES = 28
ANIMALS = {"riding_horse": (7, 5), "dog": (6, 4), "cat": (6, 4)}  # joints of a fore and a hind leg
CASES = [
    pytest.param(animal, limb, place, id=f"{animal} {limb} {place}")
    for animal, (fore, hind) in ANIMALS.items()
    for limb in LIMBS
    for place in range(fore if limb[1] == "F" else hind)
]


def smoothed(rows):
    """A loop's curve, averaged over nine frames."""
    ring = rows[:-1]
    ring = np.mean([np.roll(ring, by, axis=0) for by in range(-4, 5)], axis=0)
    return np.append(ring, ring[:1], axis=0)


def damaged(start, names, change):
    """The clip with the turns of joints about their side axis changed."""
    rows = start.file.rows.copy()
    for name in names:
        column = columns(start.file, name)["X"]
        rows[:, column] = change(rows[:, column])
    return with_rows(start.file, rows)


def limbs_of(start, found):
    """The feet that findings, and what follows from none of them, are of."""
    limbs = start.map.limbs
    return [
        next((limb for limb in LIMBS if {limb, *limbs[limb].joints} & {each.limb, each.joint}), each.limb)
        for each in found
    ]


@pytest.mark.sample(6, 2)
@pytest.mark.parametrize("change", [smoothed, np.negative], ids=["smoothed", "turned round"])
@pytest.mark.parametrize(("animal", "limb", "place"), CASES)
def test_no_cause_is_on_the_sound_mate_of_a_leg(animal, limb, place, change):
    """The leg whose foot leaves its place is the damaged one, though its mate is then unlike it too."""
    start = base(animal, FRAMES, in_place=True)
    joint = start.map.limbs[limb].joints[place]
    found = check(seen_again(start, damaged(start, [joint], change)))
    assert set(limbs_of(start, found)) == {limb}


@pytest.mark.sample(1)
@pytest.mark.parametrize("place", range(5))
def test_a_mate_that_seems_to_pop_or_shake_beside_a_smoothed_joint_is_no_cause(place):
    """In a stride of few frames a landing hind leg turns sharply, and a pop is told by what its mate does."""
    start = base("cow", 24, in_place=True)
    joint = start.map.limbs["LH"].joints[place]
    found = check(seen_again(start, damaged(start, [joint], smoothed)))
    assert [(each.kind, each.joint) for each in found[:1]] == [("unlike other side", joint)]
    assert set(limbs_of(start, found)) == {"LH"}


@pytest.mark.sample(2)
@pytest.mark.parametrize("joint", ["radius_R", "fore_cannon_R", "tibia_R"])
@pytest.mark.parametrize("degrees", [5.0, 10.0])
def test_a_pop_makes_no_smoothed_mate(joint, degrees):
    """It is told at its own joint, and nothing is said of its mate."""
    start = base("riding_horse", FRAMES, in_place=True)
    rows = start.file.rows.copy()
    rows[10, columns(start.file, joint)["X"]] += degrees
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert found
    assert set(limbs_of(start, found)) == {"RH" if joint == "tibia_R" else "RF"}
    assert all("smoothed" not in each.do for each in found)


@pytest.mark.parametrize("animal", ANIMALS)
def test_a_smoothed_joint_is_told_to_be_smoother_than_its_mate(animal):
    start = base(animal, FRAMES, in_place=True)
    joint = start.map.limbs["LF"].joints[4]
    first = check(seen_again(start, damaged(start, [joint], smoothed)))[0]
    assert (first.kind, first.limb, first.joint) == ("unlike other side", "LF", joint)
    assert "it may have been smoothed" in first.do
    assert "to and fro" not in first.do


@pytest.mark.parametrize("axis", "ZXY")
@pytest.mark.parametrize("animal", ANIMALS)
def test_a_trunk_without_keys_about_an_axis_is_told_alone(animal, axis):
    """And not that the clip plays too slowly: its feet stand too short for their swings."""
    start = base(animal, FRAMES, in_place=True)
    rows = start.file.rows.copy()
    for name in start.map.spine:
        column = columns(start.file, name)[axis]
        rows[:, column] = rows[:, column].mean()
    seen = seen_again(start, with_rows(start.file, rows))
    found = check(seen)
    assert [(each.kind, each.limb) for each in found] == [("root keys missing", start.map.spine[0])]
    assert f"{', '.join(start.map.spine)} about {axis} again" in found[0].do
    assert not frame_rate_doubt(seen, found)


@pytest.mark.parametrize("animal", ANIMALS)
def test_a_pelvis_alone_without_pitch_is_told_alone(animal):
    start = base(animal, FRAMES, in_place=True)
    flat = damaged(start, start.map.spine[:1], lambda rows: np.full_like(rows, rows.mean()))
    found = check(seen_again(start, flat))
    assert [each.kind for each in found] == ["root keys missing"]
    assert f"turns of {start.map.spine[0]} about X" in found[0].do
