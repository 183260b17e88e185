"""Reads the joint tree, the part of a BVH file above MOTION, word by word.

The format is words with space between them, and a joint's name is one (common practice; no standard says so).
Files in the wild have names of several words: what stands between JOINT and the end of the line, or the
brace, is the name, which can be taken in one way only.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import NoReturn

from gaitgen.errors import FileFormatError
from gaitgen.formats.decimals import LARGEST

Triple = tuple[float, float, float]

CHANNEL_WORDS: Mapping[str, str] = {
    f"{axis}{kind}".lower(): f"{axis}{kind}" for kind in ("position", "rotation") for axis in "XYZ"
}
"""Channel word in small letters to the word itself."""

MOST_JOINTS = 4000
BEGINS = "HIERARCHY"  # the first word of a file
_WORD = re.compile(r"\S+")
_NOT_A_NAME = ("{", "}")
_LONGEST_NAME = 200


def fail(where: str, line: int, what: str) -> NoReturn:
    """Raise with the place put before what is wrong and what to do."""
    raise FileFormatError(f"{where}, line {line}: {what}")


def shown(word: str) -> str:
    """Quote a word of the file for a message, cut to a readable length."""
    return repr(word if len(word) <= 40 else f"{word[:37]}...")


def number(word: str, where: str, line: int, what: str) -> float:
    """Read one finite number.

    Raises
    ------
    FileFormatError
        If the word is no number, is not finite, or is not below LARGEST.
    """
    try:
        value = float(word)
    except ValueError:
        value = math.nan
    if "_" in word or not abs(value) < LARGEST:
        fail(where, line, f"{what} is {shown(word)}; write a finite number below {LARGEST:.0e}")
    return value


@dataclass
class Joint:
    """One joint while it is read; ``channels`` is None until its CHANNELS are seen."""

    name: str
    parent: int
    line: int
    offset: Triple | None = None
    channels: tuple[str, ...] | None = None
    end_sites: list[Triple] = field(default_factory=list)


class Words:
    """The words of some lines, one after the other, with the line of the one read last."""

    def __init__(self, lines: list[str], where: str) -> None:
        self.where = where
        self.line = 0
        self._words = self._walk(lines)
        self._ahead: tuple[int, str] | None = None  # a word that was looked at, and its line

    def _walk(self, lines: list[str]) -> Iterator[str]:
        for self.line, text in enumerate(lines, 1):
            yield from (found[0] for found in _WORD.finditer(text))  # a line may be as long as a file

    def take_if_any(self) -> str | None:
        """Return the next word, or None at the end."""
        if self._ahead is not None:
            (self.line, word), self._ahead = self._ahead, None
            return word
        return next(self._words, None)

    def take_name(self, expected: str) -> str:
        """Return the next word, with the others of its line before a brace, a space between any two.

        Raises
        ------
        FileFormatError
            If there is none.
        """
        name = self.take(expected)
        line = self.line
        while name not in _NOT_A_NAME and len(name) <= _LONGEST_NAME:
            word = next(self._words, None)
            if word is None or word in _NOT_A_NAME or self.line != line:
                self._ahead, self.line = None if word is None else (self.line, word), line
                break
            name = f"{name} {word}"
        return name

    def take(self, expected: str) -> str:
        """Return the next word.

        Raises
        ------
        FileFormatError
            If there is none.
        """
        word = self.take_if_any()
        if word is None and expected == BEGINS:
            self.fail("the file is empty; give a BVH, which begins with HIERARCHY")
        if word is None:
            self.fail(
                f"the joints end before {expected}; close every brace; if it is cut short, write it again"
            )
        return word

    def need(self, word: str, what: str) -> None:
        """Take one word that must be the given one, in capitals or not."""
        found = self.take(word)
        if found.upper() != word.upper():
            self.fail(f"found {shown(found)} instead of {word!r}; {what}")

    def fail(self, what: str) -> NoReturn:
        """Raise at the current line."""
        fail(self.where, self.line, what)

    def triple(self, what: str) -> Triple:
        """Take three numbers."""
        x, y, z = (number(self.take(what), self.where, self.line, what) for _ in range(3))
        return x, y, z


def _take_joint(words: Words, keyword: str, parent: int) -> Joint:
    """Take a joint's name and the brace that opens it."""
    name = words.take_name(f"the name of a {keyword}")
    if name in _NOT_A_NAME:
        words.fail(f"{keyword} has no name; write one after {keyword}")
    if len(name) > _LONGEST_NAME:
        words.fail(f"the name {shown(name)} has {len(name)} letters; give one of at most {_LONGEST_NAME}")
    joint = Joint(name, parent, words.line)
    words.need("{", f"open joint {shown(name)} with a brace")
    return joint


