"""How far the joints of a rig turn in its gaits, kept in its map, so that a cycle need not find it first.

To find it takes ten walks and runs, of the rig and of its template: as long as all the rest of a cycle. What
`fit` found holds as long as nothing has changed that it hangs on: the rig as it stands, the map but for the
ranges that it sets, the template's file, the gaits, and the release of gaitgen.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from importlib import resources

import numpy as np

from gaitgen import __version__
from gaitgen.animal.animal import Animal
from gaitgen.animal.library import load_animal, skeleton_bytes
from gaitgen.rigs.one_fold import walking_as_mapped
from gaitgen.rigs.own_gaits import with_own_gaits
from gaitgen.rigs.own_ranges import Turns, own_turns
from gaitgen.rigs.rig import Rig
from gaitgen.rigs.rig_map import TurnsMap

DIGITS = 32  # hexadecimal, of a digest: chance gives the same one to no two maps


def known_turns(rig: Rig, animal: Animal) -> Turns | None:
    """Return what the map of a rig keeps of the turns of its animal, or None if it keeps none that holds.

    Parameters
    ----------
    rig, animal
        The rig, and the animal that stands for it, with the template's ranges.

    Returns
    -------
    What `own_turns` finds: ranges (joints, 3, 2), and by part its greatest swing. [rad]
    """
    kept = rig.map.turns
    if kept is None or kept.of != _digest(rig, kept):
        return None
    ranges = animal.ranges_rad.copy()
    for name, ends in kept.joints_rad.items():
        ranges[animal.index[name]] = np.reshape(ends, (3, 2))
    return ranges, {part.name: kept.swings_rad.get(part.name, part.most_rad) for part in animal.hanging}


def turns_map(rig: Rig) -> TurnsMap:
    """Find how far the joints of a rig turn in its gaits, for its map.

    Parameters
    ----------
    rig
        The rig, with its map as it is read from its file.

    Raises
    ------
    GaitgenError
        If it cannot stand.
    """
    template = load_animal(rig.map.template)
    animal, _ = walking_as_mapped(rig.map, with_own_gaits(rig, template)[0])
    ranges, swings = own_turns(animal, template)
    joints = {
        name: tuple(own.ravel().tolist())
        for name, own, before in zip(animal.joint_names, ranges, animal.ranges_rad, strict=True)
        if (own != before).any()
    }
    farther = {part.name: swings[part.name] for part in animal.hanging if swings[part.name] != part.most_rad}
    found = TurnsMap("", joints, farther)
    return replace(found, of=_digest(rig, found))


def _digest(rig: Rig, found: TurnsMap) -> str:
    """Digest what was found and all that it hangs on."""
    own = replace(rig.map, ranges_deg={}, turns=None)
    whole = hashlib.sha256(repr((__version__, own, rig.rest.angles_deg, replace(found, of=""))).encode())
    for data in (rig.hierarchy, rig.rest.local_offsets.tobytes(), skeleton_bytes(own.template)[0], *_gaits()):
        whole.update(hashlib.sha256(data).digest())
    return whole.hexdigest()[:DIGITS]


def _gaits() -> list[bytes]:
    """Return the files of all gaits, by name."""
    files = [file for file in (resources.files("gaitgen") / "gaits").iterdir() if file.name.endswith(".toml")]
    return [file.read_bytes() for file in sorted(files, key=lambda file: file.name)]
