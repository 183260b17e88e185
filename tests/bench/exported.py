"""Print which faults of baking, layers and export the check names among its first three findings.

Run: PYTHONPATH=.:tests python tests/bench/exported.py [SEED [WORD ...]]; with words, those damages alone.
"""

import sys
from pathlib import Path

import numpy as np
from check_hits import is_named_first
from damage_by_export import EXPORTED

sys.path.insert(0, str(Path(__file__).parent))
from grammar import cycle_of, rigs

from gaitgen.check.check import check
from gaitgen.check.finding_words import grouped
from gaitgen.check.look import see

LEAST_DEG = 1.0
CLIPS = (("cat", "walk", True), ("cow", "walk", False), ("dromedary", "walk", True), ("dog", "trot", False))


def starts():
    """Clean clips of animals and of an invented rig."""
    return [*(cycle_of(*each) for each in CLIPS), rigs()[0]]


def tried(seed, words=()):
    """Yield name of the damage, of the clip, whether it is named, and what was found first."""
    for number, (name, damage) in enumerate(EXPORTED.items()):
        if words and not any(word in name for word in words):
            continue
        for k, start in enumerate(starts()):
            damaged = damage(start, np.random.default_rng(100 * seed + 10 * number + k))
            same = damaged.file.rows.shape == start.file.rows.shape
            if same and np.abs(damaged.file.rows - start.file.rows).max() < LEAST_DEG:
                continue  # a rig without such a part
            found = check(see(start.again(damaged.file.rows), start.limits))
            first = [f"{f[0].kind}, {f[0].place}, {f[0].first_frame}" for f in grouped(found)[:3]]
            yield name, start.name, is_named_first(damaged, found), first


def main():
    seed = int(sys.argv[1]) if len(sys.argv) > 1 else 0
    hits = []
    for name, clip, is_named, first in tried(seed, sys.argv[2:]):
        hits.append(is_named)
        print(f"{'yes' if is_named else 'NO':<4}{name:<30}{clip:<18}{'; '.join(first)[:150]}", flush=True)
    print(f"\n{sum(hits)} of {len(hits)} named among the first three")


if __name__ == "__main__":
    main()
