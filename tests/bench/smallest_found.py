"""Print, for each way to damage a clip, the least that the check names among its first three findings.

Run: PYTHONPATH=.:tests python tests/bench/smallest_found.py [WORD ...]; with words, those damages alone.
Amounts are tried from the largest down to the first that is not named in 9 of 10 tries, two on each of six
clips.
"""

import sys
import time
from functools import cache

import numpy as np
from check_hits import is_named_first
from damage import DAMAGES, base, seen_again
from damage_by_hand import BY_HAND
from damage_by_strangers import SIZED, start_of

from gaitgen.check.check import check

HORSES = (
    ("riding_horse", 24, True),
    ("riding_horse", 32, False),
    ("draft_horse", 32, True),
    ("donkey", 28, False),
    ("pony", 36, True),
    ("foal", 24, False),
)
ANIMALS = (
    ("cat", "walk", 24, True),
    ("cow", "walk", 32, False),
    ("elephant", "walk", 40, True),
    ("big_cat", "trot", None, False),
    ("red_deer", "walk", 28, True),
    ("pig", "trot", None, False),
)
TRIES, ENOUGH = 2, 0.9


@cache
def horse(which):
    return base(*which)


@cache
def animal(which):
    name, gait, frames, in_place = which
    return start_of(name, gait, frames, in_place=in_place)


def ways():
    """Every damage: name, damage of (start, random numbers, amount), unit, amounts, clips it is tried on."""
    for name, (damage, _, unit, amounts) in {**DAMAGES, **BY_HAND}.items():
        yield (
            name,
            lambda start, rng, amount, damage=damage: damage(start, amount, rng),
            unit,
            amounts,
            HORSES,
            horse,
        )
    for name, (damage, unit, amounts) in SIZED.items():
        if amounts:
            yield name, damage, unit, amounts, ANIMALS, animal
        else:
            yield name, lambda start, rng, _, damage=damage: damage(start, rng), "", (1,), ANIMALS, animal


def share_named(damage, amount, clips, made):
    """Share of tries in which a damage is named among the first three findings, and what kinds name it."""
    hits, kinds = [], set()
    for k, which in enumerate(clips):
        for turn in range(TRIES):
            damaged = damage(made(which), np.random.default_rng(1000 * k + turn), amount)
            findings = check(seen_again(made(which), damaged.file))
            hits.append(is_named_first(damaged, findings))
            if hits[-1]:
                kinds.add(next(f.kind for f in findings if is_named_first(damaged, [f])))
    return float(np.mean(hits)), kinds


def row(name, damage, unit, amounts, clips, made):
    """One line of the table, and the kinds that name this damage."""
    shares, smallest, every = [], None, set()
    for amount in reversed(amounts):
        share, kinds = share_named(damage, amount, clips, made)
        every |= kinds
        shares.append(f"{amount:g}: {100 * share:.0f} %" if unit else f"{100 * share:.0f} %")
        if share < ENOUGH:
            break
        smallest = amount
    size = "none" if smallest is None else f"{smallest:g}" if unit else "named"
    tries = len(clips) * TRIES
    named = ", ".join(sorted(every))
    return (
        f"{name:<40}{size:>8} {unit:<20}{tries:>4}  {'  '.join(reversed(shares)):<44}{named}".rstrip(),
        every,
    )


def main():
    began, every = time.perf_counter(), set()
    print(f"{'damage':<40}{'smallest':>8} {'unit':<20}{'tries':>4}  {'share named, by amount':<44}named as")
    for name, *rest in ways():
        if sys.argv[1:] and not any(word in name for word in sys.argv[1:]):
            continue
        line, kinds = row(name, *rest)
        every |= kinds
        print(line, flush=True)
    print(f"{len(every)} kinds of findings name a damage: {', '.join(sorted(every))}")
    print(f"{time.perf_counter() - began:.0f} s", file=sys.stderr)


if __name__ == "__main__":
    main()
