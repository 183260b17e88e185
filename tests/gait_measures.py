"""What is measured on a stride of any gait: times, places, forces, and how the body moves."""

from functools import lru_cache

import numpy as np

from gaitgen import Proportions, Request, load_animal, make_cycle
from gaitgen.course.support import support_shares, support_summary
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.tempo import GRAVITY_M_S2, speed_of_froude
from gaitgen.motion.kinematics import included_angles_rad, landmark_m, world_frames
from gaitgen.motion.measure import measure_feet
from gaitgen.numerics.rotations import pitch_roll_yaw_rad

FINE_HZ = 240.0
HORSE = "riding_horse"


@lru_cache
def going(gait, speed_m_s=None, *, animal=HORSE, lead=None, withers_m=None, in_place=True, rate_hz=FINE_HZ):
    """Make one stride, sampled finely, with contacts where the animal puts them."""
    return make_cycle(
        Request(
            gait=gait,
            animal=animal,
            frame_rate_hz=rate_hz,
            speed_m_s=speed_m_s,
            lead=lead,
            in_place=in_place,
            whole_frames=False,
            proportions=Proportions(withers_height_m=withers_m),
        )
    )


def at_froude(gait, froude, animal=HORSE):
    return going(gait, speed_of_froude(froude, load_animal(animal).hip_height_m), animal=animal)


def contacts_s(clip):
    """Time of contact and time down, in LIMBS order: (4,) each."""
    order = np.argsort(clip.steps.limb)
    return clip.steps.touchdown_s[order], (clip.steps.liftoff_s - clip.steps.touchdown_s)[order]


def stance_s(clip, end):
    return float(contacts_s(clip)[1][of_end(end)].mean())


def swing_s(clip, end):
    return clip.facts.period_s - stance_s(clip, end)


def duty_share(clip, end):
    return stance_s(clip, end) / clip.facts.period_s


def share_held(clip, kind):
    """Share of the stride in per cent that is carried by such feet."""
    return 100.0 * support_summary(support_shares(clip.steps)).get(kind, 0.0)


def of_end(end):
    return [0, 1] if end == "fore" else [2, 3]


def led(clip, end, role):
    """Index in LIMBS of the foot of a pair that is ``trailing``, the first to land, or ``leading``."""
    contact, _ = contacts_s(clip)
    left, right = of_end(end)
    step = (contact[left] - contact[right]) % clip.facts.period_s / clip.facts.period_s
    first, second = (right, left) if step < 0.5 else (left, right)
    return first if role == "trailing" else second


def peak_n_kg(clip, limbs):
    return clip.plan.force_n[:, limbs].max() / clip.animal.body_mass_kg


def peak_along_n_kg(clip, end, way):
    """Greatest force of a foot on the ground's part, forward (``driving``) or back (``braking``)."""
    along = clip.plan.force_horizontal_n[:, of_end(end), 0] / clip.animal.body_mass_kg
    return float(along.max() if way == "driving" else -along.min())


@lru_cache
def _world(clip):
    return world_frames(clip.animal, clip.root_path_m, clip.rotations)


def height_m(clip, landmark):
    """Height of a landmark, over one stride without its end: (samples,)."""
    return landmark_m(clip.animal, *_world(clip), landmark)[:-1, 2]


@lru_cache
def lame(gait, foot, strength=1.0, frames=None):
    """Make one stride of a lame animal, sampled finely where no frames are given."""
    return make_cycle(
        Request(
            gait=gait,
            frames=frames,
            frame_rate_hz=24.0 if frames else FINE_HZ,
            whole_frames=bool(frames),
            named_style=f"lame {foot} {strength:g}",
        )
    )


def lows_differ_mm(clip, landmark, foot):
    """How much higher a landmark is at its lowest while one foot is down than while its mate is. [mm]"""
    height = height_m(clip, landmark)
    time_s = np.arange(height.size) / clip.frame_rate_hz
    contact, down = contacts_s(clip)
    lows = []
    for limb in (LIMBS.index(foot), LIMBS.index(foot) ^ 1):
        since = (time_s - contact[limb]) % clip.facts.period_s
        lows.append(height[since < down[limb]].min())
    return 1000.0 * float(lows[0] - lows[1])


