"""What was guessed of a rig and may be wrong."""

from __future__ import annotations

from dataclasses import dataclass

from gaitgen.errors import Notice


@dataclass(frozen=True)
class Doubt(Notice):
    """A notice about a guess: what was taken, what else it could be, and where to correct it.

    ``others`` are names that it could be, likeliest first, where there is a list of them.
    """

    others: tuple[str, ...] = ()
