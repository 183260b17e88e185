"""Print, for each way to damage a clip, the least that the check names among its first three findings.

Run: PYTHONPATH=.:tests python tests/bench/smallest_found.py [WORD ...]; with words, those damages alone.
Amounts are tried from the largest down to the first that is not found in 9 of 10 tries, on six clips each.
What is found but not named follows from a finding that is: the joint of the leg that does it, most of all.
"""

import sys
import time
from functools import cache

import numpy as np
from check_hits import is_found, is_named_first
from damage import DAMAGES, base, seen_again
from damage_by_hand import BY_HAND
from damage_by_strangers import IN_RUNS, IN_WALKS, SIZED, start_of
from damage_habits import HABITS

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
WALKS = (
    ("cat", "walk", 24, True),
    ("cow", "walk", 32, False),
    ("elephant", "walk", 40, True),
    ("giraffe", "walk", 40, False),
    ("red_deer", "walk", 28, True),
    ("dog", "walk", 24, False),
)
RUNS = (
    ("riding_horse", "canter", None, False),
    ("cat", "rotary_gallop", None, True),
    ("greyhound", "rotary_gallop", None, False),
    ("hare", "half_bound", None, True),
    ("draft_horse", "canter", None, True),
    ("dromedary", "gallop", None, False),
)
TRIES, ENOUGH = 1, 0.9


@cache
def horse(which):
    return base(*which)


@cache
def animal(which):
    name, gait, frames, in_place = which
    return start_of(name, gait, frames, in_place=in_place)


def ways():
    """Every damage: name, damage of (start, random numbers, amount), unit, amounts, clips it is tried on."""
    for name, (damage, _, unit, amounts) in {**DAMAGES, **BY_HAND, **HABITS}.items():
        yield (
            name,
            lambda start, rng, amount, damage=damage: damage(start, amount, rng),
            unit,
            amounts,
            HORSES,
            horse,
        )
    for name, (damage, unit, amounts) in SIZED.items():
        clips = RUNS if name in IN_RUNS else WALKS if name in IN_WALKS else ANIMALS
        if amounts:
            yield name, damage, unit, amounts, clips, animal
        else:
            yield name, lambda start, rng, _, damage=damage: damage(start, rng), "", (1,), clips, animal


def shares(damage, amount, clips, made):
    """Shares of tries in which a damage is named among the first three, and found; kinds that name it."""
    hits, kinds = [], set()
    for k, which in enumerate(clips):
        for turn in range(TRIES):
            damaged = damage(made(which), np.random.default_rng(1000 * k + turn), amount)
            findings = check(seen_again(made(which), damaged.file, damaged.meant))
            hits.append((is_named_first(damaged, findings), is_found(damaged, findings)))
            if hits[-1][0]:
                kinds.add(next(f.kind for f in findings if is_named_first(damaged, [f])))
    return (*np.mean(hits, axis=0), kinds)


def row(name, damage, unit, amounts, clips, made):
    """One line of the table, and the kinds that name this damage."""
    texts, named, found, every = [], [], [], set()
    for amount in reversed(amounts):
        share_named, share_found, kinds = shares(damage, amount, clips, made)
        every |= kinds
        named.append(share_named >= ENOUGH)
        found.append(share_found >= ENOUGH)
        text = f"{100 * share_named:.0f}" + (
            f" ({100 * share_found:.0f})" if share_found > share_named else ""
        )
        texts.append(f"{amount:g}: {text}" if unit else text)
        if not found[-1]:
            break
    sizes = "".join(f"{_smallest(hits, amounts, unit):>8}" for hits in (named, found))
    words = "  ".join(reversed(texts))
    kinds = ", ".join(sorted(every))
    return f"{name:<40}{sizes} {unit:<20}{len(clips) * TRIES:>3}  {words:<52} {kinds}".rstrip(), every


def _smallest(hits, amounts, unit):
    """The least amount from which on all are hit; ``hits`` are of the largest amount first."""
    count = hits.index(False) if False in hits else len(hits)
    if not count:
        return "none"
    return f"{amounts[len(amounts) - count]:g}" if unit else "yes"


def main():
    began, every = time.perf_counter(), set()
    title = f"{'damage':<40}{'named':>8}{'found':>8} {'unit':<19}tries"
    print(f"{title} {'% named (% found), by amount':<52} named as")
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
