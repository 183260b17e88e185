"""Other proportions of the same animal, closed again: soles on the ground, withers at height."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb import ENDS
from gaitgen.animal.manner import Going
from gaitgen.animal.sizes import Proportions
from gaitgen.animal.standing import (
    CLOSURE_TOLERANCE_M,
    load_share_fore,
    standing_fault,
    standing_landmark_m,
    standing_positions_m,
)
from gaitgen.errors import AnimalError

Array = npt.NDArray[np.float64]

__all__ = ["Proportions", "with_proportions"]


def with_proportions(
    skeleton: Animal, proportions: Proportions, *, name: str | None = None, title: str | None = None
) -> Animal:
    """Return the animal with other proportions, standing on flat soles with its withers at height.

    Raises
    ------
    AnimalError
        If no such animal can stand.
    """
    changed = skeleton
    if proportions.leg_factor is not None:
        changed = _with_legs(changed, proportions.leg_factor)
    if proportions.cannon_ratio is not None:
        changed = _with_cannon(changed, proportions.cannon_ratio)
    if proportions.back_factor is not None:
        changed = _with_back(changed, proportions.back_factor)
    for part, factor in (("neck", proportions.neck_factor), ("head", proportions.head_factor)):
        if factor is not None:
            changed = _with_part(changed, part, factor)
    if proportions.withers_height_m is not None:
        changed = _scaled(changed, proportions.withers_height_m / changed.withers_height_m)
    changed = _closed(changed)
    if proportions.body_mass_kg is not None:
        changed = replace(changed, body_mass_kg=proportions.body_mass_kg)
    changed = _balanced(replace(changed, name=name or skeleton.name, title=title or skeleton.title))
    fault = standing_fault(changed)
    if fault:
        raise AnimalError(f"{changed.name} with these proportions {fault}")
    return changed


def _scaled(skeleton: Animal, factor: float) -> Animal:
    """Scale every length by one factor, mass by the species' rule, follower frequencies like pendulums."""
    going = Going.of(skeleton).scaled(factor)
    return replace(
        skeleton,
        offsets_m=skeleton.offsets_m * factor,
        tips_m=skeleton.tips_m * factor,
        radii_m=skeleton.radii_m * factor,
        mass_centres_m=skeleton.mass_centres_m * factor,
        body_mass_kg=skeleton.body_mass_kg * factor**skeleton.mass_height_power,
        withers_height_m=skeleton.withers_height_m * factor,
        croup_height_m=skeleton.croup_height_m * factor,
        limbs=going.limbs,
        hanging=going.hanging,
        back=going.back,
        tempo=going.tempo,
        goings={gait: own.scaled(factor) for gait, own in skeleton.goings.items()},
        landmarks_m={
            name: (joint, (x * factor, y * factor, z * factor))
            for name, (joint, (x, y, z)) in skeleton.landmarks_m.items()
        },
        outline=tuple(
            (joint, (x * factor, y * factor, z * factor), radius * factor, group)
            for joint, (x, y, z), radius, group in skeleton.outline
        ),
    )


def _stretched(skeleton: Animal, factors: Mapping[str, tuple[float, float, float]]) -> Animal:
    """Stretch bones (joint name without side -> factors forward, left, up) with all that hangs on them.

    A child that sits at a point of its parent's bone moves with that bone.
    """
    scale = np.ones((len(skeleton.joint_names), 3))
    for row, name in enumerate(skeleton.joint_names):
        scale[row] = factors.get(name.removesuffix("_L").removesuffix("_R"), (1.0, 1.0, 1.0))
    above = np.where(skeleton.parents >= 0, skeleton.parents, 0)
    inherited = scale[above]
    inherited[0] = 1.0
    by_name = dict(zip(skeleton.joint_names, scale, strict=True))

    def moved(joint: str, offset: tuple[float, float, float]) -> tuple[float, float, float]:
        x, y, z = (float(v) for v in np.asarray(offset) * by_name[joint])
        return x, y, z

    return replace(
        skeleton,
        offsets_m=skeleton.offsets_m * inherited,
        tips_m=skeleton.tips_m * scale,
        mass_centres_m=skeleton.mass_centres_m * scale,
        landmarks_m={n: (joint, moved(joint, o)) for n, (joint, o) in skeleton.landmarks_m.items()},
        outline=tuple((joint, moved(joint, o), r, group) for joint, o, r, group in skeleton.outline),
    )


