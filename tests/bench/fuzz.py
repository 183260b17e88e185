"""Damaged files, odd options and no requests, by hand: `python tests/bench/fuzz.py [RUNS] [SECONDS] [FIRST]`.

Each run has a number; it draws a kind, damages something of that kind, and gives it to the command or the
server that reads it, or to the function that does (kinds that begin with "read"), which is some twenty times
quicker. Allowed are: done (0), findings (1), and refused (2, one line on standard error and no file written).
All else is a fault: its number is printed, so that `fuzz.py 1 60 NUMBER` does it again. After a minute in
which nothing was written, the table so far is.
"""

import contextlib
import io
import json
import os
import random
import signal
import socket
import sys
import tempfile
import threading
import time
import traceback
import warnings
from collections import Counter
from importlib import resources
from pathlib import Path

from matplotlib.image import imsave

from gaitgen import Request
from gaitgen.animal.library import load_animal, skeleton_folder
from gaitgen.batch.plan import parse_frames, parse_style
from gaitgen.batch.table import read_table
from gaitgen.check.cause_rules import KINDS as FINDINGS
from gaitgen.check.limits import load_limits
from gaitgen.check.meant import parse_meant
from gaitgen.commands import main as main_of_command
from gaitgen.commands import run
from gaitgen.commands.app import COMMANDS
from gaitgen.commands.signals import Ended, farewell, listen
from gaitgen.commands.terminal import guarded
from gaitgen.course.contacts import parse_contacts
from gaitgen.edits.bake import bake
from gaitgen.errors import GaitgenError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh_file import placed
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.formats.record import RECORD
from gaitgen.formats.wanted import HandOff
from gaitgen.gait.gait import gait_names, load_gait
from gaitgen.gait.leg_factors import parse_legs
from gaitgen.gait.presets import mixed, parse_names
from gaitgen.gait.style import Style
from gaitgen.option import options_of
from gaitgen.page.server import TOKEN_HEADER, Desk, Server
from gaitgen.rigs.map_file import read_map
from gaitgen.shot.request import shot_of
from gaitgen.shot.shot_file import read_shot
from gaitgen.shot.way_file import curve_way

HERE = Path(__file__).resolve().parent.parent
LIMIT_S = 60  # of the processor
SAID_EVERY_S = 60
# Where each run has its folder: in memory where there is such a place, as what is attacked is no disk.
FOLDERS = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None  # noqa: S108
NUMBERS = (
    *(
        "nan",
        "inf",
        "-inf",
        "1e308",
        "-1e308",
        "1e999",
        "1e-320",
        "0",
        "-0",
        "-1",
        "1e9",
        "1e5",
        "0.5",
        "1_0",
    ),
    *(
        "9" * 19,
        "9" * 400,
        "9" * 5000,
        "٣",
        "0x10",
        "1,5",
        "1e",
        "",
        "true",
        "1979-05-27",
        "[]",
        "{}",
        '""',
        "[[1]]",
    ),
)
WORDS = (
    "\x00",
    "\x1b[2J",
    "=1+1",
    "🐎",
    "\u202e",
    "{",
    "}",
    "JOINT",
    "OFFSET",
    "[",
    "]]",
    '"',
    "'",
    "\\",
    "x" * 300,
)


class TooLong(BaseException):
    """A run that takes more than LIMIT_S of the processor."""


def alarm(_number, _frame):
    raise TooLong


SHOTS = (
    """
animal = "dog"
fps = 12
start = "going"
end = "going"
[[passage]]
gait = "walk"
strides = 1
""",
    """
animal = "cat"
fps = 12
style = "tired 0.5"
[[passage]]
gait = "walk"
frames = 12
nod = 1.2
[[passage]]
halt = 4
""",
    """
fps = 12
start = "going"
end = "stand"
[[passage]]
speed = 1.2
distance = 3.0
style = "lame LF"
[[passage]]
gait = "trot"
strides = 1
stride_frames = 10
[path]
start = [1, 2]
heading = 30
legs = [{ straight = 2 }, { turn = -40, radius = 6 }]
[ground]
slope = 8
uphill = 20
""",
    """
fps = 12
start = "going"
end = "going"
[[passage]]
gait = "canter"
lead = "right"
strides = 1
[path]
points = [[0, 0], [6, 0], [12, 4]]
radius = 8
[ground]
profile = [[0, 0], [3, 0], [6, 0.2]]
""",
    """
animal = "dog"
fps = 12
start = "going"
[[passage]]
gait = "walk"
strides = 2
[[mark]]
at = [1.5, 0]
frame = 14
[[mark]]
at = [2.5, 0.1]
foot = "LF"
frame = 20
[path]
file = "way.csv"
[ground]
steps = [[1, 0.05], [1.6, 0.05]]
""",
    """
animal = "dog"
fps = 12
start = "going"
end = "going"
[[passage]]
gait = "walk"
strides = 1
[ground]
image = "hills.png"
metres_per_pixel = 2.0
heights = [0, 0.3]
corner = [-10, -10]
""",
    """
animal = "dog"
fps = 12
start = "going"
end = "going"
[[passage]]
gait = "walk"
strides = 1
[ground]
mesh = "land.obj"
up = "z"
at = [0, 0, 0]
scale = 1.0
""",
    """
fps = 12
start = "stand"
end = "stand"
[[passage]]
gait = "walk"
strides = 1
[[passage]]
halt = 6
[[passage]]
turn = 90
on = "haunches"
[[passage]]
halt = 3
[[passage]]
turn = -45
on = "forehand"
""",
)
STEPPED = SHOTS[0] + "[ground]\nsteps = [[0.4, 0.05], [0.9, 0.05]]\n"
WAY = b"x,y\n0,0\n2,0\n4,0.5\n6,2\n"
LAND = b"v -20 -20 0\nv 20 -20 0.4\nv 20 20 0.8\nv -20 20 0.4\nf 1 2 3\nf 1 3 4\n"

