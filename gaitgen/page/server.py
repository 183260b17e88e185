"""Serves the page on this machine only, makes a clip for each change, and writes files on request.

A page from elsewhere must not be able to read anything or make files: the server listens on the loopback
address, answers to its own names only (a foreign name that points here is refused), refuses requests that a
browser marks as coming from another origin, and writes only for a page that knows the token it was served
with.
"""

from __future__ import annotations

import errno
import hmac
import io
import socket
import socketserver
import sys
import time
from collections.abc import Callable
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import cast
from urllib.parse import SplitResult, urlsplit

from gaitgen.errors import GaitgenError, RequestError
from gaitgen.option import in_digits
from gaitgen.page.clip_desk import ClipDesk
from gaitgen.page.desk import Desk
from gaitgen.page.page import as_json
from gaitgen.page.seats import MOST_CONNECTIONS, Seats
from gaitgen.page.shot_desk import ShotDesk

ADDRESS = "127.0.0.1"
TOKEN_HEADER = "X-Gaitgen-Token"  # noqa: S105
MOST_BODY_BYTES = 20_000
PATIENCE_S = 10.0
"""How long a whole request, and an answer, may take on their way."""
_HEADERS = {
    "Cache-Control": "no-store",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Frame-Options": "DENY",
}


class Server(ThreadingHTTPServer):
    """Listens on the loopback address."""

    daemon_threads = True
    request_queue_size = MOST_CONNECTIONS

    def __init__(
        self, desk: Desk | ClipDesk | ShotDesk, port: int = 0, say: Callable[[str], object] = lambda _: None
    ) -> None:
        """Take a port; 0 takes a free one. ``say`` takes lines for whoever started the server.

        Raises
        ------
        RequestError
            If the port cannot be had.
        """
        self.desk = desk
        self.is_over = False
        self.seats = Seats(MOST_CONNECTIONS, say)
        if not 0 <= port <= 65535:
            message = f"port is {in_digits(port)}; give a number from 0 to 65535"
            raise RequestError(f"{message}, 0 takes a free one")
        try:
            super().__init__((ADDRESS, port), _Handler)
        except OSError as fault:
            reason = fault.strerror or type(fault).__name__
            message = (
                f"cannot serve on port {port}: {reason}; give another --port, or none to take a free one"
            )
            raise RequestError(message) from fault
        self.hosts = {f"{ADDRESS}:{self.server_port}", f"localhost:{self.server_port}"}

    def server_bind(self) -> None:
        """Take the address without asking a name server for its name."""
        socketserver.TCPServer.server_bind(self)
        self.server_name, self.server_port = ADDRESS, int(self.server_address[1])

    @property
    def url(self) -> str:
        """Where a browser finds the page."""
        return f"http://{ADDRESS}:{self.server_port}/"

    def process_request(self, request: socket.socket, client_address: object) -> None:  # type: ignore[override]
        """Answer a client on a thread of its own, if there is a place for one more."""
        if not self.seats.take():
            self.seats.turn_away(request)
            self.shutdown_request(request)
            return
        try:
            super().process_request(request, client_address)
        except BaseException:
            self.seats.leave()
            raise

    def process_request_thread(self, request: socket.socket, client_address: object) -> None:  # type: ignore[override]
        """Answer a client, and give its place back."""
        try:
            super().process_request_thread(request, client_address)
        finally:
            self.seats.leave()

    def handle_error(self, request: object, client_address: object) -> None:
        """Say nothing of clients that went away, took too long or outlast it; all else is a fault of ours."""
        if not self.is_over and not isinstance(sys.exc_info()[1], ConnectionError | TimeoutError):
            super().handle_error(request, client_address)  # type: ignore[arg-type]

    def finish(self) -> None:
        """Stop listening; files that are being written are finished first, and no more are begun."""
        self.is_over = True
        self.desk.writing.acquire()
        self.server_close()


class _Patient(io.RawIOBase):
    """Reads from a client until a moment: one that sends a byte now and then does not hold on for ever."""

    def __init__(self, connection: socket.socket, patience_s: float) -> None:
        self._connection = connection
        self._until_s = time.monotonic() + patience_s

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: memoryview) -> int:  # type: ignore[override]
        left_s = self._until_s - time.monotonic()
        if left_s <= 0.0:
            raise TimeoutError("the request took too long")
        before_s = self._connection.gettimeout()
        self._connection.settimeout(left_s)
        try:
            return self._connection.recv_into(buffer)
        finally:
            self._connection.settimeout(before_s)