def once_a_stride_mm(clip, landmark):
    """Size of the part of a landmark's rise and fall that comes once a stride, top to bottom. [mm]"""
    wave = np.fft.rfft(height_m(clip, landmark))
    return 4000.0 * float(abs(wave[1])) / height_m(clip, landmark).size


def turn_deg(clip, joint, axis):
    """Turn of a joint in the world, over one stride without its end: (samples,)."""
    turns = np.degrees(pitch_roll_yaw_rad(_world(clip)[1]))[:-1, clip.animal.joint(joint)]
    return turns[:, ("pitch", "roll", "yaw").index(axis)]


def between_deg(clip, joint, other, axis):
    """Turn of one joint against another: (samples,)."""
    world = _world(clip)[1]
    first, second = (world[:-1, clip.animal.joint(name)] for name in (joint, other))
    turns = np.degrees(pitch_roll_yaw_rad(np.swapaxes(second, -1, -2) @ first))
    return turns[:, ("pitch", "roll", "yaw").index(axis)]


def main_wave(curve):
    """How many times in a stride the curve mostly goes up and down."""
    return int(np.argmax(np.abs(np.fft.rfft(curve - curve.mean()))))


def rounded_deg(clip):
    """How far the back is rounded, pelvis and chest turned to each other below: (samples,)."""
    below = [
        _world(clip)[1][:-1, clip.animal.joint(name)] @ [0.0, 0.0, -1.0] for name in ("pelvis", "thorax_1")
    ]
    pelvis, chest = (np.degrees(np.arctan2(way[:, 0], -way[:, 2])) for way in below)
    return pelvis - chest


def share_of_swing(clip, limb, time_s):
    """Time as a share of a foot's swing: 0 at lift-off, 1 at contact; beyond 1 it is down."""
    contact, down = contacts_s(clip)
    period = clip.facts.period_s
    return ((time_s - contact[limb] - down[limb]) % period) / (period - down[limb])


def reach_deg(clip, limb):
    """Angle of the line from the top of a limb to its foot before the vertical: (samples,)."""
    own = clip.animal.limbs[limb]
    places = _world(clip)[0][:-1]
    line = places[:, own.foot_joint] - places[:, own.top]
    return np.degrees(np.arctan2(line[:, 0], -line[:, 2]))


def limb_number(name):
    return LIMBS.index(name)


def joint_deg(clip, joint, limb):
    """Included angle of a joint of a limb, over one stride without its end: (samples,)."""
    name = f"{joint}_{LIMBS[limb][0]}"
    return np.degrees(included_angles_rad(clip.animal, clip.rotations))[:-1, clip.animal.joint(name)]


def in_stance(clip, limb, curve):
    """The part of a curve over a stride, (samples,), in which a foot is down, from its contact on."""
    contact, down = (round(float(value[limb]) * clip.frame_rate_hz) for value in contacts_s(clip))
    return np.roll(curve, -contact)[: down + 1]


def share_of_stance(clip, limb, time_s, wave_s):
    """Time after a foot's contact as a share of its stance, of something that comes back after ``wave_s``."""
    contact, down = contacts_s(clip)
    return ((time_s - contact[limb]) % wave_s) / down[limb]


def toe_lift_m(clip, limb):
    return measure_feet(clip).toe_m[:, limb, 2].max()


def drive(clip, limb):
    """Forward impulse of a foot over a stride, over the weight of the animal: below 0 it brakes."""
    along = clip.plan.force_horizontal_n[:-1, limb, 0].mean()
    return along / (clip.animal.body_mass_kg * GRAVITY_M_S2)


def landmark_left_m(clip, landmark):
    """How far a landmark is to the left: (samples,). [m]"""
    return landmark_m(clip.animal, *_world(clip), landmark)[:-1, 1]


def places_m(clip):
    """All joints over one stride without its end: (samples, joints, 3). [m]"""
    return _world(clip)[0][:-1]