# What is damaged, and how


def words_damaged(text, draw):
    """Put other words in the place of some."""
    words = text.replace("\n", " \n ").split(" ")
    for _ in range(draw.choice((1, 1, 2, 5, 20))):
        words[draw.randrange(len(words))] = draw.choice(NUMBERS + WORDS)
    return " ".join(words)


def numbers_damaged(text, draw):
    """Put other numbers in the place of some, most of them such as might be meant."""
    words = text.replace("\n", " \n ").split(" ")
    places = [k for k, word in enumerate(words) if word.strip("-[],").replace(".", "").isdigit()]
    gentle = draw.random() < 0.7
    for place in draw.sample(places, min(len(places), draw.choice((1, 1, 2, 10)))):
        word = words[place]
        own = word.strip("[],")
        likely = (
            float(own) * draw.choice((0.0, -1.0, 0.5, 0.9, 1.1, 2.0, 10.0, 1e3, 1e6)),
            draw.uniform(-2, 2),
        )
        value = f"{draw.choice(likely):.6g}" if gentle else draw.choice(NUMBERS)
        words[place] = word.replace(own, value)
    return " ".join(words)


def lines_damaged(text, draw):
    """Drop, double, swap or add lines."""
    lines = text.split("\n")
    for _ in range(draw.choice((1, 2, 5))):
        place = draw.randrange(len(lines))
        kind = draw.randrange(4)
        if kind == 0 and len(lines) > 1:
            del lines[place]
        elif kind == 1:
            lines.insert(place, lines[draw.randrange(len(lines))])
        elif kind == 2:
            other = draw.randrange(len(lines))
            lines[place], lines[other] = lines[other], lines[place]
        else:
            lines.insert(place, draw.choice(WORDS + NUMBERS))
    return "\n".join(lines)


def bytes_damaged(data, draw):
    """Cut, or put some bytes in the place of others."""
    place = draw.randrange(len(data) + 1)
    if draw.random() < 0.3:
        return data[:place]
    return data[:place] + draw.randbytes(draw.randrange(12)) + data[place + draw.randrange(40) :]


def damaged(data, draw):
    """Damage a file of text."""
    how = draw.choice((words_damaged, *[numbers_damaged] * 4, lines_damaged, None))
    if how is None:
        return bytes_damaged(data, draw)
    return how(data.decode(), draw).encode("utf-8", "surrogateescape")


