"""Tells files of shots from other TOML files, without loading what makes a shot."""

from __future__ import annotations

import re
from pathlib import Path

from gaitgen.animal.toml_table import read_bytes
from gaitgen.errors import AnimalError

_PASSAGES = re.compile(r"^[ \t]*+(\[\[[ \t]*+passage[ \t]*+\]\]|passage[ \t]*+=)", re.MULTILINE)


def is_shot_file(path: str) -> bool:
    """Tell whether a TOML file is one of a shot: it has passages, whatever else is right or wrong in it."""
    if not path.lower().endswith(".toml"):
        return False
    try:
        text = read_bytes(Path(path)).decode("utf-8", errors="replace")
    except AnimalError:  # which whoever reads it says better
        return False
    return _PASSAGES.search(text) is not None
