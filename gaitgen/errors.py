"""Every exception and notice of gaitgen.

GaitgenError
├── RequestError      a number or a choice in the request is not usable
├── AnimalError       an animal (file or parameters) is not usable
├── CourseError       a path, a ground or steps that nothing can walk
├── GaitError         a gait (file or parameters) is not usable
├── FileFormatError   a file cannot be encoded or read
├── RigError          a rig, or the map of one, is not a quadruped that can be posed
├── OutputError       a file cannot be written
└── WorkerError       a process, or a cluster, that clips were left to cannot make them

Text is one line: what was wrong, where, what to do.
"""

from __future__ import annotations

from dataclasses import dataclass


def plain(text: str) -> str:
    r"""Write out every character that a terminal would obey or a page could not show: ``\x1b`` for escape.

    Names of files and joints may be anybody's. Ends of lines stay.
    """
    if text.replace("\n", "").isprintable():
        return text
    return "".join(letter if letter == "\n" or letter.isprintable() else _escaped(letter) for letter in text)


def _escaped(letter: str) -> str:
    return letter.encode("unicode_escape").decode("ascii")


class GaitgenError(Exception):
    """Base of everything gaitgen refuses; the command line turns it into exit code 2."""


class RequestError(GaitgenError):
    """A number or a choice in the request is not usable."""


class ReachError(RequestError):
    """The limbs of the animal cannot take the steps that are asked for."""


class AnimalError(GaitgenError):
    """An animal, from a file or from parameters, is not usable."""


class CourseError(GaitgenError):
    """A path, a ground or a timeline of steps that nothing can walk."""


class GaitError(GaitgenError):
    """A gait, from a file or from parameters, is not usable."""


class FileFormatError(GaitgenError):
    """A file cannot be encoded, or is not what its suffix says."""


class RigError(GaitgenError):
    """A rig, or the map of one, is not a quadruped that can be posed."""


class OutputError(GaitgenError):
    """A file cannot be written where it was asked for."""


class WorkerError(GaitgenError):
    """A process, or a cluster, that clips were left to cannot make them."""


@dataclass(frozen=True)
class Notice:
    """One plain sentence about something that was changed or is unusual.

    Attributes
    ----------
    topic
        Short key for programs, such as ``"speed"`` or ``"reach"``.
    text
        What a person reads.
    """

    topic: str
    text: str
