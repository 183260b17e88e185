"""More measures of published_strangers.toml: strides of two animals, slow and fast ones, and lame ones."""

import numpy as np
from animal_figures import joint_when_deg
from animal_measures import _two, stride
from gait_measures import contacts_s, led, limb_number, main_wave, of_end, stance_s, swing_s, turn_deg

from gaitgen import Request, load_animal, make_cycle
from gaitgen.gait.tempo import GRAVITY_M_S2, speed_of_froude
from gaitgen.motion.kinematics import world_frames


def _at(animal, froude):
    return speed_of_froude(froude, load_animal(animal).hip_height_m)


# --- two animals --------------------------------------------------------------------------------------------


def swing_time_ratio(animal, gait, end, other, speed_m_s, withers_m):
    """Time that a foot is in the air, over that of another animal at the same speed."""
    first, second = (swing_s(clip, end) for clip in _two(animal, other, gait, speed_m_s, withers_m))
    return first / second


def stride_ratio(animal, gait, other, speed_m_s, withers_m):
    first, second = (clip.facts.stride_length_m for clip in _two(animal, other, gait, speed_m_s, withers_m))
    return first / second


# --- a stride -----------------------------------------------------------------------------------------------


def stance_at_froude_s(animal, gait, end, froude):
    return stance_s(stride(animal, gait, _at(animal, froude)), end)


def stride_faster_over_slower(animal, gait, slower_m_s, faster_m_s):
    """Time of a stride at a speed, over that at a lower one."""
    slower, faster = (stride(animal, gait, speed).facts.period_s for speed in (slower_m_s, faster_m_s))
    return faster / slower


def peak_of_role(animal, gait, end, role, speed_m_s):
    """Greatest vertical force of the leading or the trailing foot of an end. [body weights]"""
    clip = stride(animal, gait, speed_m_s)
    force = clip.plan.force_n[:, led(clip, end, role)]
    return float(force.max() / (clip.animal.body_mass_kg * GRAVITY_M_S2))


def _leans_deg(clip, joint, number):
    """How far a bone's line from its far end up to its joint is turned back from the ground ahead: [deg]."""
    _, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    side = "_L" if number % 2 == 0 else "_R"
    row = clip.animal.joint(joint + side)
    line = -(world[:-1, row] @ clip.animal.tips_m[row])
    return np.degrees(np.arctan2(line[:, 2], -line[:, 0]))


def sole_rises_deg(animal, gait, joint, share, froude):
    """Angle between a long sole and the ground behind the toes, at a share of the stance of a hind foot."""
    clip = stride(animal, gait, _at(animal, froude))
    number = of_end("hind")[1]
    contact, down = contacts_s(clip)
    angle = _leans_deg(clip, joint, number)
    return float(angle[round((contact[number] + share * down[number]) * clip.frame_rate_hz) % angle.size])


def joint_at_share_deg(animal, gait, joint, limb, share, froude):
    return joint_when_deg(animal, gait, joint, limb, share, _at(animal, froude))


def thigh_moves_m(animal, gait, way, froude):
    """How far the middle between hip and knee goes ahead, or down, while a hind foot is down. [m]"""
    clip = stride(animal, gait, _at(animal, froude))
    number = of_end("hind")[1]
    joints = clip.animal.limbs[number].joints
    places, _ = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    middle = (places[:-1, joints[0]] + places[:-1, joints[1]]) / 2.0
    contact, down = contacts_s(clip)
    rate = clip.frame_rate_hz
    first, last = (round(t * rate) % len(middle) for t in (contact[number], contact[number] + down[number]))
    if way == "ahead":
        return float(clip.facts.speed_m_s * down[number] + middle[last, 0] - middle[first, 0])
    stance = np.roll(middle[:, 2], -first)[: round(down[number] * rate)]
    return float(stance[0] - stance.min())


# --- the back and the blade ---------------------------------------------------------------------------------


def _bends_deg(clip):
    """How each joint of the back bends up and down, from the pelvis to the chest: (joints, samples)."""
    names = [clip.animal.joint_names[row] for row in clip.animal.spine]
    pitch = np.array([turn_deg(clip, name, "pitch") for name in names])
    return pitch[:-1] - pitch[1:]


def joints_that_bend(animal, gait, speed_m_s=None):
    """How many joints of the back bend by a twentieth of all its bending or more."""
    ranges = np.ptp(_bends_deg(stride(animal, gait, speed_m_s)), axis=1)
    return int((ranges > 0.05 * ranges.sum()).sum())


def chest_bends_first(animal, gait, speed_m_s=None):
    """By what share of the stride the joint of the back next to the chest bends before that at the pelvis."""
    bends = _bends_deg(stride(animal, gait, speed_m_s))
    hind, fore = (np.angle(np.fft.rfft(bends[row])[1]) for row in (0, -1))
    return float((fore - hind + np.pi) % (2.0 * np.pi) - np.pi) / (2.0 * np.pi)


def _blade_height_m(animal, gait, speed_m_s):
    clip = stride(animal, gait, speed_m_s)
    places, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    chest, blade = clip.animal.chest, clip.animal.joint("scapula_R")
    on_chest = np.einsum("fji,fj->fi", world[:, chest], places[:, blade] - places[:, chest])
    return clip, on_chest[:-1, 2]


def blade_waves(animal, gait, speed_m_s=None):
    """How many times in a stride a shoulder blade turns to and fro on the chest."""
    clip = stride(animal, gait, speed_m_s)
    chest = clip.animal.joint_names[clip.animal.chest]
    return main_wave(turn_deg(clip, "scapula_R", "pitch") - turn_deg(clip, chest, "pitch"))


def blade_sinks_m(animal, gait, speed_m_s=None, share=0.15):
    """How far the top of a shoulder blade sinks in the first part of a stance. [m]"""
    clip, height = _blade_height_m(animal, gait, speed_m_s)
    number = limb_number("RF")
    contact, down = contacts_s(clip)
    stance = np.roll(height, -round(contact[number] * clip.frame_rate_hz))
    early = stance[: round(share * down[number] * clip.frame_rate_hz)]
    return float(early[0] - early.min())


# --- lame and old -------------------------------------------------------------------------------------------


def net_drive_of_diagonal(animal, gait, lame, fore, hind):
    """Forward impulse of a fore and a hind foot, lame on a leg, less that of the others. [of the weight]"""
    clip = make_cycle(
        Request(animal=animal, gait=gait, frame_rate_hz=240.0, whole_frames=False, named_style=f"lame {lame}")
    )
    force = clip.plan.force_horizontal_n[:-1, :, 0].sum(axis=0)
    force = force / (clip.frames * clip.animal.body_mass_kg * GRAVITY_M_S2)
    mine = [limb_number(fore), limb_number(hind)]
    return float(2.0 * force[mine].sum() - force.sum())


def old_over_young(animal, gait, what):
    """A number of a stride of an old animal over the plain one: period_s, stride_length_m or duty_factor."""
    old, plain = (
        make_cycle(Request(animal=animal, gait=gait, frame_rate_hz=240.0, named_style=style))
        for style in ("old", None)
    )
    return getattr(old.facts, what) / getattr(plain.facts, what)
