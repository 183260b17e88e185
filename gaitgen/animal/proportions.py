"""Other proportions of the same animal, closed again: soles on the ground, withers at height."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import SPINE, Animal, Hoof
from gaitgen.animal.sizes import Proportions
from gaitgen.animal.standing import load_share_fore, standing_fault, standing_positions_m
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
    if proportions.cannon_ratio is not None:
        changed = _with_cannon(changed, proportions.cannon_ratio)
    if proportions.back_factor is not None:
        changed = _with_back(changed, proportions.back_factor)
    for part, factor in (("neck", proportions.neck_factor), ("head", proportions.head_factor)):
        if factor is not None:
            changed = _with_part(changed, part, factor)
    if proportions.withers_height_m is not None:
        changed = _scaled(changed, proportions.withers_height_m / changed.withers_height_m)
    if proportions.body_mass_kg is not None:
        changed = replace(changed, body_mass_kg=proportions.body_mass_kg)
    changed = _balanced(replace(changed, name=name or skeleton.name, title=title or skeleton.title))
    fault = standing_fault(changed)
    if fault:
        raise AnimalError(f"{changed.name} with these proportions {fault}")
    return changed


def _scaled(skeleton: Animal, factor: float) -> Animal:
    """Scale every length by one factor, mass by the species' rule, follower frequencies like pendulums."""
    return replace(
        skeleton,
        offsets_m=skeleton.offsets_m * factor,
        tips_m=skeleton.tips_m * factor,
        radii_m=skeleton.radii_m * factor,
        mass_centres_m=skeleton.mass_centres_m * factor,
        body_mass_kg=skeleton.body_mass_kg * factor**skeleton.mass_height_power,
        withers_height_m=skeleton.withers_height_m * factor,
        croup_height_m=skeleton.croup_height_m * factor,
        hooves={end: _scaled_hoof(hoof, factor) for end, hoof in skeleton.hooves.items()},
        track_m={end: width * factor for end, width in skeleton.track_m.items()},
        followers={
            part: replace(follower, natural_frequency_hz=follower.natural_frequency_hz / math.sqrt(factor))
            for part, follower in skeleton.followers.items()
        },
        landmarks_m={
            name: (joint, (x * factor, y * factor, z * factor))
            for name, (joint, (x, y, z)) in skeleton.landmarks_m.items()
        },
        outline=tuple(
            (joint, (x * factor, y * factor, z * factor), radius * factor, group)
            for joint, (x, y, z), radius, group in skeleton.outline
        ),
    )


def _scaled_hoof(hoof: Hoof, factor: float) -> Hoof:
    return Hoof(
        hoof.coffin_height_m * factor, hoof.toe_m * factor, hoof.heel_m * factor, hoof.half_width_m * factor
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


def _with_cannon(skeleton: Animal, ratio: float) -> Animal:
    """Change both cannon bones by one factor; the two bones above them take up the height."""
    carpus_to_fetlock = -float(skeleton.tips_m[skeleton.joint("fore_cannon_L"), 2])
    factor = ratio * skeleton.withers_height_m / carpus_to_fetlock
    changed = skeleton
    for cannon, above in (("fore_cannon", ("humerus", "radius")), ("hind_cannon", ("femur", "tibia"))):
        height = -float(skeleton.tips_m[skeleton.joint(f"{cannon}_L"), 2])
        others = -float(sum(skeleton.tips_m[skeleton.joint(f"{bone}_L"), 2] for bone in above))
        rest = (others - (factor - 1.0) * height) / others
        if rest <= 0.2:
            raise AnimalError(f"cannon_ratio is {ratio:g}; no leg is left above it, give a smaller number")
        stretch = dict.fromkeys(above, (rest, 1.0, rest))
        changed = _stretched(changed, {**stretch, cannon: (factor, 1.0, factor)})
    return changed


def _with_back(skeleton: Animal, factor: float) -> Animal:
    """Stretch the back along the ground only, so that withers and legs keep their heights."""
    return _stretched(skeleton, dict.fromkeys(SPINE[1:-1], (factor, 1.0, 1.0)))


def _with_part(skeleton: Animal, part: str, factor: float) -> Animal:
    names = {n.removesuffix("_L").removesuffix("_R") for n in skeleton.joint_names}
    if part == "neck":
        chosen = {name for name in names if name.startswith("neck_") or name == "atlas"}
        return _stretched(skeleton, dict.fromkeys(chosen, (factor, 1.0, factor)))
    changed = _stretched(skeleton, dict.fromkeys(("head", "jaw", "ear"), (factor, factor, factor)))
    rows = [changed.joint(name) for name in ("head", "jaw", "ear_L", "ear_R")]
    radii = changed.radii_m.copy()
    radii[rows] *= factor
    return replace(changed, radii_m=radii)


def _balanced(skeleton: Animal) -> Animal:
    """Weigh fore and hind legs again."""
    soles = {end: (skeleton.joint(f"{end}_hoof_L"), hoof) for end, hoof in skeleton.hooves.items()}
    share = load_share_fore(
        standing_positions_m(skeleton), skeleton.mass_centres_m, skeleton.mass_shares, soles
    )
    return replace(skeleton, load_share_fore=share)
