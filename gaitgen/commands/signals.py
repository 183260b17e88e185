"""Signals that end a command: once, by an exception, so that whatever is half done is put back."""

from __future__ import annotations

import signal
import sys
import time
from types import FrameType, TracebackType

from gaitgen.formats.signals import ENDING

_REST_S = 3.0
"""How long more of them are left unheard, so that putting back is not cut short in turn."""

_AGAIN_S = 0.01
"""So long after one that was dropped it is sent again."""


class Ended(KeyboardInterrupt):
    """A signal that asks to end; :attr:`number` tells which."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self.number = number


class _Listener:
    """Raises Ended at a signal, and leaves those that follow it closely unheard."""

    def __init__(self) -> None:
        self.number = 0
        self.is_open = False
        self.came_s = -_REST_S

    def __call__(self, number: int, _frame: FrameType | None) -> None:
        now_s = time.monotonic()
        if now_s - self.came_s >= _REST_S:
            self.number, self.came_s, self.is_open = number, now_s, True
            raise Ended(number)


_LISTENER = _Listener()


def listen() -> None:
    """Hear interrupts from the keyboard, requests to end, and a terminal that goes; not what is ignored."""
    for name in ENDING:
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _LISTENER)
    sys.unraisablehook, sys.excepthook = _not_dropped, _not_printed


def _ended_in(stop: BaseException | None) -> Ended | None:
    """Return the signal that an exception is, or was made of: libraries make others of what stops them."""
    seen = set[int]()
    while stop is not None and id(stop) not in seen:
        if isinstance(stop, Ended):
            return stop
        seen.add(id(stop))
        stop = stop.__cause__ or stop.__context__
    return None


def _not_printed(kind: type[BaseException], stop: BaseException, trace: TracebackType | None) -> None:
    """Say nothing of a signal that a compiled module prints as it makes a failed import of it."""
    if _ended_in(stop) is None:
        sys.__excepthook__(kind, stop, trace)


def _not_dropped(unraisable: sys.UnraisableHookArgs) -> None:
    """Send a signal again that was heard in a clean-up, where Python drops whatever is raised."""
    stop = _ended_in(unraisable.exc_value)
    if stop is None:
        sys.__unraisablehook__(unraisable)
        return
    import threading  # which nobody waits for who does not need it

    # From a thread, so that it is heard when the clean-up is over; at the main one, so that a wait ends.
    # Until then others stay unheard: what is raised in here is printed.
    again = threading.Timer(_AGAIN_S, _send_again, [threading.main_thread().ident, stop.number])
    again.daemon = True
    again.start()


def _send_again(main: int, number: int) -> None:
    """Send a signal to the main thread, where it shall be heard although it has come before."""
    _LISTENER.came_s = -_REST_S
    signal.pthread_kill(main, number)


def no_more() -> None:
    """Leave all unheard that comes after the work is done, or put back: the exit code is the first one's."""
    for name in ENDING:
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.SIG_IGN)


def heed() -> None:
    """Raise once more what was heard and not answered: compiled modules drop what is raised in their loading.

    Raises
    ------
    Ended
        If there is such a signal.
    """
    if _LISTENER.is_open:
        raise Ended(_LISTENER.number)


def answered() -> None:
    """Take what was heard as done with."""
    _LISTENER.is_open = False


def heard() -> int:
    """Return the signal that came, or 0: a library may have made another exception of it."""
    return _LISTENER.number


def farewell(number: int = signal.SIGINT) -> tuple[str, int]:
    """Return the line to say at a signal, and the exit code, 128 and its number, as shells have it."""
    answered()
    what = "interrupted" if number == signal.SIGINT else f"ended by {signal.Signals(number).name}"
    return f"gaitgen: {what}; every file there is whole, as it was or new", 128 + number
