"""In what unit a rig is built: guessed, or told beside the guess, whatever animal and unit."""

import re
from dataclasses import replace

import numpy as np
import pytest
from make_last_rigs import LAST
from make_late_rigs import LATE
from make_more_rigs import MORE
from make_rigs import UNITS, base, moved, text
from make_ten_rigs import TEN

from gaitgen.commands import run
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.formats.units import unit_m
from gaitgen.gait.request import Request
from gaitgen.rigs.command import cycle_on_rig, fit
from gaitgen.rigs.find import find_rig

pytestmark = pytest.mark.filterwarnings("ignore:Gimbal lock")  # of the writer of rigs with aimed axes
# Hips of 0.185 to 1.6 m, and a boar, a mole, a rat, a jerboa and a giant, which were guessed wrong without a
# word. A mole in dm, a rat in mm, dm and ft, and a giant in ft and dm cannot be told from others.
USUAL = {"horse": base(), **{name: LATE[name] for name in ("teckel", "liontari", "konik", "twiga", "vadkan")}}
ODD_SIZES = {
    "boar": (TEN["boar"], ("cm", "in", "m", "mm")),
    "topo": (MORE["topo"], ("cm", "in", "m", "mm")),
    "jumper": (TEN["jumper"], ("cm", "in", "m", "mm")),
    "ratita": (LAST["ratita"], ("cm", "in", "m")),
    "bestia": (LAST["bestia"], ("cm", "in", "m", "mm")),
}
CASES = [(name, plan, unit) for name, plan in USUAL.items() for unit in ("cm", "m", "in", "mm", "ft", "dm")]
CASES += [(name, plan, unit) for name, (plan, units) in ODD_SIZES.items() for unit in units]


def units_of(plan):
    """The unit that is guessed, those that are told beside it, and the whole doubt."""
    found, notices = find_rig(read_bvh(text(plan).encode(), "it"), "it")
    said = next(notice.text for notice in notices if notice.topic == "unit")
    said = said.replace("inches", "in").replace("feet", "ft")
    told = re.findall(r"; (\S+) would fit about as well", said)
    less = re.search(r"less likely (.*?);", said)
    told += re.findall(r"(\S+) \([0-9.e+-]+ m\)", less[1]) if less else []
    return found.unit, told, said


@pytest.mark.sample(4, 12)
@pytest.mark.parametrize(
    ("name", "plan", "unit"), [pytest.param(*case, id=f"{case[0]}-{case[2]}") for case in CASES]
)
def test_the_unit_is_guessed_or_told(name, plan, unit):
    guessed, told, said = units_of(replace(plan, unit=unit))
    assert unit in (guessed, *told), (name, said)


@pytest.mark.parametrize("unit", UNITS)
def test_heights_that_are_told_are_those_of_the_rig(unit):
    """The hips of the invented horse are 1.2 m high, and stand so beside its unit wherever that is told."""
    guessed, told, said = units_of(replace(base(), unit=unit))
    heights = dict(
        re.findall(
            r"(?:guessed: |less likely |or |; )(\S+)(?: would fit about as well)? \((?:hips )?([0-9.]+) m",
            said,
        )
    )
    if unit == "100 m":
        assert guessed == unit
        heights = {unit: re.search(r"100 m \(hips ([0-9.]+) m", said)[1]}
    assert unit in (guessed, *told)
    np.testing.assert_allclose(float(heights[unit]), 1.2, rtol=0.01)


@pytest.mark.parametrize("name", ["teckel", "konik", "vadkan"])
def test_a_rig_that_is_one_high_is_told_how_long_its_unit_would_be(name):
    """Built to no unit, its hips at .8: the unit of its animal's size is told, near that of its own size."""
    hip_m = {"teckel": 0.185, "konik": 0.86, "vadkan": 0.58}[name]
    guessed, _, said = units_of(replace(moved(LATE[name], 0.8 / hip_m), unit="m"))
    own = re.search(r'unit = "([0-9.]+) m"', said)
    length = float(own[1]) if own else unit_m(guessed)
    assert abs(np.log(length / (hip_m / 0.8))) < np.log(1.6), said


@pytest.mark.thorough
@pytest.mark.parametrize("unit", ["ft", "dm"])
def test_feet_and_decimetres_go_through_map_clip_and_check(unit, tmp_path, capsys):
    """The joints of the clip are where those of the same rig in metres are."""
    for word in (unit, "m"):
        (tmp_path / f"{word}.bvh").write_text(text(replace(base(), unit=word)))
        fit(tmp_path / f"{word}.bvh", tmp_path / f"{word}.toml")
        path = tmp_path / f"{word}.toml"
        path.write_text(re.sub("(?m)^unit = .*", f'unit = "{word}"', path.read_text()))
    rows = {
        word: read_bvh(cycle_on_rig(str(tmp_path / f"{word}.toml"), Request(frames=24)).bvh(), word).rows
        for word in (unit, "m")
    }
    there, here = rows[unit], rows["m"]
    np.testing.assert_allclose(there[:, :3] * UNITS[unit], here[:, :3], atol=1e-5)
    np.testing.assert_allclose(there[:, 3:], here[:, 3:], atol=1e-3)
    line = [
        "cycle",
        "walk",
        "--animal",
        str(tmp_path / f"{unit}.toml"),
        "--frames",
        "24",
        "--out",
        str(tmp_path),
    ]
    assert run([*line, "--name", "a", "--controls"]) == 0
    assert run(["check", str(tmp_path / "a.bvh"), "--map", str(tmp_path / f"{unit}.toml")]) == 0
    assert "nothing found" in capsys.readouterr().out.lower()


def test_a_unit_that_is_none_is_refused_with_those_that_are(tmp_path, capsys):
    (tmp_path / "a.bvh").write_text(text(base()))
    assert run(["fit", str(tmp_path / "a.bvh"), "--map", str(tmp_path / "a.toml")]) == 0
    path = tmp_path / "a.toml"
    path.write_text(path.read_text().replace('unit = "cm"', 'unit = "feet"'))
    capsys.readouterr()
    assert run(["cycle", "walk", "--animal", str(path), "--out", str(tmp_path)]) == 2
    assert "use one of cm, m, in, mm, dm, ft, or the length of a unit" in capsys.readouterr().err
