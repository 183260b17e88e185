"""Colours of an animal come from its file, neutral if it has none, and go to page and glTF figure."""

import json
import struct
from dataclasses import replace

import numpy as np
import pytest
from animal_files import animal, riding_horse

from gaitgen import Request, animal_names, load_animal, make_cycle
from gaitgen.animal.look import Look
from gaitgen.errors import AnimalError
from gaitgen.formats.glb import encode
from gaitgen.page.clip_data import clip_data

CLIP = make_cycle(Request(frames=8))


def channels(colour):
    return [int(colour[k : k + 2], 16) for k in (1, 3, 5)]


def test_without_a_table_an_animal_is_a_neutral_grey():
    tables = riding_horse()
    del tables["look"]
    look = animal(tables).look
    assert (look.skin, look.hair, look.horn) == (Look().skin, Look().hair, Look().horn)
    assert max(np.ptp(channels(colour)) for colour in (look.skin, look.hair, look.horn)) < 16


def test_the_animals_have_colours_of_their_own():
    skins = {load_animal(name).look.skin for name in animal_names()}
    assert len(skins) == len(animal_names())


def test_the_page_paints_in_the_colours_of_the_file():
    tables = riding_horse()
    tables["look"] = {"skin": "#d0c8b8", "source": "estimate"}
    data = clip_data(replace(CLIP, animal=animal(tables)), "walk")
    assert data["colours"] == {"skin": "#d0c8b8", "hair": Look().hair, "horn": Look().horn}
    assert data["merged"]
    assert all(data["parts"][data["chains"][k][0]].endswith("upper") for k in data["merged"])


@pytest.mark.thorough
def test_the_gltf_figure_has_the_colour_in_linear_light():
    """White, black and middle grey by the published curve of IEC 61966-2-1."""
    for colour, linear in (("#ffffff", 1.0), ("#000000", 0.0), ("#808080", 0.2159)):
        painted = replace(CLIP.animal, look=replace(CLIP.animal.look, skin=colour))
        data = encode(replace(CLIP, animal=painted))
        (length,) = struct.unpack_from("<I", data, 12)
        material = json.loads(data[20 : 20 + length])["materials"][0]["pbrMetallicRoughness"]
        assert material["baseColorFactor"] == pytest.approx([linear, linear, linear, 1.0], abs=1e-4)


@pytest.mark.parametrize("colour", ["brown", "#96643", "#GG0000", 7])
def test_what_is_no_colour_is_refused(colour):
    tables = riding_horse()
    tables["look"] = {"skin": colour}
    with pytest.raises(AnimalError, match=r"skin is .*; write a colour such as #a8a39c"):
        animal(tables)


def test_an_unknown_word_in_the_table_is_refused():
    tables = riding_horse()
    tables["look"] = {"coat": "#96643f"}
    with pytest.raises(AnimalError, match="coat"):
        animal(tables)
