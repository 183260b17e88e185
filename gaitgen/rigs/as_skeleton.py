"""A skeleton with the rig's proportions, so that the same pipeline moves it."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import ANGLE_SIGN, PAIR_CHAINS, SPINE, Animal, Hoof
from gaitgen.animal.standing import load_share_fore, standing_fault, standing_positions_m
from gaitgen.errors import Notice, RigError
from gaitgen.hanging.followers import tail_names
from gaitgen.rigs.bones import template_limb_m
from gaitgen.rigs.limb_points import limb_points_m
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]

NECK = ("neck_1", "neck_2", "neck_3", "atlas", "head")
LEAST_ROOM_RAD = np.radians(4.0)  # a joint may turn at least this far both ways from standing
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
    index = template.index
    limbs = {end: limb_points_m(rig, template, end) for end in PAIR_CHAINS}
    hind, fore = (
        float(limbs[end][0, 2] / places[index[f"{top}_L"], 2])
        for end, top in (("hind", "femur"), ("fore", "scapula"))
    )
    if not (0.3 < fore / hind < 3.0 and limbs["fore"][0, 0] > limbs["hind"][0, 0]):
        raise RigError(
            "the fore limbs do not stand before the hind limbs, of like height; correct forward and [limbs]"
        )
    placed = _warped(template, places, limbs, hind, fore)
    for end, chain in PAIR_CHAINS.items():
        for name, point in zip(chain, limbs[end], strict=False):
            placed[index[f"{name}_L"]], placed[index[f"{name}_R"]] = point, point * _MIRROR
    _placed_line(rig, template, placed, NECK, _neck_line(rig), hind)
    tail = tail_names(template)
    _placed_line(rig, template, placed, tail, _line_with_tip(rig, rig.map.tail), hind)
    skeleton = _assembled(rig, template, placed, limbs, hind)
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
    rear, front = places[template.joint("femur_L"), 0], places[template.joint("scapula_L"), 0]
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


def _placed_line(
    rig: Rig, template: Animal, placed: Array, names: tuple[str, ...], line: Array, scale: float
) -> None:
    """Lay a row of the template's joints along a line of the rig, and carry along what hangs on the last."""
    rows = [template.joint(name) for name in names]
    if names == NECK and rig.map.head is not None:
        head = len(rig.map.neck)
        start = line[:1] if head else placed[rows[0]][None]
        line = np.concatenate([start, line[1 : head + 1] if head else line[:1]])
    before = placed.copy()
    if len(line) >= 2:
        bones = np.linalg.norm(np.diff(standing_positions_m(template)[rows], axis=0), axis=1)
        if names != NECK:
            bones = np.append(bones, np.linalg.norm(template.tips_m[rows[-1]]))
        marks = np.concatenate([[0.0], np.cumsum(bones)]) / bones.sum()
        along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
        for k, row in enumerate(rows):
            placed[row] = [np.interp(marks[k] * along[-1], along, line[:, axis]) for axis in range(3)]
    moved = placed[rows[-1]] - before[rows[-1]]
    own = standing_positions_m(template)
    for joint in range(len(placed)):
        if template.parents[joint] == rows[-1] and joint not in rows:
            placed[joint] = before[rows[-1]] + moved + scale * (own[joint] - own[rows[-1]])


def _hoof(template: Animal, end: str, points: Array, scale: float) -> Hoof:
    own = template.hooves[end]
    return Hoof(
        coffin_height_m=max(float(points[-2, 2]), 0.1 * scale * own.coffin_height_m),
        toe_m=max(float(points[-1, 0] - points[-2, 0]), 0.2 * scale * own.toe_m),
        heel_m=scale * own.heel_m,
        half_width_m=scale * own.half_width_m,
    )


