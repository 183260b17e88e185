"""A short shot for tests of pictures and page: up a slope and round to the right, in a walk and a trot."""

from gaitgen.shot.make import make_shot
from gaitgen.shot.request import shot_of
from gaitgen.shot.shot_file import read_shot

LANE = """# a lane
animal = "riding_horse"
start = "going"
end = "going"

[[passage]]
gait = "walk"
strides = 2

[[passage]]
gait = "trot"
strides = 2

[path]
legs = [{ straight = 3 }, { turn = -50, radius = 7 }]

[ground]
slope = 8  # per cent
"""

_made = {}


def write_lane(folder):
    """Write its file."""
    file = folder / "lane.toml"
    file.write_text(LANE, encoding="utf-8")
    return file


def made_of(file):
    """Make it once, wherever its file is."""
    text = file.read_text(encoding="utf-8")
    if text not in _made:
        _made[text] = make_shot(shot_of(read_shot(file)))
    return _made[text]
