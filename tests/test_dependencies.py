"""What is installed with gaitgen is what its code imports, and what decides bytes is known by its version."""

import ast
import re
import subprocess
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

from gaitgen.batch.identity import version

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def _named(requirements):
    return {re.match(r"[A-Za-z0-9_-]+", line)[0].lower() for line in requirements}


def _imported():
    """Every package that is not of Python itself or ours, wherever in the code it is imported."""
    found = set()
    for path in (ROOT / "gaitgen").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [each.name for each in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom) and not node.level:
                names = [node.module]
            found |= {name.partition(".")[0] for name in names}
    return found - set(sys.stdlib_module_names) - {"gaitgen"}


def test_what_is_installed_is_what_is_imported():
    assert _imported() - {"dask", "distributed"} == _named(PROJECT["dependencies"])
    assert _named(PROJECT["optional-dependencies"]["cluster"]) == {"dask"}  # which brings distributed


@pytest.mark.thorough
def test_packages_that_make_a_clip_are_part_of_the_name_of_what_makes_it():
    code = (
        "import sys; before = set(sys.modules); "
        "from gaitgen import Request; from gaitgen.batch import job; "
        "from gaitgen.batch.plan import plan_variants; "
        "from gaitgen.formats.axes import FileSpace; from gaitgen.formats.hand_off import HandOff; "
        "plan = plan_variants(Request(), ['riding_horse'], [12]); "
        "ids = {plan[0].name: ''}; "
        "job.make(job.jobs(plan, FileSpace(), HandOff(controls=True), ids)[0]); "
        "print(*sorted({name.partition('.')[0] for name in set(sys.modules) - before}))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True
    )
    homes = packages_distributions()  # of a module on the top level: what was installed to have it
    used = {home for name in done.stdout.split() for home in homes.get(name, ())} - {"gaitgen"}
    named = {word.split()[0] for word in version().split(", ")} - {"gaitgen"}
    assert {"numpy", "quadprog"} <= used <= named
