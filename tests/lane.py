"""A short shot for tests of pictures and page: up a slope and round to the right, in a walk and a trot."""

from functools import cache

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


def write_lane(folder):
    """Write its file."""
    file = folder / "lane.toml"
    file.write_text(LANE, encoding="utf-8")
    return file


@cache
def made_of(file):
    """Make it once."""
    return make_shot(shot_of(read_shot(file)))
