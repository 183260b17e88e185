"""The wheel carries its data and works from outside the checkout."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from gaitgen import __version__
from gaitgen.page.page import SCRIPTS

ASKED = ["cycle", "walk", "--animal", "draft_horse", "--frames", "32", "--out", "made"]
ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    pytest.importorskip("build")
    folder = tmp_path_factory.mktemp("wheel")
    done = subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(folder), str(ROOT)],
        capture_output=True,
        text=True,
        timeout=180,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return next(folder.glob("*.whl"))


def test_the_wheel_has_the_version_of_the_package(wheel):
    assert wheel.name.startswith(f"gaitgen-{__version__}-")


def test_data_files_are_inside(wheel):
    names = zipfile.ZipFile(wheel).namelist()
    for animal in ("riding_horse", "draft_horse"):
        assert f"gaitgen/skeletons/{animal}.toml" in names
    assert "gaitgen/gaits/walk.toml" in names
    for name in ("page.html", "page.css", *SCRIPTS):
        assert f"gaitgen/page/{name}" in names
    assert not [name for name in names if name.startswith(("tests/", "outputs/"))]


@pytest.mark.thorough
def test_it_works_outside_the_checkout(wheel, tmp_path):
    site = tmp_path / "site"
    zipfile.ZipFile(wheel).extractall(site)
    code = (
        "import gaitgen, sys; print(gaitgen.__file__)\n"
        "from gaitgen.commands import run; sys.exit(run(sys.argv[1:]))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *ASKED],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(site)},
    )
    assert done.returncode == 0, done.stderr
    assert str(site) in done.stdout
    assert (tmp_path / "made" / "draft_horse_walk_32.bvh").is_file()
