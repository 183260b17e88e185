"""What one stride of a clip shows, on joints of an animal or of a rig alike, and how far two are apart."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

from gaitgen.animal.limb import Limb
from gaitgen.edits.phase import Timing
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.measure import over_origin, sole_points_m
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import matrix_from_quaternion
from gaitgen.numerics.turns import turn_between_rad

Array = npt.NDArray[np.float64]

MEAN_SHARE = 0.003  # what the other joints count for, where those in the middle say the same (estimate)
MOST_SHARE = 0.8  # of the joints of limbs: one in each leg may be otherwise (estimate)
SMALLEST_RAD = 1e-7  # of a change with speed that says anything


@dataclass(frozen=True, eq=False)
class Seen:
    """One stride in place, one row a frame, without the last that repeats the first.

    Attributes
    ----------
    local
        (frames, joints, 3, 3) rotation of each joint against the joint above.
    limbs
        Those joints that are of limbs.
    legs
        Those that hang on each limb, in LIMBS order, with what carries it.
    toes_m
        (frames, 4, 3) ground points of the toes, in LIMBS order. [m]
    tops_m, tops
        (frames, 4, 3) place [m] and (frames, 4, 3, 3) world rotation of the joint that carries each limb.
    hip_height_m
        Of the animal. [m]
    frame_rate_hz
        Frames per second. [Hz]
    timing
        Contacts and lift-offs; None if none were found.
    travel_m
        (2,) how far the body goes over the ground in a frame. [m]
    names
        Of the joints, as they are said.
    """

    local: Array
    limbs: tuple[int, ...]
    legs: tuple[tuple[int, ...], ...]
    toes_m: Array
    tops_m: Array
    tops: Array
    hip_height_m: float
    frame_rate_hz: float
    timing: Timing | None
    travel_m: Array
    names: tuple[str, ...]

    @property
    def frames(self) -> int:
        """Length of the stride. [frames]"""
        return len(self.local)

    @property
    def speed_m_s(self) -> float:
        """Speed over the ground. [m/s]"""
        return float(np.linalg.norm(self.travel_m)) * self.frame_rate_hz

    def from_row(self, row: int) -> Seen:
        """Begin the same stride at another of its rows."""
        timing = self.timing
        if timing is not None:
            contact = tuple((value - row) % timing.frames for value in timing.contact)
            timing = replace(timing, contact=contact)
        turned = [np.roll(values, -row, axis=0) for values in (self.toes_m, self.tops_m, self.tops)]
        return replace(
            self,
            local=np.roll(self.local, -row, axis=0),
            toes_m=turned[0],
            tops_m=turned[1],
            tops=turned[2],
            timing=timing,
        )

    def toes_on_m(self, other: Seen) -> Array:
        """Place the toes as if the limbs hung like this from the trunk of another, (frames, 4, 3). [m]"""
        arm = (np.swapaxes(self.tops, -1, -2) @ (self.toes_m - self.tops_m)[..., None])[..., 0]
        return np.asarray(other.tops_m + (other.tops @ arm[..., None])[..., 0])


def leg_joints(limb: Limb) -> tuple[int, ...]:
    """List the joints of an animal's limb, with the sling that carries it."""
    return limb.joints if limb.sling is None else (limb.sling, *limb.joints)


def seen_in(clip: Motion, frames: int, timing: Timing | None, names: tuple[str, ...]) -> Seen:
    """Look at the first stride of a clip.

    Parameters
    ----------
    clip
        A clip of a stride or more.
    frames
        Length of its stride.
    timing
        Its contacts, as far as they are known.
    names
        The joints that are looked at.
    """
    still, animal = over_origin(clip), clip.animal
    root = still.root_path_m[:frames]
    places, world = world_frames(animal, root, clip.rotations[:frames])
    tops = [limb.girdle for limb in animal.limbs]
    joints = [animal.joint(name) for name in names]
    of_limbs = {joint for limb in animal.limbs for joint in limb.joints}
    return Seen(
        local=matrix_from_quaternion(clip.rotations[:frames, joints]),
        limbs=tuple(k for k, joint in enumerate(joints) if joint in of_limbs),
        legs=tuple(
            tuple(k for k, joint in enumerate(joints) if joint in leg_joints(limb)) for limb in animal.limbs
        ),
        toes_m=sole_points_m(animal, places, world)[0],
        tops_m=places[:, tops],
        tops=world[:, tops],
        hip_height_m=animal.hip_height_m,
        frame_rate_hz=clip.frame_rate_hz,
        timing=timing,
        travel_m=clip.steps.travel_m_s[:2] / clip.frame_rate_hz,
        names=names,
    )


