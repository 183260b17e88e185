"""Every command and every example of the README runs as it stands."""

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

README = (Path(__file__).resolve().parent.parent / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```(\w+)\n(.*?)```", README, flags=re.DOTALL)
COMMANDS = [line for kind, text in BLOCKS if kind == "console" for line in text.splitlines()]
OWN = [line for line in COMMANDS if line.startswith("gaitgen ")]


def test_every_command_runs_one_after_the_other(tmp_path):
    root = Path(__file__).resolve().parent.parent
    for name in ("made", "outputs"):
        (tmp_path / name).mkdir()
    shutil.copy(root / "tests" / "rigs" / "plain.bvh", tmp_path / "rig.bvh")  # the reader's own rig
    environment = dict(os.environ, PYTHONPATH=str(root))
    assert len(OWN) > 15
    for line in OWN:
        command = line.replace("gaitgen", f"{shlex.quote(sys.executable)} -m gaitgen", 1)
        done = subprocess.run(
            ["bash", "-c", command],
            cwd=tmp_path,
            env=environment,
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )

        assert done.returncode == 0, f"{line}: {done.stderr}"


def test_set_up_makes_the_walk_and_runs_the_tests():
    first, second = COMMANDS[:2]
    assert "gaitgen cycle walk --out outputs" in first
    assert second.endswith("-m pytest -q -n auto")
    picture = re.search(r"!\[.*?\]\((.*?)\)", README)[1]
    assert picture == "outputs/riding_horse_walk_32_sheet_1.png"
    assert "gaitgen sheet walk --png --out outputs/riding_horse_walk_32_sheet.pdf" in OWN
    assert (Path(__file__).resolve().parent.parent / picture).is_file()


@pytest.mark.parametrize("text", [text for kind, text in BLOCKS if kind == "python"])
def test_python(text):
    exec(compile(text, "README.md", "exec"), {})  # noqa: S102


@pytest.mark.parametrize("text", [text for kind, text in BLOCKS if kind == "toml"])
def test_toml(text):
    from gaitgen.animal.library import read_skeleton

    assert read_skeleton(text.encode(), "README.md").withers_height_m == 1.5
