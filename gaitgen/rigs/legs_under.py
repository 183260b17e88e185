"""Legs that a rig spreads in its standing pose, put under its body."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.formats.bvh_file import BvhFile, rotation_letters
from gaitgen.numerics.turns import turn_about
from gaitgen.rigs.bones import leads_aside, stretched, template_limb_m
from gaitgen.rigs.fitted import fitted_angles_rad
from gaitgen.rigs.rest import RestPose

Array = npt.NDArray[np.float64]

SPREAD_RAD = np.radians(12.0)  # a leg that leans outward by more is spread
STRADDLE_RAD = np.radians(
    20.0
)  # ... and one that stands by so much farther ahead or back than the template's
FEW_JOINTS = 2  # of a leg that has an elbow or a knee and nothing below it
MOST_TIP_RAD = np.radians(3.0)  # a rig that would be tipped farther keeps its trunk as it is ...
MOST_TIP_LYING_RAD = np.radians(10.0)  # ... or farther than this, where it lies or crouches with legs aside
PIVOT_SHARE = 0.6  # a leg is spread where its bones lean outward by this share of the lean below
UPRIGHT_SHARE = 0.5  # a foot that leans outward by less than this share of its leg's lean stands flat


def outward_rad(leg: Array) -> Array:
    """Lean outward of lines (..., 3) forward, left, up, from the foot to the top of left limbs. [rad]"""
    return np.asarray(np.arctan2(-leg[..., 1], leg[..., 2]))


def ahead_rad(leg: Array) -> Array:
    """Lean back of lines (..., 3) from the foot to the top: positive where the foot is ahead. [rad]"""
    return np.asarray(np.arctan2(-leg[..., 0], leg[..., 2]))


def outward_of(points: Array) -> tuple[int, float]:
    """Find where a left limb leans outward, and by how much.

    Parameters
    ----------
    points
        (joints, 3) of a left limb from the top; forward, left, up.

    Returns
    -------
    Position of the first joint from which the limb leans as its last bones do, and the lean there. [rad]
    """
    first = int(leads_aside(points))  # the leg hangs below that
    points = points[first:]
    lean = outward_rad(points[:-1] - points[-1])
    own = outward_rad(points[:-1] - points[1:])
    leaning = np.flatnonzero(own >= PIVOT_SHARE * lean)
    pivot = int(leaning[0]) if leaning.size else 0
    return first + pivot, float(lean[pivot])


def too_far_ahead_rad(points: Array, ends: Array, template: Animal, end: str) -> float:
    """Tell how much farther ahead a limb stands than the template's; negative behind. [rad]

    Parameters
    ----------
    points, ends
        (joints, 3) of a left limb from the top, and (ends, 3) what hangs on its last joint.
    template, end
        The animal, and which of its limbs.
    """
    own = template_limb_m(template, end)
    if len(points) <= FEW_JOINTS and len(ends):  # so few that the last of them is no ankle: to the ground
        foot, model = ends[int(ends[:, 2].argmin())], own[-1]
    else:
        foot, model = points[-1], own[min(len(points), len(own) - 1) - 1]
    return float(ahead_rad(points[0] - foot) - ahead_rad(own[0] - model))


def straightness(points: Array, ends: Array) -> float:
    """Share of the length of its bones to which a limb stands stretched; ``points``, ``ends`` as above."""
    return stretched(np.concatenate([points, ends[[int(ends[:, 2].argmin())]]]) if len(ends) else points)


def with_legs_under(
    file: BvhFile, pose: RestPose, axes: Array, chains: Mapping[str, Sequence[int]], template: Animal
) -> RestPose:
    """Turn each leg where it leans outward, so that it hangs straight down, and back where it straddles.

    The last joint keeps the sole flat where it is flat in the file. Where fore and hind legs are then not as
    long as each other, the whole rig is tipped by as much as it takes to stand level, or, where that is much,
    the longer legs stay aside by as much.

    Parameters
    ----------
    file, pose
        The rig and its standing pose.
    axes
        (3, 3) rows forward, left, up in the file's axes.
    chains
        Joints of each limb from the top, by LIMBS name.
    template
        How far ahead or back legs stand.
    """
    turns = np.tile(np.eye(3), (len(pose.rotations), 1, 1))
    places = pose.places.copy()
    straddles = False
    leans = {}
    for limb, chain in chains.items():
        side, end = (1.0 if limb[0] == "L" else -1.0), ("fore" if limb[1] == "F" else "hind")
        points = pose.places[list(chain)] @ axes.T * [1.0, side, 1.0]
        pivot, lean = outward_of(points)
        leans[limb] = (chain[pivot], lean)
        foot = [int(e) for e in np.flatnonzero(pose.parents == chain[-1])]
        ahead = too_far_ahead_rad(points, pose.places[foot] @ axes.T * [1.0, side, 1.0], template, end)
        inward = turn_about(axes[0], np.array(-side * lean))
        is_aside = abs(ahead) > STRADDLE_RAD
        straddles = straddles or is_aside
        back = turn_about(axes[1], np.array(ahead if is_aside else 0.0))
        turn = back @ inward
        kept = np.eye(3)  # what of that a foot goes along with
        if not (foot and _is_flat(pose, chain[-1], foot, axes, side, lean)):
            kept = inward
        if not (foot and _is_level(pose, chain[-1], foot, axes, ahead, template_limb_m(template, end))):
            kept = back @ kept
        _turn_branch(pose, chain[pivot], turn, turns, places)
        _turn_branch(pose, chain[-1], kept @ turn.T, turns, places)
    pitch = _pitch_rad(pose, places, axes, chains)
    if abs(pitch) < (MOST_TIP_LYING_RAD if straddles else MOST_TIP_RAD):
        tip = turn_about(axes[1], np.array(pitch))
        turns = tip @ turns
        places = places[0] + (places - places[0]) @ tip.T
    else:
        _let_lean(pose, axes, chains, leans, turns, places)
    rotations = turns @ pose.rotations
    return replace(pose, rotations=rotations, places=places, angles_deg=_angles(file, pose, rotations))


def _feet_m(
    pose: RestPose, places: Array, axes: Array, chains: Mapping[str, Sequence[int]]
) -> dict[str, Array]:
    """Find the lowest point of fore and hind feet, by F and H; left and right are taken together."""
    feet: dict[str, list[Array]] = {"F": [], "H": []}
    for limb, chain in chains.items():
        ends = [chain[-1], *np.flatnonzero(pose.parents == chain[-1])]
        here = places[ends] @ axes.T
        feet[limb[1]].append(here[int(here[:, 2].argmin())])
    return {end: np.mean(own, axis=0) for end, own in feet.items()}


def _pitch_rad(pose: RestPose, places: Array, axes: Array, chains: Mapping[str, Sequence[int]]) -> float:
    """Return how far the whole rig would turn about its lateral axis to bring all feet to one height."""
    feet = _feet_m(pose, places, axes, chains)
    apart = feet["F"] - feet["H"]
    return float(np.arctan2(apart[2], apart[0]))


def _let_lean(
    pose: RestPose,
    axes: Array,
    chains: Mapping[str, Sequence[int]],
    leans: Mapping[str, tuple[int, float]],
    turns: Array,
    places: Array,
) -> None:
    """Let the longer legs lean outward again, no farther than they did, until all feet are at one height."""
    feet = _feet_m(pose, places, axes, chains)
    low = min(feet, key=lambda end: float(feet[end][2]))
    rise = abs(float(feet["F"][2] - feet["H"][2]))
    for limb, chain in chains.items():
        pivot, lean = leans[limb]
        if limb[1] != low or pivot == chain[-1]:
            continue
        down = float((places[pivot] - places[chain[-1]]) @ axes[2])
        out = min(float(np.arccos(np.clip(1.0 - rise / max(down, rise), 0.0, 1.0))), max(lean, 0.0))
        turn = turn_about(axes[0], np.array(out if limb[0] == "L" else -out))
        _turn_branch(pose, pivot, turn, turns, places)
        _turn_branch(pose, chain[-1], turn.T, turns, places)


def _turn_branch(pose: RestPose, start: int, turn: Array, turns: Array, places: Array) -> None:
    """Turn a joint, and everything below it, about the joint."""
    branch = [start]
    for member in branch:
        branch.extend(int(c) for c in np.flatnonzero(pose.parents == member))
    places[branch] = places[start] + (places[branch] - places[start]) @ turn.T
    joints = [member for member in branch if member < len(turns)]
    turns[joints] = turn @ turns[joints]


def _is_flat(pose: RestPose, last: int, ends: list[int], axes: Array, side: float, lean: float) -> bool:
    foot = (pose.places[last] - pose.places[ends]).mean(axis=0) @ axes.T * [1.0, side, 1.0]
    return bool(outward_rad(foot) < UPRIGHT_SHARE * lean)


def _is_level(pose: RestPose, last: int, ends: list[int], axes: Array, ahead: float, model: Array) -> bool:
    """Tell whether a foot stands more as the template's (bones + 1, 3) does before its leg is turned back."""
    own = float(ahead_rad((pose.places[last] - pose.places[ends]).mean(axis=0) @ axes.T))
    wanted = float(ahead_rad(model[-2] - model[-1]))
    return abs(own - wanted) < abs(own - ahead - wanted)


def _angles(file: BvhFile, pose: RestPose, rotations: Array) -> tuple[tuple[float, ...], ...]:
    """Angles of the channels that turn every joint as it is turned, near those that it had."""
    angles = []
    for joint, before in enumerate(pose.angles_deg):
        parent = int(file.parents[joint])
        local = rotations[joint] if parent < 0 else rotations[parent].T @ rotations[joint]
        letters = rotation_letters(file, joint)
        if letters and not np.allclose(local, _local(pose, file, joint), atol=1e-12):
            fitted = fitted_angles_rad(local[None], letters, np.radians(np.array(before)))[0]
            angles.append(tuple(float(value) for value in np.degrees(fitted)))
        else:
            angles.append(before)
    return tuple(angles)


def _local(pose: RestPose, file: BvhFile, joint: int) -> Array:
    parent = int(file.parents[joint])
    own = pose.rotations[joint]
    return np.asarray(own if parent < 0 else pose.rotations[parent].T @ own)