def _assembled(rig: Rig, template: Animal, placed: Array, limbs: dict[str, Array], scale: float) -> Animal:
    index, parents = template.index, template.parents
    hooves = {end: _hoof(template, end, limbs[end], scale) for end in PAIR_CHAINS}
    for end, hoof in hooves.items():
        for side in "LR":
            placed[index[f"{end}_hoof_{side}"], 2] = hoof.coffin_height_m
    pelvis = placed[0].copy()
    placed = placed - [pelvis[0], 0.0, 0.0]
    offsets = placed - np.where(parents[:, None] >= 0, placed[np.maximum(parents, 0)], 0.0)
    tips = template.tips_m * scale
    for chain in (SPINE, *_limb_chains(), NECK, tail_names(template)):
        for name, below in pairwise(chain):
            tips[index[name]] = offsets[index[below]]
    head = _head_tip(rig, placed[index["head"]] + [pelvis[0], 0.0, 0.0])
    if head is not None:
        tips[index["head"]] = head
    for end, hoof in hooves.items():
        for side in "LR":
            tips[index[f"{end}_hoof_{side}"]] = [hoof.toe_m, 0.0, -hoof.coffin_height_m]
    landmarks = {
        name: (joint, (scale * x, scale * y, scale * z))
        for name, (joint, (x, y, z)) in template.landmarks_m.items()
    }
    if head is not None:
        landmarks["muzzle"] = ("head", (float(head[0]), float(head[1]), float(head[2])))
    heights = {name: float((placed[index[joint]] + offset)[2]) for name, (joint, offset) in landmarks.items()}
    centres = template.mass_centres_m * scale
    soles = {end: (index[f"{end}_hoof_L"], hoof) for end, hoof in hooves.items()}
    share = load_share_fore(placed, centres, template.mass_shares, soles)
    standing, ranges = _angles(template, offsets, tips, landmarks["point_of_hip"][1])
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
        ranges_rad=ranges,
        body_mass_kg=template.body_mass_kg * scale**template.mass_height_power,
        withers_height_m=heights["withers"],
        croup_height_m=heights["croup"],
        hooves=hooves,
        track_m=_track(template, limbs),
        load_share_fore=share,
        followers={
            part: replace(f, natural_frequency_hz=f.natural_frequency_hz / float(np.sqrt(scale)))
            for part, f in template.followers.items()
        },
        landmarks_m=landmarks,
        outline=tuple(
            (j, (scale * x, scale * y, scale * z), scale * r, g) for j, (x, y, z), r, g in template.outline
        ),
    )
    fault = standing_fault(replace(skeleton, load_share_fore=0.5))
    if fault:
        raise RigError(f"a rig of these proportions {fault}")
    return skeleton


def _limb_chains() -> list[tuple[str, ...]]:
    return [tuple(f"{name}_{side}" for name in chain) for chain in PAIR_CHAINS.values() for side in "LR"]


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


def _track(template: Animal, limbs: dict[str, Array]) -> dict[str, float]:
    """Half the distance between prints: as much narrower than standing as the template's."""
    widths = {}
    for end in PAIR_CHAINS:
        own = template_limb_m(template, end)[-1, 1]
        widths[end] = float(limbs[end][-1, 1] * template.track_m[end] / own)
    return widths


def _angles(
    template: Animal, offsets: Array, tips: Array, point_of_hip_m: tuple[float, float, float]
) -> tuple[Array, Array]:
    """Standing angles of the limb joints, and the template's limits of them as pitch from standing."""
    standing, ranges = template.standing_angles_rad.copy(), template.ranges_rad.copy()
    for name, sign in ANGLE_SIGN.items():
        for side in "LR":
            row = template.joint(f"{name}_{side}")
            parent = int(template.parents[row])
            limits = template.standing_angles_rad[row] + sign * template.ranges_rad[row, 0]
            if name == "femur":
                line = np.array(point_of_hip_m) * (1.0, 1.0 if side == "L" else -1.0, 1.0) - offsets[row]
                angle = np.arctan2(line[2], line[0]) - np.arctan2(tips[row, 2], tips[row, 0])
            else:
                bend = np.arctan2(tips[row, 2], tips[row, 0]) - np.arctan2(tips[parent, 2], tips[parent, 0])
                angle = np.pi + sign * ((bend + np.pi) % (2.0 * np.pi) - np.pi)
            standing[row] = angle
            ends = sign * (limits - angle)
            ranges[row, 0] = min(ends.min(), -LEAST_ROOM_RAD), max(ends.max(), LEAST_ROOM_RAD)
    return standing, ranges
