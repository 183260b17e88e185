"""Print, for each way to damage a clip, the smallest amount that the check finds (9 of 10 tries or more).

Run: PYTHONPATH=.:tests python tests/bench/smallest_found.py
"""

import time

import numpy as np
from check_hits import is_found
from damage import DAMAGES, base, seen_again, with_rows

from gaitgen.check.check import check

BASES = [
    ("riding_horse", 24, True),
    ("riding_horse", 32, True),
    ("riding_horse", 32, False),
    ("draft_horse", 32, True),
    ("draft_horse", 20, False),
    ("riding_horse", 48, False),
]
TRIES = 3
ENOUGH = 0.9
NOISE = (0.1, 0.2)  # cm on positions, degrees on rotations


def share_found(damage, amount, seed=0):
    """Share of tries in which the damage was found."""
    hits = []
    for k, which in enumerate(BASES):
        start = base(*which)
        for turn in range(TRIES):
            damaged = damage(start, amount, np.random.default_rng(seed + 1000 * k + turn))
            hits.append(is_found(damaged, check(seen_again(start, damaged.file))))
    return float(np.mean(hits))


def false_alarms(turns):
    """Share of clean, noisy clips with a finding."""
    alarms = []
    for which in BASES:
        start = base(*which)
        at_root = np.array([w.endswith("position") for words in start.file.channels for w in words])
        for turn in range(turns):
            noise = np.random.default_rng(77_000 + turn).normal(size=start.file.rows.shape)
            rows = start.file.rows + np.where(at_root, *NOISE) * noise
            alarms.append(bool(check(seen_again(start, with_rows(start.file, rows)))))
    return float(np.mean(alarms))


def main():
    began = time.perf_counter()
    print(f"{'damage':<42}{'smallest found':>16}  {'unit':<22}{'share found by amount'}")
    full = []
    for name, (damage, amount, unit, amounts) in DAMAGES.items():
        shares = {value: share_found(damage, value) for value in amounts}
        full.append(share_found(damage, amount, seed=500_000))
        found = next(
            (
                value
                for k, value in enumerate(amounts)
                if all(shares[later] >= ENOUGH for later in amounts[k:])
            ),
            None,
        )
        table = "  ".join(f"{value:g}: {100 * share:.0f} %" for value, share in shares.items())
        print(f"{name:<42}{'none' if found is None else f'{found:g}':>16}  {unit:<22}{table}")
    print(f"found at the test's amounts, other random numbers: {100 * np.mean(full):.1f} %")
    print(f"false findings, 1 mm and 0.2 degrees of noise: {100 * false_alarms(50):.1f} %")
    print(f"{time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main()
