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
from gaitgen.rigs.limb_data import rig_foot, rig_limb, sling_arm_m
from gaitgen.rigs.limb_points import limb_points_m
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]

LOAD_SHARES = (0.3, 0.75)  # of the weight on the fore limbs
_MIRROR = np.array([1.0, -1.0, 1.0])


def as_skeleton(rig: Rig, template: Animal) -> tuple[Animal, tuple[Notice, ...]]:
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
    if not (0.3 < fore / hind < 3.0 and limbs["fore"][0, 0] > limbs["hind"][0, 0]):
        raise RigError(
            "the fore limbs do not stand before the hind limbs, of like height; correct forward and [limbs]"
        )
    placed = _warped(template, places, limbs, hind, fore)
    slings = {end: arm for end in ENDS if (arm := sling_arm_m(rig, template, end, hind)) is not None}
    for limb in template.limbs:
        points = limbs[limb.end] if limb.is_left else limbs[limb.end] * _MIRROR
        placed[list(limb.joints)] = points[:-1]
        if limb.sling is not None:
            arm = slings.get(limb.end, hind * template.offsets_m[template.limb(limb.end).top])
            placed[limb.sling] = placed[limb.top] - (arm if limb.is_left else arm * _MIRROR)
    _placed_neck(rig, template, placed, hind)
    tail = template.part("tail")
    if tail is not None:
        _placed_line(template, placed, tail.joints, _line_with_tip(rig, rig.map.tail), hind, with_tip=True)
    skeleton = _assembled(rig, template, placed, limbs, hind, set(slings))
    held = float(np.clip(skeleton.load_share_fore, *LOAD_SHARES))
    if held == skeleton.load_share_fore:
        return skeleton, ()
    text = (
        f"with the {template.name}'s masses the fore limbs would carry {skeleton.load_share_fore:.0%} of the "
        f"weight; {held:.0%} is taken."
    )
    return replace(skeleton, load_share_fore=held), (Notice("load", text),)


def _warped(template: Animal, places: Array, limbs: dict[str, Array], hind: float, fore: float) -> Array:
    """Stretch the template so that the tops of its limbs are over the rig's, (joints, 3)."""
    rear, front = (places[template.limb(end).top, 0] for end in ("hind", "fore"))
    share = np.clip((places[:, 0] - rear) / (front - rear), 0.0, 1.0)
    long = (limbs["fore"][0, 0] - limbs["hind"][0, 0]) / (front - rear)
    ahead = limbs["hind"][0, 0] + long * share * (front - rear)
    beyond = places[:, 0] - np.clip(places[:, 0], rear, front)
    up = places[:, 2] * (hind + share * (fore - hind))
    return np.stack([ahead + hind * beyond, hind * places[:, 1], up], axis=1)


def _line_with_tip(rig: Rig, names: tuple[str, ...]) -> Array:
    """Joints of a line and the farthest point that hangs on its last, (points, 3)."""
    joints = [rig.joint(name) for name in names]
    if not joints:
        return np.zeros((0, 3))
    hanging = np.flatnonzero(rig.rest.parents == joints[-1])
    points = [rig.places_m[joint] for joint in joints]
    if hanging.size:
        far = np.linalg.norm(rig.places_m[hanging] - points[-1], axis=1)
        if far.max() > 1e-4:
            points.append(rig.places_m[hanging[int(far.argmax())]])
    return np.asarray(np.array(points) * np.array([1.0, 0.0, 1.0]))


def _neck_line(rig: Rig) -> Array:
    """Joints of the neck, the head and the end of the head."""
    return _line_with_tip(rig, (*rig.map.neck, *([rig.map.head] if rig.map.head else [])))


def _placed_neck(rig: Rig, template: Animal, placed: Array, scale: float) -> None:
    """Lay neck and head of the template along the rig's."""
    if template.head is None:
        return
    rows, line = (*template.neck, template.head), _neck_line(rig)
    if rig.map.head is not None:
        head = len(rig.map.neck)
        start = line[:1] if head else placed[rows[0]][None]
        line = np.concatenate([start, line[1 : head + 1] if head else line[:1]])
    _placed_line(template, placed, rows, line, scale, with_tip=False)


