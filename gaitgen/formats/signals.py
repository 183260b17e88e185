"""Signals that wait, so that what belongs together is done, or put back, as a whole."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Callable, Generator, Iterable, Mapping
from contextlib import contextmanager
from types import FrameType

ENDING = ("SIGINT", "SIGTERM", "SIGHUP")
"""What asks a program to end; not every system has all of them."""

_Handler = Callable[[int, FrameType | None], object] | int


class Held:
    """The signals that came while they were held, and what they would have done."""

    def __init__(self, handlers: Mapping[int, _Handler]) -> None:
        self.handlers = handlers
        self.came: list[int] = []

    def heed(self) -> None:
        """Do what the first one that came asks for, where there is nothing half done.

        Raises
        ------
        BaseException
            What its handler raises; KeyboardInterrupt where it would end the process without one.
        """
        if self.came:
            if not callable(self.handlers[self.came[0]]):
                raise KeyboardInterrupt
            _call(self.handlers, self.came.pop(0))


def _call(handlers: Mapping[int, _Handler], number: int) -> None:
    handler = handlers[number]
    if callable(handler):
        handler(number, None)
    elif handler == signal.SIG_DFL:
        os.kill(os.getpid(), number)


@contextmanager
def signals_held(
    names: Iterable[str] = ENDING, *, from_new_processes: bool = False
) -> Generator[Held, None, None]:
    """Let signals wait until the end of the block; only the main thread ever gets one.

    Parameters
    ----------
    names
        Of the signals.
    from_new_processes
        Keep them from processes that start meanwhile too, for good: what is blocked here is blocked there.
    """
    numbers = [getattr(signal, name) for name in names if hasattr(signal, name)]
    handlers: dict[int, _Handler] = {}
    held = Held(handlers)
    if threading.current_thread() is not threading.main_thread():
        yield held
        return
    for number in numbers:
        before = signal.getsignal(number)
        if before not in {None, signal.SIG_IGN}:  # the first is not Python's
            handlers[number] = before
            signal.signal(number, lambda came, _frame: held.came.append(came))
    blocks = from_new_processes and hasattr(signal, "pthread_sigmask")
    mask = signal.pthread_sigmask(signal.SIG_BLOCK, handlers) if blocks else None
    try:
        yield held
    finally:
        if mask is not None:
            signal.pthread_sigmask(signal.SIG_SETMASK, mask)
        for number, handler in handlers.items():
            signal.signal(number, handler)
        for number in held.came[:1]:
            _call(handlers, number)
