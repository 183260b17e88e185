"""Every join of every animal, both ways and with halts: what the check finds in it, and what is off.

    PYTHONPATH=.:tests python tests/bench/joins_survey.py [ANIMAL|ANIMAL FILE ...] [walk:trot ...] [24hz ...]

All animals in their own gaits if none is named; pairs such as walk:trot or trot:halt keep to these, and every
frame rate that is named is made, 24 a second if none is. One line
a join: frames, seconds of work, how far hips and chest come lower than in both cycles (of the hip height),
how far legs snap (1 is just smooth), by how much a joint of a leg is past its range, the lowest sole, the
slip, the hardest pull of the ground as the motion needs it; then what the check finds, one line each.
"""

import re
import sys
import time
from collections import Counter
from dataclasses import replace
from itertools import permutations

import numpy as np
from dynamics import wrench_over

from gaitgen.animal.library import animal_names, load_animal
from gaitgen.check.check import check
from gaitgen.check.limits import load_limits
from gaitgen.check.look import see
from gaitgen.check.tracked import place
from gaitgen.check.whose import whose
from gaitgen.errors import GaitgenError
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.request import Request
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.motion.kinematics import end_middle_m, world_frames
from gaitgen.motion.measure import range_margins_rad, slip_m
from gaitgen.pipeline import make_cycle
from gaitgen.shot.join import make_join
from gaitgen.shot.report import lowest_sole_m
from gaitgen.shot.snapping import turning

HALT = "halt"
RATE, OWN_RATE_HZ = re.compile(r"[0-9.]+hz"), 24.0
COLUMNS = "frames  secs  hips%  chest%   snap  past  sole/mm  slip/mm   pull"


def ends_m(clip):
    """Heights of hips and chest, (frames, 2). [m]"""
    frames = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    return np.stack([end_middle_m(clip.animal, *frames, end)[:, 2] for end in ("hind", "fore")], axis=1)


def findings(clip, animal):
    """What the check finds in the file of a clip, read as anybody's."""
    file = read_bvh(bvh.encode(clip, FileSpace()), "join.bvh")
    known = whose(file, "join.bvh", animal)
    return check(see(place(file, known.map, "join.bvh"), load_limits(load_animal(animal).limits)))


def past_deg(clip):
    """By how much a joint of a leg is past its range at the most, and which. [degrees]"""
    over = -np.degrees(range_margins_rad(clip)).reshape(len(clip.animal.joint_names), -1).max(axis=1)
    legs = [joint for limb in clip.animal.limbs for joint in limb.joints]
    worst = max(legs, key=lambda joint: over[joint])
    return over[worst], clip.animal.joint_names[worst]


def row(asked, before, after, lowest_m):
    """Make a join: its line of numbers, and what the check finds."""
    animal, begun = asked.animal, time.process_time()
    made = make_join(before, after, asked)
    seconds, clip = time.process_time() - begun, made.clip
    own = np.min([lowest_m[gait] for gait in (before, after) if gait != HALT], axis=0)
    low = 100.0 * np.maximum(own - ends_m(clip).min(axis=0), 0.0) / clip.animal.hip_height_m
    pull = -wrench_over(clip)[:, 2].min() / (clip.animal.body_mass_kg * GRAVITY_M_S2)
    past, joint = past_deg(clip)
    snap = turning(clip, made.timeline).roughness
    line = (
        f"{clip.frames:6d} {seconds:5.1f} {low[0]:6.1f} {low[1]:7.1f} {snap:6.2f} {past:5.1f}"
        f" {1e3 * lowest_sole_m(made):8.2f} {1e3 * slip_m(clip):8.3f} {max(pull, 0.0):6.2f}"
        f"  {joint if past > 0.5 else ''}"
    )
    return line, findings(clip, animal)


def survey(animals, pairs, rates):
    """Make them all, and print what came of them."""
    kinds, faulty, count = Counter(), 0, 0
    print(f"{'':42s}{COLUMNS}")
    for asked in (Request(animal=animal, frame_rate_hz=rate) for animal in animals for rate in rates):
        gaits = load_animal(asked.animal).gaits
        lowest_m = {gait: ends_m(make_cycle(replace(asked, gait=gait))).min(axis=0) for gait in gaits}
        for before, after in permutations((HALT, *gaits), 2):
            if pairs and (before, after) not in pairs:
                continue
            count += 1
            name = f"{asked.animal} {before} {after} {asked.frame_rate_hz:g}"
            try:
                line, found = row(asked, before, after, lowest_m)
            except GaitgenError as error:
                print(f"{name:42s}REFUSED {error}", flush=True)
                kinds["refused"] += 1
                continue
            print(f"{name:42s}{line}", flush=True)
            faulty += bool(found)
            for each in found:
                kinds[each.kind] += 1
                frames = f"{each.first_frame}-{each.last_frame}"
                amount = f"{each.amount:.2f} {each.unit} ({each.limit:.2f})"
                print(f"    {each.kind}: {each.place}, frames {frames}: {amount}", flush=True)
    print(f"{count} joins, {faulty} with findings: {dict(kinds.most_common())}")


if __name__ == "__main__":
    words = sys.argv[1:]
    named = [word for word in words if ":" not in word and not RATE.fullmatch(word)]
    survey(
        named or animal_names(),
        {tuple(word.split(":")) for word in words if ":" in word},
        [float(word[:-2]) for word in words if RATE.fullmatch(word)] or [OWN_RATE_HZ],
    )
