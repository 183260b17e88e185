"""One thread a test process: the matrices are small, and the processes are many. Signals are heard by all.

A shell script starts its background jobs with interrupts ignored, and what they start inherits that; the
tests that send signals need them heard, whoever starts the tests.
"""

import os
import signal

for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")

for name in ("SIGINT", "SIGTERM", "SIGHUP"):
    if hasattr(signal, name) and signal.getsignal(getattr(signal, name)) is signal.SIG_IGN:
        signal.signal(
            getattr(signal, name), signal.default_int_handler if name == "SIGINT" else signal.SIG_DFL
        )
