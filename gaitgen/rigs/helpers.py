"""What carries the body of a rig over a root on the ground, and which helpers go where the feet go."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.errors import Notice
from gaitgen.gait.gait import LIMBS
from gaitgen.rigs.branches import Branches
from gaitgen.rigs.doubt import Doubt
from gaitgen.rigs.nodes import Nodes
from gaitgen.rigs.parts import find_body
from gaitgen.rigs.rig import AT_JOINT
from gaitgen.rigs.rig_map import RigMap
from gaitgen.rigs.stance import Stance
from gaitgen.rigs.twin_legs import twin_legs, twins_doubt

Array = npt.NDArray[np.float64]

# A goal of a foot is no farther than this from its toe, seen from above, and no higher over the ground.
GOAL_NEAR, GOAL_HIGH = 0.2, 0.12  # hip heights
# A root that is lower than this stands on the ground (estimate).
ROOT_ON_GROUND = 0.1  # hip heights
# Feet whose middle is farther from the middle of the trunk are said.
FAR_ASIDE = 0.15  # hip heights
# A goal that is at a joint of the leg is no higher than this (hip heights): poles are off its joints.
ANKLE_HIGH = 0.55


def with_helpers(
    nodes: Nodes, stance: Stance, here: Array, found: RigMap, movable: set[int], notices: list[Notice]
) -> RigMap:
    """Add to a map what carries the body and what goes with the feet, and doubt feet that are off centre.

    Parameters
    ----------
    nodes, stance, here
        The rig, how it stands, and its places: forward, left, up.
    found
        What was found so far.
    movable
        Joints with three position channels.
    notices
        Gets what was guessed.
    """
    index = {name: joint for joint, name in enumerate(nodes.names)}
    hip = float(np.mean([here[index[found.limbs[limb].joints[0]], 2] for limb in ("LH", "RH")]))
    branches = Branches(nodes, stance, here, hip)
    body, above = find_body(branches, tuple(index[name] for name in found.spine), movable)
    _say_off_centre(
        here, [index[own.joints[-1]] for own in found.limbs.values()], index[found.spine[0]], hip, notices
    )
    if body is None:
        if above and here[0, 2] < ROOT_ON_GROUND * hip:
            text = (
                f"the root {nodes.names[0]!r} stands on the ground, and no joint between it and the trunk "
                "has position channels: it rises and falls with the body, and so do helpers that hang on it."
            )
            notices.append(Doubt("body", text))
    else:
        root = f"{nodes.names[0]!r}, on the ground, carries travel alone"
        if 0 not in movable:
            root = f"{nodes.names[0]!r} has no position channels and stays where it is"
        text = (
            f"{nodes.names[body]!r} carries the rise, fall and lean of the body; {root}. See body in the map."
        )
        notices.append(Doubt("body", text))
    goals = _goals(branches, found, movable)
    if twins := twin_legs(branches, found):
        notices.append(twins_doubt(found, twins))
        able = movable.difference(*({index[name] for name in leg} for leg in twins.values()))
        goals = _goals(branches, found, able)
    if goals:
        shown = ", ".join(repr(goal) for goal in goals.values())
        notices.append(Doubt("goals", f"{shown} go where the feet go; see goal of each limb in the map."))
    elif not twins and (still := _goals(branches, found, set(range(len(nodes.names))) - movable)):
        shown = ", ".join(repr(goal) for goal in still.values())
        text = (
            f"{shown} are where goals of the feet would be, but have no position channels, so they stay "
            "there; give them Xposition Yposition Zposition if they are to go with the feet."
        )
        notices.append(Doubt("goals", text))
    limbs = {limb: replace(own, goal=goals.get(limb)) for limb, own in found.limbs.items()}
    return replace(found, body=None if body is None else nodes.names[body], limbs=limbs)


def _goals(branches: Branches, found: RigMap, able: set[int]) -> dict[str, str]:
    """Find the helper beside each foot, on the ground or at a joint of the leg; all four or none.

    ``able`` are the joints that are looked at.
    """
    nodes, here = branches.nodes, branches.here
    tops = [nodes.names.index(own.joints[0]) for own in found.limbs.values()]
    taken = {joint for top in tops for joint in branches.joints_below(top)}
    taken |= {node for top in tops for node in nodes.line(top)}
    free = sorted(able - taken)
    goals = {}
    for limb in LIMBS:
        own = found.limbs[limb]
        chain = [nodes.names.index(name) for name in own.joints]
        last = here[chain[-1]]
        toe = last + branches.stance.axes @ np.array(own.toe)
        middle = (last + toe)[:2] / 2.0

        def away(joint: int, middle: Array = middle) -> float:
            return float(np.linalg.norm(here[joint, :2] - middle))

        low = [joint for joint in free if here[joint, 2] < GOAL_HIGH * branches.hip]
        near = sorted((away(joint), joint) for joint in low if away(joint) < GOAL_NEAR * branches.hip)
        if not near:  # at an ankle, then, the lowest that has one
            near = [
                (-float(place), joint)
                for place, on in enumerate(chain)
                for joint in free
                if here[on, 2] < ANKLE_HIGH * branches.hip
                and np.linalg.norm(here[joint] - here[on]) < AT_JOINT * branches.hip
            ]
        if near:
            goals[limb] = branches.name(min(near)[1])
    return goals if len(set(goals.values())) == len(LIMBS) else {}


def _say_off_centre(here: Array, feet: list[int], pelvis: int, hip: float, notices: list[Notice]) -> None:
    """Doubt feet whose middle is not under the trunk."""
    aside = float(here[feet, 1].mean() - here[pelvis, 1])
    if abs(aside) > FAR_ASIDE * hip:
        text = (
            f"the feet are {abs(aside):.3g} units to the {'left' if aside > 0.0 else 'right'} of the trunk; "
            "the standing pose is lopsided, or a limb is taken wrongly: see [limbs] in the map."
        )
        notices.append(Doubt("feet", text))
