"""Which animal a BVH file with gaitgen's joints shows, and the axes and the unit that it is written in."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import animal_names, load_animal, may_be_of
from gaitgen.animal.proportions import Proportions, with_proportions
from gaitgen.animal.standing import stacked_offsets
from gaitgen.errors import AnimalError, FileFormatError, Notice
from gaitgen.formats.bvh_file import BvhFile
from gaitgen.formats.units import METRES_PER_UNIT

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

SAME_SIZE = 2e-3  # relative: as the animal comes with gaitgen
LIKELY_SIZE = (0.44, 1.44)  # of the animal's own: from a small to a tall one of its kind (estimate)
TURNED_COSINE = 0.96  # how near to a right angle the axes of file and animal must be
OWN_GROUND_M = 1e-4  # soles nearer to the ground than this stand on it
OWN_SHAPE_M = 0.002  # joints farther from the animal's own place are said


@dataclass(frozen=True, eq=False)
class Matched:
    """An animal and a file.

    Attributes
    ----------
    animal
        The animal with the file's own offsets and tips.
    rows
        (joints,) joint of the file for each joint of the animal.
    axes
        (3, 3) rows forward, left, up in the file's axes.
    unit
        Key of METRES_PER_UNIT.
    notices
        What was guessed.
    """

    animal: Animal
    rows: Ints
    axes: Array
    unit: str
    notices: tuple[Notice, ...]


def match_animal(file: BvhFile, where: str, animal: str | None = None) -> Matched:
    """Find animal, axes and unit.

    Parameters
    ----------
    file, where
        What was read, and its name for messages.
    animal
        Name of an animal, or path of a skeleton file; the nearest in shape if not given.

    Raises
    ------
    FileFormatError
        If the file has other joints, or its axes are not the animal's turned by right angles.
    AnimalError
        If there is no such animal.
    """
    names = animal_names() if animal is None else (animal,)
    best, far = min(_all_matched(file, where, names), key=lambda found: found[1])
    notices = list(best.notices)
    title = best.animal.title.lower()
    if far > OWN_SHAPE_M:
        notices.append(
            Notice(
                "shape",
                f"joints are up to {1000.0 * far:.0f} mm away from the {title}'s; its flesh is drawn on "
                "the file's joints.",
            )
        )
    extra = [name for name in file.joint_names if name not in best.animal.index]
    if extra:
        some = ", ".join(extra[:3]) + (", ..." if len(extra) > 3 else "")
        notices.append(Notice("joints", f"joints that the {title} does not have are left out: {some}."))
    return replace(best, notices=tuple(notices))


def _all_matched(file: BvhFile, where: str, names: tuple[str, ...]) -> list[tuple[Matched, float]]:
    """Match every animal whose joints the file has; if none, complain about the nearest."""
    tried, faults = [], []
    likely = set(may_be_of(file.joint_names)).intersection(names)
    for some in (likely, set(names) - likely):  # the others are read for the complaint alone
        for template in map(load_animal, sorted(some)):
            try:
                tried.append(_matched(file, where, template))
            except FileFormatError as error:
                lacks = set(template.joint_names) - set(file.joint_names)
                faults.append((len(lacks) / len(template.joint_names), error))
        if tried:
            return tried
    raise min(faults, key=lambda fault: fault[0])[1]


def _matched(file: BvhFile, where: str, template: Animal) -> tuple[Matched, float]:
    """Match one animal; return also how far its joints are from the file's. [m]"""
    rows = _rows(file, where, template)
    axes = _axes(file.offsets[rows][1:], template.offsets_m[1:], where)
    offsets, tips, has_tip = _shape(file, rows, axes, template)
    leg = list(template.limb("hind").joints[1:])
    size = float(offsets[leg, 2].sum() / template.offsets_m[leg, 2].sum())  # animals for a unit
    if size <= 0.0:
        raise FileFormatError(
            f"{where} has gaitgen's joints, but its hind leg does not reach down with all rotations zero; "
            "write the file with the rig unturned, or look at it with `gaitgen check`"
        )
    unit, notices = _unit(size, template)
    metres = METRES_PER_UNIT[unit]
    animal = _proportioned(*_on_its_legs(template, metres * offsets, metres * size))
    placed = metres * offsets
    own_tips = np.where(has_tip[:, None], metres * tips, _tips_by_children(animal, placed))
    placed[0] = animal.offsets_m[0]
    far = float(np.linalg.norm(placed - animal.offsets_m, axis=1).max())
    soles = [limb.foot_joint for limb in animal.limbs]
    lowest = float((stacked_offsets(animal.parents, placed)[soles, 2] + own_tips[soles, 2]).mean())
    if abs(lowest) > OWN_GROUND_M:
        placed[0, 2] -= lowest
    return Matched(replace(animal, offsets_m=placed, tips_m=own_tips), rows, axes, unit, notices), far


def _rows(file: BvhFile, where: str, skeleton: Animal) -> Ints:
    """Find the joints of the skeleton in the file, (joints,)."""
    at = {name: row for row, name in enumerate(file.joint_names)}
    missing = [name for name in skeleton.joint_names if name not in at]
    if missing:
        some = ", ".join(missing[:3]) + (", ..." if len(missing) > 3 else "")
        back = "put back what was taken out, or, " if 2 * len(missing) < len(skeleton.joint_names) else ""
        raise FileFormatError(
            f"{where} lacks {len(missing)} of the {len(skeleton.joint_names)} joints that gaitgen writes "
            f"({some}); {back}if it is on your rig, give the rig's map (`gaitgen fit` makes it): "
            "pictures take it as `gaitgen sheet --animal`, an edit as `gaitgen carry --map`, and "
            "`gaitgen check` reads the clip as it is"
        )
    rows = np.array([at[name] for name in skeleton.joint_names], dtype=np.int64)
    for joint, name in enumerate(skeleton.joint_names):
        parent = int(skeleton.parents[joint])
        above = "" if parent < 0 else skeleton.joint_names[parent]
        row = int(file.parents[rows[joint]])
        found = "" if row < 0 else file.joint_names[row]
        if found != above:
            raise FileFormatError(
                f"{where}: {name} hangs from {found or 'nothing'}, not from {above or 'nothing'}; pictures "
                "need gaitgen's joints in their order, but `gaitgen check` reads any four-legged rig"
            )
    return rows


