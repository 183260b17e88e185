"""Whose clip it is that is checked: animals whose joints have the same names are told by their build."""

import json

import pytest

from gaitgen import Request, make_cycle
from gaitgen.animal.library import animal_names
from gaitgen.check.whose import whose
from gaitgen.commands.check_file import check_file
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh


@pytest.mark.sample(6, 5)
@pytest.mark.parametrize("name", animal_names())
def test_a_clip_of_our_own_is_known_for_its_animal_and_its_unit(name):
    clip = make_cycle(Request(gait="walk", animal=name))
    found = whose(read_bvh(bvh.encode(clip, FileSpace()), "w.bvh"), "w.bvh")
    assert found.map.template == name
    assert found.map.unit == "cm"
    assert not [notice for notice in found.notices if notice.topic == "animal"]


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("animal", "gait"),
    [
        ("riding_horse", "walk"),
        ("riding_horse", "trot"),
        ("cat", "rotary_gallop"),
        ("dromedary", "pace"),
    ],
)
def test_a_clip_at_the_wrong_frame_rate_is_doubted(tmp_path, animal, gait):
    """In the air a body falls with 9.8 m/s2 (physics); a walk is held against the animal's own swing."""
    clip = tmp_path / "clip.bvh"
    text = bvh.encode(make_cycle(Request(animal=animal, gait=gait)), FileSpace()).decode()
    head, _, rest = text.partition("Frame Time:")
    _, _, rows = rest.partition("\n")
    for rate, said in ((24.0, ""), (48.0, "times too fast"), (12.0, "times too slow")):
        clip.write_text(f"{head}Frame Time: {1.0 / rate:.7f}\n{rows}")
        checked = check_file(clip, animal=animal)
        doubt = json.loads(checked.json())["frame_rate_doubt"] or ""
        assert said in doubt
        assert bool(doubt) == bool(said)
        if said:
            times = float(doubt.split("seems to play ")[1].split()[0])
            assert times == pytest.approx(2.0, rel=0.25)
            assert doubt in checked.text()


def channels_of(text):
    """Names of the channels of a BVH in their order, what stands over its rows, and the rows."""
    over, _, under = text.partition("MOTION\n")
    names, joint = [], ""
    for line in over.splitlines():
        words = line.split()
        if words[0] in {"ROOT", "JOINT"}:
            joint = words[1]
        elif words[0] == "CHANNELS":
            names += [f"{joint}.{word}" for word in words[2:]]
    count, step, *rows = under.splitlines()
    return names, over, f"MOTION\n{count}\n{step}\n", [[float(word) for word in row.split()] for row in rows]


def carried_over(whose_motion, whose_body):
    """Put the angles of one animal on the skeleton of another, its root at the height of its hips."""
    clips = [make_cycle(Request(gait="walk", animal=name)) for name in (whose_motion, whose_body)]
    (theirs, _, start, rows), (ours, over, _, _) = (
        channels_of(bvh.encode(clip, FileSpace()).decode()) for clip in clips
    )
    larger = clips[1].animal.hip_height_m / clips[0].animal.hip_height_m
    at = {name: k for k, name in enumerate(theirs)}
    lines = [
        " ".join(
            f"{row[at[name]] * (larger if 'position' in name else 1.0) if name in at else 0.0:.6f}"
            for name in ours
        )
        for row in rows
    ]
    return over + start + "\n".join(lines) + "\n"


# What is wrong with feet and body where bones of other lengths turn as those of somebody else.
ASTRAY = {"body leans", "body above the ground", "body under the ground", "sole under ground", "slip"}


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("motion", "body"),
    [
        ("riding_horse", "cow"),
        ("cat", "dog"),
        ("dog", "cat"),
        ("dog", "dachshund"),
        ("red_deer", "goat"),
        ("big_cat", "greyhound"),
        ("donkey", "giraffe"),
        ("brown_bear", "elephant"),
        ("cow", "red_deer"),
    ],
)
def test_the_walk_of_one_animal_on_the_body_of_another_does_not_pass(tmp_path, motion, body):
    """The first to mend is how its body stands over its feet, and what follows is under it."""
    clip = tmp_path / "clip.bvh"
    clip.write_text(carried_over(motion, body), encoding="utf-8")
    first = json.loads(check_file(clip, animal=body).json())["findings"][0]
    assert first["kind"] in ASTRAY
    clip.write_text(carried_over(body, body), encoding="utf-8")
    assert not json.loads(check_file(clip, animal=body).json())["findings"]