def sources():
    """Return sound files of each kind."""
    gait = (resources.files("gaitgen") / "gaits" / "walk.toml").read_bytes()
    gaits = [
        path.read_bytes()
        for path in (resources.files("gaitgen") / "gaits").iterdir()
        if path.suffix == ".toml"
    ]
    limits = (resources.files("gaitgen") / "check" / "limits" / "horse.toml").read_bytes()
    plain = HERE / "rigs" / "plain.bvh"
    rigs = [path.read_bytes() for path in sorted((HERE / "rigs").glob("*.bvh"))]
    with tempfile.TemporaryDirectory() as folder, silence():
        run(["cycle", "walk", "--frames", "12", "--no-keys", "--out", folder, "--name", "w"])
        run(["fit", str(plain), "--map", f"{folder}/m.toml"])
        run(
            [
                "cycle",
                "walk",
                "--frames",
                "12",
                "--animal",
                f"{folder}/m.toml",
                "--out",
                folder,
                "--name",
                "r",
            ]
        )
        run(["variants", "walk", "--frames", "8", "--no-keys", "--workers", "1", "--out", f"{folder}/v"])
        run(["cycle", "walk", "--frames", "8", "--controls", "--sparse", "--out", folder, "--name", "k"])
        walks, a_map = (
            [Path(folder, f"{name}.bvh").read_bytes() for name in "wr"],
            Path(folder, "m.toml").read_bytes(),
        )
        table = Path(folder, "v", "variants.csv").read_bytes()
        # Clips of shots, each with the text that it is made from.
        made = []
        for number, text in enumerate((STEPPED, SHOTS[5], SHOTS[6], SHOTS[7])):
            Path(folder, "land.obj").write_bytes(LAND)
            _hills(Path(folder, "hills.png"))
            Path(folder, f"s{number}.toml").write_text(text)
            run(["shot", f"{folder}/s{number}.toml", "--out", folder, "--no-keys"])
            made.append((text, Path(folder, f"s{number}.bvh").read_bytes()))
        keyed = {path.name: path.read_bytes() for path in Path(folder).glob("k.*")}
    hills = io.BytesIO()
    _hills(hills)
    animals = [path.read_bytes() for path in sorted(skeleton_folder().glob("*.toml"))]
    return {
        "walk": walks[0],
        "walks": walks,
        "rigs": rigs,
        "map": a_map,
        "table": table,
        "keyed": keyed,
        "shots": made,
        "hills": hills.getvalue(),
        "gait": gait,
        "gaits": sorted(gaits),
        "limits": limits,
        "animals": animals,
    }


def _hills(where):
    """Write a picture of hills."""
    imsave(where, [[(x * y) % 7 / 6 for x in range(12)] for y in range(12)], cmap="gray", format="png")


# Kinds of runs: each returns the arguments of a command


def clip_to_draw(draw, sound):
    Path("c.bvh").write_bytes(damaged(sound["walk"], draw))
    return draw.choice(
        (
            ["plot", "c.bvh", "--what", draw.choice(("footfalls", "trunk", "forces", "joints", "spectrum"))],
            ["preview", "c.bvh", "--html", "out/p.html"],
            ["preview", "c.bvh", "--html", "out/p.html"],
        )
    )


def clip_to_check(draw, sound):
    Path("c.bvh").write_bytes(damaged(draw.choice(sound["walks"]), draw))
    more = draw.choice(([], ["--json"], ["--json", "--against", "walk"], ["--pdf", "out/p.pdf"]))
    return ["check", "c.bvh", *more]


def rig(draw, sound):
    Path("r.bvh").write_bytes(damaged(draw.choice(sound["rigs"]), draw))
    return ["fit", "r.bvh", *draw.choice(([], ["--json"], ["--map", "out/m.toml"]))]


def rig_map(draw, sound):
    Path("plain.bvh").write_bytes((HERE / "rigs" / "plain.bvh").read_bytes())
    text = sound["map"].decode().replace(str(HERE / "rigs" / "plain.bvh"), "plain.bvh")
    Path("m.toml").write_bytes(
        damaged(
            "\n".join(
                'file = "plain.bvh"' if line.startswith("file") else line for line in text.split("\n")
            ).encode(),
            draw,
        )
    )
    return ["cycle", "walk", "--frames", "12", "--animal", "m.toml", "--out", "out"]


def animal(draw, sound):
    Path("a.toml").write_bytes(damaged(draw.choice(sound["animals"]), draw))
    return ["cycle", "walk", "--frames", "12", "--no-keys", "--animal", "a.toml", "--out", "out", "--json"]


def gait(draw, sound):
    Path("g.toml").write_bytes(damaged(sound["gait"], draw))
    return ["cycle", "g.toml", "--frames", "12", "--no-keys", "--out", "out", "--json"]


def limits(draw, sound):
    Path("c.bvh").write_bytes(sound["walk"])
    Path("l.toml").write_bytes(damaged(sound["limits"], draw))
    return ["check", "c.bvh", "--limits", "l.toml", "--json"]


def table(draw, sound):
    Path("out").mkdir()
    Path("out/variants.csv").write_bytes(damaged(sound["table"], draw))
    return ["variants", "walk", "--frames", "8", "--no-keys", "--workers", "1", "--out", "out"]


def keys(draw, sound):
    """Bake keys of which one file is damaged."""
    struck = draw.choice(("k.keys.csv", "k.keys.csv", "k.controls.keys.csv", "k.bvh"))
    for name, data in sound["keyed"].items():
        if name in {"k.keys.csv", "k.controls.keys.csv", "k.bvh"}:
            Path(name).write_bytes(damaged(data, draw) if name == struck else data)
    return ["bake", "k.keys.csv", "--out", "out"]


