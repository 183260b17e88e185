"""The animal that stands for a rig, with what is another way in each gait of its template."""

from __future__ import annotations

from dataclasses import replace

from gaitgen.animal.animal import Animal
from gaitgen.animal.manner import Going
from gaitgen.errors import Notice
from gaitgen.rigs.as_skeleton import as_skeleton
from gaitgen.rigs.rig import Rig


def with_own_gaits(rig: Rig, template: Animal) -> tuple[Animal, tuple[Notice, ...]]:
    """Return the animal that stands for a rig, and what had to be changed so that it can stand.

    Parameters
    ----------
    rig, template
        The rig, and the animal that lends it masses, limb laws and manners.

    Raises
    ------
    RigError
        If no limb of these proportions can stand.
    """
    animal, said = as_skeleton(rig, template)
    bare = {gait: replace(template.in_gait(gait), outline=()) for gait in template.goings}  # no flesh goes
    goings = {gait: Going.of(as_skeleton(rig, each)[0]) for gait, each in bare.items()}
    return replace(animal, goings=goings), said