def _axes(offsets: Array, own_m: Array, where: str) -> Array:
    """Turn the file's offsets onto the animal's as well as can be, and take the nearest right angles.

    Kabsch W. 1976, Acta Crystallogr A32:922 (best rotation between two sets of vectors).
    """
    left, _, right = np.linalg.svd(own_m.T @ offsets)
    turn = left @ np.diag([1.0, 1.0, np.sign(np.linalg.det(left @ right))]) @ right
    axes = np.where(np.abs(turn) > TURNED_COSINE, np.sign(turn), 0.0)
    if not np.array_equal(np.abs(axes).sum(axis=0) + np.abs(axes).sum(axis=1), np.full(3, 2.0)):
        raise FileFormatError(
            f"{where} has gaitgen's joints, but not where the animal has them with all rotations zero; "
            "write the file with the rig unturned, or look at it with `gaitgen check`"
        )
    return np.asarray(axes)


def _shape(
    file: BvhFile, rows: Ints, axes: Array, template: Animal
) -> tuple[Array, Array, npt.NDArray[np.bool_]]:
    """Return offsets (joints, 3), tips (joints, 3) and whether a tip is in the file, in the file's unit."""
    offsets = file.offsets[rows] @ axes.T
    offsets[0] = 0.0
    tips, has_tip = np.zeros_like(offsets), np.zeros(len(rows), dtype=bool)
    for joint in np.setdiff1d(np.arange(len(rows)), template.parents):
        ends = np.flatnonzero(file.end_joints == rows[joint])
        if ends.size:
            tips[joint], has_tip[joint] = file.end_offsets[ends[0]] @ axes.T, True
    return offsets, tips, has_tip


def _tips_by_children(animal: Animal, offsets_m: Array) -> Array:
    """Let a tip that lies on a child of its joint go with the child."""
    tips = animal.tips_m.copy()
    for joint in range(1, len(tips)):
        parent = int(animal.parents[joint])
        if np.allclose(animal.offsets_m[joint], animal.tips_m[parent], atol=1e-6):
            tips[parent] = offsets_m[joint]
    return tips


def _unit(size: float, template: Animal) -> tuple[str, tuple[Notice, ...]]:
    """Choose the unit in which the animal has its own size, else the first in which it has a likely one."""
    ratio = {unit: size * metres for unit, metres in METRES_PER_UNIT.items()}
    for unit, factor in ratio.items():
        if abs(factor - 1.0) < SAME_SIZE:
            return unit, ()
    least, most = LIKELY_SIZE
    likely = [unit for unit, factor in ratio.items() if least <= factor <= most]
    unit = likely[0] if likely else min(ratio, key=lambda unit: abs(np.log(ratio[unit])))
    withers_m = ratio[unit] * template.withers_height_m
    text = f"unit guessed: {unit} (withers {withers_m:.2f} m)."
    return unit, (Notice("unit", text),)


def _on_its_legs(template: Animal, offsets_m: Array, size: float) -> tuple[Animal, Array, float]:
    """Give the animal longer or shorter legs where the file's are so against its trunk; its size too."""

    def trunk(animal: Animal) -> float:
        top = animal.limb("hind").top
        return float(np.linalg.norm(offsets_m[top]) / np.linalg.norm(animal.offsets_m[top]))

    legs = size / trunk(template)
    if abs(legs - 1.0) < 1e-3:
        return template, offsets_m, size
    try:
        changed = with_proportions(template, Proportions(leg_factor=legs))
    except AnimalError:
        return template, offsets_m, size
    return changed, offsets_m, trunk(changed)


def _proportioned(template: Animal, offsets_m: Array, size: float) -> Animal:
    """Give the animal the proportions that the file's offsets tell of, as far as they are possible."""

    def stretch(row: int, axes: list[int]) -> float:
        own = size * np.linalg.norm(template.offsets_m[row, axes])
        return float(np.linalg.norm(offsets_m[row, axes]) / own)

    found = {"withers_height_m": (size, size * template.withers_height_m)}
    fore = template.limb("fore")
    if fore.cannon is not None:
        below = fore.joints[fore.cannon + 1]
        own_ratio = -float(template.offsets_m[below, 2]) / template.withers_height_m
        cannon = stretch(below, [2])
        found["cannon_ratio"] = cannon, cannon * own_ratio
    if len(template.spine) > 3:
        found["back_factor"] = (stretch(template.spine[2], [0]),) * 2
    if template.head is not None:
        if len(template.neck) > 1:
            found["neck_factor"] = (stretch(template.neck[-1], [0, 2]),) * 2
        on_head = template.below(template.head)
        if len(on_head) > 1:
            found["head_factor"] = (stretch(on_head[1], [0, 1, 2]),) * 2
    animal = template
    for item in fields(Proportions):  # one by one: what is impossible is left as it is
        factor, value = found.get(item.name, (1.0, 0.0))
        if abs(factor - 1.0) < (SAME_SIZE if item.name == "withers_height_m" else 1e-3):
            continue
        try:
            animal = with_proportions(animal, Proportions(**{item.name: value}))
        except AnimalError:
            continue
    return animal
