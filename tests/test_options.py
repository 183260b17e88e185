"""Options exist once: on the field they fill, from where command line, page and limits take them."""

import re
import subprocess
import sys
from dataclasses import field, make_dataclass, replace
from typing import Annotated

import pytest
import typer

import gaitgen
from gaitgen import GaitgenError, Proportions, Request, Style, make_cycle
from gaitgen.commands import run
from gaitgen.commands.app import COMMANDS
from gaitgen.commands.options import Only, command
from gaitgen.errors import RequestError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.wanted import HandOff
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.request import FEET
from gaitgen.motion.tolerance import Tolerance
from gaitgen.numerics.rotations import EULER_ORDERS
from gaitgen.option import Option, Slider, option, options_of, with_values
from gaitgen.page.controls import request_from, table, values_of

HOP = field(
    default=0.2,
    metadata=option(
        "Height of a hop in m",
        "0 stays on the ground",
        name="hop",
        limits=(0.0, 1.5),
        slider=Slider("Style", step=0.01, unit=" m"),
    ),
)
Hopping = make_dataclass("Hopping", [("hop_m", float, HOP)], bases=(Request,), frozen=True)


def parameters(name):
    return {item.name: item for item in COMMANDS.commands[name].params}


# One more option is one more field


def hop(*, asked: Hopping, times: Annotated[int, Option("Number of hops", limits=(1, 9))] = 1):
    """Hop."""
    hop.made = (asked, times)


def alone(run):
    app = typer.Typer(add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)
    app.command()(command(run))
    return typer.main.get_command(app)


def given(*arguments):
    alone(hop).main(["walk", *arguments], standalone_mode=False)
    return hop.made


def test_one_more_field_is_an_option_of_a_command(capsys):
    assert given("--hop", "0.5", "--nod", "1.5") == (Hopping("walk", hop_m=0.5, style=Style(nod=1.5)), 1)
    assert given() == (Hopping("walk"), 1)
    with pytest.raises(RequestError, match=r"^hop is 2; give a number from 0 to 1\.5$"):
        given("--hop", "2")
    alone(hop).main(["--help"], standalone_mode=False)
    said = " ".join(capsys.readouterr().out.split())
    assert "--hop NUMBER Height of a hop in m, 0 to 1.5; 0 stays on the ground. [default: 0.2]" in said


def test_one_more_field_is_a_slider():
    shown = {row["name"]: row for row in table(Hopping())}
    assert shown["hop"] == {
        "name": "hop",
        "label": "Hop",
        "group": "Style",
        "hint": "Height of a hop in m.",
        "least": 0.0,
        "greatest": 1.5,
        "step": 0.01,
        "unit": " m",
        "own": "0.2",
    }
    assert [name for name in shown if name != "hop"] == [row["name"] for row in table(Request())]
    assert request_from({"hop": "0.75"}, Hopping()) == Hopping(hop_m=0.75)
    assert values_of(Hopping(hop_m=0.75)) == {"hop": "0.75"}
    with pytest.raises(RequestError, match="hop is 'high'; give a number"):
        request_from({"hop": "high"}, Hopping())
    with pytest.raises(RequestError, match="unknown control 'hop'"):
        request_from({"hop": "0.75"}, Request())


def test_an_option_of_one_command_keeps_its_limits_too():
    assert given("--times", "3")[1] == 3
    with pytest.raises(RequestError, match=r"^times is 12; give a number from 1 to 9$"):
        given("--times", "12")


def test_a_command_may_take_some_options_alone():
    def some(*, wanted: Annotated[HandOff, Only("keys", "tolerance_deg")]):
        some.made = wanted

    made = alone(some)
    assert [item.name for item in made.params] == ["keys", "tolerance_deg"]
    made.main(["--no-keys", "--tolerance-deg", "2"], standalone_mode=False)
    assert some.made == HandOff(keys=False, tolerance=Tolerance(angle_deg=2.0))


def test_words_and_repeated_options_arrive_as_the_field_has_them():
    def some(
        *,
        space: Annotated[FileSpace, Only("up", "unit")],
        style: Annotated[tuple[str, ...], Option("A style", kind=str, is_repeated=True)] = (),
    ):
        some.made = (space, style)

    alone(some).main([], standalone_mode=False)
    assert some.made == (FileSpace(), ())
    assert {type(some.made[0].up), type(some.made[0].unit)} == {str}
    alone(some).main(["--up", "z", "--style", "a", "--style", "b"], standalone_mode=False)
    assert some.made == (FileSpace(up="z"), ("a", "b"))
    assert type(some.made[0].up) is str


def test_a_slider_without_ends_is_a_mistake():
    with pytest.raises(ValueError, match="the slider of 'Height' has no ends"):
        option("Height", slider=Slider("Style", step=0.1))


# What there is, is everywhere it belongs


def test_every_option_is_on_the_commands_and_reaches_its_field():
    everything = [found for owner in (Request, FileSpace, HandOff) for found in options_of(owner)]
    asked = [found.name for found in everything if found.option.is_offered]
    assert len(asked) == len(set(asked))
    assert set(asked) < set(parameters("cycle"))
    drawn = {found.name for found in options_of(Request) if found.option.is_drawn}
    assert drawn == set(asked) - {"in_place", "strides", "seed"} - {
        found.name for owner in (FileSpace, HandOff) for found in options_of(owner)
    }
    for name in ("sheet", "plot", "preview"):
        assert drawn < set(parameters(name))
    for found in options_of(Request):
        value = found.option.choices[-1] if found.option.choices else 0.3
        if found.option.limits:
            value = found.option.limits[1]
        assert found.read(with_values(Request(), {found.name: value})) == value


