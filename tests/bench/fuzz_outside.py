"""Signals and requests for the fuzzer: what comes to gaitgen from outside."""

import contextlib
import json
import os
import signal
import socket
import sys
import tempfile
import time
import traceback
from pathlib import Path
from urllib.parse import urlencode

from fuzz_damage import NUMBERS, WORDS, bytes_damaged
from fuzz_judge import HUNG_S, said_of_fault

from gaitgen.commands import main as main_of_command
from gaitgen.commands.signals import Ended, farewell, listen
from gaitgen.formats.record import RECORD
from gaitgen.page.server import TOKEN_HEADER, Server


def signalled(draw, sound):
    """Send a command that writes a signal, once or twice, in a process of its own."""
    with tempfile.TemporaryDirectory(prefix="fuzz-") as folder:
        here = Path(folder)
        by_hand = sound["walk"] + b"0.0 \n"
        (here / "w.bvh").write_bytes(by_hand)
        for name, data in sound["keyed"].items():
            (here / name).write_bytes(data)
        given = draw.choice(
            (
                ["cycle", "walk", "--frames", "8", "--out", folder, "--name", "w"],
                ["cycle", "walk", "--frames", "8", "--controls", "--out", folder, "--name", "new"],
                ["bake", f"{folder}/k.keys.csv", "--name", "w"],
                ["check", f"{folder}/k.bvh", "--json"],
                ["variants", "walk", "--frames", "8,9", "--workers", "1", "--out", folder],
            )
        )
        before = {path.name for path in here.iterdir()}
        numbers = draw.choices((signal.SIGINT, signal.SIGTERM, signal.SIGHUP), k=draw.choice((1, 1, 2, 3)))
        ready, tell = os.pipe()
        child = os.fork()
        if child == 0:
            _be_command(given, tell, here / "err")
        os.close(tell)
        os.read(ready, 1)
        os.close(ready)
        for number in numbers:
            time.sleep(draw.choice((0.0, draw.uniform(0, 0.3), draw.uniform(0, 0.02))))
            with contextlib.suppress(ProcessLookupError):
                os.kill(child, number)
        code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        error = (here / "err").read_text(errors="surrogateescape")
        left = [path.name for path in here.iterdir() if ".gaitgen-" in path.name and path.name != RECORD]
        news = [path for path in here.glob("*.bvh") if path.name not in before]
        if code not in {0, 1, *(128 + number for number in numbers)}:
            return f"exit code: {code} after {numbers}: {error[-200:]!r}"
        if code > 1 and (error.count("\n") != 1 or not error.startswith("gaitgen: ")):
            return f"other than a line: {error[-200:]!r}"
        if left:
            return f"left a file: {left[0]}"
        if (here / "w.bvh").read_bytes() != by_hand:
            return "lost work: replaced what was made by hand"
        if any(not path.read_bytes().endswith(b"\n") for path in news):
            return "left a file: half of one"
        return "refused" if code > 1 else "done"


def _be_command(given, tell, error):
    """Be the command, in a new process, from where signals are heard."""
    code = 70
    try:
        signal.setitimer(signal.ITIMER_PROF, 0)
        os.dup2(os.open(error, os.O_CREAT | os.O_WRONLY), 2)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        sys.stdout, sys.stderr = os.fdopen(1, "w", closefd=False), os.fdopen(2, "w", closefd=False)
        sys.argv = ["gaitgen", *given]
        listen()
        os.write(tell, b"1")
        main_of_command()
    except SystemExit as end:
        code = end.code
    except Ended as stop:  # between the two lines above
        print(farewell(stop.number)[0], file=sys.stderr)
        code = farewell(stop.number)[1]
    except BaseException:  # noqa: BLE001  that is what is looked for
        traceback.print_exc()
    finally:
        sys.stderr.flush()
        os._exit(code)


class Watched(Server):
    """A server that keeps what went wrong on its threads."""

    faults = ()

    def handle_error(self, _request, _client_address):
        fault = sys.exc_info()[1]
        if not isinstance(fault, ConnectionError | TimeoutError):
            self.faults = (*self.faults, said_of_fault(fault))


