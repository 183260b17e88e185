"""What benchmarks of `check` print: how often each kind of fault was named, and found at all."""

import numpy as np


def print_named(kind, table, instead):
    """Print a row a kind of fault.

    Parameters
    ----------
    kind
        What one is called, such as ``mishap``.
    table
        Kind to the tries of it: whether each was named, and whether it was found at all.
    instead
        Kind to what was told where it was not named, counted.
    """
    print(f"{kind:<26}{'tries':>6}{'named':>7}{'found':>7}   instead")
    for name, hits in table.items():
        print(f"{name:<26}{len(hits):>6}{_shares(hits)}   {'; '.join(instead[name])}")
    every = [hit for hits in table.values() for hit in hits]
    print(f"{'all':<26}{len(every):>6}{_shares(every)}")


def _shares(hits):
    return "".join(f"{100.0 * share:>7.0f}" for share in np.mean(hits, axis=0))