def _with_legs(skeleton: Animal, factor: float) -> Animal:
    """Stretch the legs below the trunk, tempo and paths of the feet with them, and keep the withers height.

    The forelegs get as much longer in height as the hind legs, so that the back stays level.
    """
    hind, fore = skeleton.limb("hind").joints[:-1], skeleton.limb("fore").joints[1:-1]
    drop_m = [-float(skeleton.tips_m[list(rows), 2].sum()) for rows in (hind, fore)]
    longer_m = (factor - 1.0) * drop_m[0]
    before = 1.0 + longer_m / drop_m[1]
    names = {skeleton.joint_names[row].removesuffix("_L"): factor for row in hind}
    names |= {skeleton.joint_names[row].removesuffix("_L"): before for row in fore}
    changed = _stretched(skeleton, {name: (each, 1.0, each) for name, each in names.items()})
    offsets = changed.offsets_m.copy()
    offsets[0, 2] += longer_m
    goings = {gait: going.on_longer_legs(factor) for gait, going in skeleton.goings.items()}
    own = Going.of(skeleton).on_longer_legs(factor)
    taller = replace(
        changed,
        offsets_m=offsets,
        withers_height_m=skeleton.withers_height_m + longer_m,
        croup_height_m=skeleton.croup_height_m + longer_m,
        limbs=own.limbs,
        back=replace(own.back, force_point_m=own.back.force_point_m + longer_m),
        tempo=own.tempo,
        goings={
            gait: replace(each, back=replace(each.back, force_point_m=each.back.force_point_m + longer_m))
            for gait, each in goings.items()
        },
    )
    return _scaled(taller, skeleton.withers_height_m / taller.withers_height_m)


def _closed(skeleton: Animal) -> Animal:
    """Bring soles to the ground and the withers to their height where what is open has grown too large.

    A file leaves open less than a millimetre, which grows with the animal. Legs are made longer or shorter
    below the trunk by it, and the point of the withers is moved.
    """
    changed, places = skeleton, standing_positions_m(skeleton)
    for limb in skeleton.limbs[::2]:
        over_m = float(places[limb.foot_joint, 2]) - limb.foot.height_m
        if abs(over_m) > CLOSURE_TOLERANCE_M:
            rows = list(limb.joints[limb.end == "fore" : -1])
            longer = 1.0 - over_m / float(skeleton.tips_m[rows, 2].sum())
            names = (skeleton.joint_names[row].removesuffix("_L") for row in rows)
            changed = _stretched(changed, dict.fromkeys(names, (longer, 1.0, longer)))
    under_m = changed.withers_height_m - float(standing_landmark_m(changed, "withers")[2])
    if abs(under_m) < CLOSURE_TOLERANCE_M:
        return changed
    joint, (x, y, z) = changed.landmarks_m["withers"]
    return replace(changed, landmarks_m={**changed.landmarks_m, "withers": (joint, (x, y, z + under_m))})


def _with_cannon(skeleton: Animal, ratio: float) -> Animal:
    """Change both cannon bones by one factor; the two bones above them take up the height."""
    fore = skeleton.limb("fore")
    if fore.cannon is None:
        raise AnimalError(
            f"cannon_ratio is {ratio:g}; the file of {skeleton.name} names no cannon bone "
            "(cannon = ... in the table of a limb), so leave it out"
        )
    carpus_to_fetlock = -float(skeleton.tips_m[fore.joints[fore.cannon], 2])
    factor = ratio * skeleton.withers_height_m / carpus_to_fetlock
    changed = skeleton
    for end in ENDS:
        place = skeleton.limb(end).cannon
        if place is None:
            continue
        names, rows = skeleton.bones(end), skeleton.limb(end).joints
        height = -float(skeleton.tips_m[rows[place], 2])
        others = -float(sum(skeleton.tips_m[row, 2] for row in rows[place - 2 : place]))
        rest = (others - (factor - 1.0) * height) / others
        if rest <= 0.2:
            raise AnimalError(f"cannon_ratio is {ratio:g}; no leg is left above it, give a smaller number")
        stretch = dict.fromkeys(names[place - 2 : place], (rest, 1.0, rest))
        changed = _stretched(changed, {**stretch, names[place]: (factor, 1.0, factor)})
    return changed


def _with_back(skeleton: Animal, factor: float) -> Animal:
    """Stretch the back along the ground only, so that withers and legs keep their heights."""
    return _stretched(skeleton, dict.fromkeys(skeleton.spine_names[1:-1], (factor, 1.0, 1.0)))


def _with_part(skeleton: Animal, part: str, factor: float) -> Animal:
    if skeleton.head is None:
        raise AnimalError(f"{part}_factor is {factor:g}; {skeleton.name} has no head, so leave it out")
    if part == "neck":
        chosen = {skeleton.joint_names[row] for row in skeleton.neck}
        return _stretched(skeleton, dict.fromkeys(chosen, (factor, 1.0, factor)))
    rows = list(skeleton.below(skeleton.head))
    names = {skeleton.joint_names[row].removesuffix("_L").removesuffix("_R") for row in rows}
    changed = _stretched(skeleton, dict.fromkeys(names, (factor, factor, factor)))
    radii = changed.radii_m.copy()
    radii[rows] *= factor
    return replace(changed, radii_m=radii)


def _balanced(skeleton: Animal) -> Animal:
    """Weigh fore and hind legs again."""
    soles = {limb.end: (limb.foot_joint, limb.foot) for limb in skeleton.limbs[::2]}
    share = load_share_fore(
        standing_positions_m(skeleton), skeleton.mass_centres_m, skeleton.mass_shares, soles
    )
    return replace(skeleton, load_share_fore=share)
