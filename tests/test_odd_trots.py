"""Trots and paces of odd and even lengths: what is made is clean under check.

Of an odd number of frames left and right steps differ by a frame, so no mate excuses a leg that snaps.
"""

import numpy as np
import pytest

from gaitgen.check.check import check
from gaitgen.check.load import load_motion
from gaitgen.check.look import see
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.motion.measure import measure_feet
from gaitgen.pipeline import Request, make_cycle

# Frames of a stride at 24 fps at its usual speed.
USUAL = {
    ("riding_horse", "trot"): 18,
    ("draft_horse", "trot"): 18,
    ("dog", "trot"): 12,
    ("cat", "trot"): 10,
    ("cow", "trot"): 16,
    ("dromedary", "pace"): 20,
}
UNEVEN = {
    ("cat", 9): "stances of 3 and 2 frames, as its report says: its flight takes the frame between",
}
LENGTHS = [
    pytest.param(
        *(animal, gait, usual + more),
        marks=[pytest.mark.xfail(strict=True, reason=UNEVEN.get((animal, usual + more), ""))]
        * ((animal, usual + more) in UNEVEN),
    )
    for (animal, gait), usual in USUAL.items()
    for more in (-1, 0, 1, 3)
]


@pytest.mark.sample(2)
@pytest.mark.parametrize(("animal", "gait", "frames"), LENGTHS)
def test_trots_and_paces_of_any_length_are_clean(animal, gait, frames, tmp_path):
    path = tmp_path / "own.bvh"
    path.write_bytes(bvh.encode(make_cycle(Request(animal=animal, gait=gait, frames=frames)), FileSpace()))
    seen = see(*load_motion(path, None, None))
    assert [(found.kind, found.limb, found.amount) for found in check(seen)] == []


@pytest.mark.parametrize(
    ("animal", "gait", "frames", "speed_m_s"),
    [
        ("riding_horse", "trot", 15, None),
        ("red_deer", "trot", 11, 5.0),  # by itself 5.8 m/s, faster than it trots
        ("dromedary", "pace", 17, None),
    ],
)
def test_flights_of_quick_strides_of_an_odd_length_are_alike(animal, gait, frames, speed_m_s):
    """Or one leg would land from a higher fall than its mate (common practice, no source)."""
    clip = make_cycle(Request(animal=animal, gait=gait, frames=frames, speed_m_s=speed_m_s))
    air = ~measure_feet(clip).planted[:-1].any(axis=1)
    begins = np.flatnonzero(air & ~np.roll(air, 1))
    lasts = [int(np.argmin(np.roll(air, -begin))) for begin in begins]
    assert len(lasts) == 2
    assert lasts[0] == lasts[1]


def test_a_quick_trot_of_an_odd_length_is_clean(tmp_path):
    test_trots_and_paces_of_any_length_are_clean("riding_horse", "trot", 15, tmp_path)


@pytest.mark.parametrize(
    ("animal", "gait", "frames"),
    [("cow", "trot", 13), ("riding_horse", "trot", 13), ("dromedary", "pace", 13), ("dog", "trot", 9)],
)
def test_too_quick_for_the_gait_no_leg_snaps_of_an_odd_length_either(animal, gait, frames, tmp_path):
    test_trots_and_paces_of_any_length_are_clean(animal, gait, frames, tmp_path)
