"""One pose of a rig, taken for its standing pose: what is found in it, and how well its legs stand."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.library import load_animal
from gaitgen.errors import Notice
from gaitgen.formats.bvh_file import BvhFile, channel_columns
from gaitgen.rigs.bones import FOLDED_SHARE, STRAIGHT_SHARE
from gaitgen.rigs.doubt import Doubt
from gaitgen.rigs.facing import facing
from gaitgen.rigs.helpers import with_helpers
from gaitgen.rigs.legs_under import (
    SPREAD_RAD,
    STRADDLE_RAD,
    outward_of,
    straightness,
    too_far_ahead_rad,
    with_legs_under,
)
from gaitgen.rigs.nodes import Nodes, NotStandingError, without_groups
from gaitgen.rigs.parted import parted
from gaitgen.rigs.rest import RestPose, rest_pose
from gaitgen.rigs.rig_map import Rest, RigMap
from gaitgen.rigs.stance import find_stance

Array = npt.NDArray[np.float64]

HIND = ("LH", "RH")
TIPPED_COSINE = 0.5  # a trunk that is turned farther has another side up
# Feet whose ends differ by no more in height stand on one ground, and a left foot and a right one that are no
# farther from each other's mirror image stand square, as no stride does (hip heights; estimates).
EVEN, SQUARE = 0.02, 0.06
ANOTHER = 0.01  # of the size of a rig: a pose in which no joint is farther from its place is the same


@dataclass(frozen=True, eq=False)
class Found:
    """One pose of a rig, taken for standing, and what is found in it.

    Attributes
    ----------
    pose, axes, map, notices
        The pose; forward, left and up in it; the map, and what could not be decided.
    lean_rad, straddles
        How far the legs lean outward, and whether they stand far ahead or behind.
    uneven, aslant
        How far the ends of the feet differ in height, and how far a left one is from the mirror image of the
        right one. [hip heights]
    straight
        Share of its length to which the straightest leg stands stretched.
    """

    pose: RestPose
    axes: Array
    map: RigMap
    notices: list[Notice]
    lean_rad: float
    straddles: bool
    uneven: float
    aslant: float
    straight: float

    @property
    def is_square(self) -> bool:
        """Whether all feet are flat on one ground, left beside right, under legs that are not spread."""
        return self.uneven <= EVEN and self.aslant <= SQUARE and self.lean_rad <= SPREAD_RAD

    @property
    def is_stiff(self) -> bool:
        """Whether a leg stands so straight that it cannot step."""
        return self.straight >= STRAIGHT_SHARE

    @property
    def stands_well(self) -> bool:
        """Whether its legs are under the body."""
        return self.lean_rad <= SPREAD_RAD and not self.straddles

    def is_tipped_in(self, file: BvhFile) -> bool:
        """Whether the trunk lies on its side in frame 1, against this pose: the file has another axis up."""
        if self.map.rest != "zero" or not len(file.rows):
            return False
        joint = file.joint_names.index(self.map.pelvis)
        first = rest_pose(file, "first frame").rotations[joint]
        up = self.axes[2]
        return float(up @ first @ self.pose.rotations[joint].T @ up) < TIPPED_COSINE

    @classmethod
    def of(cls, file: BvhFile, pose: RestPose, rest: Rest, template: str | None) -> Found:
        """Look for a standing quadruped in a pose; a NotStandingError if there is none."""
        places = {joint for joint, own in enumerate(channel_columns(file, "position")) if len(own) == 3}
        nodes = Nodes(file.joint_names, pose.parents, pose.places)
        nodes = without_groups(
            nodes, {joint for joint in places if not places.issuperset(nodes.children(joint))}
        )
        movable = {row for row, name in enumerate(nodes.names) if file.joint_names.index(name) in places}
        notices: list[Notice] = []
        stance = facing(nodes, find_stance(nodes), notices)
        found = parted(nodes, stance, rest, template, notices)
        here = stance.here(nodes)
        found = with_helpers(nodes, stance, here, found, movable, notices)
        animal = load_animal(template or found.template)
        leans, aheads, folded, tips = [], [], [], {}
        for limb, own in found.limbs.items():
            flip = [1.0, 1.0 if limb[0] == "L" else -1.0, 1.0]
            joints = [nodes.names.index(name) for name in own.joints]
            points, ends = here[joints] * flip, here[nodes.children(joints[-1])] * flip
            leans.append(outward_of(points)[1])
            aheads.append(too_far_ahead_rad(points, ends, animal, "fore" if limb[1] == "F" else "hind"))
            folded.append((straightness(points, ends), "fore" if limb[1] == "F" else "hind"))
            tips[limb] = min((*ends, points[-1]), key=lambda end: float(end[2]))
        share, end = min(folded)
        if share < FOLDED_SHARE:
            text = (
                f"the {end} legs stand folded to {100.0 * share:.0f} % of their length, as an animal lies or "
                "crouches, and it goes as low; let it stand in frame 1, and "
                "fit it with `gaitgen fit --rest first-frame`."
            )
            notices.append(Doubt("folded", text))
        off = float(np.abs(aheads).max())
        hip = max(float(np.mean([here[nodes.names.index(found.limbs[e].joints[0]), 2] for e in HIND])), 1e-9)
        return cls(
            pose,
            stance.axes,
            found,
            notices,
            float(np.mean(leans)),
            off > STRADDLE_RAD,
            float(np.ptp([tip[2] for tip in tips.values()])) / hip,
            max(float(np.linalg.norm(tips["L" + end] - tips["R" + end])) for end in "FH") / hip,
            max(folded)[0],
        )

    def stood(self, file: BvhFile, template: str | None) -> Found:
        """Put the legs under the body, and look again."""
        names = file.joint_names
        chains = {limb: [names.index(name) for name in own.joints] for limb, own in self.map.limbs.items()}
        animal = load_animal(template or self.map.template)
        pose = with_legs_under(file, self.pose, self.axes, chains, animal)
        try:
            again = Found.of(file, pose, self.map.rest, template or self.map.template)
        except NotStandingError:
            return self
        how = f"lean {np.degrees(self.lean_rad):.0f} degrees outward"
        if self.lean_rad <= SPREAD_RAD:
            how = "stand far ahead of the body or behind it"
        text = f"the legs {how} where the rig stands; they are put under the body first. See legs in the map"
        if self.map.rest == "zero" and _has_another_pose(file, self.pose):
            text += "; if frame 1 stands better, fit it with `gaitgen fit --rest first-frame`"
        kept = [notice for notice in self.notices if notice.topic == "template"]
        again.notices[:] = [
            *kept,
            *(n for n in again.notices if n.topic != "template"),
            Doubt("legs", f"{text}."),
        ]
        return replace(again, map=replace(again.map, legs="under the body"))


def _has_another_pose(file: BvhFile, pose: RestPose) -> bool:
    """Tell whether the first frame of a file is another pose than one."""
    first = rest_pose(file, "first frame").places
    away = np.abs((first - first[0]) - (pose.places - pose.places[0])).max()
    return bool(len(file.rows) and away > ANOTHER * np.ptp(pose.places, axis=0).max())
