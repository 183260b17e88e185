"""Commands of the fuzzer: each kind damages something, and returns the arguments that have it read."""

import contextlib
from pathlib import Path

from fuzz_damage import NUMBERS, WORDS, bytes_damaged, damaged
from fuzz_sound import HERE, LAND, SHOTS, WAY

from gaitgen import Request
from gaitgen.commands.app import COMMANDS
from gaitgen.errors import GaitgenError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.wanted import HandOff
from gaitgen.gait.gait import gait_names
from gaitgen.option import options_of
from gaitgen.shot.shot_file import read_shot


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
    Path("l.toml").write_bytes(damaged(sound["changes"], draw))
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


def write_beside(draw, sound):
    """Write the files that shot files name, one of them damaged now and then."""
    for name, data in (("way.csv", WAY), ("land.obj", LAND), ("hills.png", sound["hills"])):
        is_hurt = draw.random() < 0.3
        how = bytes_damaged if name.endswith(".png") else damaged
        Path(name).write_bytes(how(data, draw) if is_hurt else data)


def shot(draw, sound):
    write_beside(draw, sound)
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
    "BVH to draw": (clip_to_draw, 0.12),
    "BVH to check": (clip_to_check, 0.12),
    "rig": (rig, 0.32),
    "map of a rig": (rig_map, 0.04),
    "animal": (animal, 0.24),
    "animal told": (animal_told, 0.24),
    "animal with options": (animal_with_options, 0.24),
    "gait": (gait, 0.32),
    "shot": (shot, 0.08),
    "check of a shot": (check_shot, 0.12),
    "join": (joined, 0.06),
    "limits": (limits, 0.16),
    "table of variants": (table, 0.16),
    "keys": (keys, 0.32),
    "refined clip": (refined, 0.1),
    "contacts": (filmed, 0.32),
    "style": (style, 0.24),
    "options": (options, 0.4),
}
"""What makes the arguments of a command, and how often it is drawn: what takes long, less often."""
