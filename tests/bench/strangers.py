"""Print which faults of strangers the check finds, names among its first three findings, and names first.

Run: PYTHONPATH=.:tests python tests/bench/strangers.py [TRIES [SEED [WORD ...]]]; each damage is tried on so
many clips of several animals, gaits and lengths; with words, those damages alone.
"""

import sys
from functools import cache

import numpy as np
from check_hits import is_found, is_named_first
from damage import seen_again
from damage_by_strangers import LISTED, UNLISTED, start_of

from gaitgen.check.check import check

CLIPS = (
    ("riding_horse", "walk", 40, False),
    ("cat", "trot", None, True),
    ("pig", "walk", 28, False),
    ("draft_horse", "trot", None, True),
    ("hare", "walk", None, False),
    ("elephant", "amble", None, True),
    ("red_deer", "walk", 24, True),
    ("brown_bear", "running_walk", None, False),
    ("dog", "canter", None, True),
    ("goat", "walk", 20, False),
    ("big_cat", "trot", None, False),
    ("dromedary", "walk", 36, True),
    ("giraffe", "rotary_gallop", None, True),
    ("pony", "walk", 30, False),
    ("greyhound", "trot", None, False),
    ("foal", "walk", 26, True),
)


@cache
def clip(which):
    animal, gait, frames, in_place = CLIPS[which]
    return start_of(animal, gait, frames, in_place=in_place)


def tries(number, damage, count, seed):
    """Yield start, damage and findings of so many tries of a damage, each on another clip."""
    for turn in range(count):
        start = clip((3 * number + 5 * turn + seed) % len(CLIPS))
        damaged = damage(start, np.random.default_rng(1000 * seed + 100 * number + turn))
        yield start, damaged, check(seen_again(start, damaged.file))


def told(damaged, found):
    """Whether anything was found, the damage was, is named among the first three findings, and first."""
    return (
        bool(found),
        is_found(damaged, found),
        is_named_first(damaged, found),
        is_named_first(damaged, found, 1),
    )


def line(title, rows, more=""):
    """One line of the table."""
    shares = "".join(f"{100 * share:>8.0f}" for share in np.mean(rows, axis=0))
    return f"{title:<40}{len(rows):>6}{shares}   {more}".rstrip()


def main():
    given = [int(word) for word in sys.argv[1:3]]
    count, seed = [*given, *(4, 0)[len(given) :]]
    words = sys.argv[3:]
    print(f"{'damage':<40}{'tries':>6}{'any':>8}{'found':>8}{'first 3':>8}{'first':>8}   named instead")
    for title, damages in (("listed", LISTED), ("not listed", UNLISTED)):
        every = []
        for number, (name, damage) in enumerate(damages.items()):
            if words and not any(word in name for word in words):
                continue
            rows, instead = [], []
            for start, damaged, found in tries(number, damage, count, seed):
                rows.append(told(damaged, found))
                if not rows[-1][2]:
                    first = f"{found[0].kind}, {found[0].place}" if found else "nothing"
                    instead.append(f"{start.name}: {first}")
            print(line(name, rows, "; ".join(instead)), flush=True)
            every += rows
        if every:
            print(line(f"all {title}", every) + "\n", flush=True)


if __name__ == "__main__":
    main()
