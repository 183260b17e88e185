"""What the name of a file says of a request beside animal, gait and length."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Collection, Iterator, Sequence
from contextlib import suppress

from gaitgen.option import Found, options_of

MOST_LETTERS = 100
"""Of all words together; a name of more than 255 bytes is none on most disks."""
_BARE = ("style", "contacts")  # their values say what they are


def words_of_name(holder: object, without: Collection[str] = ()) -> tuple[str, ...]:
    """Name what is asked for otherwise than usual, so that no two requests name their files alike.

    Parameters
    ----------
    holder
        Dataclass of options.
    without
        Names of options that are said elsewhere.

    Returns
    -------
    words
        One an option, in their order, such as ``speed_1p3``, ``travel``, ``tired`` or
        ``RH1-22_RF8-30_LH17-7_LF25-15``. A point is written p, since points part a name from its number and
        suffix. Where they would be too long, the last is a digest of those left out.
    """
    words = [
        word
        for found in options_of(type(holder))
        if found.name not in without
        for word in _word(found, holder)
    ]
    return not_too_long(words)


def not_too_long(words: Sequence[str]) -> tuple[str, ...]:
    """Leave out the last words of a name where they would be too long, for a digest of all of them."""
    kept = list(words)
    while sum(len(word) + 1 for word in kept) > MOST_LETTERS:
        kept.pop()
    if len(kept) < len(words):
        kept.append(hashlib.sha256("_".join(words).encode()).hexdigest()[:8])
    return tuple(kept)


def _word(found: Found, holder: object) -> Iterator[str]:
    value = found.read(holder)
    if value is None or value == found.default:
        return
    if isinstance(value, bool):
        on, _, off = found.option.switch.partition("/")
        words = (on or found.name, off or f"no_{found.name}")
        yield plain_word(words[not value].removeprefix("--"))
        return
    text = f"{value:.9g}" if isinstance(value, float) else str(value)
    if found.name == "style":  # all of a style is what its name alone asks for
        text = ",".join(_whole_style(part) for part in text.split(","))
    if found.name == "contacts":  # in any order of feet
        text = "_".join(sorted(re.sub(r"\s", "", part).upper() for part in text.split(",")))
    yield plain_word(text if found.name in _BARE else f"{found.name}_{text}")


def _whole_style(text: str) -> str:
    """Write one ready-made style and how much of it, such as ``lame LF 0.5``, in one way."""
    name, *words = text.split() or [""]
    with suppress(ValueError, IndexError):
        share = float(words[-1])
        words[-1:] = [] if share == 1.0 else [f"{share:g}"]
    return " ".join((name, *(word.upper() if word.isalpha() else word for word in words)))


def plain_word(text: str) -> str:
    """Write a word in letters that every disk takes."""
    return re.sub(r"[^A-Za-z0-9-]+", "_", re.sub(r"(?<=\d)\.(?=\d)", "p", text)).strip("_")
