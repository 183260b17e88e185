"""One pose of a rig, taken for its standing pose: what is found in it, and how well its legs stand."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.library import load_animal
from gaitgen.errors import Notice
from gaitgen.formats.bvh_file import BvhFile, channel_columns
from gaitgen.rigs.bones import FOLDED_SHARE
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
from gaitgen.rigs.parted import parted
from gaitgen.rigs.rest import RestPose, rest_pose
from gaitgen.rigs.rig_map import Rest, RigMap
from gaitgen.rigs.stance import Nodes, NotStandingError, find_stance

Array = npt.NDArray[np.float64]

TIPPED_COSINE = 0.5  # a trunk that is turned farther has another side up


@dataclass(frozen=True, eq=False)
class Found:
    """One pose of a rig, taken for standing, and what is found in it.

    Attributes
    ----------
    pose, axes, map, notices
        The pose; forward, left and up in it; the map, and what could not be decided.
    lean_rad, straddles
        How far the legs lean outward, and whether they stand far ahead or behind.
    """

    pose: RestPose
    axes: Array
    map: RigMap
    notices: list[Notice]
    lean_rad: float
    straddles: bool

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
        nodes = Nodes(file.joint_names, pose.parents, pose.places)
        notices: list[Notice] = []
        stance = facing(nodes, find_stance(nodes), notices)
        found = parted(nodes, stance, rest, template, notices)
        movable = {
            joint for joint, columns in enumerate(channel_columns(file, "position")) if len(columns) == 3
        }
        here = stance.here(nodes)
        found = with_helpers(nodes, stance, here, found, movable, notices)
        animal = load_animal(template or found.template)
        leans, aheads, folded = [], [], []
        for limb, own in found.limbs.items():
            flip = [1.0, 1.0 if limb[0] == "L" else -1.0, 1.0]
            joints = [nodes.names.index(name) for name in own.joints]
            points, ends = here[joints] * flip, here[nodes.children(joints[-1])] * flip
            leans.append(outward_of(points)[1])
            aheads.append(too_far_ahead_rad(points, ends, animal, "fore" if limb[1] == "F" else "hind"))
            folded.append((straightness(points, ends), "fore" if limb[1] == "F" else "hind"))
        share, end = min(folded)
        if share < FOLDED_SHARE:
            text = (
                f"the {end} legs stand folded to {100.0 * share:.0f} % of their length, as an animal lies or "
                'crouches, and it goes as low; let it stand in frame 1, and write rest = "first frame" into '
                "the map."
            )
            notices.append(Doubt("folded", text))
        off = float(np.abs(aheads).max())
        return cls(pose, stance.axes, found, notices, float(np.mean(leans)), off > STRADDLE_RAD)

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
        text = (
            f"the legs {how} where the rig stands; they are put under the body first. See legs in the map; "
            'if frame 1 stands better, write rest = "first frame".'
        )
        kept = [notice for notice in self.notices if notice.topic == "template"]
        again.notices[:] = [*kept, *(n for n in again.notices if n.topic != "template"), Doubt("legs", text)]
        return replace(again, map=replace(again.map, legs="under the body"))
