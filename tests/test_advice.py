"""What errors and notices advise can be done: an option that they name is one of the command that says it."""

import ast
import re
from pathlib import Path

import numpy as np
import pytest

import gaitgen
from gaitgen.commands.app import COMMANDS
from gaitgen.edits.reached import Planted, reached
from gaitgen.errors import RequestError

HERE = Path(gaitgen.__file__).parent
DRAW = ("sheet", "plot", "preview")
CLIPS = ("cycle", "shot", "join", "carry", "bake")
APP = "commands/app.py"  # makes the help of each command, which all have
# Which commands say the words of a module, or of a room; `fit --rest` and the like name their command.
SAID_BY = {
    "batch": ("variants",),
    "check": ("check",),
    "commands/animal_text.py": ("animals",),
    "commands/check_file.py": ("check",),
    "commands/cycle.py": ("cycle", "bake", "carry"),
    "commands/edits.py": ("bake",),
    "commands/look_up.py": ("animals",),
    "commands/many.py": ("variants",),
    "commands/preview.py": ("preview",),
    "commands/shot.py": ("shot",),
    "commands/source.py": DRAW,
    "edits/bake.py": ("bake",),
    "edits": ("carry",),
    "formats/kept.py": CLIPS,
    "formats/wanted.py": ("cycle", "shot", "join"),
    "formats/write.py": ("cycle", "shot", "join", "carry"),
    "page/server.py": ("preview",),
    "pipeline/settle.py": ("cycle", *DRAW),
    "reading": (*DRAW, "carry"),
    "rigs/command.py": ("fit",),
    "rigs/fit_report.py": ("fit",),
    "rigs/map_text.py": ("cycle", "variants", "join", "carry", *DRAW),
    "shot/join.py": ("join",),
}
NAMED = re.compile(r"`?gaitgen (\w+)((?: [^`;]*?)?)(?:`|;|$)")
# A text that is nothing else declares an option, or is an argument.
DECLARED = re.compile(r"\s*(--[\w-]*\s?)(/--[\w-]*\s?)?")
OPTION = re.compile(r"(?<![\w`<!-])--[a-z][a-z-]*")


def _options(command):
    return {word for item in COMMANDS.commands[command].params for word in (*item.opts, *item.secondary_opts)}


def _texts(path):
    """Every text of a module but its docstrings and the options themselves; what is filled in is a space."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    rooms = ast.Module | ast.FunctionDef | ast.ClassDef
    inside = {
        id(each.value)
        for node in ast.walk(tree)
        if isinstance(node, rooms)
        for each in node.body
        if isinstance(each, ast.Expr)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            inside |= {id(part) for part in node.values}
            parts = (part.value if isinstance(part, ast.Constant) else " " for part in node.values)
            yield node.lineno, "".join(map(str, parts))
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in inside:
            yield node.lineno, node.value


def _advice():
    for path in sorted(HERE.rglob("*.py")):
        name = path.relative_to(HERE).as_posix()
        for line, text in _texts(path):
            if OPTION.search(text) and not DECLARED.fullmatch(text) and name != APP:
                yield name, line, text


def _told(name, text):
    """Pairs of a command and an option that it has to have."""
    for command, rest in NAMED.findall(text):
        yield from ((command, option) for option in OPTION.findall(rest))
    loose = OPTION.findall(NAMED.sub(" ", text))
    room = name.partition("/")[0]
    for option in loose:
        commands = SAID_BY.get(name, SAID_BY.get(room, ("none",)))
        yield from ((command, option) for command in commands)


def test_the_clip_of_a_shot_is_pointed_to_where_it_is_carried():
    """Feet that miss their prints by metres were not put there by hand."""
    for miss_m, words in ((20.0, "`gaitgen shot --edited`"), (0.3, "or move the feet less")):
        far = Planted("pose", np.full((3, 4), miss_m), 0.0)
        with pytest.raises(RequestError, match=words):
            reached(lambda *_, far=far: far, 1.0)


def test_an_option_that_is_advised_is_one_of_the_command_that_says_so():
    advice = list(_advice())
    wrong = [
        f"{name}:{line}: {command} has no {option}: {text}"
        for name, line, text in advice
        for command, option in _told(name, text)
        if command not in COMMANDS.commands or option not in _options(command)
    ]
    assert not wrong, "\n".join(wrong)
    assert len(advice) > 50  # they are found at all
    assert all("--force" in _options(command) for command in (*CLIPS, *DRAW))