def refined(draw, sound):
    """Carry an edit from a damaged clip, or from a damaged one that it started from."""
    hurt, whole = damaged(sound["walk"], draw), sound["walk"]
    given, start = draw.choice(((hurt, whole), (hurt, whole), (whole, hurt)))
    Path("c.bvh").write_bytes(given)
    Path("s.bvh").write_bytes(start)
    more = draw.choice(([], ["--frames", "16"], ["--frames", value_for("frames", draw)]))
    return ["carry", "c.bvh", "--from", "s.bvh", *more, "--no-keys", "--out", "out", "--json"]


def _beside(draw, sound):
    """Write the files that shot files name, one of them damaged now and then."""
    for name, data in (("way.csv", WAY), ("land.obj", LAND), ("hills.png", sound["hills"])):
        is_hurt = draw.random() < 0.3
        how = bytes_damaged if name.endswith(".png") else damaged
        Path(name).write_bytes(how(data, draw) if is_hurt else data)


def shot(draw, sound):
    _beside(draw, sound)
    Path("s.toml").write_bytes(damaged(draw.choice(SHOTS).encode(), draw))
    with contextlib.suppress(GaitgenError, OSError):
        if any(_takes_minutes(each) for each in read_shot(Path("s.toml")).passages):
            Path("s.toml").write_text(draw.choice(SHOTS))  # its reading is attacked by another kind
    more = draw.choice(([], ["--json"], ["--glb"], ["--sparse"], ["--path", "way.csv"], ["--cycles"]))
    return ["shot", "s.toml", "--out", "out", *(["--no-keys"] if draw.random() < 0.8 else []), *more]


def check_shot(draw, sound):
    """Check the clip of a shot: the clip, the shot file or what this names is damaged, or all are whole."""
    text, clip = draw.choice(sound["shots"])
    which = draw.choice(("clip", "shot", "shot", "shot", "beside", "none"))
    Path("c.bvh").write_bytes(damaged(clip, draw) if which == "clip" else clip)
    Path("s.toml").write_bytes(damaged(text.encode(), draw) if which == "shot" else text.encode())
    for name, data in (("way.csv", WAY), ("land.obj", LAND), ("hills.png", sound["hills"])):
        how = bytes_damaged if name.endswith(".png") else damaged
        Path(name).write_bytes(how(data, draw) if which == "beside" else data)
    more = draw.choice(([], ["--json"], ["--ground", draw.choice(NUMBERS)]))
    return ["check", "c.bvh", "--shot", "s.toml", *more]


def _takes_minutes(passage):
    """Whether a passage of a shot is so long that making it would take minutes."""
    return max(passage.strides or 0, (passage.frames or 0) / 12, (passage.distance_m or 0) / 2) > 12


def joined(draw, sound):
    """Join gaits, or what is none, of an animal, or of a damaged one."""
    names = (*gait_names(), "halt", "halt", draw.choice(WORDS[1:]), "g.toml")
    Path("g.toml").write_bytes(damaged(sound["gait"], draw))
    given = ["join", draw.choice(names), draw.choice(names), "--fps", draw.choice(("8", "12", "12", "0.5"))]
    for name in draw.sample(
        ("animal", "lead", "lead-after", "style", "nod", "lift", "legs"), draw.randint(0, 3)
    ):
        given += [f"--{name}", value_for(name.replace("-", "_"), draw)]
    if draw.random() < 0.3:
        Path("a.toml").write_bytes(damaged(draw.choice(sound["animals"]), draw))
        given += ["--animal", "a.toml"]
    return [*given, "--no-keys", "--out", "out", "--json"]


def animal_told(draw, sound):
    """Tell of a damaged animal, or how it goes in its gaits."""
    Path("a.toml").write_bytes(damaged(draw.choice(sound["animals"]), draw))
    return draw.choice(
        (["animals", "a.toml"], ["gaits", "walk", "--animal", "a.toml"], ["animals", "a.toml"])
    )


def animal_with_options(draw, sound):
    """Give an animal of a damaged file many options at once."""
    Path("a.toml").write_bytes(damaged(draw.choice(sound["animals"]), draw))
    known = [item for item in COMMANDS.commands["cycle"].params if item.opts[0].startswith("--")]
    given = ["cycle", *draw.choice((["walk"], ["trot"], []))]
    for item in draw.sample(known, draw.randint(4, 12)):
        if item.name not in LEFT_OUT | {"animal", "glb", "frames"}:
            given.append(item.opts[0])
            if not getattr(item, "is_flag", False):
                given.append(value_for(item.name, draw))
    return [*given, "--frames", "12", "--animal", "a.toml", "--no-keys", "--out", "out"]


