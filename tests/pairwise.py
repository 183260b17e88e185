"""Cases in which every two values of different factors meet at least once."""

from itertools import combinations, product


def pairwise(**factors):
    """Return a list of dicts, one value a factor, that covers each pair of values of any two factors.

    Greedy: each case is begun with a pair that has not met, and filled up with the values that meet most new
    ones. The same factors give the same cases.
    """
    names = list(factors)
    open_pairs = {
        ((one, a), (other, b))
        for one, other in combinations(names, 2)
        for a, b in product(factors[one], factors[other])
    }
    cases = []
    while open_pairs:
        first, second = min(open_pairs, key=repr)
        case = dict((first, second))
        for name in names:
            if name not in case:
                case[name] = _best(open_pairs, case, names, name, factors[name], len(cases))
        open_pairs -= {((one, case[one]), (other, case[other])) for one, other in combinations(names, 2)}
        cases.append({name: case[name] for name in names})
    return cases


def _best(open_pairs, case, names, name, values, turn):
    """Choose the value that meets most new pairs; equals take turns."""
    turned = [values[(k + turn) % len(values)] for k in range(len(values))]
    return max(turned, key=lambda value: _new(open_pairs, case, names, name, value))


def _new(open_pairs, case, names, name, value):
    """Count the pairs that a value would meet for the first time."""
    pairs = [
        ((other, case[other]), (name, value))
        if names.index(other) < names.index(name)
        else ((name, value), (other, case[other]))
        for other in case
    ]
    return sum(pair in open_pairs for pair in pairs)
