"""Clips per second and core of `gaitgen variants`, by hand. Reads as plus or minus 30 % on a quiet machine.

On two processes once as they come, with their start (about a second of imports each), and once without it:
the time for half of the plan is taken off. What the batch room itself costs, besides making and encoding, is
the processor time of a run on one process less that spent in `make_cycle` and `encode`, so that it hardly
depends on what else the machine does.
"""

import sys
import tempfile
import time
from pathlib import Path

from gaitgen import Request
from gaitgen.batch import job
from gaitgen.batch.plan import plan_variants
from gaitgen.batch.run import run_variants
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.hand_off import HandOff


def run_s(plan, wanted, **options):
    """Time of one run in an empty folder. [s]"""
    with tempfile.TemporaryDirectory() as folder:
        start = time.perf_counter()
        run_variants(plan, FileSpace(), wanted, Path(folder), **options)
        return time.perf_counter() - start


class Watch:
    """Adds up the processor time spent in some functions. [s]"""

    def __init__(self):
        self.spent_s = 0.0

    def around(self, function):
        def timed(*arguments):
            start = time.process_time()
            try:
                return function(*arguments)
            finally:
                self.spent_s += time.process_time() - start

        return timed


def overhead_s(plan, wanted):
    """Processor time a clip takes besides making and encoding, and what of it measures slip. [s], [s]"""
    watch, slip = Watch(), Watch()
    kept = job.make_cycle, job.hand_off.encode, job.slip_m
    job.make_cycle, job.hand_off.encode = watch.around(kept[0]), watch.around(kept[1])
    job.slip_m = slip.around(kept[2])
    start = time.process_time()
    try:
        run_s(plan, wanted, workers=1)
        whole = time.process_time() - start
    finally:
        job.make_cycle, job.hand_off.encode, job.slip_m = kept
    return (whole - watch.spent_s) / len(plan), slip.spent_s / len(plan)


def main(count=60):
    plan = plan_variants(Request(), ["riding_horse", "draft_horse"], range(16, 16 + count // 2))
    run_s(plan[:1], HandOff(), workers=1)  # imports
    for name, wanted in (("BVH and channels", HandOff(keys=False)), ("and keys", HandOff())):
        one = run_s(plan, wanted, workers=1)
        two, half = run_s(plan, wanted, workers=2), run_s(plan[::2], wanted, workers=2)
        steady = (len(plan) - len(plan[::2])) / (two - half)
        print(
            f"{name}: {len(plan) / one:.1f} clips a second and core on one process; on two "
            f"{len(plan) / two / 2:.1f} with their start, {steady / 2:.1f} without"
        )
        rest, slip = (1e3 * part for part in overhead_s(plan, wanted))
        print(f"  besides making and encoding {rest:.2f} ms a clip, {slip:.2f} of it to measure slip")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
