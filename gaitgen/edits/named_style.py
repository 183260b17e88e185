"""Ready-made styles that the name of a clip tells, as gaitgen writes it: ``dog_walk_24_proud_0p6_heavy``."""

from __future__ import annotations

import re
from pathlib import Path

from gaitgen.gait.gait import LIMBS
from gaitgen.gait.presets import presets

_SHARE = re.compile(r"\d+(?:p\d+)?")


def style_in_name(path: Path) -> str | None:
    """Read ready-made styles out of the name of a clip, such as ``proud 0.6, heavy``; None if it has none.

    A name says what may be, and the clip whether it is so: a hand may have called the file anything.
    """
    known = {preset.name for preset in presets()}
    found: list[str] = []
    is_open = False
    for word in path.name.partition(".")[0].split("_"):
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
