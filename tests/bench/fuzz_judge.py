"""What came of a run of the fuzzer, and whether that is as it should be."""

import json
import re
import signal
import traceback
from pathlib import Path

LIMIT_S = 60  # of the processor
HUNG_S = 300  # by the clock, where nothing is computed
# Files that a refused run may leave: a table of variants that was damaged, put aside, and a new one.
_MAY_BE_NEW = {"variants.csv", "variants.csv.old1"}
# What tells where in a file something is: a line, a table or key of TOML, a joint in quotation marks ...
_PLACE = re.compile(
    r"\bline \d|\[[^\]]+\]|\btop level|\w_\w|['\"]|\bbyte \d|at end of document|column|\bframe \d|"
    r"cannot stand|\d+ (MB|bytes|joints)"
)


class TooLong(BaseException):
    """A run that takes more than LIMIT_S of the processor, or HUNG_S."""


def _too_long(_number, _frame):
    raise TooLong


def watch():
    """Hear the clocks that end a run that is too long."""
    signal.signal(signal.SIGPROF, _too_long)
    signal.signal(signal.SIGALRM, _too_long)


class Clock:
    """Lets a run be too long."""

    def __enter__(self):
        signal.setitimer(signal.ITIMER_PROF, LIMIT_S)
        signal.setitimer(signal.ITIMER_REAL, HUNG_S)

    def __exit__(self, *_):
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.setitimer(signal.ITIMER_REAL, 0)


def strict_json(text):
    """Read JSON as its standard has it, without Infinity and NaN."""

    def refuse(word):
        raise ValueError(word)

    json.loads(text, parse_constant=refuse)


def files_here():
    """Return every file below the working folder."""
    return {path for path in Path().rglob("*") if not path.is_dir()}


def judged(code, out, error, new, given=(), named=""):
    """Return what came of a command or a reader, or what is wrong with that.

    Parameters
    ----------
    code, out, error
        Exit code, standard output and standard error.
    new
        Files that were not there before.
    given
        Arguments of the command.
    named
        The file that a refusal has to name, with a place in it; empty where there is none.
    """
    left = [path for path in new if ".gaitgen-" in path.name and path.name != ".gaitgen-written"]
    if left:
        return f"left a file: {left[0]}"
    if code == 2:
        return _refused(error, [path for path in new if path.name not in _MAY_BE_NEW], named)
    if code not in {0, 1}:
        return f"exit code: {code}"
    if error and not _is_ours(error):
        return f"standard error: {error[:200]!r}"
    if "--json" in given:
        strict_json(out)
    if not out.replace("\n", "").isprintable():
        return "letters that a terminal obeys: in standard output"
    return "done" if code == 0 else "findings"


def _is_ours(error):
    """Tell whether all that is said aside is said by gaitgen: notes, and that a table was put aside."""
    return all(line.startswith(("gaitgen: ", "note: ")) and line.isprintable() for line in error.splitlines())


def _refused(error, new, named):
    if error.count("\n") != 1 or not error.startswith("gaitgen: ") or not error[:-1].isprintable():
        return f"other than a line: {error[:200]!r}"
    if new:
        return f"refused, but wrote: {new[0]}"
    if "not enough memory" in error:
        return f"memory: {error[:200]!r}"
    if named and not (named in error and _PLACE.search(error)):
        return f"names no place: {error[:300]!r}"
    return "refused"


def said_of(outcome, warned):
    """Return the first warning of a run that is no fault, or what came of it."""
    if not warned or ":" in outcome:
        return outcome
    return f"warning: {warned[0].message} ({Path(warned[0].filename).name}:{warned[0].lineno})"


def said_of_fault(fault):
    """Say what an exception is and where it was raised."""
    if isinstance(fault, TooLong):
        last = next(
            (
                each
                for each in reversed(traceback.extract_tb(fault.__traceback__))
                if "gaitgen" in each.filename
            ),
            traceback.extract_tb(fault.__traceback__)[-1],
        )
        return f"hang: longer than {LIMIT_S} s, in {Path(last.filename).name}:{last.lineno}"
    last = traceback.extract_tb(fault.__traceback__)[-1]
    return f"traceback: {type(fault).__name__} in {Path(last.filename).name}:{last.lineno}: {str(fault)[:80]}"
