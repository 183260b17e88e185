"""What the server shows of a clip in a file: the page that stands alone, nothing to change and to write."""

from __future__ import annotations

import secrets
import threading
from dataclasses import dataclass, field

from gaitgen.errors import RequestError


@dataclass
class ClipDesk:
    """Stands for a Desk.

    Attributes
    ----------
    shown
        The page.
    token
        Known to nobody.
    writing
        Never held.
    """

    shown: bytes
    token: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    writing: threading.Lock = field(default_factory=threading.Lock)

    def page(self) -> bytes:
        """Return the page."""
        return self.shown

    def clip(self, query: str) -> bytes:
        """Refuse to change a clip.

        Raises
        ------
        RequestError
            Always.
        """
        raise RequestError(
            f"the page shows a clip as it is and has no {query.partition('=')[0] or 'sliders'}"
        )

    def write(self, body: bytes) -> bytes:
        """Refuse to write.

        Raises
        ------
        RequestError
            Always.
        """
        raise RequestError(
            f"the page shows a clip as it is and writes no files; {len(body)} bytes left unread"
        )
