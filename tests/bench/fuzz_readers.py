"""Readers alone, for the fuzzer: each is given a damaged file, or words, and reads or refuses."""

from pathlib import Path

from fuzz_commands import SHOTS, filmed, keys, rig_map, style, table, write_beside
from fuzz_damage import NUMBERS, WORDS, bytes_damaged, damaged

from gaitgen import Request
from gaitgen.animal.library import load_animal
from gaitgen.animal.toml_table import parse
from gaitgen.batch.plan import parse_frames, parse_style
from gaitgen.batch.table import read_table
from gaitgen.check.kinds import KINDS as FINDINGS
from gaitgen.check.limits import load_limits
from gaitgen.check.meant import parse_meant
from gaitgen.commands.terminal import say
from gaitgen.course.contacts import parse_contacts
from gaitgen.edits.bake import bake
from gaitgen.formats.bvh_file import placed
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.formats.record import RECORD, vouched
from gaitgen.gait.gait import load_gait
from gaitgen.gait.leg_factors import parse_legs
from gaitgen.gait.presets import mixed, parse_names, styles_in
from gaitgen.gait.style import Style
from gaitgen.page.controls import request_from
from gaitgen.page.path_points import points_from, with_path
from gaitgen.rigs.map_file import read_map
from gaitgen.shot.request import shot_of
from gaitgen.shot.shot_file import read_shot
from gaitgen.shot.way_file import curve_way


def _bvh(draw, sound):
    data = damaged(draw.choice((*sound["walks"], *sound["rigs"])), draw)
    placed(read_bvh(data, "c.bvh"))


def _animal(draw, sound):
    Path("a.toml").write_bytes(damaged(draw.choice(sound["animals"]), draw))
    load_animal("a.toml")


def _gait(draw, sound):
    Path("g.toml").write_bytes(damaged(draw.choice(sound["gaits"]), draw))
    load_gait("g.toml")


def _styles(draw, sound):
    styles_in(parse(damaged(sound["styles"], draw), "styles.toml"))


def _shot(draw, sound):
    write_beside(draw, sound)
    Path("s.toml").write_bytes(damaged(draw.choice(SHOTS).encode(), draw))
    read_shot(Path("s.toml"))


def _draft(draw, sound):
    """Read a shot, and lay out its passages and marks."""
    write_beside(draw, sound)
    Path("s.toml").write_bytes(damaged(draw.choice(SHOTS).encode(), draw))
    shot_of(read_shot(Path("s.toml")))


def _way(draw, sound):
    write_beside(draw, sound)
    curve_way(Path("way.csv"))


def _ground(draw, sound):
    """Read a shot on a ground whose picture or mesh is damaged."""
    if draw.random() < 0.4:
        Path("hills.png").write_bytes(bytes_damaged(sound["hills"], draw))
        shot = SHOTS[5]
    else:
        name, data = draw.choice(list(sound["meshes"].items()))
        hurt = damaged(data, draw) if data.isascii() else bytes_damaged(data, draw)
        Path(name).write_bytes(hurt)
        shot = SHOTS[6].replace("land.obj", name)
    Path("s.toml").write_text(shot)
    read_shot(Path("s.toml"))


def _map(draw, sound):
    rig_map(draw, sound)
    read_map(Path("m.toml"))


def _limits(draw, sound):
    Path("l.toml").write_bytes(damaged(sound["limits"], draw))
    load_limits(*draw.choice((("l.toml",), ("horse", Path("l.toml")))))


def _table(draw, sound):
    table(draw, sound)
    _, damage = read_table(Path("out"))
    say(damage)


def _record(draw, sound):
    """Read the record of a folder, and a table of variants that vouches for files too."""
    Path(RECORD).write_bytes(damaged(sound["record"], draw))
    Path("variants.csv").write_bytes(damaged(sound["table"], draw))
    vouched(Path())


def _keys(draw, sound):
    keys(draw, sound)
    bake(Path("k.keys.csv"))


def _json(draw, _sound):
    """Read what a page sends: values of controls, or points of a path."""
    likely = ("12", "1.2", "0.8", "dog", "walk", "LF 1-12", "left")
    value = draw.choice(draw.choice(((*NUMBERS, *WORDS), likely)))
    if draw.random() < 0.5:
        names = ("frames", "nod", "animal", "contacts", "withers_height", "lead", "lift", "sway", "é")
        request_from({draw.choice(names): value for _ in range(draw.randint(1, 3))}, Request(frames=12))
        return
    rows = ";".join(
        ",".join(draw.choice(("0", "4", "8.5", "-3", *NUMBERS[:8])) for _ in range(draw.choice((2, 2, 2, 3))))
        for _ in range(draw.choice((2, 3, 8, 100)))
    )
    path = points_from({"points": draw.choice((rows, rows, value)), "radius": draw.choice(("6", "6", value))})
    with_path(damaged(draw.choice(SHOTS).encode(), draw).decode(errors="replace"), path, "s.toml")


def _words(draw, sound):
    """Read contacts, styles, legs, frames or what is meant."""
    which = draw.randrange(5)
    some = (*NUMBERS, *WORDS[1:])
    if which == 0:
        given = filmed(draw, sound)
        parse_contacts(given[given.index("--contacts") + 1], int(given[given.index("--frames") + 1]))
    elif which == 1:
        given = style(draw, sound)
        text = given[given.index("--style") + 1]
        parse_style(text) if given[0] == "variants" else mixed(parse_names(text), Style())
    elif which == 2:
        words = ("LF", "fore", "hind", "left", "XX", "lift", "load", "=", ":", ",", "1.2", *some)
        parse_legs(draw.choice(("", " ")).join(draw.choice(words) for _ in range(draw.randint(1, 9))))
    elif which == 3:
        parts = ("8", "12", "-", ":", "..", ",", ",", *some)
        parse_frames("".join(draw.choice(parts) for _ in range(draw.randint(1, 6))))
    else:
        parts = ("LF", "head", "asymmetry", "pop", ",", ", ", *some)
        parse_meant("".join(draw.choice(parts) for _ in range(draw.randint(1, 6))), FINDINGS)


READERS = {
    "read: BVH": (_bvh, 4),
    "read: animal": (_animal, 4),
    "read: gait": (_gait, 6),
    "read: styles": (_styles, 3),
    "read: shot": (_shot, 9),
    "read: draft of a shot": (_draft, 0.5),
    "read: way": (_way, 3),
    "read: ground": (_ground, 4),
    "read: map of a rig": (_map, 4),
    "read: limits": (_limits, 5),
    "read: table": (_table, 3),
    "read: record": (_record, 2),
    "read: keys": (_keys, 3),
    "read: from a page": (_json, 4),
    "read: words": (_words, 8),
}
"""Functions that read what a command or the page is given, and how often each is drawn."""

# What a refusal of each has to name: the file, and where in it.
NAMED = {
    "read: BVH": "c.bvh",
    "read: animal": "a.toml",
    "read: gait": "g.toml",
    "read: styles": "styles.toml",
    "read: shot": "s.toml",
    "read: way": "way.csv",
    "read: ground": "s.toml",
    "read: map of a rig": "m.toml",
    "read: limits": "l.toml",
    "read: keys": "k.",
}