def filmed(draw, _sound):
    """Ask for contacts of any kind."""
    frames = draw.choice((6, 8, 12, 24))

    def frame():
        return draw.choice((draw.randint(1, frames), draw.randint(-3, 3 * frames), draw.choice(NUMBERS)))

    feet = draw.sample(("LF", "RF", "LH", "RH", "XX", "lf"), draw.randint(1, 5))
    if draw.random() < 0.7:
        feet = draw.sample(("LF", "RF", "LH", "RH"), 4)
    if draw.random() < 0.7:
        text = ", ".join(f"{foot} {draw.randint(1, frames)}-{draw.randint(1, frames)}" for foot in feet)
    else:
        text = draw.choice((", ", ",", ";", " ")).join(f"{foot} {frame()}-{frame()}" for foot in feet)
    gaits = draw.choice((["walk"], ["trot"], ["gallop"], [], []))
    return [
        "cycle",
        *gaits,
        "--frames",
        str(frames),
        "--contacts",
        text,
        "--no-keys",
        "--out",
        "out",
        "--json",
    ]


def style(draw, _sound):
    """Mix styles of any name and size."""
    ready = ("heavy", "light", "tired", "proud", "cautious", "old", draw.choice(WORDS[1:]), "")
    text = draw.choice((", ", ",", " ", ": ")).join(draw.sample(ready, draw.randint(1, 3)))
    if draw.random() < 0.5:
        factors = " ".join(
            draw.choice(("nod", "lift", "sway", "x")) + draw.choice("==: ") + draw.choice((*NUMBERS, "1.2"))
            for _ in range(draw.randint(0, 4))
        ).replace("\x00", "")
        text = f"{draw.choice(('own', 'a b', '=x', ''))}: {factors}"
        return ["variants", "--frames", "8", "--style", text, "--no-keys", "--workers", "1", "--out", "out"]
    return ["cycle", "--frames", "8", "--style", text, "--no-keys", "--out", "out", "--json"]


FIELDS = {found.name: found for owner in (Request, FileSpace, HandOff) for found in options_of(owner)}
# What goes elsewhere, waits for somebody, or is given by what calls this.
LEFT_OUT = {"help", "out", "html", "open", "port", "cluster", "map", "strip", "pdf", "workers"}


def value_for(name, draw):
    """Draw a value for an option: mostly one that it takes, or nearly."""
    found = FIELDS.get(name)
    if found is None or draw.random() < 0.2:
        return draw.choice((*NUMBERS, *WORDS[1:5], "RH 1-23, RF 9-31, LH 17-39, LF 25-47")).replace(
            "\x00", ""
        )
    if found.option.choices:
        return draw.choice(found.option.choices)
    least, greatest = found.option.limits or (0.0, 3.0)
    value = (
        draw.uniform(least, min(greatest, 100.0)) if draw.random() < 0.8 else draw.choice((least, greatest))
    )
    return str(round(value)) if found.kind is int else f"{value:.4g}"


def options(draw, _sound):
    """Give some options of a command values of any kind."""
    name = draw.choice(
        (*["cycle"] * 3, "plot", "preview", "variants", "animals", "check", "fit", "gaits", "bake", "carry")
    )
    given = [name, *draw.choice((["walk"], ["walk"], ["walk"], [draw.choice(WORDS[1:])], []))]
    known = [item for item in COMMANDS.commands[name].params if item.opts[0].startswith("--")]
    for item in draw.sample(known, min(len(known), draw.randint(1, 6))):
        if item.name not in LEFT_OUT:
            given.append(draw.choice(item.opts) if item.opts else f"--{item.name}")
            if not getattr(item, "is_flag", False):
                given.append(value_for(item.name, draw))
    if name == "preview":
        return [*given, "--html", "out/p.html"]
    if name == "variants":
        return [*given, "--workers", "1", "--out", "out"]
    return [*given, "--out", "out/p.png" if name == "plot" else "out"] if name in {"cycle", "plot"} else given


KINDS = {
    "BVH to draw": (clip_to_draw, 0.3),
    "BVH to check": (clip_to_check, 0.3),
    "rig": (rig, 0.8),
    "map of a rig": (rig_map, 0.1),
    "animal": (animal, 0.6),
    "animal told": (animal_told, 0.6),
    "animal with options": (animal_with_options, 0.6),
    "gait": (gait, 0.8),
    "shot": (shot, 0.2),
    "check of a shot": (check_shot, 0.3),
    "join": (joined, 0.15),
    "limits": (limits, 0.4),
    "table of variants": (table, 0.4),
    "keys": (keys, 0.8),
    "refined clip": (refined, 0.25),
    "contacts": (filmed, 0.8),
    "style": (style, 0.6),
    "options": (options, 1),
}
"""What makes the arguments of a command, and how often it is drawn: what takes long, less often."""
OTHERS = {"signal": 0.3, "request": 4}
"""Kinds that are no command in this process, and how often they are drawn."""


