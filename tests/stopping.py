"""Runs a command again and again, each time stopped some steps later, in a process of its own."""

import json
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent


def ends_of_stopped(template, into, line, what, step):
    """What each run left, as `stopped_runs` tells it; the last one is not stopped."""
    asked = {"template": str(template), "into": str(into), "line": line, "what": what, "step": step}
    done = subprocess.run(
        [sys.executable, str(ROOT / "tests" / "stopped_runs.py"), json.dumps(asked)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        timeout=600,
        check=True,
    )
    ends = json.loads(done.stdout)
    assert not ends[-1][2], "the last one ran to its end"
    return ends
