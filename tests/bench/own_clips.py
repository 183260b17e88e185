"""Print what the check finds in clips that gaitgen writes, of every animal in its own gaits.

Run: PYTHONPATH=.:tests python tests/bench/own_clips.py [ANIMAL ...] [LENGTH ...] [others]
With `others`, gaits that are not theirs; with names of lengths, these alone. Lengths of a stride: as usual,
shorter and longer; in place and travelling, one stride and three, at 24 and at 48 frames a second. Whose
clip it is, is found out, as `gaitgen check FILE` does. After each clip stands what making it has been
warned of: an animal that is asked for more than it can do is not to pass.
"""

import sys
import time
from collections import Counter

from gaitgen.animal.library import animal_names, load_animal
from gaitgen.check.check import check
from gaitgen.check.look import see
from gaitgen.check.tracked import place
from gaitgen.check.whose import whose
from gaitgen.errors import GaitgenError
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.gait import gait_names
from gaitgen.pipeline import Request, make_cycle

OTHERS = "others"
LENGTHS = {"usual": 1.0, "short": 0.85, "long": 1.2, "shortest": 0.75, "longest": 1.5}
ASKED_TOO_MUCH = {"reach", "range", "speed", "stance", "gait"}
KINDS = (  # of frames a second, in place, strides
    (24.0, True, 1),
    (24.0, False, 3),
    (48.0, True, 1),
)


def usual_frames(animal, gait, frame_rate_hz):
    """Frames of a stride where nobody says how many."""
    clip = make_cycle(Request(animal=animal, gait=gait, frame_rate_hz=frame_rate_hz))
    return clip.frames - 1


def found_in(request):
    """What is found in the file of a clip, and what making it has been warned of."""
    made = make_cycle(request)
    file = read_bvh(bvh.encode(made, FileSpace()), "own")
    known = whose(file, "own", None)
    warned = sorted({notice.topic for notice in made.notices} & ASKED_TOO_MUCH)
    return check(see(place(file, known.map, "own"), known.limits)), warned


def requests(animal, gait, lengths):
    """Yield the name of a length and what is asked for; nothing of a gait that is refused as it is."""
    for frame_rate_hz, in_place, strides in KINDS:
        try:
            usual = usual_frames(animal, gait, frame_rate_hz)
        except GaitgenError as refused:
            print("refused", animal, gait, "usual", str(refused)[:90])
            return
        for name, times in lengths.items():
            yield (
                name,
                Request(
                    animal=animal,
                    gait=gait,
                    frame_rate_hz=frame_rate_hz,
                    in_place=in_place,
                    strides=strides,
                    frames=None if times == 1.0 else max(1, round(times * usual)),
                ),
            )


def main():
    words, began, counts = sys.argv[1:], time.perf_counter(), Counter()
    lengths = {name: times for name, times in LENGTHS.items() if name in words} or LENGTHS
    for animal in [word for word in words if word not in {OTHERS, *LENGTHS}] or animal_names():
        own = load_animal(animal).gaits
        for gait in gait_names() if OTHERS in words else own:
            if OTHERS in words and gait in own:
                continue
            for name, request in requests(animal, gait, lengths):
                try:
                    found, warned = found_in(request)
                except GaitgenError as refused:
                    counts["refused"] += 1
                    print("refused", animal, gait, name, request.frames, str(refused)[:90])
                    continue
                kind = "warned of" if warned else "clean"
                counts[f"{kind}: {name}"] += 1
                counts[f"{kind}: {name}, with a finding"] += bool(found)
                if found:
                    told = [f"{f.kind}, {f.place} {f.amount:.3g} ({f.limit:.3g})" for f in found[:3]]
                    rest = f"{request.frame_rate_hz:g} fps, {request.strides} x {request.frames or 'usual'}"
                    print(f"{animal} {gait}, {name}, {rest}: {'; '.join(told)} {warned or ''}", flush=True)
    for name, count in sorted(counts.items()):
        print(f"{count:>6} {name}")
    print(f"{time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main()