# Readers alone: each is given a damaged file, or words, and makes something of it or refuses


def _bvh_read(draw, sound):
    data = damaged(draw.choice((*sound["walks"], *sound["rigs"])), draw)
    placed(read_bvh(data, "c.bvh"))


def _animal_read(draw, sound):
    Path("a.toml").write_bytes(damaged(draw.choice(sound["animals"]), draw))
    load_animal("a.toml")


def _gait_read(draw, sound):
    Path("g.toml").write_bytes(damaged(draw.choice(sound["gaits"]), draw))
    load_gait("g.toml")


def _shot_read(draw, sound):
    _beside(draw, sound)
    Path("s.toml").write_bytes(damaged(draw.choice(SHOTS).encode(), draw))
    found = read_shot(Path("s.toml"))
    if draw.random() < 0.05:
        shot_of(found)


def _way_read(draw, sound):
    _beside(draw, sound)
    curve_way(Path("way.csv"))


def _map_read(draw, sound):
    rig_map(draw, sound)
    read_map(Path("m.toml"))


def _limits_read(draw, sound):
    Path("l.toml").write_bytes(damaged(sound["limits"], draw))
    load_limits(*draw.choice((("l.toml",), ("horse", Path("l.toml")))))


def _table_read(draw, sound):
    table(draw, sound)
    read_table(Path("out"))


def _keys_read(draw, sound):
    keys(draw, sound)
    bake(Path("k.keys.csv"))


def _words_read(draw, _sound):
    """Read contacts, styles, legs, frames and what is meant."""
    which = draw.randrange(5)
    if which == 0:
        given = filmed(draw, _sound)
        parse_contacts(given[given.index("--contacts") + 1], int(given[given.index("--frames") + 1]))
    elif which == 1:
        given = style(draw, _sound)
        text = given[given.index("--style") + 1]
        parse_style(text) if given[0] == "variants" else mixed(parse_names(text), Style())
    elif which == 2:
        words = (
            "LF",
            "fore",
            "hind",
            "left",
            "XX",
            "lift",
            "load",
            "=",
            ":",
            ",",
            "1.2",
            *NUMBERS,
            *WORDS[1:],
        )
        parse_legs(draw.choice(("", " ")).join(draw.choice(words) for _ in range(draw.randint(1, 9))))
    elif which == 3:
        parts = ("8", "12", "-", ":", "..", ",", ",", *NUMBERS, *WORDS[1:])
        parse_frames("".join(draw.choice(parts) for _ in range(draw.randint(1, 6))))
    else:
        parts = ("LF", "head", "asymmetry", "pop", ",", ", ", *NUMBERS, *WORDS[1:])
        parse_meant("".join(draw.choice(parts) for _ in range(draw.randint(1, 6))), FINDINGS)


READERS = {
    "read: BVH": (_bvh_read, 3),
    "read: animal": (_animal_read, 5),
    "read: gait": (_gait_read, 3),
    "read: shot": (_shot_read, 8),
    "read: way": (_way_read, 2),
    "read: map of a rig": (_map_read, 3),
    "read: limits": (_limits_read, 3),
    "read: table": (_table_read, 2),
    "read: keys": (_keys_read, 2),
    "read: words": (_words_read, 6),
}
"""Functions that read what a command or the page is given, and how often each is drawn."""
HOW_OFTEN = {kind: often for kind, (_, often) in (KINDS | READERS).items()} | OTHERS


# What came of it


@contextlib.contextmanager
def silence():
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        yield


def strict_json(text):
    def refuse(word):
        raise ValueError(word)

    json.loads(text, parse_constant=refuse)


def judged(code, out, error, given):
    """Return what came of a command, or what is wrong with that."""
    made = sorted(path for path in Path("out").rglob("*") if path.is_file()) if Path("out").exists() else []
    if code == 2:
        if error.count("\n") != 1 or not error.startswith("gaitgen: ") or not error[:-1].isprintable():
            return f"FAULT: refused in other than a line: {error[:200]!r}"
        if [path for path in made if path.name not in {"variants.csv", "variants.csv.old1"}]:
            return f"FAULT: refused, but wrote {made[0]}"
        return "refused"
    if code not in {0, 1}:
        return f"FAULT: exit code {code}"
    if "--json" in given:
        strict_json(out)
    if not out.replace("\n", "").isprintable():
        return "FAULT: letters that a terminal obeys"
    return "done" if code == 0 else "findings"


def said_of(outcome, warned):
    """Return the first warning of a run that is no fault, or what came of it."""
    if not warned or outcome.startswith("FAULT"):
        return outcome
    return f"warning: {warned[0].message} ({Path(warned[0].filename).name}:{warned[0].lineno})"