def request(server, draw):
    """Send the server some bytes that may be a request; two of three are one but for what they ask."""
    body = _body(draw)
    is_one = draw.random() < 0.67
    method, path = draw.choice((("GET", "/clip"), ("GET", "/clip"), ("POST", "/write"), ("POST", "/write")))
    host, token, length = "127.0.0.1", server.desk.token, str(len(body))
    if not is_one:
        method = draw.choice(("GET", "POST", "PUT", "BREW", ""))
        path = draw.choice(("/", "/clip", "/write", "//["))
        host = draw.choice(("127.0.0.1", "localhost", "elsewhere"))
        token = draw.choice((token, token, "guess"))
        length = draw.choice(("2", "0", "40", *NUMBERS))
    lines = [
        f"{method} {path}{_query(draw, is_one)} HTTP/{'1.1' if is_one else draw.choice(('1.0', '9', ''))}",
        f"Host: {host}:{server.server_port}",
        f"{TOKEN_HEADER}: {token}",
        f"Content-Length: {length}",
    ]
    data = "\r\n".join([*lines, "", ""]).encode("utf-8", "surrogateescape") + body
    if not is_one and draw.random() < 0.5:
        data = bytes_damaged(data, draw)
    return _answered(server, _sent(server.server_port, data))


def _query(draw, is_one):
    """Ask for a clip or a path, of which a value is none now and then."""
    if not is_one:
        return draw.choice(("", f"?frames={draw.choice(NUMBERS)}", f"?{draw.choice(WORDS)}"))
    points = ";".join(
        f"{draw.choice(('0', '3', '9', *NUMBERS[:7]))},{draw.uniform(-9, 9):.4g}" for _ in "abc"
    )
    name = draw.choice(("frames", "nod", "lift", "points", "radius", "animal", "contacts", "é"))
    values = {name: draw.choice((points, *NUMBERS, *WORDS)), "frames": draw.choice(("8", "x", "1e3"))}
    return f"?{urlencode(values)}"


def _body(draw):
    """Make the body of a request to write."""
    name = draw.choice(("frames", "nod", "animal", "x", "points", "radius"))
    values = {name: draw.choice((*NUMBERS, *WORDS, 12, None, ["1"], {}, "0,0;8,0;12,6"))}
    asked = {"values": values, "name": draw.choice(("", "a/b", "..", "x" * 300, 7, *WORDS))}
    deep = (
        "[" * 5000,
        '{"a":' * 3000,
        '{"values": {}, "name": "a/b"}',
        "{}",
        "nul",
        "1e999",
        "NaN",
        '"\\ud800"',
    )
    text = draw.choice((*deep, *[json.dumps(asked)] * 8))
    data = text.encode("utf-8", "surrogateescape")
    return bytes_damaged(data, draw) if draw.random() < 0.2 else data


def _sent(port, data):
    """Send bytes and return the whole answer."""
    answer = b""
    with socket.create_connection(("127.0.0.1", port), timeout=HUNG_S / 2) as connection:
        with contextlib.suppress(OSError):
            connection.sendall(data)
            connection.shutdown(socket.SHUT_WR)
        try:
            while more := connection.recv(65536):
                answer += more
        except TimeoutError:
            return None
        except OSError:
            pass
    return answer


def _answered(server, answer):
    """Judge an answer."""
    faults, server.faults = server.faults, ()
    if faults:
        return faults[0]
    if answer is None:
        return f"hang: no answer in {HUNG_S / 2} s"
    if not answer:
        return "left"
    head, _, body = answer.rpartition(b"\r\n\r\n")  # HTTP/0.9 has no head
    if head.startswith(b"HTTP/1.0 200"):
        return "done"
    try:
        return "refused" if list(json.loads(body)) == ["error"] else "other than a line: another answer"
    except ValueError:
        return f"other than a line: {answer[:60]!r}"