def _placed_line(
    template: Animal, placed: Array, rows: tuple[int, ...], line: Array, scale: float, *, with_tip: bool
) -> None:
    """Lay a row of the template's joints along a line of the rig, and carry along what hangs on the last."""
    before = placed.copy()
    own = standing_positions_m(template)
    if len(line) >= 2:
        bones = np.linalg.norm(np.diff(own[list(rows)], axis=0), axis=1)
        if with_tip:
            bones = np.append(bones, np.linalg.norm(template.tips_m[rows[-1]]))
        marks = np.concatenate([[0.0], np.cumsum(bones)]) / max(float(bones.sum()), 1e-9)
        along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
        for k, row in enumerate(rows):
            placed[row] = [np.interp(marks[k] * along[-1], along, line[:, axis]) for axis in range(3)]
    moved = placed[rows[-1]] - before[rows[-1]]
    for joint in template.below(rows[-1])[1:]:
        placed[joint] = before[rows[-1]] + moved + scale * (own[joint] - own[rows[-1]])


def _assembled(
    rig: Rig,
    template: Animal,
    placed: Array,
    limbs: dict[str, Array],
    scale: float,
    with_sling: set[str],
) -> Animal:
    parents = template.parents
    feet = {end: rig_foot(template, end, limbs[end], scale) for end in ENDS}
    for limb in template.limbs:
        placed[limb.foot_joint, 2] = feet[limb.end].height_m
    pelvis = placed[0].copy()
    placed = placed - [pelvis[0], 0.0, 0.0]
    offsets = placed - np.where(parents[:, None] >= 0, placed[np.maximum(parents, 0)], 0.0)
    tips = template.tips_m * scale
    chains = [template.spine, *(limb.joints for limb in template.limbs)]
    chains += [part.joints for part in template.hanging]
    if template.head is not None:
        chains.append((*template.neck, template.head))
    for chain in chains:
        for row, below in pairwise(chain):
            tips[row] = offsets[below]
    head = None if template.head is None else _head_tip(rig, placed[template.head] + [pelvis[0], 0.0, 0.0])
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
    stem = re.sub(r"[^A-Za-z0-9_]", "_", rig.name)[:40] or "rig"
    skeleton = replace(
        template,
        name=stem,
        title=f"Rig {stem}, built like a {template.title.lower()}",
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
                template, limb, feet[limb.end], limbs[limb.end], standing, scale, rides=limb.end in with_sling
            )
            for limb in template.limbs
        ),
        hanging=tuple(part.scaled(scale) for part in template.hanging),
        back=replace(template.back, force_point_m=template.back.force_point_m * scale),
        tempo=template.tempo.scaled(scale),
        load_share_fore=share,
        landmarks_m=landmarks,
        outline=tuple(
            (j, (scale * x, scale * y, scale * z), scale * r, g) for j, (x, y, z), r, g in template.outline
        ),
    )
    fault = standing_fault(replace(skeleton, load_share_fore=0.5))
    if fault:
        raise RigError(f"a rig of these proportions {fault}")
    return skeleton


def _head_tip(rig: Rig, head_m: Array) -> Array | None:
    """From the head's joint to the farthest point before it, or None if the rig has none."""
    if rig.map.head is None:
        return None
    joint = rig.joint(rig.map.head)
    below = [joint]
    for member in below:
        below.extend(int(c) for c in np.flatnonzero(rig.rest.parents == member))
    reach = (rig.places_m[below] - head_m) * np.array([1.0, 0.0, 1.0])
    far = reach[:, 0] - reach[:, 2]
    best = reach[int(far.argmax())]
    return best if float(np.linalg.norm(best)) > 0.01 else None


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