def one(kind, draw, sound):
    """Do one run in a folder of its own."""
    here = Path.cwd()
    with tempfile.TemporaryDirectory(prefix="fuzz-", dir=FOLDERS) as folder:
        os.chdir(folder)
        out, error = io.StringIO(), io.StringIO()
        try:
            given = KINDS[kind][0](draw, sound)
            with (
                warnings.catch_warnings(record=True) as warned,
                contextlib.redirect_stdout(out),
                contextlib.redirect_stderr(error),
            ):
                warnings.simplefilter("always")
                signal.setitimer(signal.ITIMER_PROF, LIMIT_S)
                code = run(given)
                signal.setitimer(signal.ITIMER_PROF, 0)
            return said_of(judged(code, out.getvalue(), error.getvalue(), given), warned)
        except TooLong:
            return f"FAULT: longer than {LIMIT_S} s"
        except Exception as fault:  # noqa: BLE001  that is what is looked for
            signal.setitimer(signal.ITIMER_PROF, 0)
            return said_of_fault(fault)
        finally:
            os.chdir(here)


def read(kind, draw, sound):
    """Give one reader something damaged, in a folder of its own."""

    def reading():
        READERS[kind][0](draw, sound)
        return 0

    here, error = Path.cwd(), io.StringIO()
    with tempfile.TemporaryDirectory(prefix="fuzz-", dir=FOLDERS) as folder:
        os.chdir(folder)
        try:
            with warnings.catch_warnings(record=True) as warned, contextlib.redirect_stderr(error):
                warnings.simplefilter("always")
                signal.setitimer(signal.ITIMER_PROF, LIMIT_S)
                code = guarded(reading)
                signal.setitimer(signal.ITIMER_PROF, 0)
            return said_of(judged(code, "", error.getvalue(), ()), warned)
        except TooLong:
            return f"FAULT: longer than {LIMIT_S} s"
        except Exception as fault:  # noqa: BLE001  that is what is looked for
            signal.setitimer(signal.ITIMER_PROF, 0)
            return said_of_fault(fault)
        finally:
            os.chdir(here)


def said_of_fault(fault):
    """Say what an exception is and where it was raised."""
    last = traceback.extract_tb(fault.__traceback__)[-1]
    return f"FAULT: {type(fault).__name__} in {Path(last.filename).name}:{last.lineno}: {str(fault)[:80]}"


def signalled(draw, sound):
    """Send a command that writes a signal, once or twice, in a process of its own."""
    with tempfile.TemporaryDirectory(prefix="fuzz-") as folder:
        here = Path(folder)
        by_hand = sound["walk"] + b"0.0 \n"
        (here / "w.bvh").write_bytes(by_hand)
        for name, data in sound["keyed"].items():
            (here / name).write_bytes(data)
        given = draw.choice(
            (
                ["cycle", "walk", "--frames", "8", "--out", folder, "--name", "w"],
                ["cycle", "walk", "--frames", "8", "--controls", "--out", folder, "--name", "new"],
                ["bake", f"{folder}/k.keys.csv", "--name", "w"],
                ["check", f"{folder}/k.bvh", "--json"],
                ["variants", "walk", "--frames", "8,9", "--workers", "1", "--out", folder],
            )
        )
        before = {path.name for path in here.iterdir()}
        numbers = draw.choices((signal.SIGINT, signal.SIGTERM, signal.SIGHUP), k=draw.choice((1, 1, 2, 3)))
        ready, tell = os.pipe()
        child = os.fork()
        if child == 0:
            _be_command(given, tell, here / "err")
        os.close(tell)
        os.read(ready, 1)
        os.close(ready)
        for number in numbers:
            time.sleep(draw.choice((0.0, draw.uniform(0, 0.3), draw.uniform(0, 0.02))))
            with contextlib.suppress(ProcessLookupError):
                os.kill(child, number)
        code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        error = (here / "err").read_text(errors="surrogateescape")
        left = [path.name for path in here.iterdir() if ".gaitgen-" in path.name and path.name != RECORD]
        news = [path for path in here.glob("*.bvh") if path.name not in before]
        if code not in {0, 1, *(128 + number for number in numbers)}:
            return f"FAULT: exit code {code} after {numbers}: {error[-200:]!r}"
        if code > 1 and (error.count("\n") != 1 or not error.startswith("gaitgen: ")):
            return f"FAULT: other than a line: {error[-200:]!r}"
        if left:
            return f"FAULT: left {left[0]}"
        if (here / "w.bvh").read_bytes() != by_hand:
            return "FAULT: replaced what was made by hand"
        if any(not path.read_bytes().endswith(b"\n") for path in news):
            return "FAULT: half a file"
        return "refused" if code > 1 else "done"


