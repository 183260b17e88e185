"""One thread a test process, as the matrices are small and the processes many. Signals are heard by all.

A shell script starts its background jobs with interrupts ignored, and what they start inherits that; the
tests that send signals need them heard, whoever starts the tests.

Over several processes whole files are shared out, so that what a file makes once is made once; those whose
tests make the same shots, or fit the same rigs, go to one process.

Of a test of many cases about two are tried, marked ``sample(count, first=0)`` about so many, from the first
on; the others are marked ``thorough``. They are taken at steps that have no divisor in common with the number
of cases, so that every value of every factor has its turn. Where tests share what is dear to make, they are
marked ``always("dog", "elephant")``: the cases with one of these values, or of that name, are tried, and no
others. ``--part 2/8 -m "thorough and not slow"`` runs the
second of eight parts of those, over which files are spread: `.ci/run` runs another part each day.

What is drawn by lot is the same each time.

What processes compile is kept as usual, even where whoever starts the tests keeps nothing: each command that
tests start would compile the whole package anew, and each process every test with its assertions.
"""

import gc
import os
import pickle
import signal
import sys
from collections import Counter, defaultdict
from contextlib import suppress
from math import ceil, gcd

import pytest
from fits import fits_kept, fits_once  # noqa: F401  # for tests on rigs
from hypothesis import settings
from pages import browser, served, shown  # noqa: F401  # fixtures of the pages' tests

settings.register_profile("the same each time", derandomize=True)
settings.load_profile("the same each time")

LONGEST = "test_readme.py"  # begun last, it would be waited for by an idle process
USUAL = 2  # cases of a test that are always tried
TOGETHER = (  # files that share what is dear to make, without test_ and .py
    (
        *("check_causes", "check_exchanged", "check_hands", "check_middle", "check_newcomers"),
        *("check_shots", "shot_joints"),
    ),  # shots of damage_shots
    (
        *("more_rigs", "carry_rigs", "carry_mistakes"),
        *("rig_glb", "rig_pictures", "rig_tails"),
    ),  # rigs of make_more_rigs
    ("hard_rigs", "one_fold_rigs"),  # rigs of make_hard_rigs
    ("shot_page", "shot_pictures"),  # the shot of lane
)

for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")

os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

for name in ("SIGINT", "SIGTERM", "SIGHUP"):
    if hasattr(signal, name) and signal.getsignal(getattr(signal, name)) is signal.SIG_IGN:
        signal.signal(
            getattr(signal, name), signal.default_int_handler if name == "SIGINT" else signal.SIG_DFL
        )


@pytest.fixture(scope="module")
def chart(request, tmp_path_factory):
    """Find the map of each of the rigs that a module calls ``PLANS``, once it is asked for."""
    from rig_measures import charts  # after the number of threads is set

    return charts(tmp_path_factory.mktemp("charts"), request.module.PLANS)


@pytest.fixture(scope="module")
def clip(chart):
    """Make the clips of the rigs whose maps a module's ``chart`` finds, each once."""
    from rig_measures import clips  # after the number of threads is set

    return clips(chart)


@pytest.fixture(scope="module")
def shots_kept():
    """Shots as they are laid out, and as they are made, of all tests of a module that make each once."""
    return [], {}


def is_alike(asked, other):
    """Tell whether two shots are asked alike; the animal of a rig is another each time its map is read."""
    if vars(asked) == vars(other):
        return True
    with suppress(AttributeError, TypeError, pickle.PicklingError):  # of a ground that is a function
        return pickle.dumps(asked) == pickle.dumps(other)
    return False


@pytest.fixture
def shots_once(monkeypatch, shots_kept):
    """Make each shot once: for tests of what several commands, or tests of one module, do with one file."""
    from gaitgen.shot import make, request

    shot_of, make_shot = request.shot_of, make.make_shot
    kept, made = shots_kept

    def once(asked):
        known = [shot for other, shot in kept if is_alike(other, asked)]
        kept.extend([] if known else [(asked, shot_of(asked))])
        return (known or [kept[-1][1]])[0]

    def made_once(shot):
        return made[id(shot)] if id(shot) in made else made.setdefault(id(shot), make_shot(shot))

    monkeypatch.setattr(request, "shot_of", once)
    monkeypatch.setattr(make, "make_shot", made_once)


def pytest_addoption(parser):
    """Offer a part of what is chosen."""
    parser.addoption("--part", metavar="K/N", help="run the K-th of N parts of the cases that are thorough")


@pytest.hookimpl(wrapper=True)
def pytest_collection():
    """Look for no garbage while tests are collected, nor ever among them: there is little of it."""
    gc.disable()
    try:
        return (yield)
    finally:
        gc.freeze()
        gc.enable()


def has_value(item, values):
    """Tell whether a case has one of some values, or is named as one of them."""
    own = {item.callspec.id, *map(str, item.callspec.params.values())}
    return not own.isdisjoint(map(str, values))


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config, items):
    """Mark what is beside the samples as thorough, before marks choose what is run; long files go first."""
    size = Counter(item.path for item in items)
    items.sort(key=lambda item: (item.path.name != LONGEST, -size[item.path], item.path))
    cases = defaultdict(list)
    for item in items:
        if not any(item.iter_markers("slow")) and not any(item.iter_markers("thorough")):
            cases[item.nodeid.split("[")[0]].append(item)
    for alike in cases.values():
        named = alike[0].get_closest_marker("always")
        if named:
            chosen = [item for item in alike if has_value(item, named.args)]
            for item in alike if chosen else ():  # one case alone may be asked for by its name
                if item not in chosen:
                    item.add_marker(pytest.mark.thorough)
            continue
        sample = alike[0].get_closest_marker("sample")
        count, first = (*sample.args, 0)[:2] if sample else (USUAL, 0)
        least = max(1, ceil(len(alike) / count))
        step = next(k for k in range(least, len(alike) + 2) if gcd(k, len(alike)) == 1)
        for number, item in enumerate(alike):
            if (number - first) % step:
                item.add_marker(pytest.mark.thorough)
    if config.option.part:
        part, parts = map(int, config.option.part.split("/"))
        thorough = [item for item in items if any(item.iter_markers("thorough"))]
        others = [item for number, item in enumerate(thorough) if number % parts != part % parts]
        config.hook.pytest_deselected(items=others)
        left_out = set(map(id, others))
        items[:] = [item for item in items if id(item) not in left_out]


def share_of(nodeid):
    """Return what all tests that should go to the process of a test have in common."""
    file = nodeid.split("::", 1)[0]
    name = file.rpartition("/test_")[2].removesuffix(".py")
    return next((" ".join(names) for names in TOGETHER if name in names), file)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """Give each process whole files."""
    from xdist.scheduler import LoadFileScheduling

    class ByShare(LoadFileScheduling):
        def _split_scope(self, nodeid):
            return share_of(nodeid)

    config.option.loadscopereorder = False  # they are in order
    return ByShare(config, log)
