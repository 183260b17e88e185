"""How many clients a server answers at once; more are turned away, so that they cannot use up the machine."""

from __future__ import annotations

import contextlib
import json
import socket
import threading
import time
from collections.abc import Callable

MOST_CONNECTIONS = 32
"""A browser opens about six to one address; this is room for several pages and what they leave open."""
SAY_AGAIN_S = 60.0
"""Being full is said once in this time, however many are turned away. [s]"""


class Seats:
    """Places of clients that are being answered.

    Parameters
    ----------
    number
        How many there are.
    say
        Takes the line that says that all are taken.
    """

    def __init__(self, number: int, say: Callable[[str], object]) -> None:
        self.number = number
        self._say = say
        self._free = threading.BoundedSemaphore(number)
        self._said_s = -SAY_AGAIN_S

    def take(self) -> bool:
        """Take a place if there is one; else say, now and then, that there is none."""
        if self._free.acquire(blocking=False):
            return True
        now_s = time.monotonic()
        if now_s - self._said_s >= SAY_AGAIN_S:
            self._said_s = now_s
            self._say(f"{self.message}; more are turned away.")
        return False

    def leave(self) -> None:
        """Give a place back."""
        self._free.release()

    @property
    def message(self) -> str:
        """What is wrong when all are taken."""
        return f"{self.number} connections are open at once, which is all that are answered"

    def turn_away(self, connection: socket.socket) -> None:
        """Answer that all places are taken, without waiting for the client."""
        body = json.dumps({"error": f"{self.message}; close other pages of gaitgen, or try again"}).encode()
        lines = ("HTTP/1.0 503 Service Unavailable", "Content-Type: application/json", "Retry-After: 1")
        head = "\r\n".join((*lines, f"Content-Length: {len(body)}", "Connection: close", "", ""))
        with contextlib.suppress(OSError):
            connection.setblocking(False)
            connection.send(head.encode("ascii") + body)
            connection.shutdown(socket.SHUT_WR)
            connection.recv(65536)  # what is left unread would take the answer back
