"""Print how often the check finds something where nothing is wrong: noise, styles, gaits, animals.

Run: PYTHONPATH=.:tests python tests/bench/false_alarms.py [SEED ...] [ANIMAL ...] [shots]; or all.
"""

import sys
from collections import Counter, defaultdict

import numpy as np
from damage import Base, seen_again, with_rows
from damage_shots import SHOTS, shot_base
from styled import STYLES

from gaitgen.animal.library import animal_names, load_animal
from gaitgen.check.check import check
from gaitgen.check.limits import load_limits
from gaitgen.check.look import see
from gaitgen.check.tracked import place
from gaitgen.check.whose import whose
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.pipeline import Request, make_cycle

NOISE = (0.1, 0.2)  # cm on positions, degrees on rotations, for an animal of a horse's size
TURNS = 2
SHOT = "shots"


def start_of(animal, gait, *, in_place):
    clip = make_cycle(Request(animal=animal, gait=gait, in_place=in_place))
    file = read_bvh(bvh.encode(clip, FileSpace()), "clean.bvh")
    found = whose(file, "clean.bvh", animal)
    motion = place(file, found.map, "clean.bvh")
    limits = load_limits(load_animal(animal).limits)
    return Base(f"{animal} {gait}", file, found.map, motion, see(motion, limits), len(file.rows) - 1)


def noisy(file, size, rng):
    at_root = np.array([w.endswith("position") for words in file.channels for w in words])
    return with_rows(
        file, file.rows + np.where(at_root, NOISE[0] * size, NOISE[1]) * rng.normal(size=file.rows.shape)
    )


def alarms(start, rng):
    """Yield the name of what was done to a clip, and the kinds that were found."""
    size = start.motion.hip_height_m / 1.26
    for _ in range(TURNS):
        yield "noise", check(seen_again(start, noisy(start.file, size, rng)))
    for k, (name, style) in enumerate(STYLES.items()):
        try:
            file = style(start, rng)
        except (KeyError, ValueError, IndexError, TypeError):
            continue  # no such part, or no room for it in so short a stride
        yield name, check(seen_again(start, noisy(file, size, rng) if k % 2 else file))


def starts(words):
    """Yield animal, gait and clip: every gait of every animal, and shots."""
    count = 0
    for animal in words or animal_names():
        for gait in load_animal(animal).gaits if animal != SHOT else ():
            yield animal, gait, start_of(animal, gait, in_place=count % 2 == 0)
            count += 1
        print(animal, flush=True)
    for name in SHOTS if not words or SHOT in words else ():
        yield SHOT, name, shot_base(name)


def main():
    by_gait, by_style, by_animal = defaultdict(list), defaultdict(list), defaultdict(list)
    kinds, words = Counter(), sys.argv[1:]
    seeds = [int(word) for word in words if word.isdigit()] or [7]
    for animal, gait, start in starts([word for word in words if not word.isdigit()]):
        clean = {(f.kind, f.limb) for f in check(start.seen)}
        for name, found in (each for seed in seeds for each in alarms(start, np.random.default_rng(seed))):
            new = [f for f in found if (f.kind, f.limb) not in clean]
            by_gait[gait].append(bool(new))
            by_style[name].append(bool(new))
            by_animal[animal].append(bool(new))
            kinds.update(
                (animal, gait, name, f.kind, f.place, round(f.amount / (f.limit or 1.0), 2)) for f in new[:2]
            )
    for title, table in (("animal", by_animal), ("gait", by_gait), ("what was done", by_style)):
        print(f"\n{title:<20}{'clips':>8}{'false':>8}")
        for name, hits in table.items():
            print(f"{name:<20}{len(hits):>8}{100.0 * np.mean(hits):>7.1f} %")
    every = [hit for hits in by_gait.values() for hit in hits]
    print(f"\n{'all':<20}{len(every):>8}{100.0 * np.mean(every):>7.1f} %")
    for key, count in kinds.most_common(60):
        print(count, *key)


if __name__ == "__main__":
    main()
