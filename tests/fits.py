"""What `fit` finds in a rig, found once a process for tests of what is then done with its map.

Files are read and written, and what is no rig is refused, each time; what takes walks to find is kept by the
bytes of the rig, its name, and what was asked and found before. What names the file is not kept. A test that
changes what `fit` does is not meant to ask for this.
"""

from pathlib import Path

import pytest


def _once(kept, find, key):
    """Let something be found anew for a key that is not known, or where what it finds names the file."""

    def found(*given):
        own = (find.__name__, *key(*given))
        if own in kept:
            return kept[own]
        made = find(*given)
        if not any(isinstance(each, str) and each.endswith(".bvh") and each in repr(made) for each in given):
            kept[own] = made
        return made

    return found


def _of_file(data, where, *others):
    return data, Path(where).stem, repr(others)


def _of_rig(rig):
    return rig.hierarchy, rig.name, repr(rig.map), repr(rig.rest.angles_deg), rig.places_m.tobytes()


KEYS = {"with_sane_walk": _of_file, "_walked": _of_file, "turns_map": _of_rig}


@pytest.fixture(scope="session")
def fits_kept():
    """What was found in rigs, of all tests of a process that find each once."""
    return {}


@pytest.fixture(scope="module")
def fits_once(fits_kept):
    """Find the parts of each rig, and how far its joints turn, once for all modules that ask for this."""
    from gaitgen.rigs import command  # after the number of threads is set

    with pytest.MonkeyPatch.context() as patch:
        for name, key in KEYS.items():
            patch.setattr(command, name, _once(fits_kept, getattr(command, name), key))
        yield
