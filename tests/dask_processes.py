"""A dask scheduler and workers as processes of their own, on the loopback only."""

import contextlib
import json
import os
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PYTHON_PATH = os.pathsep.join(filter(None, [str(ROOT), os.environ.get("PYTHONPATH")]))
SETTINGS = {
    "OMP_NUM_THREADS": "1",
    "DASK_DISTRIBUTED__SCHEDULER__IDLE_TIMEOUT": "5 minutes",  # should nobody be there to stop it
}
LOOPBACK = ("--host", "127.0.0.1", "--no-dashboard", "--dashboard-address", "127.0.0.1:0")


class Cluster:
    """A scheduler on a free port, and the workers started so far."""

    def __init__(self, folder):
        self.folder, self.workers = folder, []
        note = folder / "scheduler.json"
        self.scheduler = self._start("dask_scheduler", "--port", "0", "--scheduler-file", str(note))
        self.address, deadline = "", time.monotonic() + 30
        while not self.address:
            assert time.monotonic() < deadline
            assert self.scheduler.poll() is None, (folder / "dask_scheduler.log").read_text()
            time.sleep(0.05)
            with contextlib.suppress(FileNotFoundError, json.JSONDecodeError):  # not there yet, or half
                self.address = json.loads(note.read_text())["address"]
        assert self.address.startswith("tcp://127.0.0.1:")

    def _start(self, module, *options, environment=None):
        with (self.folder / f"{module}.log").open("ab") as log:
            return subprocess.Popen(
                [sys.executable, "-m", f"distributed.cli.{module}", *LOOPBACK, *options],
                cwd=self.folder,
                env={**os.environ, **SETTINGS, "DASK_CONFIG": str(self.folder), **(environment or {})},
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
            )

    def add_worker(self, **environment):
        """Start one worker with one thread, and no keeper that would start it again."""
        environment.setdefault("PYTHONPATH", PYTHON_PATH)
        place = ("--local-directory", str(self.folder), "--memory-limit", "0")
        options = ("--nthreads", "1", "--no-nanny", "--death-timeout", "30", *place)
        self.workers.append(self._start("dask_worker", self.address, *options, environment=environment))
        return self.workers[-1]

    def kill_worker(self):
        """End the oldest worker without a chance to say so."""
        worker = self.workers.pop(0)
        worker.kill()
        worker.wait()

    def stop(self):
        for process in (*self.workers, self.scheduler):
            process.kill()
            process.wait()
