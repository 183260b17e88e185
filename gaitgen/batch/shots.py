"""Shots among the variants: a shot file, and all that it names, as another machine can read them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from itertools import groupby
from pathlib import Path
from tempfile import TemporaryDirectory

from gaitgen.animal.animal import Animal
from gaitgen.animal.toml_text import LARGEST_FILE_BYTES
from gaitgen.errors import GaitgenError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.cells import no_formula
from gaitgen.gait.style import Style
from gaitgen.numerics.standard_input import is_standard_input, stem_of
from gaitgen.rigs.cycle import LoadedRig
from gaitgen.rigs.shot import RigShot, shot_on_rig
from gaitgen.shot.asked import Passage, ShotRequest
from gaitgen.shot.changed_file import Changes
from gaitgen.shot.make import Made, make_shot
from gaitgen.shot.named_in_file import Folder
from gaitgen.shot.request import shot_of
from gaitgen.shot.shot_file import shot_in

# What a shot file begins its lines with, and a gait file does not.
_OF_SHOTS = re.compile(rb"(?m)^\s*\[*\s*(passage|path|ground|mark|jump|animal|fps)\b")


@dataclass(frozen=True)
class ShotAsked:
    """One shot to make.

    Attributes
    ----------
    where
        Path of its file, for messages and as its name.
    data
        Contents of the file.
    animal
        The animal, or its name where it is at hand elsewhere.
    copies
        Contents of the files that it names, by the name that it has for them.
    changes
        Values that take the place of those in the file.
    frame_rate_hz
        Frames per second; None for those of the file. [Hz]
    style, named_style
        Factors, and ready-made styles, on top of those in the file.
    fault
        Why it cannot be made, if that is known.
    """

    where: str
    data: bytes
    animal: str | Animal = ""
    copies: Mapping[str, bytes] = field(default_factory=dict)
    changes: Changes = ()
    frame_rate_hz: float | None = None
    style: Style = field(default_factory=Style)
    named_style: str | None = None
    fault: GaitgenError | None = None

    @property
    def stem(self) -> str:
        """Name of its file, without suffix."""
        return stem_of(Path(self.where), "shot")

    def read(self, folder: Folder | None = None) -> ShotRequest:
        """Read what is asked, with what the file names from its own folder if no other is given.

        Raises
        ------
        RequestError
            If a value of the file is not usable.
        """
        path = Path(self.where)
        request = shot_in(self.data, path, folder or Folder(path.parent), self.changes)
        if self.frame_rate_hz is not None:
            request = request.at_rate(self.frame_rate_hz)
        return replace(request, passages=tuple(map(self._styled, request.passages)))

    def _styled(self, passage: Passage) -> Passage:
        cycle = passage.cycle
        if cycle is None:
            return passage
        names = ", ".join(filter(None, (cycle.named_style, self.named_style))) or None
        return replace(passage, cycle=replace(cycle, style=cycle.style.times(self.style), named_style=names))


def is_shot_file(word: str) -> bool:
    """Tell whether a word is the path of a shot file, and neither the name of a gait nor a gait file."""
    if is_standard_input(word):
        return True
    path = Path(word)
    if not word.endswith(".toml") or not path.is_file():
        return False
    try:
        with path.open("rb") as file:
            return _OF_SHOTS.search(file.read(LARGEST_FILE_BYTES)) is not None
    except OSError:
        return False


def gaits_in(made: Made) -> str:
    """Name the gaits of a shot, in order, for a table."""
    names = [cycle.settled.asked.gait_stem for cycle in made.timeline.cycles]
    return no_formula(" ".join(name for name, _ in groupby(names)))


def make_asked(asked: ShotAsked, animal: Animal | LoadedRig | str, space: FileSpace) -> Made | RigShot:
    """Make a shot.

    Raises
    ------
    GaitgenError
        If it cannot be made.
    """
    if asked.fault is not None:
        raise asked.fault
    with _copied(asked) as folder:
        request = asked.read(folder)

        def make(animal: str | Animal) -> Made:
            return make_shot(shot_of(request.of(animal)))

        if isinstance(animal, LoadedRig):
            return shot_on_rig(animal, request.first, make, space)
        return make(animal)


@contextmanager
def _copied(asked: ShotAsked) -> Iterator[Folder]:
    """Write the files that a shot file names, which may have come from another machine."""
    with TemporaryDirectory(prefix="gaitgen-") as place:
        copies = {}
        for number, (name, data) in enumerate(asked.copies.items()):
            copies[name] = Path(place) / str(number) / Path(name).name
            copies[name].parent.mkdir()
            copies[name].write_bytes(data)
        yield Folder(Path(place), copies)
