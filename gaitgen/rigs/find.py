"""Finds the parts of a four-legged rig by its structure and its symmetry; names only break ties."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import load_animal
from gaitgen.errors import Notice, RigError
from gaitgen.formats.read_bvh import BvhFile
from gaitgen.gait.gait import LIMBS
from gaitgen.rigs.bones import match_bones
from gaitgen.rigs.parts import find_trunk, head_parts, main_line
from gaitgen.rigs.rest import rest_pose
from gaitgen.rigs.rig_map import METRES_PER_UNIT, LimbMap, Rest, RigMap
from gaitgen.rigs.stance import Nodes, NotStandingError, Stance, find_stance

Array = npt.NDArray[np.float64]

MOST_JOINTS = 2000  # and End Sites
MOST_LIMB_JOINTS = 30
REAR_WORDS = ("tail", "hind", "rear", "back", "pelvis", "hip")
FRONT_WORDS = ("head", "neck", "fore", "front", "chest", "jaw", "ear")
# Hip heights of four-legged animals spread about this, times or over this factor (estimate), and how rarely
# a rig is built in each unit (common practice, no source).
LIKELY_HIP_M, HIP_SPREAD = 0.9, math.log(2.0)
UNIT_PRICE = {"cm": 0.0, "m": 0.0, "mm": 0.7, "in": 1.2}


def find_rig(file: BvhFile, where: str, template: str = "riding_horse") -> tuple[RigMap, tuple[Notice, ...]]:
    """Find the parts of a rig.

    The rig stands with all rotations zero; where that pose does not stand on four feet, the first frame is
    taken, and a notice says so.

    Parameters
    ----------
    file, where
        The rig, and its name for messages.
    template
        The animal whose bones the limbs are matched with.

    Returns
    -------
    The map, and what could not be decided.

    Raises
    ------
    RigError
        If neither pose is a standing quadruped; one line that says why.
    """
    points = len(file.joint_names) + len(file.end_joints)
    if points > MOST_JOINTS:
        raise RigError(
            f"{where} has {points} joints and End Sites; give a rig of at most {MOST_JOINTS}, "
            "without cloth or hair"
        )
    faults: list[NotStandingError] = []
    choices: tuple[Rest, ...] = ("zero", "first frame") if len(file.rows) else ("zero",)
    for rest in choices:
        pose = rest_pose(file, rest)
        nodes = Nodes(file.joint_names, pose.parents, pose.places)
        notices: list[Notice] = []
        try:
            stance = find_stance(nodes)
            found = _mapped(nodes, stance, rest, load_animal(template), notices)
        except NotStandingError as fault:
            faults.append(fault)
            continue
        if rest != "zero":
            text = (
                f"with all rotations zero the rig does not stand ({faults[0].text}); frame 1 is taken as its "
                "standing pose."
            )
            notices.append(Notice("rest", text))
        return found, tuple(notices)
    worst = max(faults, key=lambda fault: fault.rank)
    raise RigError(
        f"{where} is no standing four-legged rig: {worst.text}; give a rig that stands square on four feet "
        "with all rotations zero or in frame 1"
    )


def _mapped(nodes: Nodes, stance: Stance, rest: Rest, template: Animal, notices: list[Notice]) -> RigMap:
    stance = _facing(nodes, stance, notices)
    here = nodes.places @ stance.axes.T - [0.0, stance.middle, stance.ground]
    lines: dict[str, list[int]] = {}
    for pair, letter in ((stance.feet[1], "F"), (stance.feet[0], "H")):
        for foot, side in zip(pair, "LR", strict=True):
            lines[side + letter] = main_line(nodes, here, foot)
    trunk = find_trunk(nodes, here, stance, lines, notices)
    joints = len(nodes.names)
    chains = {
        limb: [node for node in line if node < joints] for limb, line in trunk.limb_lines(lines).items()
    }
    if max(map(len, chains.values())) > MOST_LIMB_JOINTS:
        raise NotStandingError(3, f"a limb has more than {MOST_LIMB_JOINTS} joints")
    hip = float(np.mean([here[chains[limb][0], 2] for limb in ("LH", "RH")]))
    if hip <= 0.0:
        raise NotStandingError(2, "the hind limbs begin under the ground")
    limbs = _limbs(nodes, stance, here, lines, chains, template, hip)
    head = head_parts(nodes, here, stance, trunk, notices)
    unit = _unit(hip, notices)
    name = nodes.names
    forward = stance.axes[0]
    found = RigMap(
        template=template.name,
        unit=unit,
        up=stance.up,
        forward=(float(forward[0]) + 0.0, float(forward[1]) + 0.0, float(forward[2]) + 0.0),
        rest=rest,
        spine=tuple(name[node] for node in trunk.spine),
        neck=tuple(name[node] for node in head.neck),
        head=None if head.head is None else name[head.head],
        jaw=None if head.jaw is None else name[head.jaw],
        ear_left=None if head.ears is None else name[head.ears[0]],
        ear_right=None if head.ears is None else name[head.ears[1]],
        tail=tuple(name[node] for node in trunk.tail),
        limbs=limbs,
    )
    _say_missing(found, notices)
    return found


def _facing(nodes: Nodes, stance: Stance, notices: list[Notice]) -> Stance:
    """Turn the stance so that forward is where the head is."""
    votes = _forward_votes(nodes, stance)
    total = sum(votes.values())
    if abs(total) < 1.0:
        word = "its toes, its root and the height of its ends do not agree" if votes else "nothing tells"
        notices.append(
            Notice("forward", f"which end is the head is a guess: {word}; see forward in the map.")
        )
    if total >= 0.0:
        return stance
    rear, front = stance.feet
    axes = stance.axes * np.array([[-1.0], [-1.0], [1.0]])
    return replace(stance, axes=axes, middle=-stance.middle, feet=(front[::-1], rear[::-1]))


def _forward_votes(nodes: Nodes, stance: Stance) -> dict[str, float]:
    """Evidence that the rig faces along axes[0] (positive) or against it."""
    here = nodes.places @ stance.axes.T
    tall = float(np.ptp(here[:, 2]))
    feet = [foot for pair in stance.feet for foot in pair]
    toes = []
    for foot in feet:
        tip = max(foot, key=lambda leaf: len(nodes.line(leaf)))
        line = [node for node in nodes.line(tip) if np.linalg.norm(here[node] - here[tip]) > 0.01 * tall]
        along = here[tip] - here[line[0]] if line else np.zeros(3)
        reach = float(np.linalg.norm(along))
        toes.append(float(along[0]) / reach if reach > 0.0 else 0.0)
    rear, front = (float(here[[*pair[0], *pair[1]], 0].mean()) for pair in stance.feet)
    root = (float(here[0, 0]) - rear) / (front - rear) - 0.5
    flat = stance.mates == np.arange(len(here))
    heights = [
        float(here[flat & side, 2].max()) if (flat & side).any() else stance.ground
        for side in (here[:, 0] > front, here[:, 0] < rear)
    ]
    names = 0.0
    for node, name in enumerate(nodes.names):
        place = np.sign(float(here[node, 0]) - (rear + front) / 2.0)
        word = name.lower()
        names += place * (any(w in word for w in FRONT_WORDS) - any(w in word for w in REAR_WORDS))
    return {
        "toes": 3.0 * float(np.clip(2.0 * np.mean(toes), -1.0, 1.0)),
        "root": -1.5 * float(np.clip(4.0 * root, -1.0, 1.0)),
        "heights": 2.0 * float(np.clip(4.0 * (heights[0] - heights[1]) / tall, -1.0, 1.0)),
        "names": 0.5 * float(np.sign(names)),
    }


def _limbs(
    nodes: Nodes,
    stance: Stance,
    here: Array,
    lines: dict[str, list[int]],
    chains: dict[str, list[int]],
    template: Animal,
    hip: float,
) -> dict[str, LimbMap]:
    """Name the bones; both sides get the words of the left where their joints are as many."""
    limbs: dict[str, LimbMap] = {}
    bones: tuple[str, ...] = ()
    for end, letter in (("fore", "F"), ("hind", "H")):
        for side in "LR":
            chain, tip = chains[side + letter], here[lines[side + letter][-1]]
            toe = np.array([tip[0], tip[1], 0.0])
            if side == "L" or len(chain) != len(bones):
                bones = match_bones(template, end, here[chain] - toe, hip)
            offset = stance.axes.T @ (toe - here[chain[-1]])
            limbs[side + letter] = LimbMap(
                tuple(nodes.names[node] for node in chain),
                bones,
                (float(offset[0]), float(offset[1]), float(offset[2])),
            )
    return {limb: limbs[limb] for limb in LIMBS}


def _unit(hip: float, notices: list[Notice]) -> str:
    """Guess the unit from the height of the hips."""

    def price(unit: str) -> float:
        spread = math.log(hip * METRES_PER_UNIT[unit] / LIKELY_HIP_M) / HIP_SPREAD
        return spread**2 / 2.0 + UNIT_PRICE[unit]

    unit = min(METRES_PER_UNIT, key=price)
    heights = ", ".join(f"{hip * size:.3g} m if in {u}" for u, size in METRES_PER_UNIT.items())
    text = (
        f"the unit is a guess from the size, {unit}: the hips are {hip:g} units high ({heights}); see unit "
        "in the map."
    )
    notices.append(Notice("unit", text))
    return unit


def _say_missing(found: RigMap, notices: list[Notice]) -> None:
    parts = {
        "neck": found.neck,
        "head": found.head,
        "jaw": found.jaw,
        "ears": found.ear_left,
        "tail": found.tail,
    }
    missing = [part for part, value in parts.items() if not value]
    if missing:
        notices.append(
            Notice("parts", f"no {', '.join(missing)} found; if the rig has them, write them into the map.")
        )
    if len(found.spine) == 1:
        text = f"all four limbs hang on {found.pelvis!r}, so the back cannot bend."
        notices.append(Notice("spine", text))
