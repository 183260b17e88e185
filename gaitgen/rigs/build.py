"""What an animal or a rig is like beside its limbs: neck, head, trunk, tail, toes and horns."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.library import load_animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.rigs.branches import Branches
from gaitgen.rigs.head import MOST_JAW_JOINTS, HeadParts

Array = npt.NDArray[np.float64]

# What a length counts, in hip heights of misfit, where it is e times the template's (estimates) ...
WEIGHTS = {"neck": 0.4, "poll": 0.5, "trunk": 0.3, "head": 0.15, "tail": 0.1}
# ... and more than so many times away counts no more; a length that one of both lacks says nothing.
MOST_TIMES = {"tail": 6.0}
MOST_TIMES_OF_ANY = 2.5
# A toe that the template has not, one that the rig leaves out, a hanging row on the head that the template or
# the rig has not, and horns or antlers, which have several tips, that the template has not (estimates).
TOE, LEFT_OUT_TOE, ROW, LEFT_OUT_ROW, HORNS, TIPS = 0.2, 0.02, 0.4, 0.2, 0.1, 0.12
# Toes that a forefoot of a kind sets on the ground (anatomy: the first of a paw does not reach it).
TOES = {"hoof": 1, "cloven hoof": 2, "pad": 2, "paw": 4, "sole": 5, "column": 5}
# Ends of a foot that are as near to one another across, in hip heights, are of one toe; what stands up on a
# head by more than so much of its own length is a horn, and no shorter than that (estimates).
ASIDE, RISES, LONG = 0.012, 0.35, 0.12
WORDS = {
    "neck": "length of the neck",
    "poll": "height of the head",
    "trunk": "distance from fore to hind feet",
    "head": "length of the head",
    "tail": "length of the tail",
}


@dataclass(frozen=True)
class Build:
    """Measures of a standing animal or rig, lengths in hip heights; None for what it has not.

    Attributes
    ----------
    neck, poll, trunk, head, tail
        Length of the neck, height of the joint of the head over the ground, from hind to fore toes, from
        that joint to the end of the head, and length of the tail.
    toes
        Toes of a forefoot on the ground; one may stand for more.
    has_row
        Whether a long row, such as a trunk, hangs on the head.
    horns
        Tips that stand up on each side of the head: none, horns, or antlers.
    """

    neck: float | None
    poll: float | None
    trunk: float
    head: float | None
    tail: float | None
    toes: int
    has_row: bool
    horns: int

    def unlike(self, model: Build) -> float:
        """Tell how unlike a template's this build of a rig is. [hip heights of misfit]"""
        return sum(self.parts(model).values())

    def parts(self, model: Build) -> dict[str, float]:
        """Tell how unlike a template's each measure of a rig is. [hip heights of misfit]"""
        found = {}
        for each in fields(self):
            own, other = getattr(self, each.name), getattr(model, each.name)
            if each.name in WEIGHTS and own and other:
                most = MOST_TIMES.get(each.name, MOST_TIMES_OF_ANY)
                away = min(abs(math.log(own / other)), math.log(most))
                found[each.name] = WEIGHTS[each.name] * away
        if self.toes > 1:
            found["toes"] = TOE * max(self.toes - model.toes, 0) + LEFT_OUT_TOE * max(
                model.toes - self.toes, 0
            )
        if self.poll is not None:
            found["row"] = ROW * (self.has_row > model.has_row) + LEFT_OUT_ROW * (
                self.has_row < model.has_row
            )
        found["horns"] = HORNS * (self.horns > 0 and model.horns == 0) + TIPS * (
            self.horns > 1 >= model.horns
        )
        return found