def apart_rad(one: Seen, other: Seen) -> float:
    """Say how far two strides are apart: mostly the joint of the limbs that is in the middle.

    What a hand did to some joints hardly counts, so that a clip is next to the one it started from. [rad]
    """
    chord = np.sqrt(((one.local - other.local) ** 2).sum(axis=(-2, -1)) / 8.0)
    angle = 2.0 * np.arcsin(np.minimum(chord, 1.0)).mean(axis=0)  # (joints,)
    return float(np.median(angle[list(one.limbs)]) + MEAN_SHARE * angle.mean())


def whole_apart_rad(one: Seen, other: Seen) -> float:
    """Say how far two strides are apart in all their joints alike, on average. [rad]"""
    return float(turn_between_rad(one.local, other.local).mean())


def limbs_apart_rad(one: Seen, other: Seen) -> float:
    """Say how far two strides are apart in the joints of limbs, on average. [rad]"""
    rows = list(one.limbs)
    return float(turn_between_rad(one.local[:, rows], other.local[:, rows]).mean())


def most_apart_rad(one: Seen, other: Seen) -> float:
    """Say how far two strides are apart in most joints of limbs, on average, the farthest left out. [rad]"""
    rows = list(one.limbs)
    apart = np.sort(turn_between_rad(one.local[:, rows], other.local[:, rows]).mean(axis=0))
    return float(apart[: int(np.ceil(MOST_SHARE * len(apart)))].mean())


def most_alike(one: Seen, other: Seen) -> Seen:
    """Begin another stride where most joints of its limbs are like those of one, as if both went round.

    Joints of legs that have changed places are in a gait that is the same on both sides like those half a
    stride later, so some that have not can lead there.
    """
    row = row_alike(one, other)
    begun = [other.from_row(each % other.frames) for each in (row, row + other.frames // 2)]
    return min(begun, key=lambda each: most_apart_rad(one, each))


def joints_apart_rad(one: Seen, other: Seen) -> Array:
    """Say how far each joint of two strides is apart on average, (joints,). [rad]"""
    return np.asarray(turn_between_rad(one.local, other.local).mean(axis=0))


def row_alike(seen: Seen, made: Seen) -> int:
    """Find the row of one stride that is most like the first of another, as if both went round."""
    here, there = (np.fft.rfft(each.local.reshape(each.frames, -1), axis=0) for each in (seen, made))
    alike = np.fft.irfft((np.conj(here) * there).sum(axis=1), n=seen.frames)
    return int(alike.argmax())


def share_between(seen: Seen, one: Seen, other: Seen) -> float:
    """Say where between two strides, 0 at the one and 1 at the other, most of another's joints are.

    The share with the least sum of absolute differences, in which joints that a hand changed are passed over:
    the median of what each joint says at each moment, weighted by how much it changes.
    """
    asked, step = (_turns(one.local, each.local) for each in (seen, other))
    says = np.abs(step) > SMALLEST_RAD
    share, weight = asked[says] / step[says], np.abs(step[says])
    if not share.size:
        return 0.0
    order = np.argsort(share)
    total = np.cumsum(weight[order])
    return float(share[order][np.searchsorted(total, total[-1] / 2.0)])


def _turns(before: Array, after: Array) -> Array:
    turned = np.swapaxes(before, -1, -2) @ after
    return np.asarray(Rotation.from_matrix(turned.reshape(-1, 3, 3)).as_rotvec())
