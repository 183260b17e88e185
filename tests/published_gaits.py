"""Measures that rows of published.toml name, of any gait of the riding horse at a speed in m/s."""

import math

import numpy as np
from gait_measures import (
    HORSE,
    between_deg,
    contacts_s,
    drive,
    duty_share,
    going,
    height_m,
    in_stance,
    joint_deg,
    lame,
    led,
    limb_number,
    lows_differ_mm,
    main_wave,
    of_end,
    peak_along_n_kg,
    peak_n_kg,
    reach_deg,
    share_held,
    share_of_stance,
    stance_s,
    swing_s,
    toe_lift_m,
    turn_deg,
)

from gaitgen import Proportions, Request, load_animal
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.pipeline import settle

FASTEST_M_S = 15.0


def gait_support_percent(gait, kind, speed=None):
    return share_held(going(gait, speed), kind)


def at_withers_froude(gait, froude):
    """The stride at a Froude number whose length is the height of the withers."""
    height = load_animal(HORSE).withers_height_m
    return going(gait, math.sqrt(froude * GRAVITY_M_S2 * height))


def duty_at_withers_froude(gait, froude):
    return at_withers_froude(gait, froude).facts.duty_factor


def stride_in_withers_at_froude(gait, froude):
    clip = at_withers_froude(gait, froude)
    return clip.facts.stride_length_m / clip.animal.withers_height_m


def duty_at(gait, speed, end):
    return duty_share(going(gait, speed), end)


def period_at_s(gait, speed, withers_m=None):
    return going(gait, speed, withers_m=withers_m).facts.period_s


def frequency_at_hz(gait, speed, withers_m=None):
    return 1.0 / period_at_s(gait, speed, withers_m)


def length_at_m(gait, speed, withers_m=None):
    return going(gait, speed, withers_m=withers_m).facts.stride_length_m


def frequency_ratio(gait, other, speed, withers_m):
    return frequency_at_hz(gait, speed, withers_m) / frequency_at_hz(other, speed, withers_m)


def frequency_exponent(gait, speed):
    """Power of size with which the frequency of the stride goes, at the same Froude number."""
    own = load_animal(HORSE).withers_height_m
    small = frequency_at_hz(gait, speed / math.sqrt(2.0), own / 2.0)
    return math.log(frequency_at_hz(gait, speed, own) / small) / math.log(2.0)


def linear_r2(slowest, fastest):
    """R^2 of stride length over speed, in whatever gait the animal takes."""
    speeds = np.linspace(slowest, fastest, 15)
    settled = [settle(Request(speed_m_s=float(v), frame_rate_hz=1000.0)) for v in speeds]
    lengths = [v * each.frames / 1000.0 for v, each in zip(speeds, settled, strict=True)]
    return float(np.corrcoef(speeds, lengths)[0, 1] ** 2)


def hind_first_percent(gait, speed):
    """Share of a stride by which the hind foot of a diagonal lands before its fore foot."""
    clip = going(gait, speed)
    contact, _ = contacts_s(clip)
    after = (contact[limb_number("LF")] - contact[limb_number("RH")]) / clip.facts.period_s
    return 100.0 * ((after + 0.5) % 1.0 - 0.5)


def stance_at_ms(gait, speed, end):
    return 1e3 * stance_s(going(gait, speed), end)


def swing_at_ms(gait, speed, end):
    return 1e3 * swing_s(going(gait, speed), end)


def swing_ratio(gait, speed, other, other_speed, end):
    return swing_s(going(gait, speed), end) / swing_s(going(other, other_speed), end)


def stance_distance_ratio(gait, speed, other, other_speed, end):
    first, second = going(gait, speed), going(other, other_speed)
    return stance_s(first, end) * first.facts.speed_m_s / (stance_s(second, end) * second.facts.speed_m_s)


def _change(slower, leg_m=None):
    """Speed at which the animal leaves a gait for a faster one, and its size: [m/s], [m]."""
    own = load_animal(HORSE)
    withers = None if leg_m is None else leg_m * own.withers_height_m / own.hip_height_m
    low, high = 0.5, FASTEST_M_S
    order = own.gaits
    for _ in range(30):
        middle = (low + high) / 2.0
        asked = Request(speed_m_s=middle, proportions=Proportions(withers_height_m=withers))
        is_faster = order.index(settle(asked).gait.name) > order.index(slower)
        low, high = (low, middle) if is_faster else (middle, high)
    return high, withers


