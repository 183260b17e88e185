"""Shots and joins on a rig: made on the animal that stands for it, and carried over.

A cycle stands where the file of the rig has it, and a join goes on from there. A shot is where its path, its
marks and its ground are, as on animals of ours: these are places in the scene.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from gaitgen.animal.animal import Animal
from gaitgen.formats import hand_off as hand_off_files
from gaitgen.formats import path_curve
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.wanted import HandOff
from gaitgen.gait.request import Request
from gaitgen.motion.keys import Keys
from gaitgen.rigs.cycle import LoadedRig, RigClip, load_rig, refuse_what_is_the_rigs
from gaitgen.rigs.map_file import is_map
from gaitgen.rigs.over_ground import rig_soles_over_m
from gaitgen.rigs.rig_space import RigSpace, animal_shift_m, as_animal_goes, from_home
from gaitgen.shot.make import Made
from gaitgen.shot.sinking import SINKS, sinking


@dataclass(frozen=True, eq=False)
class RigShot:
    """A shot, and the same motion on a rig.

    Attributes
    ----------
    made
        On the animal with the rig's proportions; the notices of its clip tell about the rig too.
    on_rig
        The clip on the rig.
    loaded
        The rig, and the animal that stands for it; its home is that of the rig's own file.
    """

    made: Made
    on_rig: RigClip
    loaded: LoadedRig

    def cycle(self, request: Request) -> RigClip:
        """Make one cycle of the shot on the rig, in place."""
        return self.loaded.cycle(request)

    def files(self, hand_off: HandOff) -> dict[str, bytes]:
        """Write the files of a clip and the way of the body, in the rig's unit, axes and place."""
        return self.encoded(hand_off)[0]

    def encoded(self, hand_off: HandOff) -> tuple[dict[str, bytes], Keys | None]:
        """Write all files as `files` does, and return the keys of the channels too, if they are wanted."""
        rig = self.on_rig.rig
        place, heading = self.made.root_motion()
        space = RigSpace.of(rig)
        files, keys = self.on_rig.encoded(hand_off)
        there = place + animal_shift_m(rig, self.loaded.animal) + from_home(rig)
        files[".path.csv"] = path_curve.encode(there, heading, space, self.made.clip.frame_rate_hz)
        return files, keys

    @property
    def lowest_sole_m(self) -> float:
        """How far the lowest corner of any sole of the rig is over the ground under it. [m]"""
        return float(rig_soles_over_m(self.on_rig, self.made.ground).min())


def encoded_shot(
    shot: Made | RigShot, space: FileSpace, hand_off: HandOff
) -> tuple[dict[str, bytes], Keys | None]:
    """Write the files of a clip and the way of the body: end of each name to its bytes, and the keys."""
    if isinstance(shot, RigShot):
        return shot.encoded(hand_off)
    ends, keys = hand_off_files.encode(shot.clip, space, hand_off)
    ends[".path.csv"] = path_curve.encode(*shot.root_motion(), space, shot.clip.frame_rate_hz)
    return ends, keys


def is_on_rig(animal: str | Animal) -> bool:
    """Tell whether what a request calls its animal is the map of a rig."""
    return isinstance(animal, str) and is_map(animal)


def shot_on_rig(
    whose: str | LoadedRig,
    request: Request,
    make: Callable[[Animal], Made],
    space: FileSpace | None = None,
    *,
    at_home: bool = False,
) -> RigShot:
    """Make a shot or a join on the rig of a map.

    Parameters
    ----------
    whose
        Path of the map, or the rig that was read from one.
    request
        What is asked of the animal; only what a rig can have is let through.
    make
        Makes it of an animal.
    space
        What was asked of the files.
    at_home
        Whether it begins where the file of the rig stands, as a join does, and not where its path begins.

    Raises
    ------
    GaitgenError
        If map, rig or request are not usable.
    """
    refuse_what_is_the_rigs(whose if isinstance(whose, str) else whose.where, request, space)
    loaded = load_rig(whose) if isinstance(whose, str) else whose
    with np.errstate(all="ignore"):  # what comes out of no animal is refused when it is carried over
        made = loaded.refusing(lambda: make(loaded.animal))
    on_rig = loaded.carry(made.clip, made.root_motion())
    if not at_home:
        on_rig = replace(on_rig, rig=as_animal_goes(on_rig.rig, loaded.animal))
        told = [notice for notice in made.clip.notices if notice.topic == SINKS]
        over = rig_soles_over_m(on_rig, made.ground)
        said = () if told else sinking(over, np.isfinite(over))
        on_rig = replace(on_rig, clip=replace(on_rig.clip, notices=(*on_rig.clip.notices, *said)))
    return RigShot(replace(made, clip=on_rig.clip), on_rig, loaded)


def on_any(request: Request, make: Callable[[str | Animal], Made]) -> Made:
    """Make a shot or a join of any animal; of a rig's map, on the animal with the rig's proportions.

    Raises
    ------
    GaitgenError
        If the request is not usable.
    """
    if is_on_rig(request.animal):
        return shot_on_rig(str(request.animal), request, make).made
    return make(request.animal)
