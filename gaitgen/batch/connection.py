"""The way to a dask scheduler and back, with one line for whatever goes wrong with it."""

from __future__ import annotations

import asyncio
import logging
import re
import warnings
from collections.abc import Generator
from concurrent.futures import CancelledError
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

from gaitgen.errors import RequestError, WorkerError

if TYPE_CHECKING:
    from distributed import Client

CONNECT_S = 10.0  # how long a scheduler, and the first worker, may take to answer
CLOSE_S = 3.0
# A client keeps its last messages for whoever looks for a fault, each with the clips that it asks for: so
# many of them, where it would be a thousand.
MESSAGES_KEPT = 8


@contextmanager
def connected(address: str) -> Generator[Client, None, None]:
    """Connect to a scheduler that has a worker, and leave it again.

    Raises
    ------
    RequestError
        If the address is none.
    WorkerError
        If dask is not installed, no scheduler answers in time, or it has no worker.
    """
    if not re.fullmatch(r"((tcp|tls)://)?([\w.-]+|\[[0-9a-fA-F:.]+\]):\d{1,5}", address):
        raise RequestError(f"cluster is {address!r}; give an address such as tcp://127.0.0.1:8786")
    try:
        from dask import config
        from distributed import Client
    except ImportError:
        raise WorkerError(
            "--cluster needs dask, which is not installed; run pip install 'gaitgen[cluster]'"
        ) from None
    few_kept = config.set({"distributed.admin.low-level-log-length": MESSAGES_KEPT})
    with _silence(), few_kept, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            asyncio.run(asyncio.wait_for(_ask_scheduler(address), CONNECT_S))
            client = Client(address, timeout=CONNECT_S, set_as_default=False, name="gaitgen")
        except Exception as fault:  # noqa: BLE001  whatever a stranger at that port may answer
            reason = f"no dask scheduler answers at {address} ({_short(fault)})"
            raise WorkerError(f"{reason}; start one with 'dask scheduler', or give another address") from None
        try:
            _wait_for_a_worker(client, address)
            yield client
        finally:
            with suppress(OSError):
                client.close(timeout=CLOSE_S)


async def _ask_scheduler(address: str) -> None:
    """Have a scheduler say that it is one: the client itself would wait for ever for some that are none."""
    from distributed import Security, connect

    comm = await connect(address, timeout=CONNECT_S, **Security().get_connection_args("client"))
    try:
        await comm.write({"op": "identity"})
        answer = await comm.read()
    finally:
        comm.abort()
    if not isinstance(answer, dict) or answer.get("type") != "Scheduler":
        raise ValueError("no scheduler")


def _wait_for_a_worker(client: Client, address: str) -> None:
    try:
        client.wait_for_workers(1, timeout=CONNECT_S)
    except TimeoutError:
        raise WorkerError(
            f"the cluster at {address} has no worker; start some with 'dask worker {address}'"
        ) from None


@contextmanager
def in_one_line(address: str) -> Generator[None, None, None]:
    """Put what can go wrong with a cluster into one line.

    Raises
    ------
    WorkerError
        If the scheduler is lost, workers keep ending, or they cannot run this program.
    """
    from distributed import KilledWorker

    kept = "what was finished is kept, so run the same again"
    try:
        yield
    except KilledWorker as fault:
        message = (
            f"{fault.allowed_failures + 1} workers of {address} ended while making one and the same clip"
        )
        raise WorkerError(f"{message}; see to their memory; {kept}") from None
    except ImportError as fault:
        raise WorkerError(
            f"a worker of {address} cannot import what it needs ({_short(fault)}); install this gaitgen there"
        ) from None
    except (OSError, CancelledError) as fault:
        raise WorkerError(f"the cluster at {address} was lost ({_short(fault)}); {kept}") from None


def _short(fault: BaseException) -> str:
    return " ".join(str(fault).split())[:100] or type(fault).__name__


@contextmanager
def _silence() -> Generator[None, None, None]:
    """Keep the log of dask off the terminal; what matters is said in one line."""
    names = ("distributed", "tornado", "asyncio")
    loggers = [
        logging.getLogger(name)
        for name in (*names, *logging.root.manager.loggerDict)
        if name.split(".")[0] in names
    ]
    before = [(logger, logger.level) for logger in loggers]
    for logger in loggers:
        logger.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        for logger, level in before:
            logger.setLevel(level)