def _take_channels(words: Words, joint: Joint) -> tuple[str, ...]:
    """Take the count and the words of one joint's channels."""
    count = words.take("the number of channels")
    if count not in {"0", "1", "2", "3", "4", "5", "6"}:
        words.fail(f"{shown(joint.name)} has {shown(count)} channels; write a whole number from 0 to 6")
    taken: list[str] = []
    for _ in range(int(count)):
        word = words.take("the name of a channel")
        channel = CHANNEL_WORDS.get(word.lower())
        if channel is None or channel in taken:
            allowed = ", ".join(CHANNEL_WORDS.values())
            words.fail(
                f"{shown(joint.name)} has the channel {shown(word)}; use each of {allowed} at most once"
            )
        taken.append(channel)
    return tuple(taken)


def _take_end_site(words: Words) -> Triple:
    """Take what follows the word End."""
    words.need("Site", "write 'End Site'")
    words.need("{", "open the End Site with a brace")
    words.need("OFFSET", "an End Site holds one OFFSET")
    tip = words.triple("OFFSET of an End Site")
    words.need("}", "close the End Site with a brace after its OFFSET")
    return tip


def _close(words: Words, joint: Joint) -> int:
    """Check a joint at its closing brace and return its parent."""
    for keyword, value in (("OFFSET", joint.offset), ("CHANNELS", joint.channels)):
        if value is None:
            words.fail(f"joint {shown(joint.name)} of line {joint.line} has no {keyword}; add one")
    return joint.parent


def _take_item(words: Words, keyword: str, joint: Joint) -> None:
    """Take one OFFSET, CHANNELS or End Site into a joint."""
    if keyword == "OFFSET" and joint.offset is None:
        joint.offset = words.triple(f"OFFSET of {shown(joint.name)}")
    elif keyword == "CHANNELS" and joint.channels is None:
        joint.channels = _take_channels(words, joint)
    elif keyword == "END":
        joint.end_sites.append(_take_end_site(words))
    elif keyword in {"OFFSET", "CHANNELS"}:
        words.fail(f"joint {shown(joint.name)} has two {keyword}; keep one")
    else:
        what = f"found {shown(keyword)} inside {shown(joint.name)}"
        words.fail(f"{what}; a joint holds OFFSET, CHANNELS, JOINT or End Site, and ends with a brace")


def _expect_end(words: Words) -> None:
    """Refuse words between the root's closing brace and MOTION."""
    extra = words.take_if_any()
    if extra is not None:
        words.fail(f"found {shown(extra)} after the root was closed; keep one ROOT, and check the braces")


def read_tree(lines: list[str], where: str) -> list[Joint]:
    """Read the joints, in the order of the file, from the lines above MOTION.

    Parameters
    ----------
    lines
        Lines of the file from its first one.
    where
        Name of the file for messages.

    Returns
    -------
    Joints, the root first and parents before children; offset and channels are set on each.

    Raises
    ------
    FileFormatError
        If the tree is not complete; names file and line.
    """
    words = Words(lines, where)
    words.need("HIERARCHY", "a BVH file begins with HIERARCHY")
    words.need("ROOT", "the first joint is written as ROOT and its name")
    joints = [_take_joint(words, "ROOT", -1)]
    names = {joints[0].name}
    current = 0
    while current >= 0:
        keyword = words.take("the brace that closes the ROOT")
        if keyword == "}":
            current = _close(words, joints[current])
        elif keyword.upper() == "JOINT":
            if len(joints) == MOST_JOINTS:
                words.fail(f"the file has more than {MOST_JOINTS} joints; leave out what moves no limb")
            joints.append(_take_joint(words, "JOINT", current))
            current = len(joints) - 1
            name = joints[current].name
            if name in names:
                fail(
                    where,
                    joints[current].line,
                    f"a second joint is named {shown(name)}; give each its own name",
                )
            names.add(name)
        else:
            _take_item(words, keyword.upper(), joints[current])
    _expect_end(words)
    return joints
