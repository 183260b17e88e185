"""Ground points of a rig's toes by the ends of its file, for a map that has none or those of another pose."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.errors import Notice
from gaitgen.formats.bvh_file import BvhFile
from gaitgen.rigs.nodes import Nodes
from gaitgen.rigs.parts import main_line
from gaitgen.rigs.rig import axes_of, standing_pose
from gaitgen.rigs.rig_map import LimbMap, Rest, RigMap, Triple
from gaitgen.rigs.soles import with_soles

Array = npt.NDArray[np.float64]

SAME = 0.002  # of the height of the hips: toes as near are the same
DIGITS = 6  # as a map has them
RESTS: tuple[Rest, ...] = ("zero", "first frame")


def with_toes(file: BvhFile, rig_map: RigMap, template: Animal, missing: set[str]) -> RigMap:
    """Put in the toes that a map leaves out; all of them, where they are those of its rig's other pose.

    Somebody who writes another rest into a map leaves what hangs on it as it was.

    Parameters
    ----------
    file, rig_map, template
        The rig, its map, and the animal named in it.
    missing
        Limbs that have no toe in the map.
    """
    if missing:
        made = _toes(file, rig_map, template)
        return _put(rig_map, {limb: made[limb] for limb in missing})
    other = RESTS[rig_map.rest == "zero"]
    if other == "first frame" and not len(file.rows):
        return rig_map
    here, there = (_toes(file, replace(rig_map, rest=rest), template) for rest in (rig_map.rest, other))
    hip = _hip(file, rig_map)
    own = {limb: limb_map.toe for limb, limb_map in rig_map.limbs.items()}
    if (
        _apart(own, there) > SAME * hip
        or _apart(own, here) <= SAME * hip
        or _apart(here, there) <= SAME * hip
    ):
        return rig_map
    return replace(_put(rig_map, here), toes_of_rest=other)


def toes_notices(rig_map: RigMap) -> tuple[Notice, ...]:
    """Say that toes were computed anew."""
    if rig_map.toes_of_rest is None:
        return ()
    text = (
        f'the toes in the map are those of rest = "{rig_map.toes_of_rest}"; they are computed anew for '
        f'"{rig_map.rest}". Leave them out of the map, or let `gaitgen fit --rest` write it.'
    )
    return (Notice("toes", text),)


def _put(rig_map: RigMap, toes: dict[str, Triple]) -> RigMap:
    limbs: dict[str, LimbMap] = dict(rig_map.limbs)
    limbs |= {limb: replace(limbs[limb], toe=toe) for limb, toe in toes.items()}
    return replace(rig_map, limbs=limbs)


def _apart(one: dict[str, Triple], other: dict[str, Triple]) -> float:
    """How far the toes of the limb that differs most are apart, in the unit of the file."""
    return max(float(np.linalg.norm(np.subtract(one[limb], other[limb]))) for limb in one)


def _hip(file: BvhFile, rig_map: RigMap) -> float:
    """Length of the hind limbs, about the height of the hips, in the unit of the file."""
    rows = [file.joint_names.index(name) for name in rig_map.limbs["LH"].joints]
    return float(np.linalg.norm(np.asarray(file.offsets)[rows[1:]], axis=1).sum())


def _toes(file: BvhFile, rig_map: RigMap, template: Animal) -> dict[str, Triple]:
    """Ground points of the toes from the last joint of each limb, in the file's axes and unit."""
    pose, axes = standing_pose(file, rig_map, template), axes_of(rig_map)
    nodes = Nodes(file.joint_names, pose.parents, pose.places)
    here = pose.places @ axes.T
    chains = {
        limb: [file.joint_names.index(name) for name in own.joints] for limb, own in rig_map.limbs.items()
    }
    feet = {limb: _ends(nodes, chain[-1]) for limb, chain in chains.items()}
    ground = min(float(here[foot, 2].min()) for foot in feet.values())
    here = here - [0.0, 0.0, ground]
    toes = {limb: here[main_line(nodes, here, foot)[-1]] * [1.0, 1.0, 0.0] for limb, foot in feet.items()}
    hip = float(np.mean([here[chains[limb][0], 2] for limb in ("LH", "RH")]))
    toes = with_soles(pose.places @ axes[2], here, chains, toes, template, hip, [])
    return {limb: _triple(axes.T @ (toe - here[chains[limb][-1]])) for limb, toe in toes.items()}


def _triple(place: Array) -> Triple:
    x, y, z = (round(float(value), DIGITS) + 0.0 for value in place)
    return x, y, z


def _ends(nodes: Nodes, last: int) -> list[int]:
    """Nodes below a joint that nothing hangs on; the joint itself if there are none."""
    branch = [last]
    for member in branch:
        branch.extend(nodes.children(member))
    return [node for node in branch if not nodes.children(node)]