@lru_cache(maxsize=64)
def build_of(name: str) -> Build:
    """Measure a built-in animal as it stands."""
    animal = load_animal(name)
    places, hip = standing_positions_m(animal), animal.hip_height_m
    toes = {
        end: places[limb.foot_joint, 0] + limb.foot.toe_m
        for end in ("fore", "hind")
        for limb in [animal.limb(end)]
    }
    tail = animal.part("tail")
    long = None if tail is None else float(np.linalg.norm(animal.tips_m[list(tail.joints)], axis=1).sum())
    neck = poll = head = None
    has_row, horns = False, 0
    if animal.head is not None:
        at = places[animal.head]
        neck = _along(places[[*animal.neck, animal.head]]) / hip
        poll, head = float(at[2]) / hip, float(np.linalg.norm(animal.tips_m[animal.head])) / hip
        kept = {animal.head, *animal.neck}
        has_row = any(
            len(part.joints) > MOST_JAW_JOINTS and int(animal.parents[part.joints[0]]) == animal.head
            for part in animal.hanging
            if not kept & set(part.joints)
        )
        lines: dict[str, list[tuple[float, float, float]]] = {}
        for joint, place, _, group in animal.outline:
            if joint == animal.joint_names[animal.head] and place[1] > 0.0:
                lines.setdefault(group, []).append(place)
        horns = sum(_is_horn(np.array(line) / hip) for line in lines.values() if len(line) > 1)
    return Build(
        neck,
        poll,
        float(toes["fore"] - toes["hind"]) / hip,
        head,
        None if long is None else long / hip,
        TOES[animal.limb("fore").foot.kind],
        has_row,
        horns,
    )


def build_of_rig(
    branches: Branches,
    head: HeadParts,
    tail: tuple[int, ...],
    toes: dict[str, Array],
    feet: tuple[list[int], ...],
) -> Build:
    """Measure a rig as it stands.

    Parameters
    ----------
    branches
        The rig, with the height of its hips.
    head, tail
        Nodes of its head and its tail.
    toes
        Ground point of the toe of each limb, (3,).
    feet
        Nodes in which the two forefeet end.
    """
    here, hip = branches.here, branches.hip
    neck = poll = long = None
    horns = 0
    if head.head is not None:
        at = here[head.head]
        line = [*head.neck, head.head]
        neck = _along(here[line]) / hip if head.neck else None
        poll = float(at[2]) / hip
        ahead = [
            node for node in branches.below(head.head) if branches.flat[node] and node not in head.hanging
        ]
        reach = here[ahead] - at
        long = float(np.linalg.norm(reach[int((reach[:, 0] - reach[:, 2]).argmax())])) / hip or None
        horns = _horns(branches, head)
    return Build(
        neck,
        poll,
        float(np.mean([toes[side + "F"][0] - toes[side + "H"][0] for side in "LR"])) / hip,
        long,
        branches.length(tail[0]) / hip if tail else None,
        min(_toes(here[foot] / hip) for foot in feet),
        bool(head.hanging),
        horns,
    )


def _horns(branches: Branches, head: HeadParts) -> int:
    """Count the tips of what stands up on the left of a head, and is no ear."""
    assert head.head is not None  # noqa: S101
    ears = set() if head.ears is None else {node for ear in head.ears for node in branches.below(ear)}
    count = 0
    for node in branches.below(head.head):
        if node in ears or branches.nodes.children(node) or branches.here[node, 1] <= 0.0:
            continue
        line = branches.nodes.line(node)
        line = line[: line.index(head.head)][::-1]
        count += len(line) > 1 and _is_horn((branches.here[line] - branches.here[head.head]) / branches.hip)
    return count


def _is_horn(line: Array) -> bool:
    """Tell whether a line from a head, (points, 3) in hip heights, is long and stands up."""
    return bool(_along(line) > LONG and line[-1, 2] - line[0, 2] > RISES * _along(line) and line[-1, 2] > 0.0)


def _toes(ends: Array) -> int:
    """Count the toes that end beside one another in (ends, 3) of a foot, in hip heights."""
    return 1 + int((np.diff(np.sort(ends[:, 1])) > ASIDE).sum())


def _along(line: Array) -> float:
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())
