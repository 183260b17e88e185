"""What was guessed of a rig and may be wrong."""

from __future__ import annotations

from dataclasses import dataclass

from gaitgen.errors import Notice


@dataclass(frozen=True)
class Doubt(Notice):
    """A notice about a guess: what was taken, what else it could be, and where to correct it."""
