"""Damaged files, odd options and no requests, by hand: `python tests/bench/fuzz.py [RUNS] [SECONDS] [FIRST]`.

Each run has a number; it draws a kind, damages something of that kind, and gives it to the command or the
server that reads it, or to the function that does (kinds that begin with "read"), which is some twenty times
quicker. Allowed are: done (0), findings (1), and refused (2, one line on standard error that names the file
and the place, and no file written). All else is a fault: its number is printed, so that `fuzz.py 1 60 NUMBER`
does it again. Every ten minutes, and when it is asked to end, the table so far is written.

It runs in one process, of at most MEMORY bytes, which a clock watches. `fuzz_sound` has what is damaged,
`fuzz_damage` how, `fuzz_commands`, `fuzz_readers` and `fuzz_outside` what reads it, and `fuzz_judge` what may
come of it.
"""

import contextlib
import io
import os
import random
import resource
import signal
import sys
import tempfile
import threading
import time
import warnings
from collections import Counter
from pathlib import Path

from fuzz_commands import KINDS
from fuzz_judge import Clock, TooLong, files_here, judged, said_of, said_of_fault, watch
from fuzz_outside import Watched, request, signalled
from fuzz_readers import NAMED, READERS
from fuzz_sound import SHOTS, sources

from gaitgen import Request
from gaitgen.commands import run
from gaitgen.commands.terminal import guarded
from gaitgen.page.desk import Desk
from gaitgen.page.shot_desk import ShotDesk
from gaitgen.shot.make import make_shot
from gaitgen.shot.request import shot_of
from gaitgen.shot.shot_file import read_shot

SAID_EVERY_S = 600
MEMORY = 4_000_000_000
# Where each run has its folder: in memory where there is such a place, as what is attacked is no disk.
FOLDERS = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None  # noqa: S108
OTHERS = {"signal": 0.3, "request": 3, "request of a shot": 3}
"""Kinds that are no command in this process, and how often they are drawn."""
HOW_OFTEN = {kind: often for kind, (_, often) in (KINDS | READERS).items()} | OTHERS
ALLOWED = ("done", "findings", "refused", "left")
FAULTS = (
    *("traceback", "hang", "memory", "warning", "exit code", "left a file", "refused, but wrote"),
    *("other than a line", "standard error", "letters that a terminal obeys", "names no place", "lost work"),
)


def one(kind, draw, sound):
    """Give one command, or one reader, something damaged, in a folder of its own."""
    here, out, error = Path.cwd(), io.StringIO(), io.StringIO()
    with tempfile.TemporaryDirectory(prefix="fuzz-", dir=FOLDERS) as folder:
        os.chdir(folder)
        try:
            given, code, before, warned = _run(kind, draw, sound, out, error)
            new = sorted(files_here() - before)
            outcome = judged(code, out.getvalue(), error.getvalue(), new, given, NAMED.get(kind, ""))
            return said_of(outcome, warned)
        except (Exception, TooLong) as fault:  # noqa: BLE001  that is what is looked for
            return said_of_fault(fault)
        finally:
            os.chdir(here)


def _run(kind, draw, sound, out, error):
    """Run; return the arguments of a command, the exit code, the files there were before, and warnings."""
    given = KINDS[kind][0](draw, sound) if kind in KINDS else ()
    before = files_here()

    def reading():
        READERS[kind][0](draw, sound)
        return 0

    with (
        warnings.catch_warnings(record=True) as warned,
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(error),
        Clock(),
    ):
        warnings.simplefilter("always")
        code = run(given) if kind in KINDS else guarded(reading)
    return given, code, before if kind in KINDS else files_here(), warned


@contextlib.contextmanager
def servers():
    """Serve a cycle, and a shot that is read along every path but made along one."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, "s.toml")
        file.write_text(SHOTS[3])
        asked = read_shot(file)
        made = make_shot(shot_of(asked))

        def read_alone(other):
            shot_of(other)
            return made

        desks = (
            Desk(Request(frames=12), Path(folder)),
            ShotDesk(file, asked, made, read_alone, file.read_text()),
        )
        found = [Watched(desk) for desk in desks]
        for each in found:
            threading.Thread(target=each.serve_forever, daemon=True).start()
        yield found
        for each in found:
            each.shutdown()
            each.server_close()


def main(runs=2000, seconds=600, first=0):
    """Do so many runs, or as many as that time allows; return 1 if one was at fault."""
    watch()
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    sound, counts, spent, examples = sources(), Counter(), Counter(), set()
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    began = said = time.monotonic()
    done = 0
    with servers() as (of_cycle, of_shot), contextlib.suppress(KeyboardInterrupt):
        for number in range(first, first + runs):
            now, start = time.monotonic(), time.process_time()
            if now > began + seconds:
                break
            if now > said + SAID_EVERY_S:
                print(tabled(done, first, counts, spent), flush=True)
                said = now
            draw = random.Random(number)  # noqa: S311
            kind = draw.choices(list(HOW_OFTEN), list(HOW_OFTEN.values()))[0]
            if kind == "signal":
                outcome = signalled(draw, sound)
            elif kind in OTHERS:
                outcome = request(of_cycle if kind == "request" else of_shot, draw)
            else:
                outcome = one(kind, draw, sound)
            counts[kind, outcome.partition(":")[0]] += 1
            spent[kind] += time.process_time() - start
            if ":" in outcome and outcome not in examples:
                examples.add(outcome)
                print(f"{number} {kind}: {outcome}", flush=True)
            done += 1
    print(tabled(done, first, counts, spent))
    return int(any(column not in ALLOWED for _, column in counts))


def tabled(done, first, counts, spent):
    """Write what came of each kind of runs, and how long they took."""
    columns = [*ALLOWED, *(each for each in FAULTS if any(column == each for _, column in counts))]
    head = "".join(f"{column[:18]:>19}" for column in columns)
    lines = [f"\n{done} runs from {first}", f"{'':<22}{'runs':>7}{head}{'seconds':>9}"]
    for kind in HOW_OFTEN:
        row = "".join(f"{counts[kind, column]:>19}" for column in columns)
        total = sum(count for (each, _), count in counts.items() if each == kind)
        lines.append(f"{kind:<22}{total:>7}{row}{spent[kind]:>9.0f}")
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
