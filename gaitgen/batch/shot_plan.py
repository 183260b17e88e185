"""Which shots to make: files, animals, styles and values of the files, combined and named."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import product
from pathlib import Path

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import load_animal
from gaitgen.batch.plan import MOST_VARIANTS, Variant, parse_named, sound
from gaitgen.batch.shots import ShotAsked
from gaitgen.errors import GaitgenError, RequestError
from gaitgen.gait.name_words import not_too_long, plain_word
from gaitgen.gait.presets import mixed
from gaitgen.gait.style import Style
from gaitgen.rigs.cycle import LoadedRig, load_rig
from gaitgen.rigs.map_file import is_map
from gaitgen.shot.changed_file import Changes, parse_change
from gaitgen.shot.named_in_file import Folder
from gaitgen.shot.shot_file import shot_bytes

StyleAsked = tuple[str, Style, str | None]  # name, factors, ready-made ones
NO_STYLE: StyleAsked = ("", Style(), None)


def plan_shots(
    files: Sequence[str],
    animals: Sequence[str] = (),
    styles: Sequence[str] = (),
    vary: Sequence[str] = (),
    frame_rate_hz: float | None = None,
) -> tuple[Variant, ...]:
    """Combine shot files, animals, styles and values that take the place of those in the files.

    Files are named FILE, with ANIMAL where animals are given, each value and the name of the style after it.
    What cannot be read is a variant that cannot be made, for that reason.

    Parameters
    ----------
    files
        Paths of shot files.
    animals
        Names, skeleton files or maps of rigs, in place of those in the files.
    styles
        On top of those in the files, as `parse_style` reads them.
    vary
        Keys and their values, as `parse_change` reads them.
    frame_rate_hz
        Frames per second; None for those of the files. [Hz]

    Raises
    ------
    GaitgenError
        If an animal, a style or a key is not usable, there are too many combinations, or two would have the
        same name.
    """
    asked_styles = [_style(text) for text in styles] or [NO_STYLE]
    changes = [tuple(each) for each in product(*map(parse_change, vary))]
    count = len(files) * len(changes) * len(asked_styles) * max(len(animals), 1)
    if count > MOST_VARIANTS:
        raise RequestError(f"this makes {count} variants; ask for 1 to {MOST_VARIANTS}")
    whose = _Whose()
    given = [whose(name) for name in animals]
    plan = []
    for file, change in product(files, changes):
        asked = replace(_asked(file, change), frame_rate_hz=frame_rate_hz)
        asked, there = _with_animals(asked, given, whose)
        for (name, animal), style in product(there, asked_styles):
            plan.append(_variant(asked, name if animals else "", animal, style))
    return sound(plan, "shot file")


def _style(text: str) -> StyleAsked:
    name, factors, ready = parse_named(text)
    mixed(ready, factors)  # refused here rather than with every shot
    return name, factors, ", ".join(ready) or None


class _Whose:
    """Reads each animal or rig once."""

    def __init__(self) -> None:
        self._known: dict[str, tuple[str, Animal | LoadedRig]] = {}

    def __call__(self, word: str) -> tuple[str, Animal | LoadedRig]:
        """Return what an animal is called in the names of files, and the animal.

        Raises
        ------
        GaitgenError
            If there is no such animal.
        """
        if word not in self._known:
            animal = load_rig(word) if is_map(word) else load_animal(word)
            name = animal.rig.name if isinstance(animal, LoadedRig) else animal.name
            self._known[word] = (name, animal)
        return self._known[word]


def _asked(file: str, changes: Changes) -> ShotAsked:
    """Read the bytes of a shot file and of what it names; what cannot be read is kept as its fault."""
    asked = ShotAsked(file, b"", changes=changes)
    try:
        asked = replace(asked, data=shot_bytes(Path(file)))
        folder = Folder(Path(file).parent)
        request = asked.read(folder)
        copies = {name: path.read_bytes() for name, path in folder.found.items()}
        return replace(asked, animal=request.first.animal, copies=copies)
    except GaitgenError as fault:
        return replace(asked, fault=fault)
    except OSError as fault:
        reason = f"{file}: {fault.filename} cannot be read ({fault.strerror}); give a file that can"
        return replace(asked, fault=RequestError(reason))


def _with_animals(
    asked: ShotAsked, given: Sequence[tuple[str, Animal | LoadedRig]], whose: _Whose
) -> tuple[ShotAsked, Sequence[tuple[str, Animal | LoadedRig | None]]]:
    """Return the animals of a shot, with what they are called: those given, or that of its file."""
    if given:
        return asked, given
    if asked.fault is not None:
        return asked, [("", None)]
    try:
        return asked, [whose(str(asked.animal))]
    except GaitgenError as fault:
        return replace(asked, fault=fault), [("", None)]


def _variant(asked: ShotAsked, whose: str, animal: Animal | LoadedRig | None, style: StyleAsked) -> Variant:
    style_name, factors, named_style = style
    words = [*(change.word for change in asked.changes), style_name]
    words = [word for word in map(plain_word, words) if word]
    name = "_".join((asked.stem, *([whose] if whose else []), *not_too_long(words)))
    rig = animal if isinstance(animal, LoadedRig) else None
    of = "" if animal is None else animal.animal if isinstance(animal, LoadedRig) else animal
    asked = replace(asked, animal=of, style=factors, named_style=named_style)
    return Variant(name, style_name, asked, rig=rig)
