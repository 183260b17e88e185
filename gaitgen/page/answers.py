"""Answers that have been given: a slider that goes back, an undo and a redo have theirs at once."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future


class Answers:
    """Keeps the last answers; who asks for one that is being made waits for it.

    Parameters
    ----------
    most
        How many are kept.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: OrderedDict[Hashable, Future[bytes]] = OrderedDict()
        self._lock = threading.Lock()

    def of(self, asked: Hashable, make: Callable[[], bytes]) -> bytes:
        """Return what was answered, or make it; what cannot be made is asked for anew each time."""
        with self._lock:
            found = self._kept.get(asked)
            own = found or Future[bytes]()
            self._kept[asked] = own
            self._kept.move_to_end(asked)
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        if found is None:
            try:
                own.set_result(make())
            except BaseException as fault:
                with self._lock:
                    self._kept.pop(asked, None)
                own.set_exception(fault)
                raise
        return own.result()
