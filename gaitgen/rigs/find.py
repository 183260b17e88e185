"""Finds the parts of a four-legged rig by its structure and its symmetry; names only break ties."""

from __future__ import annotations

from contextlib import suppress

import numpy as np

from gaitgen.errors import Notice, RigError
from gaitgen.formats.bvh_file import BvhFile, moves_under_root
from gaitgen.rigs.doubt import Doubt
from gaitgen.rigs.found import EVEN, SQUARE, Found
from gaitgen.rigs.legs_under import SPREAD_RAD
from gaitgen.rigs.named_sides import sides_doubts
from gaitgen.rigs.nodes import NotStandingError
from gaitgen.rigs.rest import rest_pose
from gaitgen.rigs.rig_map import Rest, RigMap

MOST_JOINTS = 2000  # and End Sites
# Shares of a rig's height: a trunk so near the root has no height of its own, and one so far over it has
# (estimates; hips are at half of it or higher, and a root between the hips is less far from the trunk).
AT_ROOT, RAISED_BY = 0.02, 0.25
RAISED = "the trunk has its height over the root in frame 1 alone"


def find_rig(
    file: BvhFile, where: str, template: str | None = None, rest: Rest | None = None
) -> tuple[RigMap, tuple[Notice, ...]]:
    """Find the parts of a rig.

    The rig stands with all rotations zero; where that pose does not stand on four feet, spreads its legs, has
    them straight or its feet at different heights, and the first frame does not, the first frame is taken.
    Legs that are spread in both are put under the body. Notices say so; those that are a Doubt tell of
    guesses.

    Parameters
    ----------
    file, where
        The rig, and its name for messages.
    template
        The animal whose bones the limbs are matched with; the one whose limbs are most alike if not given.
    rest
        The pose in which it stands; the one that stands better if not given.

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
    best = _standing(file, where, template, rest)
    if not best.stands_well:
        best = best.stood(file, template)
    if moves_under_root(file):
        best.notices.append(_positions_notice(file))
    best.notices.extend(sides_doubts(best.map))
    return best.map, tuple(best.notices)


def _standing(file: BvhFile, where: str, template: str | None, wanted: Rest | None) -> Found:
    """Take the rig at zero if it stands well there, else in frame 1 if it stands better there."""
    faults: list[NotStandingError] = []
    found: list[Found] = []
    choices: tuple[Rest, ...] = ("zero", "first frame") if len(file.rows) else ("zero",)
    for rest in choices if wanted is None else (wanted,):
        try:
            found.append(Found.of(file, rest_pose(file, rest), rest, template))
        except NotStandingError as fault:
            faults.append(fault)
            continue
        best = found[-1]
        is_elsewhere = best.is_tipped_in(file) or _is_raised_in(file, best)
        if best.is_square and not best.is_stiff and not is_elsewhere:
            break
    if not found:
        raise RigError(
            f"{where} is no standing four-legged rig: {_said(faults)}; {_way_out(file, template, wanted)}"
        )
    why = faults[0].text if faults else ""
    if len(found) > 1:
        why = _worse(file, *found)
    best = found[-1] if why else found[0]
    if best.map.rest != "zero" and wanted is None:
        text = (
            f"with all rotations zero the rig does not stand ({why}); frame 1 is taken as its standing pose."
        )
        best.notices.append(Notice("rest", text))
    elif wanted is None and _is_raised_in(file, best):
        text = f"{RAISED}, and the rig does not stand square there; so the root is taken to carry the body. "
        best.notices.append(Doubt("rest", f"{text}Give a file that stands in frame 1."))
    elif len(found) > 1 and found[1].uneven < found[0].uneven - EVEN:
        text = (
            f"with all rotations zero the feet end at heights that differ by {100.0 * found[0].uneven:.0f} % "
            f"of the height of the hips, in frame 1 by {100.0 * found[1].uneven:.0f} %; if the rig stands "
            "there, fit it with `gaitgen fit --rest first-frame`."
        )
        best.notices.append(Doubt("rest", text))
    return best


def _way_out(file: BvhFile, template: str | None, wanted: Rest | None) -> str:
    """Say what to do about a rig that does not stand: take the other pose, if it stands there."""
    other: Rest = "first frame" if wanted == "zero" else "zero"
    if wanted is not None and len(file.rows):
        with suppress(NotStandingError):
            Found.of(file, rest_pose(file, other), other, template)
            if other == "zero":
                return "it stands with all rotations zero: `gaitgen fit --rest zero` takes that"
            return "it stands in frame 1: `gaitgen fit --rest first-frame` takes that"
    return "give a rig that stands square on four feet with all rotations zero or in frame 1"


def _worse(file: BvhFile, zero: Found, first: Found) -> str:
    """Say why a rig stands worse at zero than in frame 1; nothing if it does not."""
    if zero.is_tipped_in(file):
        return "frame 1 has another axis up"
    if zero.lean_rad > SPREAD_RAD >= first.lean_rad:
        return f"its legs lean {np.degrees(zero.lean_rad):.0f} degrees outward"
    if not first.is_square:
        return ""
    if _is_raised_in(file, zero):
        return RAISED
    uneven = f"its feet end at heights that differ by {100.0 * zero.uneven:.0f} % of the height of its hips"
    stiff = f"its legs are stretched to {100.0 * zero.straight:.1f} % of their length"
    words = [
        (zero.uneven > EVEN, uneven),
        (zero.aslant > SQUARE, "its left feet do not stand beside the right ones"),
        (zero.is_stiff and not first.is_stiff, stiff),
    ]
    return next((text for is_so, text in words if is_so), "")


def _is_raised_in(file: BvhFile, zero: Found) -> bool:
    """Whether a rig at zero has its trunk at the root, and by frame 1 over it: the root carries no body."""
    if zero.map.rest != "zero" or not len(file.rows) or not moves_under_root(file):
        return False
    joint, up = file.joint_names.index(zero.map.pelvis), zero.axes[2]
    places = (zero.pose.places, rest_pose(file, "first frame").places)
    at_zero, in_first = (float((each[joint] - each[0]) @ up) for each in places)
    tall = float(np.ptp(zero.pose.places @ up))
    return abs(at_zero) < AT_ROOT * tall and in_first > RAISED_BY * tall


def _said(faults: list[NotStandingError]) -> str:
    """Say why no pose stands: of the one that came farthest, or of both."""
    furthest = max(fault.rank for fault in faults)
    texts = [fault.text for fault in faults if fault.rank == furthest]
    if len(set(texts)) == 1:
        return texts[0]
    return f"{texts[0]} with all rotations zero, and {texts[1]} in frame 1"


def _positions_notice(file: BvhFile) -> Notice:
    how = "is added to its OFFSET" if file.adds_positions else "replaces its OFFSET"
    return Doubt(
        "positions",
        f"joints under the root have position channels; by frame 1 of the file a position {how}.",
    )
