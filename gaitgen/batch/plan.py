"""What to make: animals, lengths and styles, combined and named."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path

from gaitgen.animal.library import load_animal
from gaitgen.batch.shots import ShotAsked
from gaitgen.errors import GaitError, RequestError
from gaitgen.gait.gait import load_gait
from gaitgen.gait.presets import mixed, parse_names, presets
from gaitgen.gait.request import STAND, WALK
from gaitgen.gait.style import Style
from gaitgen.option import options_of
from gaitgen.pipeline import Request
from gaitgen.rigs.cycle import LoadedRig, load_rig, refuse_what_is_the_rigs
from gaitgen.rigs.map_file import is_map

MOST_VARIANTS = 10_000


@dataclass(frozen=True)
class Variant:
    """One cycle or shot to make.

    Attributes
    ----------
    name
        Name of its files, without suffix.
    style_name
        Name of the style; empty if it has none.
    request
        What is asked, of an animal that is read already.
    gait_file
        Contents of the gait file, read once for all; None where the gait has a name.
    rig
        The rig that it is for, if the animal is the map of one.
    """

    name: str
    style_name: str
    request: Request | ShotAsked
    gait_file: bytes | None = None
    rig: LoadedRig | None = None


def parse_style(text: str, *, walks: bool = True) -> tuple[str, Style]:
    """Read a named style, such as ``proud: bounce=1.3 nod=1.4``, or ready-made ones, ``lame LF, tired``.

    Parameters
    ----------
    text
        The style.
    walks
        Whether it is for a gait that walks.

    Raises
    ------
    RequestError
        If the name or a factor is not usable.
    """
    name, factors, ready = parse_named(text)
    return name, mixed(ready, factors, walks=walks)


def parse_named(text: str) -> tuple[str, Style, tuple[str, ...]]:
    """Read a style as `parse_style` does; return its name, its factors, and the ready-made ones to mix.

    Raises
    ------
    RequestError
        If the name or a factor is not usable.
    """
    name, colon, rest = text.partition(":")
    name = name.strip()
    if colon and not re.fullmatch(r"[A-Za-z][A-Za-z0-9_]{0,39}", name):
        raise RequestError(
            f"{name!r} is no name for a style, as it becomes part of file names; use up to 40 of "
            "A to Z, a to z, 0 to 9 and _, a letter first, such as proud_heavy"
        )
    ready = [preset.name for preset in presets()]
    names = parse_names(name)
    if not colon and names and names[0].split()[0] in ready:
        return re.sub(r"[^A-Za-z0-9]+", "_", name).strip("_"), Style(), names
    if not colon:
        raise RequestError(
            f"cannot read the style {text!r}; write it like 'brisk: bounce=1.3 nod=1.4', or name one of "
            f"{', '.join(ready)}"
        )
    known = [found.field for found in options_of(Style)]
    factors: dict[str, float] = {}
    for word in rest.replace(",", " ").split():
        key, equals, value = word.partition("=")
        if key not in known or not equals:
            raise RequestError(
                f"cannot read {word!r} in the style {name!r}; write FACTOR=NUMBER, with {', '.join(known)}"
            )
        try:
            factors[key] = float(value)
        except ValueError:
            raise RequestError(
                f"{value!r} in the style {name!r} is no number; write {key}=<number>"
            ) from None
    return name, Style.of(factors), ()


def parse_frames(text: str) -> tuple[int, ...]:
    """Read lengths such as ``16,24,32`` or ``16-48:8`` (from, to, step).

    Raises
    ------
    RequestError
        If a length is no whole number, or given twice.
    """
    lengths: list[int] = []
    for part in text.split(","):
        span = re.fullmatch(r"\s*(\d{1,4})(?:-(\d{1,4})(?::(\d{1,4}))?)?\s*", part)
        if not span:
            raise RequestError(
                f"cannot read the length {part.strip()!r}; write lengths like 16,24,32 or 16-48:8"
            )
        first, last, step = int(span[1]), int(span[2] or span[1]), int(span[3] or 1)
        if step < 1 or last < first:
            raise RequestError(
                f"the lengths {part.strip()!r} go nowhere; write FIRST-LAST:STEP, such as 16-48:8"
            )
        lengths += range(first, last + 1, step)
    twice = next((length for length in lengths if lengths.count(length) > 1), None)
    if twice is not None:
        raise RequestError(f"the length {twice} is given twice; take one out")
    return tuple(lengths)


def plan_variants(
    base: Request, animals: Sequence[str], frames: Sequence[int], styles: Sequence[tuple[str, Style]] = ()
) -> tuple[Variant, ...]:
    """Combine animals, lengths and styles; files are named as those of one cycle, with the name of the style.

    Raises
    ------
    GaitgenError
        If the gait or an animal is not usable, there are too many combinations, one is too long, or two would
        have the same name.
    """
    plan = []
    base = replace(base, gait=base.gait or WALK)
    gait_file = _gait_file(base.gait or WALK)
    for animal in animals:
        rig = _rig(animal, base)
        skeleton = load_animal(animal, base.proportions) if rig is None else rig.animal
        for length, (style_name, style) in product(frames, styles or (("", base.style),)):
            request = replace(base, animal=skeleton, frames=length, style=style)
            request.refuse_endless()
            named = replace(request, style=Style(), named_style=style_name) if style_name else request
            name = named.stem(skeleton.name)
            plan.append(Variant(name, style_name, request, gait_file, rig))
    return sound(plan, "gait file")


def sound(plan: Sequence[Variant], what: str) -> tuple[Variant, ...]:
    """Return a plan, unless there is too much of it or files cannot be called so, as `what` is called.

    Raises
    ------
    RequestError
        With the first that is wrong.
    """
    if not 0 < len(plan) <= MOST_VARIANTS:
        raise RequestError(f"this makes {len(plan)} variants; ask for 1 to {MOST_VARIANTS}")
    unfit = next((v.name for v in plan if not v.name.isprintable() or set(v.name) & set("/\\:")), None)
    if unfit:
        raise RequestError(f"files cannot be called {unfit!r}; rename the {what}")
    twice = next((name for name, count in Counter(v.name for v in plan).items() if count > 1), None)
    if twice:
        raise RequestError(f"two variants would be called {twice!r}; take out what is given twice")
    return tuple(plan)


def _rig(animal: str, base: Request) -> LoadedRig | None:
    """Read the rig of a map; None for another animal."""
    if not is_map(animal):
        return None
    refuse_what_is_the_rigs(animal, base)
    return load_rig(animal)


def _gait_file(gait: str) -> bytes | None:
    """Read a gait file; None for the name of a gait. Either is refused here if it is not usable."""
    if gait != STAND:
        load_gait(gait, also=(STAND,))
    if not gait.endswith(".toml"):
        return None
    try:
        return Path(gait).read_bytes()
    except OSError as error:
        raise GaitError(f"{gait} cannot be read ({error.strerror}); give a gait file that can") from None