@pytest.mark.parametrize("name", list(COMMANDS.commands))
def test_help_is_whole_sentences_with_defaults(name, capsys):
    assert run([name, "--help"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    for item in COMMANDS.commands[name].params:
        sentence = item.help.partition("  [default")[0]
        assert sentence[0].isupper()
        assert sentence.endswith(".")
        assert not sentence.endswith("..")
        shows = isinstance(item.default, int | float) and not isinstance(item.default, bool)
        assert sentence + (f" [default: {item.default}]" if shows else "") in said


OWNERS = (Request, Style, Proportions, Tolerance)
LIMITED = [
    (owner, found)
    for owner in OWNERS
    for found in options_of(owner)
    if found.option.limits and len(found.path) == 1
]


def _made(owner, gait, name, value):
    asked = replace(owner(), **{name: value})
    make_cycle(replace(asked, gait=gait) if owner is Request else asked)


@pytest.mark.parametrize(
    ("owner", "found"),
    LIMITED,
    ids=[f"{owner.__name__} {found.field}" for owner, found in LIMITED],
)
def test_the_limits_that_are_said_are_kept(owner, found):
    least, greatest = found.option.limits
    later = "gallop" if found.name == "duty_factor" else "walk"  # whose limits are those of the option
    told = least if found.option.told_from is None else found.option.told_from
    assert f"{told:g} to {greatest:g}" in found.option.sentence
    for value in (least, greatest):
        made = replace(owner(), **{found.field: value})
        if found.option.is_checked_later:  # the least of it quick legs do, the greatest slow ones
            quick = later == "gallop" and value == least
            gait, frames, rate_hz = ("gallop", 28, 48.0) if quick else ("walk", 64, 24.0)
            make_cycle(replace(made, gait=gait, frames=frames, frame_rate_hz=rate_hz))
    further = 1 if found.kind is int else 0.01 * least or 0.01
    for value in (least - further, greatest + further, float("nan"), float("inf")):
        with pytest.raises(GaitgenError, match=f"is {value:g}; .*give a number .*{told:g} .* {greatest:g}"):
            _made(owner, later, found.field, value)


def test_lists_that_the_stages_know_too_are_the_same():
    choices = {found.name: found.option.choices for found in options_of(FileSpace)}
    assert set(choices["rotation_order"]) == set(EULER_ORDERS)
    assert set(FEET) == set(LIMBS)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["fit"], "missing argument 'RIG'"),
        (["cycle", "walk", "--up", "q"], "invalid value for '--up': 'q' is not one of 'y', 'z'"),
        (["cycle", "walk", "--frames", "many"], "invalid value for '--frames': give a whole number"),
        (["cycle", "walk", "--hop", "1"], "no such option: --hop.*"),
        (["hop"], "no such command 'hop'.*"),
    ],
)
def test_what_cannot_be_read_is_one_line(arguments, said, capsys):
    assert run(arguments) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert re.fullmatch(
        f"gaitgen: {said}; see `gaitgen{'' if arguments[0] == 'hop' else f' {arguments[0]}'} --help`\n",
        shown.err,
    )


def test_every_command_says_what_it_does_in_one_line(monkeypatch, capsys):
    monkeypatch.setenv("COLUMNS", "80")
    assert run(["--help"]) == 0
    said = capsys.readouterr().out
    lines = said[said.index("Commands:") :].splitlines()[1:]
    assert len(lines) == len(COMMANDS.commands)
    assert all(len(line) <= 80 and line.endswith(".") and not line.endswith("...") for line in lines)


# Nothing heavy, and nothing lost, at the start


@pytest.mark.sample(1)
@pytest.mark.parametrize("arguments", [["--version"], ["--help"], ["cycle", "--help"], ["sheet", "--help"]])
def test_help_and_version_load_nothing_that_computes(arguments):
    code = (
        "import sys; from gaitgen.commands import run; run(sys.argv[1:]); "
        "heavy = {'numpy', 'scipy', 'matplotlib', 'rich', 'pydantic', 'importlib.metadata'}; "
        "heavy &= set(sys.modules); "
        "print('loaded:', sorted(heavy), 'typer' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments], capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout.splitlines()[-1] == f"loaded: [] {arguments != ['--version']}"


@pytest.mark.parametrize("arguments", [["--version"], ["--version", "cycle"]])
def test_the_version_is_that_of_the_package(arguments, capsys):
    assert run(arguments) == 0
    assert capsys.readouterr().out == f"gaitgen {gaitgen.__version__}\n"


def test_public_names_are_loaded_when_asked_for():
    assert all(getattr(gaitgen, name).__name__ == name for name in gaitgen.__all__)
    assert set(gaitgen.__all__) <= set(dir(gaitgen))
    with pytest.raises(AttributeError, match="module 'gaitgen' has no attribute 'walk'"):
        _ = gaitgen.walk