def change_m_s(slower, leg_m=None):
    return _change(slower, leg_m)[0]


def change_hz(slower):
    speed, _ = _change(slower)
    return 1000.0 / settle(Request(speed_m_s=speed, frame_rate_hz=1000.0)).frames


def peak_at_n_kg(gait, speed, end):
    return peak_n_kg(going(gait, speed), of_end(end))


def along_at_n_kg(gait, speed, end, way):
    return peak_along_n_kg(going(gait, speed), end, way)


def peak_of_n_kg(gait, speed, end, role):
    clip = going(gait, speed)
    return peak_n_kg(clip, [led(clip, end, role)])


def most_pitch_at_deg(gait, speed):
    clip = going(gait, speed)
    parts = ("pelvis", "thorax_3", "thorax_1", "neck_1", "neck_3", "head")
    return max(np.ptp(turn_deg(clip, part, "pitch")) for part in parts)


def pitch_at_deg(gait, speed, joint):
    return np.ptp(turn_deg(going(gait, speed), joint, "pitch"))


def turn_at_deg(gait, speed, joint, axis):
    return np.ptp(turn_deg(going(gait, speed), joint, axis))


def turn_waves(gait, speed, joint, axis):
    return main_wave(turn_deg(going(gait, speed), joint, axis))


def bending_at_deg(gait, speed):
    return np.ptp(between_deg(going(gait, speed), "pelvis", "thorax_1", "yaw"))


def bending_waves(gait, speed):
    return main_wave(between_deg(going(gait, speed), "pelvis", "thorax_1", "yaw"))


def height_waves(gait, speed, landmark):
    return main_wave(height_m(going(gait, speed), landmark))


def _turn_share(gait, speed, landmark, limb, find):
    clip = going(gait, speed)
    moment = find(height_m(clip, landmark)) / clip.frame_rate_hz
    return 100.0 * share_of_stance(clip, limb_number(limb), moment, clip.facts.period_s / 2.0)


def low_at_percent(gait, speed, landmark, limb):
    """When in a stance a landmark that goes up and down twice a stride is low."""
    return _turn_share(gait, speed, landmark, limb, np.argmin)


def high_at_percent(gait, speed, landmark, limb):
    return _turn_share(gait, speed, landmark, limb, np.argmax)


def joint_range_at_deg(gait, speed, joint, limb):
    return np.ptp(joint_deg(going(gait, speed), joint, limb_number(limb)))


def joint_range_in_stance_at_deg(gait, speed, joint, limb):
    clip, row = going(gait, speed), limb_number(limb)
    return np.ptp(in_stance(clip, row, joint_deg(clip, joint, row)))


def toe_lift_at_mm(gait, speed, limb):
    return 1e3 * toe_lift_m(going(gait, speed), limb_number(limb))


def protraction_more_deg(gait, speed, end):
    """By how much farther forward the leading limb of a pair reaches."""
    clip = going(gait, speed)
    return (
        reach_deg(clip, led(clip, end, "leading")).max() - reach_deg(clip, led(clip, end, "trailing")).max()
    )


def retraction_more_deg(gait, speed, end):
    """By how much farther back the trailing limb of a pair reaches."""
    clip = going(gait, speed)
    return (
        reach_deg(clip, led(clip, end, "leading")).min() - reach_deg(clip, led(clip, end, "trailing")).min()
    )


def drive_of(gait, speed, end, role):
    clip = going(gait, speed)
    return drive(clip, led(clip, end, role))


def fore_share(gait, speed):
    """Share of the weight that the forelimbs carry over a stride."""
    force = going(gait, speed).plan.force_n[:-1].mean(axis=0)
    return force[:2].sum() / force.sum()


def lame_lows_per_mm(gait, foot, landmark, other):
    """Difference of a landmark's two lows in a stride of a lame horse, for each mm of another's."""
    clip = lame(gait, foot)
    return lows_differ_mm(clip, landmark, foot) / lows_differ_mm(clip, other, foot)
