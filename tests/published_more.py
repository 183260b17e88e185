"""Measures that rows of published.toml name: what changes with speed, shapes of forces, a trotting back."""

import math

import numpy as np
from gait_measures import (
    HORSE,
    contacts_s,
    duty_share,
    going,
    height_m,
    joint_deg,
    limb_number,
    of_end,
    peak_n_kg,
    places_m,
    turn_deg,
)
from published_gaits import fore_share

from gaitgen import load_animal
from gaitgen.gait.gait import load_gait
from gaitgen.gait.tempo import GRAVITY_M_S2, speed_of_froude
from gaitgen.motion.measure import measure_feet

# --- forces -------------------------------------------------------------------------------------------------


def peak_over_half_wave(gait, speed, end):
    """Greatest force of a foot over that of half a wave with the same impulse."""
    clip = going(gait, speed)
    share = fore_share(gait, speed) if end == "fore" else 1.0 - fore_share(gait, speed)
    half_wave = math.pi * GRAVITY_M_S2 * share / (4.0 * duty_share(clip, end))
    return float(peak_n_kg(clip, of_end(end)) / half_wave)


def peak_faster_over(gait, slower, faster, end):
    first, second = (peak_n_kg(going(gait, speed), of_end(end)) for speed in (slower, faster))
    return float(second / first)


def impulse_faster_over(gait, slower, faster, end):
    def impulse(speed):
        clip = going(gait, speed)
        return clip.plan.force_n[:-1, of_end(end)].sum() / clip.frame_rate_hz

    return float(impulse(faster) / impulse(slower))


# --- speeds and strides -------------------------------------------------------------------------------------


def rise_faster_over(gait, slower, faster, landmark):
    first, second = (np.ptp(height_m(going(gait, speed), landmark)) for speed in (slower, faster))
    return float(second / first)


def stride_in_hips_at_froude(gait, froude):
    """Length of a stride over the height of the hip."""
    clip = going(gait, speed_of_froude(froude, load_animal(HORSE).hip_height_m))
    return clip.facts.stride_length_m / clip.animal.hip_height_m


def fastest_over_slowest(gait):
    """Greatest over least speed at which the horse takes a gait."""
    slowest, fastest = load_gait(gait).as_used_by(load_animal(HORSE)).froude_range
    return math.sqrt(fastest / slowest)


# --- joints and back ----------------------------------------------------------------------------------------


def go_together_in_swing(gait, speed, joint, other, limb):
    """How well two joints open and close together in swing: a correlation, from -1 to 1."""
    clip, number = going(gait, speed), limb_number(limb)
    swings = ~measure_feet(clip).planted[:-1, number]
    first, second = (joint_deg(clip, name, number)[swings] for name in (joint, other))
    return float(np.corrcoef(first, second)[0, 1])


def _early_and_later(clip, curve, limb):
    number = limb_number(limb)
    contact, down = contacts_s(clip)
    stance = np.roll(curve, -round(contact[number] * clip.frame_rate_hz))
    return float(stance[round(down[number] * clip.frame_rate_hz / 3.0)] - stance[0])


def turns_early_in_stance_deg(gait, speed, joint, limb):
    """How far a joint opens in the first third of a stance."""
    clip = going(gait, speed)
    return _early_and_later(clip, joint_deg(clip, joint, limb_number(limb)), limb)


def pelvis_tips_early_in_stance_deg(gait, speed, limb):
    """How far the front of the pelvis goes up in the first third of a stance."""
    clip = going(gait, speed)
    return _early_and_later(clip, turn_deg(clip, "pelvis", "pitch"), limb)


def wave_of_roll(gait, speed, joint, wave):
    """Height of one wave of a joint's roll in space, over its whole range."""
    roll = turn_deg(going(gait, speed), joint, "roll")
    return float(2.0 * np.abs(np.fft.rfft(roll)[wave]) / roll.size / np.ptp(roll))


def joint_sways_percent(gait, speed, joint):
    """How far a joint goes from side to side, in per cent of the height of the withers."""
    clip = going(gait, speed)
    left = places_m(clip)[:, clip.animal.joint(joint), 1]
    return 100.0 * float(np.ptp(left)) / clip.animal.withers_height_m
