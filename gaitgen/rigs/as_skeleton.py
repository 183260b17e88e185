"""A skeleton with the rig's proportions, so that the same pipeline moves it."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import ENDS, Animal
from gaitgen.animal.standing import load_share_fore, standing_fault, standing_positions_m
from gaitgen.errors import Notice, RigError
from gaitgen.numerics.rotations import MIRROR_PLACE
from gaitgen.rigs.body import hips_m
from gaitgen.rigs.large_head import with_large_head
from gaitgen.rigs.limb_data import rig_foot, rig_limb, sling_arm_m
from gaitgen.rigs.limb_points import limb_points_m
from gaitgen.rigs.lines import (
    ears_of,
    flesh_along,
    head_tip_m,
    line_with_tip,
    place_ears,
    place_line,
    place_neck,
    turn_head,
    warped,
)
from gaitgen.rigs.own_horns import with_horns
from gaitgen.rigs.own_nod import with_own_nod
from gaitgen.rigs.own_parts import far_tip_m, like_rig, with_rows
from gaitgen.rigs.own_stance import with_own_stance
from gaitgen.rigs.own_sway import with_own_sway
from gaitgen.rigs.own_tail import with_own_tail
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]

# Fore limbs that stand so many times as high as the hind ones, against the animal's, are none (estimate).
LIKE_HEIGHT = (0.3, 3.0)
LOAD_SHARES = (0.3, 0.75)  # of the weight on the fore limbs


def as_skeleton(rig: Rig, template: Animal) -> tuple[Animal, tuple[Notice, ...]]:
    """Make the animal that stands for a rig: its limbs, back, neck, head and tail, the template's manner.

    What the rig lacks is left out, and what its map lets hang is added.

    Returns
    -------
    The skeleton, and what had to be changed so that it can stand.

    Raises
    ------
    RigError
        If the rig's proportions are those of no animal that can stand.
    """
    like = like_rig(rig, template)
    proportioned, notices = _proportioned(rig, like)
    shift = standing_positions_m(proportioned)[proportioned.limb("hind").top, 0] - hips_m(rig)[0]
    skeleton = with_rows(rig, proportioned, template, rig.places_m + np.array([shift, 0.0, 0.0]))
    return with_own_tail(rig, with_horns(rig, skeleton), template), notices


def _proportioned(rig: Rig, template: Animal) -> tuple[Animal, tuple[Notice, ...]]:
    """Make the animal that has the rig's limbs, back, neck and tail, and the template's everything else.

    Returns
    -------
    The skeleton, and what had to be changed so that it can stand.

    Raises
    ------
    RigError
        If the rig's proportions are those of no animal that can stand.
    """
    places = standing_positions_m(template).copy()
    limbs = {end: limb_points_m(rig, template, end) for end in ENDS}
    hind, fore = (float(limbs[end][0, 2] / places[template.limb(end).top, 2]) for end in ("hind", "fore"))
    if not (LIKE_HEIGHT[0] < fore / hind < LIKE_HEIGHT[1] and limbs["fore"][0, 0] > limbs["hind"][0, 0]):
        raise RigError(
            "the fore limbs do not stand before the hind limbs, of like height; correct forward and [limbs]"
        )
    placed = warped(template, places, limbs, hind, fore)
    slings = {end: arm for end in ENDS if (arm := sling_arm_m(rig, template, end, hind)) is not None}
    for limb in template.limbs:
        points = limbs[limb.end] if limb.is_left else limbs[limb.end] * MIRROR_PLACE
        placed[list(limb.joints)] = points[:-1]
        if limb.sling is not None:
            arm = slings.get(limb.end, hind * template.offsets_m[template.limb(limb.end).top])
            placed[limb.sling] = placed[limb.top] - (arm if limb.is_left else arm * MIRROR_PLACE)
    place_neck(rig, template, placed, hind)
    turned = np.eye(3)
    head = None if template.head is None else head_tip_m(rig, placed[template.head])
    if head is not None:
        turned = turn_head(template, placed, head, hind)
    tail = template.part("tail")
    if tail is not None:
        place_line(template, placed, tail.joints, line_with_tip(rig, rig.map.tail), hind, with_tip=True)
    for name, part in rig.map.hanging.items():
        own = template.part(name)
        if own is not None:
            place_line(template, placed, own.joints, line_with_tip(rig, part.joints), hind, with_tip=True)
    place_ears(rig, template, placed, float(limbs["hind"][0, 0] - hips_m(rig)[0]))
    assembled = _assembled(rig, template, placed, limbs, hind, set(slings), head, turned)
    skeleton = with_own_nod(with_own_stance(with_own_sway(assembled, template), template, hind), template)
    held = float(np.clip(skeleton.load_share_fore, *LOAD_SHARES))
    if held == skeleton.load_share_fore:
        return skeleton, ()
    text = (
        f"with the {template.name}'s masses the fore limbs would carry "
        f"{100 * skeleton.load_share_fore:.0f} % of the "
        f"weight; {100 * held:.0f} % is taken."
    )
    return replace(skeleton, load_share_fore=held), (Notice("load", text),)


def _assembled(
    rig: Rig,
    template: Animal,
    placed: Array,
    limbs: dict[str, Array],
    scale: float,
    with_sling: set[str],
    head: Array | None,
    head_turn: Array,
) -> Animal:
    parents = template.parents
    feet = {end: rig_foot(template, end, limbs[end], scale) for end in ENDS}
    for limb in template.limbs:
        placed[limb.foot_joint, 2] = feet[limb.end].height_m
    pelvis = placed[0].copy()
    placed = placed - [pelvis[0], 0.0, 0.0]
    offsets = placed - np.where(parents[:, None] >= 0, placed[np.maximum(parents, 0)], 0.0)
    tips = _tips(rig, template, offsets, scale, head_turn)
    if head is not None:
        tips[template.head] = head
    for limb in template.limbs:
        tips[limb.foot_joint] = feet[limb.end].tip_m
    landmarks = {
        name: (joint, (scale * x, scale * y, scale * z))
        for name, (joint, (x, y, z)) in template.landmarks_m.items()
    }
    if head is not None:
        landmarks["muzzle"] = (
            template.joint_names[template.head or 0],
            (float(head[0]), float(head[1]), float(head[2])),
        )
    heights = {
        name: float((placed[template.joint(joint)] + offset)[2])
        for name, (joint, offset) in landmarks.items()
    }
    centres = template.mass_centres_m * scale
    soles = {end: (template.limb(end).foot_joint, foot) for end, foot in feet.items()}
    share = load_share_fore(placed, centres, template.mass_shares, soles)
    standing = _angles(template, tips)
    flesh = flesh_along(template, tips, scale)
    if head is not None:
        flesh = with_large_head(flesh, rig, template, placed, head, scale)
    stem = re.sub(r"[^A-Za-z0-9_]", "_", rig.name)[:40] or "rig"
    skeleton = replace(
        template,
        name=stem,
        title=f"Rig {stem}, like {template.title.lower()}",
        offsets_m=offsets,
        tips_m=tips,
        radii_m=template.radii_m * scale,
        mass_centres_m=centres,
        standing_angles_rad=standing,
        body_mass_kg=template.body_mass_kg * scale**template.mass_height_power,
        withers_height_m=heights["withers"],
        croup_height_m=heights["croup"],
        limbs=tuple(
            rig_limb(
                template,
                limb,
                feet[limb.end],
                limbs,
                standing,
                scale,
                rides=limb.end in with_sling,
                first=_first_bone(rig, limb.end),
            )
            for limb in template.limbs
        ),
        hanging=tuple(part.scaled(scale) for part in template.hanging),
        back=replace(template.back, force_point_m=template.back.force_point_m * scale),
        tempo=template.tempo.scaled(scale),
        load_share_fore=share,
        landmarks_m=landmarks,
        outline=flesh,
    )
    fault = standing_fault(replace(skeleton, load_share_fore=0.5))
    if fault:
        raise RigError(f"a rig of these proportions {fault}")
    return skeleton


def _first_bone(rig: Rig, end: str) -> int:
    """Return the first bone that both limbs of an end turn."""
    pair = rig.limbs[:2] if end == "fore" else rig.limbs[2:]
    return max(min(bone for bone in limb.bones if bone >= 0) for limb in pair)


def _tips(rig: Rig, template: Animal, offsets: Array, scale: float, head_turn: Array) -> Array:
    """End of every bone from its joint: where the next of its row is, of what hangs as the rig has it."""
    tips = template.tips_m * scale
    if template.head is not None:
        on_head = list(template.below(template.head)[1:])
        tips[on_head] = tips[on_head] @ head_turn.T
    chains = [template.spine, *(limb.joints for limb in template.limbs)]
    chains += [part.joints for part in template.hanging]
    if template.head is not None:
        chains.append((*template.neck, template.head))
    for chain in chains:
        for row, below in pairwise(chain):
            tips[row] = offsets[below]
    rows = {"tail": rig.map.tail} | {name: part.joints for name, part in rig.map.hanging.items()}
    for part in template.hanging:
        line = line_with_tip(rig, rows.get(part.name, ()))
        if len(line) >= 2:
            tips[part.joints[-1]] = line[-1] - line[0] - offsets[list(part.joints[1:])].sum(axis=0)
    for row, joint in ears_of(rig, template):
        if template.below(row) == (row,) and (tip := far_tip_m(rig, joint)) is not None:
            tips[row] = tip
    return np.asarray(tips)


def _angles(template: Animal, tips: Array) -> Array:
    """Standing angles of the limb joints: the template's, and what the rig's bones differ from its."""
    standing = template.standing_angles_rad.copy()
    turned = np.arctan2(tips[:, 2], tips[:, 0]) - np.arctan2(template.tips_m[:, 2], template.tips_m[:, 0])
    for limb in template.limbs:
        for k, row in enumerate(limb.joints[:-1]):
            above = turned[limb.joints[k - 1]] if k else 0.0
            change = (turned[row] - above + np.pi) % (2.0 * np.pi) - np.pi
            standing[row] += template.angle_signs[row] * change
    return standing
