"""Make jobs on the cores of this machine, each in a process of its own that writes its files itself."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Generator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from multiprocessing import Pipe, active_children, get_context
from multiprocessing.connection import Connection
from pathlib import Path

from gaitgen.batch.aside import put_kept
from gaitgen.batch.job import Job, NotMade, made_or_not
from gaitgen.batch.table import Row
from gaitgen.errors import WorkerError
from gaitgen.formats.signals import signals_held

_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
_PUTTING = threading.Lock()


def make_here(jobs: Sequence[Job], folder: Path, workers: int | None) -> Generator[Row | NotMade, None, None]:
    """Make and write jobs; yield their rows as they are finished, and which ones cannot be made.

    Parameters
    ----------
    jobs, folder
        What to make, and where to write it.
    workers
        Processes; the number of cores by default. With one, this process does it.

    Raises
    ------
    GaitgenError
        If one cannot be written, or a process ended by itself; the others end then.
    """
    count = min(workers or os.cpu_count() or 1, len(jobs))
    if count > 1:
        yield from _in_processes(jobs, folder, count)
        return
    for job in jobs:
        yield _make_and_put(job, folder)


def _make_and_put(job: Job, folder: Path) -> Row | NotMade:
    made = made_or_not(job)
    if isinstance(made, NotMade):
        return made
    with _PUTTING:
        return put_kept(made, folder, force=job.force)


def _in_processes(jobs: Sequence[Job], folder: Path, count: int) -> Generator[Row | NotMade, None, None]:
    """Yield rows from as many processes.

    All of them hold one end of a pipe. It tells them to end when the other end is closed: by this process
    when it wants no more, or by the system when this process was killed.
    """
    told, end_all = Pipe(duplex=False)
    others = set(active_children())
    with (
        told,
        end_all,
        _one_thread_each(),
        ProcessPoolExecutor(count, get_context("spawn"), _start_process, (told,)) as pool,
    ):
        try:
            for job in as_completed(_submitted(pool, jobs, folder)):
                yield job.result()
        except BaseException as fault:
            end_all.close()
            for process in set(active_children()) - others:  # some may not listen yet
                process.terminate()
            pool.shutdown(wait=True, cancel_futures=True)
            if not isinstance(fault, BrokenProcessPool):
                raise
            message = "a worker process ended by itself (killed, or out of memory); what was finished is kept"
            raise WorkerError(f"{message}, so run the same again, with fewer --workers if needed") from None


def _submitted(pool: ProcessPoolExecutor, jobs: Sequence[Job], folder: Path) -> list[Future[Row | NotMade]]:
    """Hand over all jobs; the processes start meanwhile.

    No signal cuts a start short, or the process would say that it was told nothing of what it is for.
    """
    with signals_held(), signals_held(["SIGINT"], from_new_processes=True):
        try:
            return [pool.submit(_make_and_put, job, folder) for job in jobs]
        except FileNotFoundError:
            raise WorkerError("the folder that it was started in is gone; start it in another") from None
        except OSError as fault:
            raise WorkerError(
                f"cannot start worker processes ({fault.strerror}); give fewer with --workers"
            ) from None


def _start_process(told: Connection) -> None:
    """Leave interrupts to the parent, and listen whether it wants more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, lambda _signal, _frame: threading.Thread(target=_end).start())
    threading.Thread(target=_end_when_told, args=(told,), daemon=True).start()


def _end_when_told(told: Connection) -> None:
    with suppress(EOFError, OSError):
        told.recv_bytes()  # nothing is ever sent
    _end()


def _end() -> None:
    """End this process at once, but not between the files of a clip."""
    with _PUTTING:
        os._exit(1)


@contextmanager
def _one_thread_each() -> Generator[None, None, None]:
    """Keep the arithmetic of new processes to one thread, or they would crowd each other out."""
    before = {name: os.environ.get(name) for name in _THREADS}
    os.environ.update(dict.fromkeys(_THREADS, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value
