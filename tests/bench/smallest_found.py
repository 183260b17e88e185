"""Print, for each way to damage a clip, the smallest amount that the check finds (9 of 10 tries or more).

Run: PYTHONPATH=.:tests python tests/bench/smallest_found.py [WORD ...]; with words, those damages alone.
"""

import sys
import time

import numpy as np
from check_hits import is_found, is_named_first
from damage import DAMAGES, base, seen_again, with_rows
from damage_by_hand import BY_HAND

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
    """Shares of tries in which the damage was found, and named among the first three findings."""
    hits = []
    for k, which in enumerate(BASES):
        start = base(*which)
        for turn in range(TRIES):
            damaged = damage(start, amount, np.random.default_rng(seed + 1000 * k + turn))
            findings = check(seen_again(start, damaged.file))
            hits.append((is_found(damaged, findings), is_named_first(damaged, findings)))
    return np.mean(hits, axis=0)


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
    for name, (damage, amount, unit, amounts) in {**DAMAGES, **BY_HAND}.items():
        if sys.argv[1:] and not any(word in name for word in sys.argv[1:]):
            continue
        shares = {value: share_found(damage, value)[0] for value in amounts}
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
        smallest = "none" if found is None else f"{found:g}"
        print(f"{name:<42}{smallest:>16}  {unit:<22}{table}", flush=True)
    every, named = 100.0 * np.mean(full, axis=0)
    print(f"at the test's amounts, other random numbers: {every:.1f} % found")
    print(f"named among the first three findings: {named:.1f} %")
    print(f"false findings, 1 mm and 0.2 degrees of noise: {100 * false_alarms(50):.1f} %")
    print(f"{time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main()
