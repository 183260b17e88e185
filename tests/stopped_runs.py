"""Runs one command again and again, each time in a fresh copy of a folder, and stops it one moment later.

A moment is a call to the system about a file of that folder: opening, renaming, linking, removing, syncing.
What is done there is a signal to itself, or somebody saving a file. Read by `tests/test_stopped_runs.py`.
"""

import json
import os
import shutil
import sys
from pathlib import Path

MOST = 400
EVENTS = {"open", "os.rename", "os.link", "os.remove", "os.mkdir", "os.chmod", "shutil.copyfile"}


class Moments:
    """Counts what the system is asked about a folder, and does something at one of these moments."""

    def __init__(self, folder, at, do):
        self.folder, self.at, self.do, self.count = str(folder), at, do, 0
        self.is_at_work = False
        sys.addaudithook(self.hear)
        self.sync, os.fsync = os.fsync, self.fsync

    def fsync(self, descriptor):
        self.pass_one()
        self.sync(descriptor)

    def hear(self, event, arguments):
        if event in EVENTS and arguments and str(arguments[0]).startswith(self.folder):
            self.pass_one()

    def pass_one(self):
        if self.is_at_work:
            return
        self.count += 1
        if self.count == self.at:
            self.is_at_work = True
            self.do()
            self.is_at_work = False


def saved(path, text, *, anew):
    """Save a file as an editor does: over itself, or under another name that is then renamed."""
    if not anew:
        path.write_bytes(text)
        return
    beside = path.with_name("editor.tmp")
    beside.write_bytes(text)
    beside.replace(path)


def stopped(line, folder, at, what):
    """Fork, run a command and stop it at one moment; return how it ended, and whether it came so far."""
    read, write = os.pipe()
    child = os.fork()
    if not child:
        os.close(read)
        silent = os.open(os.devnull, os.O_WRONLY)
        os.dup2(silent, 1)
        os.dup2(silent, 2)
        _run(line, folder, at, what, write)
    os.close(write)
    came = os.read(read, 1) == b"!"
    os.close(read)
    _, status = os.waitpid(child, 0)
    return os.waitstatus_to_exitcode(status), came


def _run(line, folder, at, what, write):
    from gaitgen.commands import main

    def do():
        os.write(write, b"!")
        if isinstance(what, int):
            os.kill(os.getpid(), what)
        else:
            saved(folder / what["name"], what["text"].encode(), anew=what["anew"])

    sys.argv = ["gaitgen", *line]
    Moments(folder, at, do)
    code = 70
    try:
        main()
    except SystemExit as end:
        code = int(end.code or 0)
    finally:
        os._exit(code)


def every(asked):
    """Stop a command at every so many moments, and tell how each run ended."""
    from gaitgen.commands import run

    template, into = Path(asked["template"]), Path(asked["into"])
    warm = into / "warm"
    shutil.copytree(template, warm)
    run([part.format(warm) for part in asked["line"]])  # so that everything is loaded
    ends = []
    for at in range(1, MOST, asked["step"]):
        folder = into / str(at)
        shutil.copytree(template, folder)
        line = [part.format(folder) for part in asked["line"]]
        code, came = stopped(line, folder, at, asked["what"])
        ends.append((at, code, came))
        if not came:
            break
    return ends


if __name__ == "__main__":
    sys.stdout, out = sys.stderr, sys.stdout
    json.dump(every(json.loads(sys.argv[1])), out)