class _Handler(BaseHTTPRequestHandler):
    """Answers one request."""

    server_version, sys_version = "gaitgen", ""
    timeout = PATIENCE_S

    def setup(self) -> None:
        """Read with patience for one request; a connection has no second one."""
        super().setup()
        self.rfile = io.BufferedReader(_Patient(self.connection, self.timeout))

    @property
    def _own(self) -> Server:
        return cast("Server", self.server)

    def do_GET(self) -> None:
        """Answer with the page or a clip."""
        if not self._is_ours():
            return
        target = self._target()
        if target.path == "/":
            self._try(self._own.desk.page, "text/html; charset=utf-8")
        elif target.path == "/clip":
            self._try(lambda: self._own.desk.clip(target.query))
        else:
            self._refuse(HTTPStatus.NOT_FOUND, "there is no such page")

    def do_POST(self) -> None:
        """Write files."""
        if not self._is_ours():
            return
        if self._target().path != "/write":
            self._refuse(HTTPStatus.NOT_FOUND, "there is no such page")
            return
        token = self.headers.get(TOKEN_HEADER, "").encode()
        if not hmac.compare_digest(token, self._own.desk.token.encode()):
            self._refuse(HTTPStatus.FORBIDDEN, "this page is of an earlier run; reload it")
            return
        length = self.headers.get("Content-Length", "")
        if not (_is_count(length) and int(length) <= MOST_BODY_BYTES):
            self._refuse(HTTPStatus.BAD_REQUEST, "the request has no usable length")
            return
        body = self.rfile.read(int(length))
        self._try(lambda: self._own.desk.write(body))

    def _target(self) -> SplitResult:
        """Take apart what is asked for; what cannot be is nowhere."""
        try:
            return urlsplit(self.path)
        except ValueError:
            return urlsplit("/?")._replace(path="")

    def _is_ours(self) -> bool:
        """Refuse foreign names and pages, and a line without a version, whose answer would have no head."""
        if self.request_version == "HTTP/0.9":
            self._refuse(HTTPStatus.BAD_REQUEST, "refused: the request names no version of HTTP")
            return False
        hosts = self._own.hosts
        origin, site = self.headers.get("Origin"), self.headers.get("Sec-Fetch-Site", "none")
        ours = self.headers.get("Host") in hosts
        ours = ours and (origin is None or origin in {f"http://{host}" for host in hosts})
        # Following a link from elsewhere to the page itself is harmless; anything else is not.
        ours = ours and (site in {"same-origin", "none"} or self.path == "/")
        if not ours:
            self._refuse(HTTPStatus.FORBIDDEN, "refused: this page answers on this machine only")
        return ours

    def _try(self, answer: object, kind: str = "application/json") -> None:
        """Send an answer, or the one line that says what is wrong."""
        try:
            body = answer()  # type: ignore[operator]
        except GaitgenError as error:
            self._refuse(HTTPStatus.BAD_REQUEST, str(error))
            return
        except OSError as fault:
            reason = fault.strerror or type(fault).__name__
            if fault.errno == errno.ENAMETOOLONG:
                self._refuse(HTTPStatus.BAD_REQUEST, f"{reason}; choose a shorter name")
                return
            self._refuse(
                HTTPStatus.INTERNAL_SERVER_ERROR, f"{reason}; start it again in a folder that is there"
            )
            return
        self._send(HTTPStatus.OK, body, kind)

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:
        """Refuse what is no request in the same way as all else."""
        reason = message or explain or HTTPStatus(code).phrase
        self._refuse(HTTPStatus(code), f"refused: {reason[:200]}")

    def _refuse(self, status: HTTPStatus, message: str) -> None:
        self._send(status, as_json({"error": message}).encode(), "application/json")

    def _send(self, status: HTTPStatus, body: bytes, kind: str) -> None:
        try:
            self.send_response(status)
            for name, value in {**_HEADERS, "Content-Type": kind, "Content-Length": str(len(body))}.items():
                self.send_header(name, value)
            self.end_headers()
            self.wfile.write(body)
        except (ConnectionError, TimeoutError):  # the page has moved on
            self.close_connection = True

    def log_message(self, format: str, *arguments: object) -> None:  # noqa: A002
        """Say nothing; the page shows what matters."""


def _is_count(text: str) -> bool:
    """Tell whether a text is a whole number that is short enough to be read as one."""
    return text.isascii() and text.isdigit() and len(text) <= len(str(MOST_BODY_BYTES))
