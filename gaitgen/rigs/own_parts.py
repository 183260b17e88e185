"""What a rig has and its template has not, or the other way round: joints left out, and rows that hang."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal, Ball
from gaitgen.animal.hanging_part import HangingPart
from gaitgen.animal.standing import standing_positions_m
from gaitgen.rigs.lines import APART_M
from gaitgen.rigs.rig import Rig
from gaitgen.rigs.rig_map import HangingMap, RigMap

Array = npt.NDArray[np.float64]

# A row that the map lets hang is drawn this thick at its base, and turns as far as this (estimates).
ROW_WITHERS = 0.02
# At its end it is as thick as this share of that, and a tail grows out of a ball so many times as thick.
ROW_END, TAIL_ROOT = 0.4, 1.5
ROW_TURN_RAD = np.radians(60.0)
# A row like a part of one joint swings so far at its base and at its end, against that part, and each joint
# follows the one before so many times as quickly as the row swings: as tails of our animals do (estimates).
BASE_GAIN, END_GAIN, LAG_TIMES = 0.5, 1.2, 9.0
LEAST_ROW_M = 1e-3  # nothing that hangs is taken to be shorter


def like_rig(rig: Rig, template: Animal) -> Animal:
    """Leave out of a template what the rig has not: head and neck, tail, rows, ornaments of its kind."""
    own = rig.map
    gone: set[int] = set()
    if own.head is None and not own.neck and template.head is not None:
        gone |= {row for first in (*template.neck[:1], template.head) for row in template.below(first)}
    kept = {template.head, *template.neck}
    for part in template.hanging:
        on_head = template.head is not None and part.joints[0] in template.below(template.head)
        is_small = part.name.endswith(("_L", "_R")) or len(part.joints) == 1
        has = part.name in own.hanging or (
            part.name == "tail" and bool(own.tail) and not _is_stiff(own, part)
        )
        is_row = own.ear_left is None and part.name[:-2] in {row.like for row in own.hanging.values()}
        if not has and not kept & set(part.joints) and (is_row or not (on_head and is_small)):
            gone |= {row for joint in part.joints for row in template.below(joint)}
    template = replace(template, outline=_drawn_of(own, template))
    return without_joints(template, gone) if gone else template


def _drawn_of(own: RigMap, template: Animal) -> tuple[Ball, ...]:
    """Return the flesh of a template without its ornaments, and without ears that the rig has not."""
    has_none = own.ear_left is None and own.ear_right is None
    lacks = {"ear_L", "ear_R"} - set(own.hanging) if has_none else set()
    rows = [part.joints[0] for part in template.hanging if part.name in lacks]
    undrawn = {template.joint_names[row] for first in rows for row in template.below(first)}
    kept = [ball for ball in template.outline if ball[3] not in template.look.ornaments]
    return tuple(ball for ball in kept if ball[0] not in undrawn)


def _is_stiff(own: RigMap, tail: HangingPart) -> bool:
    """Whether a tail of one joint would hold one of more joints stiff."""
    return len(tail.joints) == 1 < len(own.tail)


def without_joints(animal: Animal, gone: set[int]) -> Animal:
    """Return the animal without some joints and all that belongs to them; its mass stays what it is."""
    rows = [row for row in range(len(animal.joint_names)) if row not in gone]
    new = {row: place for place, row in enumerate(rows)}
    names = {animal.joint_names[row] for row in rows}
    left = [ball for ball in animal.outline if ball[0] in names]
    count = {group: sum(ball[3] == group for ball in left) for _, _, _, group in animal.outline}
    before = {group: sum(ball[3] == group for ball in animal.outline) for group in count}
    shares = animal.mass_shares[rows]

    def moved(joints: tuple[int, ...]) -> tuple[int, ...]:
        return tuple(new[joint] for joint in joints)

    return replace(
        animal,
        joint_names=tuple(animal.joint_names[row] for row in rows),
        parents=np.array([new.get(int(animal.parents[row]), -1) for row in rows]),
        offsets_m=animal.offsets_m[rows],
        tips_m=animal.tips_m[rows],
        mass_shares=shares / shares.sum(),
        ranges_rad=animal.ranges_rad[rows],
        standing_angles_rad=animal.standing_angles_rad[rows],
        angle_signs=animal.angle_signs[rows],
        angle_names=tuple(animal.angle_names[row] for row in rows),
        radii_m=animal.radii_m[rows],
        mass_centres_m=animal.mass_centres_m[rows],
        limbs=tuple(
            replace(
                limb,
                girdle=new[limb.girdle],
                sling=None if limb.sling is None else new[limb.sling],
                joints=moved(limb.joints),
            )
            for limb in animal.limbs
        ),
        spine=moved(animal.spine),
        hanging=tuple(
            replace(part, joints=moved(part.joints)) for part in animal.hanging if not gone & set(part.joints)
        ),
        head=None if animal.head is None or animal.head in gone else new[animal.head],
        landmarks_m={name: mark for name, mark in animal.landmarks_m.items() if mark[0] in names},
        outline=tuple(ball for ball in left if count[ball[3]] > 1 or before[ball[3]] == count[ball[3]]),
    )


def with_rows(rig: Rig, animal: Animal, template: Animal, places_m: Array) -> Animal:
    """Hang on the rig's animal what its map lets hang and the template does not know.

    Parameters
    ----------
    rig, animal, template
        The rig, the animal with its proportions, and the template.
    places_m
        (joints + ends, 3) of the rig, standing, as the animal stands. [m]
    """
    made = animal
    new = [item for item in rig.map.hanging.items() if template.part(item[0]) is None]
    tail = template.part("tail")
    if tail is not None and _is_stiff(rig.map, tail):
        new.append((tail.name, HangingMap(rig.map.tail, like=tail.name)))
    for name, part in sorted(new, key=lambda item: rig.joint(item[1].joints[0])):
        made = _with_row(rig, made, template, places_m, name, part)
    return made


def _with_row(
    rig: Rig, animal: Animal, template: Animal, places_m: Array, name: str, part: HangingMap
) -> Animal:
    joints = [rig.joint(joint) for joint in part.joints]
    base = _base(rig, animal, joints[0])
    points = places_m[[*joints, *_end(rig, joints[-1])]]
    if len(points) == len(joints):
        points = np.concatenate([points, 2.0 * points[-1:] - places_m[[int(rig.rest.parents[joints[-1]])]]])
    tips = np.diff(points, axis=0)
    offsets = tips[:-1].copy()
    offsets = np.concatenate([(points[0] - standing_positions_m(animal)[base])[None], offsets])
    count, first = len(joints), len(animal.joint_names)
    rows = tuple(range(first, first + count))
    names = tuple(f"{name}_{k + 1}" for k in range(count))
    thick = ROW_WITHERS * animal.withers_height_m * np.linspace(1.0, ROW_END, count + 1)
    turn = np.tile([-ROW_TURN_RAD, ROW_TURN_RAD], (count, 3, 1))
    balls: list[Ball] = []
    if name == "tail":  # it grows out of the trunk
        balls.append((animal.joint_names[base], (0.0, 0.0, 0.0), TAIL_ROOT * float(thick[0]), name))
    for joint, at, radius in zip((*names, names[-1]), (*np.zeros((count, 3)), tips[-1]), thick, strict=True):
        balls.append((joint, (float(at[0]), float(at[1]), float(at[2])), float(radius), name))
    return replace(
        animal,
        joint_names=(*animal.joint_names, *names),
        parents=np.append(animal.parents, [base, *rows[:-1]]),
        offsets_m=np.concatenate([animal.offsets_m, offsets]),
        tips_m=np.concatenate([animal.tips_m, tips]),
        mass_shares=np.append(animal.mass_shares, np.zeros(count)),
        ranges_rad=np.concatenate([animal.ranges_rad, turn]),
        standing_angles_rad=np.append(animal.standing_angles_rad, np.full(count, np.nan)),
        angle_signs=np.append(animal.angle_signs, np.full(count, np.nan)),
        angle_names=(*animal.angle_names, *[""] * count),
        radii_m=np.concatenate([animal.radii_m, np.stack([thick[:-1], thick[1:]], axis=1)]),
        mass_centres_m=np.concatenate([animal.mass_centres_m, tips / 2.0]),
        hanging=(*animal.hanging, _hanging(template, name, part.like, rows, tips)),
        outline=(*animal.outline, *balls),
        outline_layers={**animal.outline_layers, name: "tail" if name == "tail" else "mane"},
    )


def _hanging(template: Animal, name: str, like: str, rows: tuple[int, ...], tips: Array) -> HangingPart:
    """Take quickness, damping and drive from a part of the template, as slow as its length makes it."""
    side = "_R" if name.endswith("_R") else "_L"
    model = template.part(like) or template.part(like + side)
    assert model is not None  # noqa: S101  the map was checked against the template
    own_m = float(np.linalg.norm(template.tips_m[list(model.joints)], axis=1).sum())
    ratio = max(float(np.linalg.norm(tips, axis=1).sum()), LEAST_ROW_M) / max(own_m, LEAST_ROW_M)
    shares = (np.arange(len(rows)) + 1.0) / len(rows)
    gains = np.interp(shares, (np.arange(len(model.gains)) + 1.0) / len(model.gains), model.gains)
    scaled = model.scaled(ratio)
    if (
        len(model.joints) == 1 < len(rows)
    ):  # one joint says nothing of a row: it bends, its end later and farther
        gains = model.gains[0] * (BASE_GAIN + (END_GAIN - BASE_GAIN) * shares)
        scaled = replace(scaled, lag_hz=LAG_TIMES * scaled.frequency_hz)
    return replace(
        scaled,
        name=name,
        joints=rows,
        gains=tuple(float(gain) for gain in gains),
        rest_rad=0.0,
        breath_rad=0.0,
    )


def far_tip_m(rig: Rig, joint: int) -> Array | None:
    """Return the farthest point that hangs on a joint from it, (3,), or None if there is none. [m]"""
    ends = _end(rig, joint)
    return np.asarray(rig.places_m[ends[0]] - rig.places_m[joint]) if ends else None


def _end(rig: Rig, joint: int) -> list[int]:
    """Return the farthest point that hangs on a joint, if one is away from it."""
    hanging = np.flatnonzero(rig.rest.parents == joint)
    if not hanging.size:
        return []
    far = np.linalg.norm(rig.places_m[hanging] - rig.places_m[joint], axis=1)
    return [int(hanging[int(far.argmax())])] if far.max() > APART_M else []


def _base(rig: Rig, animal: Animal, joint: int) -> int:
    """Return the joint of the animal that stands for the nearest joint of the rig above one."""
    own = rig.map
    known: dict[str, int] = {}
    for names, rows in (
        (own.spine, animal.spine),
        (own.neck, animal.neck),
        *(
            (part.joints, made.joints)
            for name, part in own.hanging.items()
            if (made := animal.part(name)) is not None
        ),
        (own.tail, () if (tail := animal.part("tail")) is None else tail.joints),
    ):
        if rows:
            at = np.round(np.linspace(0, len(rows) - 1, max(len(names), 2))).astype(int)
            known |= {name: rows[int(row)] for name, row in zip(names, at, strict=False)}
    for limb, chain in zip(rig.limbs, animal.limbs, strict=True):
        turning = {j: b for j, b in zip(limb.joints, limb.bones, strict=True) if b >= 0}
        known |= {rig.file.joint_names[j]: chain.joints[b] for j, b in turning.items()}
    if own.head is not None and animal.head is not None:
        known[own.head] = animal.head
    jaw = animal.part("jaw")
    if own.jaw is not None and jaw is not None:
        known[own.jaw] = jaw.joints[0]
    above = int(rig.file.parents[joint])
    while above >= 0 and rig.file.joint_names[above] not in known:
        above = int(rig.file.parents[above])
    return animal.chest if above < 0 else known[rig.file.joint_names[above]]
