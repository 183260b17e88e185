"""One standing pose of a rig, parted into limbs, back, neck, head and tail."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import load_animal
from gaitgen.errors import Notice
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.rotations import MIRROR_PLACE
from gaitgen.rigs.bones import match_bones
from gaitgen.rigs.branches import Branches
from gaitgen.rigs.build import build_of_rig
from gaitgen.rigs.doubt import Doubt
from gaitgen.rigs.guess import guess_template_and_unit
from gaitgen.rigs.head import MOST_JAW_JOINTS, head_parts
from gaitgen.rigs.nodes import Nodes, NotStandingError
from gaitgen.rigs.parts import find_trunk, main_line
from gaitgen.rigs.rig_map import FOLLOWS, HangingMap, LimbMap, Rest, RigMap
from gaitgen.rigs.soles import with_soles
from gaitgen.rigs.stance import Stance

Array = npt.NDArray[np.float64]

MOST_LIMB_JOINTS = 30
LIFTED = 0.02  # hip heights: a limb that ends farther over the ground does not quite stand (estimate)
AT_TOE = 0.01  # hip heights: a joint as near to the toe has nothing to turn
ENDS = (("fore", "F"), ("hind", "H"))


def parted(nodes: Nodes, stance: Stance, rest: Rest, wanted: str | None, notices: list[Notice]) -> RigMap:
    """Find the parts of a rig that stands and faces forward.

    Parameters
    ----------
    nodes, stance, rest
        The rig, how it stands, and in which pose.
    wanted
        The animal whose bones the limbs are matched with; the one most alike if None.
    notices
        Gets what could not be decided.

    Raises
    ------
    NotStandingError
        If a limb has no joint of its own, or far too many.
    """
    here = stance.here(nodes)
    lines: dict[str, list[int]] = {}
    for pair, letter in ((stance.feet[1], "F"), (stance.feet[0], "H")):
        for foot, side in zip(pair, "LR", strict=True):
            lines[side + letter] = main_line(nodes, here, foot)
    trunk = find_trunk(Branches(nodes, stance, here, 1.0), lines, notices)
    joints = len(nodes.names)
    chains = {
        limb: [node for node in line if node < joints] for limb, line in trunk.limb_lines(lines).items()
    }
    for side in "LR":
        shared = {*chains[f"{side}F"]} & {*chains[f"{side}H"]}
        if shared:
            text = f"fore and hind limb both hang on {nodes.names[min(shared)]!r}, which is on one side"
            raise NotStandingError(3, text)
    if max(map(len, chains.values())) > MOST_LIMB_JOINTS:
        raise NotStandingError(3, f"a limb has more than {MOST_LIMB_JOINTS} joints")
    hip = trunk.hip
    if hip <= 0.0:
        raise NotStandingError(2, "the hind limbs begin under the ground")
    toes = {limb: here[line[-1]] * [1.0, 1.0, 0.0] for limb, line in lines.items()}
    points = {end: _both_sides(here, chains, toes, c, hip) for end, c in ENDS}
    branches = Branches(nodes, stance, here, hip)
    head = head_parts(branches, trunk.neck_start, notices)
    build = build_of_rig(branches, head, trunk.tail, toes, stance.feet[1])
    chosen, unit = guess_template_and_unit(points, hip, build, wanted, notices)
    template = load_animal(chosen)
    _say_lifted(here, lines, hip, notices)
    toes = with_soles(nodes.places @ stance.axes[2], here, chains, toes, template, hip, notices)
    limbs = _limbs(nodes, stance, here, chains, toes, template, hip)
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
        hanging=_on_head(template, tuple(name[node] for node in head.hanging), notices),
    )
    _say_missing(found, notices)
    return found


def _say_lifted(here: Array, lines: Mapping[str, list[int]], hip: float, notices: list[Notice]) -> None:
    """Say which limbs end over the ground that the lowest foot stands on."""
    over = {limb: float(here[line[-1], 2]) for limb, line in lines.items()}
    lifted = [limb for limb in LIMBS if over[limb] > LIFTED * hip]
    if lifted:
        text = (
            f"the toes of {', '.join(lifted)} end up to {max(over.values()):.3g} units over the ground that "
            "the lowest foot stands on; the ground points under them are taken for their toes, and `check` "
            "reads the feet so too; correct toe of each limb in the map."
        )
        notices.append(Doubt("toes", text))


def _turning(here: Array, chain: list[int], toe: Array, hip: float) -> list[int]:
    """Return the joints of a limb that have something to turn: not a last one that is the toe itself."""
    return chain[:-1] if np.linalg.norm(here[chain[-1]] - toe) < AT_TOE * hip else chain


def _both_sides(
    here: Array, chains: Mapping[str, list[int]], toes: Mapping[str, Array], letter: str, hip: float
) -> Array:
    """Joints of a left limb from its toe, (joints, 3), left and right taken together where they are alike."""
    left, right = (
        here[_turning(here, chains[side + letter], toes[side + letter], hip)] - toes[side + letter]
        for side in "LR"
    )
    return (left + right * MIRROR_PLACE) / 2.0 if len(left) == len(right) else left


def _on_head(template: Animal, joints: tuple[str, ...], notices: list[Notice]) -> dict[str, HangingMap]:
    """Let a long row on the head hang as a row on the template's head does, if it has one."""
    if not joints:
        return {}
    known = {template.head, *template.neck}
    own = [
        part
        for part in template.hanging
        if int(template.parents[part.joints[0]]) == template.head and len(part.joints) > MOST_JAW_JOINTS
        if not known & set(part.joints)
    ]
    if not own:
        text = (
            f"{joints[0]!r} begins a row of {len(joints)} joints on the head, which stays still against it; "
            f'to let it hang write joints and like = "tail" into a table [hanging.{joints[0]}] of the map.'
        )
        notices.append(Doubt("hanging", text))
        return {}
    return {own[0].name: HangingMap(joints, own[0].name)}


def _limbs(
    nodes: Nodes,
    stance: Stance,
    here: Array,
    chains: dict[str, list[int]],
    toes: Mapping[str, Array],
    template: Animal,
    hip: float,
) -> dict[str, LimbMap]:
    """Name the bones; both sides get the words of the left where their joints are as many."""
    limbs: dict[str, LimbMap] = {}
    bones: tuple[str, ...] = ()
    for end, letter in ENDS:
        for side in "LR":
            chain, toe = chains[side + letter], toes[side + letter]
            if side == "L" or len(chain) != len(bones):
                turning = _turning(here, chain, toe, hip)
                bones = match_bones(template, end, here[turning] - toe, hip)
                bones = (*bones, *[FOLLOWS] * (len(chain) - len(turning)))
            offset = stance.axes.T @ (toe - here[chain[-1]])
            limbs[side + letter] = LimbMap(
                tuple(nodes.names[node] for node in chain),
                bones,
                (float(offset[0]), float(offset[1]), float(offset[2])),
            )
    return {limb: limbs[limb] for limb in LIMBS}


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
        text = f"no {', '.join(missing)} found; what of it the rig has, write into the map."
        is_plain = found.head is not None and bool(found.tail)
        notices.append(Notice("parts", text) if is_plain else Doubt("parts", text))
    if len(found.spine) == 1:
        text = f"all four limbs hang on {found.pelvis!r}, so the back cannot bend."
        notices.append(Notice("spine", text))
