"""One thread a test process, as the matrices are small and the processes many. Signals are heard by all.

A shell script starts its background jobs with interrupts ignored, and what they start inherits that; the
tests that send signals need them heard, whoever starts the tests.

Over several processes whole files are shared out, so that what a file makes once is made once.
"""

import os
import signal

import pytest

for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")

for name in ("SIGINT", "SIGTERM", "SIGHUP"):
    if hasattr(signal, name) and signal.getsignal(getattr(signal, name)) is signal.SIG_IGN:
        signal.signal(
            getattr(signal, name), signal.default_int_handler if name == "SIGINT" else signal.SIG_DFL
        )


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """Give each process whole files."""
    from xdist.scheduler import LoadFileScheduling

    return LoadFileScheduling(config, log)
