"""Print how often lost, repeated, swapped and held frames are named, in every gait, length and frame rate.

Run: PYTHONPATH=.:tests python tests/bench/frame_faults.py [ANIMAL/GAIT ...]; those below if none is named.
"""

import sys
import time
from collections import Counter, defaultdict

import numpy as np
from check_hits import is_named_first, names
from damage import Base, Damaged, seen_again, with_rows

from gaitgen.check.check import check
from gaitgen.check.finding_words import grouped
from gaitgen.check.look import see
from gaitgen.check.tracked import place
from gaitgen.check.whose import whose
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.gait import gait_names
from gaitgen.pipeline import Request, make_cycle

OTHERS = (
    "draft_horse/gallop",
    "dog/trot",
    "dog/rotary_gallop",
    "cat/walk",
    "hare/half_bound",
    "red_deer/pronk",
    "elephant/amble",
    "dromedary/pace",
    "giraffe/rotary_gallop",
)
# strides, in place, frames a second
KINDS = ((1, True, 24.0), (3, False, 24.0), (1, False, 48.0), (2, True, 30.0))
TRIES = 2


def start_of(animal, gait, strides, in_place, frame_rate_hz):
    """A clean clip as a file and what is seen in it."""
    clip = make_cycle(
        Request(animal=animal, gait=gait, strides=strides, in_place=in_place, frame_rate_hz=frame_rate_hz)
    )
    file = read_bvh(bvh.encode(clip, FileSpace()), "clean.bvh")
    known = whose(file, "clean.bvh", animal)
    motion = place(file, known.map, "clean.bvh")
    seen = see(motion, known.limits)
    return Base(f"{animal}/{gait}", file, known.map, motion, seen, (len(file.rows) - 1) // strides)


def lost(start, count, rng):
    """Frames cut out within the clip."""
    row = int(rng.integers(3, start.frames - 3 - count))
    rows = np.delete(start.file.rows, np.arange(row, row + count), axis=0)
    return Damaged(with_rows(start.file, rows), ("frames missing",), ("whole body",), (row, row + 1))


def repeated(start, count, rng):
    """A frame held for so many frames more, which come in between."""
    row = int(rng.integers(3, start.frames - 3))
    rows = np.insert(start.file.rows, row, np.repeat(start.file.rows[row : row + 1], count, axis=0), axis=0)
    kind = "repeated frame" if count == 1 else "stuck"
    return Damaged(with_rows(start.file, rows), (kind,), ("whole body",), (row + 1, row + 1 + count))


def pasted(start, count, rng):
    """A frame pasted over the next ones."""
    row = int(rng.integers(3, start.frames - 3 - count))
    rows = start.file.rows.copy()
    rows[row + 1 : row + 1 + count] = rows[row]
    kind = "repeated frame" if count == 1 else "stuck"
    return Damaged(with_rows(start.file, rows), (kind,), ("whole body",), (row + 1, row + 1 + count))


def swapped(start, apart, rng):
    """Two frames that have changed places."""
    row = int(rng.integers(3, start.frames - 3 - apart))
    rows = start.file.rows.copy()
    rows[[row, row + apart]] = rows[[row + apart, row]]
    return Damaged(
        with_rows(start.file, rows), ("frames swapped",), ("whole body",), (row + 1, row + 1 + apart)
    )


FAULTS = {
    "1 lost": (lost, 1),
    "2 lost": (lost, 2),
    "1 repeated": (repeated, 1),
    "1 pasted": (pasted, 1),
    "3 held": (repeated, 3),
    "next swapped": (swapped, 1),
    "swapped across one": (swapped, 2),
}


def main():
    began = time.perf_counter()
    wanted = sys.argv[1:] or [*(f"riding_horse/{gait}" for gait in gait_names()), *OTHERS]
    hits, wrong, first, falls = defaultdict(list), defaultdict(list), Counter(), Counter()
    rng = np.random.default_rng(11)
    for which in wanted:
        animal, gait = which.split("/")
        for kind in KINDS:
            start = start_of(animal, gait, *kind)
            falls.update((which, *kind, f.kind, f.place) for f in check(start.seen))
            for fault, (damage, amount) in FAULTS.items():
                for _ in range(TRIES):
                    if start.frames < 9 + amount:
                        continue
                    damaged = damage(start, amount, rng)
                    found = check(seen_again(start, damaged.file))
                    hit = is_named_first(damaged, found)
                    hits[which, fault].append(hit)
                    head = grouped(found)[0][0] if found else None
                    wrong[which].append(head is None or not any(names(damaged, f) for f in grouped(found)[0]))
                    if not hit:
                        first[fault, *kind, head and head.kind] += 1
        row = "".join(f"{100 * np.mean(hits[which, fault]):>11.0f}" for fault in FAULTS if hits[which, fault])
        print(f"{which:<28}{row}{100 * (1 - np.mean(wrong[which])):>11.0f}", flush=True)
    print(f"{'':<28}" + "".join(f"{fault[-10:]:>11}" for fault in FAULTS) + f"{'first':>11}")
    for fault in FAULTS:
        every = [hit for key, own in hits.items() if key[1] == fault for hit in own]
        print(
            f"{fault:<20}{100 * np.mean(every):>6.1f} % of {len(every)} named among the first three findings"
        )
    every = [hit for own in hits.values() for hit in own]
    print(
        f"all: {100 * np.mean(every):.1f} % of {len(every)}; as the first finding "
        f"{100 * (1 - np.mean([w for own in wrong.values() for w in own])):.1f} %"
    )
    for key, count in first.most_common(25):
        print(count, *key)
    print("clean clips:", dict(falls))
    print(f"{time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main()
