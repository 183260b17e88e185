"""Make jobs on the machines of a dask cluster, which need no folder in common with this one.

Workers send back the bytes of the files; this process writes them. It never asks for more than a few groups
of clips per thread of the cluster at once, so that memory does not grow with the plan. What a lost worker had
is made by another.
"""

from __future__ import annotations

import pickle
import time
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from contextlib import suppress
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from gaitgen.batch.aside import put_kept
from gaitgen.batch.connection import connected, in_one_line
from gaitgen.batch.identity import version
from gaitgen.batch.job import Job, Made, NotMade
from gaitgen.batch.table import Row

if TYPE_CHECKING:
    from distributed import Client, Future

LOOK_S = 5.0  # how often to count the threads of the cluster
SILENT_S = 30.0  # after which a scheduler that does not answer counts as lost
GROUPS_PER_THREAD = 3  # groups of clips that a thread has waiting or in work
MOST_IN_GROUP = 8

_Work = TypeVar("_Work")
_Result = TypeVar("_Result")


def make_there(
    jobs: Sequence[Job], folder: Path, address: str, say: Callable[[str], None]
) -> Generator[Row | NotMade, None, None]:
    """Make jobs on a cluster and write their files here; yield what comes as they are finished.

    Parameters
    ----------
    jobs, folder
        What to make, and where to write it.
    address
        Of the scheduler, such as ``tcp://127.0.0.1:8786``.
    say
        Called with one line when no worker is left.

    Raises
    ------
    RequestError
        If the address is none.
    WorkerError
        If dask is not installed, the scheduler does not answer or goes away, it has no workers, or they
        cannot make clips.
    GaitgenError
        If a clip cannot be written.
    """
    with connected(address) as client, in_one_line(address):
        for group in bounded(client, _packed_maker(version()), _packed(jobs, _threads(client)), say):
            for made in group:
                yield made if isinstance(made, NotMade) else put_kept(made, folder, force=jobs[0].force)


def _packed(jobs: Sequence[Job], threads: int) -> Iterator[bytes]:
    """Pack jobs in groups: each message costs as much as a short clip, yet no thread shall go without."""
    size = min(MOST_IN_GROUP, max(1, len(jobs) // (2 * GROUPS_PER_THREAD * max(threads, 1))))
    return (pickle.dumps(jobs[at : at + size]) for at in range(0, len(jobs), size))


def bounded(
    client: Client, make: Callable[[_Work], _Result], work: Iterable[_Work], say: Callable[[str], None]
) -> Generator[_Result, None, None]:
    """Call a function on the cluster for each piece of work, a few per thread at a time; yield what comes.

    Results come in any order. A worker that is lost costs nothing but time: the scheduler gives its work to
    another. Without any worker this waits, and says so.
    """
    from distributed import wait

    ahead = iter(work)
    running: list[Future] = []
    threads, looked_s = _threads(client), time.monotonic()
    while True:
        least = max(threads, 1)  # work waits for the worker that comes
        room = GROUPS_PER_THREAD * least - len(running)
        if room >= least and (more := list(islice(ahead, room))):
            running += client.map(make, more, pure=False)
        if not running:
            return
        done: set[Future] = set()
        with suppress(TimeoutError), client.as_current():
            done, _ = wait(running, timeout=LOOK_S, return_when="FIRST_COMPLETED")
        running = [future for future in running if future not in done]
        for future in sorted(done, key=lambda future: future.status == "error"):  # first what succeeded
            try:
                yield future.result(timeout=LOOK_S)
            except TimeoutError:
                if future.status == "error":
                    raise
                running.append(future)  # its worker was lost since, so it is made again
        del done
        if time.monotonic() - looked_s >= LOOK_S:
            before, threads, looked_s = threads, _threads(client), time.monotonic()
            if before and not threads:
                say("the cluster has no worker left; waiting for one (what is finished is kept)")


def _threads(client: Client) -> int:
    """Count the threads of all workers.

    Raises
    ------
    TimeoutError
        If the scheduler keeps silent.
    """
    counts: dict[str, int] = client.nthreads(callback_timeout=SILENT_S)
    return sum(counts.values())


def _packed_maker(expected: str) -> Callable[[bytes], list[Made | NotMade]]:
    """Return what the workers do.

    Being defined in a function it travels with its text, and imports inside: only workers need gaitgen, the
    scheduler does not.
    """

    def make_packed(jobs: bytes) -> list[Made | NotMade]:
        import pickle

        from gaitgen.batch.identity import version
        from gaitgen.batch.job import make_all
        from gaitgen.errors import WorkerError

        if version() != expected:
            message = f"a worker has {version()} and this machine {expected}, so the bytes could differ"
            raise WorkerError(f"{message}; install the same there")
        return make_all(pickle.loads(jobs))  # noqa: S301  packed by this program a moment ago

    return make_packed
