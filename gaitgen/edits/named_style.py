"""Styles that the name of a clip tells, as gaitgen writes it: ``dog_walk_24_nod_1p4_proud_0p6_heavy``."""

from __future__ import annotations

import re
from contextlib import suppress
from itertools import pairwise

from gaitgen.errors import RequestError
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.presets import presets
from gaitgen.gait.style import Style
from gaitgen.option import options_of

_SHARE = re.compile(r"\d+(?:p\d+)?")


def style_in_name(name: str) -> str | None:
    """Read ready-made styles out of the name of a clip, such as ``proud 0.6, heavy``; None if it has none.

    A name says what may be, and the clip whether it is so: a hand may have called the file anything.
    """
    known = {preset.name for preset in presets()}
    found: list[str] = []
    is_open = False
    for word in name.partition(".")[0].split("_"):
        if word in known:
            found.append(word)
            is_open = True
        elif is_open and word in LIMBS:
            found[-1] += f" {word}"
        elif is_open and _SHARE.fullmatch(word):
            found[-1] += f" {word.replace('p', '.')}"
            is_open = False
        else:
            is_open = False
    return ", ".join(found) or None


def factors_in_name(name: str) -> Style:
    """Read single factors of a style out of the name of a clip, such as ``nod_1p4``; plain if it has none."""
    known = {found.name: found.field for found in options_of(Style)}
    words = name.partition(".")[0].split("_")
    factors = {
        known[word]: float(share.replace("p", "."))
        for word, share in pairwise(words)
        if word in known and _SHARE.fullmatch(share)
    }
    with suppress(RequestError):  # a name may say anything
        return Style.of(factors)
    return Style()
