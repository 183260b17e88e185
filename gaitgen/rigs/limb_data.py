"""What the limbs of a rig's animal are but for their joints: feet, laws, prints, slings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.girdle_tables import ARM_SHARE
from gaitgen.animal.limb import Foot, FootPath, JointLaw, Limb
from gaitgen.numerics.rotations import MIRROR_PLACE
from gaitgen.rigs.bones import template_limb_m
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]

# How far a bone above the pointing one that the rig cannot turn goes along: with 0 it would point the limb.
STILL = 1e-9
# Its limb lands with so many times the room, for that bone gives no more (estimate).
STILL_ROOM = 1.2
# A foot that a rig hardly has is as high, and as long, as this of the template's (estimates).
LEAST_FOOT_HEIGHT, LEAST_TOE = 0.1, 0.2
# A rig that stands so many times as wide as its template, for its size, is stout (estimate).
STOUT = 1.25


def rig_foot(template: Animal, end: str, points: Array, scale: float) -> Foot:
    """Return the foot of a rig: as high and long as the rig has it, else like the template's.

    Parameters
    ----------
    template, end
        The template; ``fore`` or ``hind``.
    points
        (bones + 1, 3) joints of the limb and the toe's ground point. [m]
    scale
        Size of the rig against the template.
    """
    own = template.limb(end).foot
    return Foot(
        kind=own.kind,
        height_m=max(float(points[-2, 2]), LEAST_FOOT_HEIGHT * scale * own.height_m),
        toe_m=max(float(points[-1, 0] - points[-2, 0]), LEAST_TOE * scale * own.toe_m),
        heel_m=scale * own.heel_m,
        half_width_m=scale * own.half_width_m,
    )


def rig_limb(
    template: Animal,
    limb: Limb,
    foot: Foot,
    points: Mapping[str, Array],
    standing_rad: Array,
    scale: float,
    *,
    rides: bool,
    first: int = 0,
) -> Limb:
    """Return one limb of the rig's animal.

    Its joints open as far beyond standing as the template's, and where they stand straighter by the same
    share of what is left until they are straight. Its prints are as much narrower than it stands, and where
    they pass outside those of the other end, no farther outside than its size asks for. Without a sling in
    the rig its top does not ride: what the template's gives there under the weight the limb then
    keeps in hand when it lands, or else its joints would have to give that too.

    Parameters
    ----------
    template, limb
        The template, and the limb of it.
    foot, points
        The rig's foot, and by end its joints and toe on the left, (bones + 1, 3). [m]
    standing_rad
        (joints,) standing angles of the rig's animal. [rad]
    scale
        Size of the rig against the template.
    rides
        Whether the rig has the sling.
    first
        The first bone that the rig turns: those above stay with the trunk.
    """
    own = limb.scaled(scale)
    wider = standing_rad - template.standing_angles_rad
    laws = tuple(
        _opened(law, float(standing_rad[joint]), float(wider[joint]))
        for joint, law in zip(limb.joints, limb.laws, strict=False)
    )
    laws = tuple(
        replace(law, follows=STILL) if law.follows and bone < first else law for bone, law in enumerate(laws)
    )
    return replace(
        own,
        foot=foot,
        laws=laws,
        track_m=_track_m(template, limb, points, scale),
        path=own.path if rides else _without_sling(own.path, STILL_ROOM if first else 1.0),
        ride_m=own.ride_m if rides else 0.0,
        glide_m=own.glide_m if rides else 0.0,
    )


def _track_m(template: Animal, limb: Limb, points: Mapping[str, Array], scale: float) -> float:
    """How far from the middle a limb of a rig sets its foot: as its template does against how it stands. [m]

    Feet that pass outside those of the other end do so by the widths of the feet, which grow with the size
    of the rig and not with how wide it stands. Otherwise what a stout rig stands wider than its template
    ever does it stays wider, so that its legs do not lean inward under a barrel.
    """
    other = template.limb("hind" if limb.end == "fore" else "fore")
    stands = {end: float(template_limb_m(template, end)[-1, 1]) for end in points}
    narrower = {end: float(own[-1, 1]) / stands[end] for end, own in points.items()}
    track = limb.track_m * narrower[limb.end]
    if limb.track_m > max(other.track_m, stands[limb.end]):
        return min(track, other.track_m * narrower[other.end] + scale * (limb.track_m - other.track_m))
    if other.track_m > max(limb.track_m, stands[other.end]):  # it passes inside those
        return track
    wider_m = max(narrower[limb.end] - STOUT * scale, 0.0) * stands[limb.end]
    return max(track, wider_m + min(narrower[limb.end], STOUT * scale) * limb.track_m)


def _without_sling(path: FootPath, times: float) -> FootPath:
    return replace(
        path,
        landing_room_m=times * path.landing_room_m + path.room_without_sling_m,
        heel_off_share=min(path.heel_off_share, path.heel_off_without_sling),
    )


def _opened(law: JointLaw, standing_rad: float, wider_rad: float) -> JointLaw:
    """Let a joint open as far beyond standing as its model's; a straighter one by as much of what is left."""
    if wider_rad > 0.0 and standing_rad < np.pi and law.straightest_rad < np.pi:
        left = np.pi - standing_rad
        share = left / (left + wider_rad)
        return replace(law, straightest_rad=np.pi - share * (np.pi - law.straightest_rad))
    return replace(law, straightest_rad=law.straightest_rad + wider_rad)


def sling_arm_m(rig: Rig, template: Animal, end: str, scale: float) -> Array | None:
    """Return the top of the left limb from its sling, standing, (3,), or None if the rig has no sling. [m]

    One that is too short for the ride of the template's counts for none.
    """
    own = template.limb(end)
    arms = []
    limbs = rig.limbs[:2] if end == "fore" else rig.limbs[2:]
    for limb, flip in zip(limbs, (1.0, MIRROR_PLACE), strict=True):
        if limb.sling is None or own.sling is None:
            return None
        top = next(k for k, bone in enumerate(limb.bones) if bone >= 0)
        arms.append((rig.places_m[limb.joints[top]] - rig.places_m[limb.joints[limb.sling]]) * flip)
    arm = np.asarray(np.mean(arms, axis=0))
    return arm if ARM_SHARE * float(arm[1]) >= scale * max(own.ride_m, own.glide_m) else None