def _be_command(given, tell, error):
    """Be the command, in a new process, from where signals are heard."""
    code = 70
    try:
        signal.setitimer(signal.ITIMER_PROF, 0)
        os.dup2(os.open(error, os.O_CREAT | os.O_WRONLY), 2)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        sys.stdout, sys.stderr = os.fdopen(1, "w", closefd=False), os.fdopen(2, "w", closefd=False)
        sys.argv = ["gaitgen", *given]
        listen()
        os.write(tell, b"1")
        main_of_command()
    except SystemExit as end:
        code = end.code
    except Ended as stop:  # between the two lines above
        print(farewell(stop.number)[0], file=sys.stderr)
        code = farewell(stop.number)[1]
    except BaseException:  # noqa: BLE001  that is what is looked for
        traceback.print_exc()
    finally:
        sys.stderr.flush()
        os._exit(code)


def request(server, draw):
    """Send the server some bytes that may be a request."""
    method, path = (
        draw.choice(("GET", "POST", "PUT", "BREW", "")),
        draw.choice(("/", "/clip", "/write", "//[")),
    )
    query = draw.choice(("", f"?frames={draw.choice(NUMBERS)}", f"?{draw.choice(WORDS)}"))
    lines = [
        f"{method} {path}{query} HTTP/{draw.choice(('1.0', '1.1', '9', ''))}",
        f"Host: {draw.choice(('127.0.0.1', 'localhost', 'elsewhere'))}:{server.server_port}",
        f"{TOKEN_HEADER}: {draw.choice((server.desk.token, server.desk.token, 'guess'))}",
        f"Content-Length: {draw.choice(('2', '0', '40', *NUMBERS))}",
    ]
    values = {draw.choice(("frames", "nod", "animal", "x")): draw.choice((*NUMBERS, "12", "1.2"))}
    bodies = ("{}", "[" * 5000, '{"values": {}, "name": "a/b"}', json.dumps({"values": values, "name": ""}))
    data = "\r\n".join([*lines, "", draw.choice(bodies)]).encode("utf-8", "surrogateescape")
    if draw.random() < 0.3:
        data = bytes_damaged(data, draw)
    answer = b""
    with socket.create_connection(("127.0.0.1", server.server_port), timeout=LIMIT_S) as connection:
        with contextlib.suppress(OSError):
            connection.sendall(data)
            connection.shutdown(socket.SHUT_WR)
        with contextlib.suppress(OSError):
            while more := connection.recv(65536):
                answer += more
    head, _, body = answer.rpartition(b"\r\n\r\n")
    if not answer:
        return "left"
    if head.startswith(b"HTTP/1.0 200"):
        return "done"
    try:
        return "refused" if list(json.loads(body)) == ["error"] else "FAULT: another answer"
    except ValueError:
        return f"FAULT: no answer: {answer[:60]!r}"


def main(runs=2000, seconds=600, first=0):
    signal.signal(signal.SIGPROF, alarm)
    sound, counts, spent, examples = sources(), Counter(), Counter(), set()
    began = said = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        server = Server(Desk(Request(frames=12), Path(folder)))
        threading.Thread(target=server.serve_forever, daemon=True).start()
        done = 0
        for number in range(first, first + runs):
            start = time.monotonic()
            if start > began + seconds:
                break
            if start > said + SAID_EVERY_S:
                print(tabled(done, first, counts, spent), flush=True)
                said = start
            draw = random.Random(number)  # noqa: S311
            kind = draw.choices(list(HOW_OFTEN), list(HOW_OFTEN.values()))[0]
            if kind == "request":
                outcome = request(server, draw)
            elif kind == "signal":
                outcome = signalled(draw, sound)
            else:
                outcome = (read if kind in READERS else one)(kind, draw, sound)
            counts[kind, outcome.partition(":")[0]] += 1
            spent[kind] += time.monotonic() - start
            if ":" in outcome and outcome not in examples:
                examples.add(outcome)
                print(f"{number} {kind}: {outcome}", flush=True)
            done += 1
        server.shutdown()
        server.server_close()
    print(tabled(done, first, counts, spent))
    return int(any(column == "FAULT" for _, column in counts))


def tabled(done, first, counts, spent):
    """Write what came of each kind of runs, and how long they took."""
    columns = ("done", "findings", "refused", "left", "warning", "FAULT")
    head = "".join(f"{column:>10}" for column in (*columns, "seconds"))
    lines = [f"\n{done} runs from {first}", f"{'':<20}{head}"]
    for kind in HOW_OFTEN:
        row = "".join(f"{counts[kind, column]:>10}" for column in columns)
        lines.append(f"{kind:<20}{row}{spent[kind]:>10.0f}")
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
