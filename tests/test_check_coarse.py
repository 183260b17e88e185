"""A clip on twos that is checked with one frame a pose is judged by what 12 frames a second can show."""

from dataclasses import replace

import numpy as np
import pytest
from damage import seen_again, toes_brought, turned
from damage_by_strangers import start_of

from gaitgen.check.check import check

# Animals of the report, and others whose strides are odd with every second frame left out; frames at 24 fps.
CLIPS = (
    ("riding_horse", "walk", 32),
    ("draft_horse", "walk", 34),
    ("dog", "walk", 18),
    ("cow", "walk", 30),
    ("riding_horse", "trot", 18),
    ("donkey", "trot", 14),
    ("elephant", "walk", 34),
    ("hare", "walk", 18),
    ("pig", "walk", 18),
)


def every_second(start, rate_hz):
    """Leave every second frame out of a clip at 24 frames a second that is played at another rate."""
    file = start.file
    return seen_again(start, replace(file, rows=file.rows[::2], frame_time_s=2.0 / rate_hz))


@pytest.mark.sample(2)
@pytest.mark.parametrize("rate_hz", [24.0, 25.0])
@pytest.mark.parametrize("clip", CLIPS, ids=lambda clip: f"{clip[0]} {clip[1]}")
def test_every_second_frame_of_a_sound_clip_has_no_finding(clip, rate_hz):
    found = check(every_second(start_of(*clip), rate_hz))
    assert [(f.kind, f.limb, f.first_frame, f.amount) for f in found] == []


@pytest.mark.parametrize("clip", CLIPS[2:4], ids=lambda clip: f"{clip[0]} {clip[1]}")
def test_a_joint_that_pops_is_found_in_long_frames(clip):
    """By more than it goes in a stride."""
    start = start_of(*clip)
    degrees = np.zeros(start.frames)
    degrees[6] = 25.0
    found = check(every_second(replace(start, file=turned(start, "neck_1", "X", degrees)), 24.0))
    assert ("pop", 4) in {(f.kind, f.first_frame) for f in found}


def test_a_carpus_that_stays_straight_is_found_in_long_frames():
    """Also in the frame after the last that its foot is planted in."""
    start = start_of("riding_horse", "walk", 32)
    planted = start.seen.feet.planted[:, 0]
    held = planted | np.roll(planted, 1) | np.roll(planted, 2) | np.roll(planted, 3)
    bent = 182.0 - start.motion.angles_deg["LF", "carpus"]
    file = turned(start, "fore_cannon_L", "X", -np.where(held, np.clip(bent, 0.0, None), 0.0))
    file = toes_brought(start, file, ["LF"], start.motion.toes_m)
    found = check(every_second(replace(start, file=file), 24.0))
    every = [each for finding in found for each in (finding, *finding.follows)]
    assert ("joint locked at lift-off", "LF") in {(f.kind, f.limb) for f in every}
