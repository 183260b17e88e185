"""A cycle is the same to the byte on a newer and on an older processor.

numpy and OpenBLAS choose among ways to compute by what a processor can do; both can be told to do without
(numpy's reference, "CPU/SIMD optimizations"; OpenBLAS's user manual, "OPENBLAS_CORETYPE").
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from numpy._core import _multiarray_umath as found

ROOT = Path(__file__).resolve().parent.parent
USED = [name for name in getattr(found, "__cpu_dispatch__", ()) if found.__cpu_features__.get(name)]
OLDER = {"NPY_DISABLE_CPU_FEATURES": " ".join(USED), "OPENBLAS_CORETYPE": "Nehalem"}
MADE = """
import contextlib, io, pathlib
from gaitgen.commands import run
for gait, animal in (("walk", "riding_horse"), ("trot", "dog"), ("canter", "draft_horse")):
    said = io.StringIO()
    more = ["--glb", "--controls", "--json", "--name", gait]
    with contextlib.redirect_stdout(said):
        run(["cycle", gait, "--animal", animal, "--frames", "14", *more])
        run(["check", f"{gait}.bvh", "--json"])
    pathlib.Path(f"{gait}.json").write_text(said.getvalue(), encoding="utf-8")
"""


@pytest.mark.thorough
@pytest.mark.skipif(not USED, reason="numpy has one way only on this processor")
def test_an_older_processor_makes_the_same_bytes(tmp_path):
    made = []
    for name, settings in (("newer", {}), ("older", OLDER)):
        folder = tmp_path / name
        folder.mkdir()
        env = {**os.environ, "PYTHONPATH": str(ROOT), **settings}
        subprocess.run([sys.executable, "-c", MADE], cwd=folder, env=env, check=True, timeout=300)
        made.append({path.name: path.read_bytes() for path in folder.iterdir()})
    assert made[0].keys() == made[1].keys()
    assert len(made[0]) == 3 * 7 + 1
    assert [name for name in made[0] if made[0][name] != made[1][name]] == []
