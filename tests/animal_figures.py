"""More measures of published_strangers.toml: builds, shares of a step, forces, and what prints show."""

import numpy as np
from animal_measures import clearance_over_withers, flesh_m, neck_m, stands_m, stride
from gait_measures import (
    between_deg,
    contacts_s,
    going,
    joint_deg,
    led,
    main_wave,
    of_end,
    turn_deg,
)

from gaitgen import load_animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.gait.tempo import GRAVITY_M_S2, speed_of_froude
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.measure import measure_feet

# --- the standing animal ------------------------------------------------------------------------------------


def head_m(animal):
    return np.linalg.norm(stands_m(animal, "muzzle") - stands_m(animal, "poll"))


def head_and_body_m(animal):
    """From the nose to the back of the rump, along the ground."""
    made = load_animal(animal)
    front = flesh_m(animal, {made.head})[0]
    return front - flesh_m(animal, {made.spine[0], made.limb("hind").top})[1]


def bones_m(animal, first):
    """Length of all joints of a row that begin with a word: a tail, an ear. [m]"""
    made = load_animal(animal)
    rows = [
        row for row, name in enumerate(made.joint_names) if name.removesuffix("_L").split("_")[0] == first
    ]
    rows = [row for row in rows if not made.joint_names[row].endswith("_R")]
    return sum(float(np.linalg.norm(made.tips_m[row])) for row in rows)


def bones_over_head(animal, first):
    return bones_m(animal, first) / head_m(animal)


def neck_over_head(animal):
    return neck_m(animal) / head_m(animal)


def depth_over_head(animal):
    """Depth of the trunk, from the withers to its lowest, over the length of the head."""
    return (1.0 - clearance_over_withers(animal)) * load_animal(animal).withers_height_m / head_m(animal)


def bone_over_others(animal, bone, other):
    """Length of a bone over that of the same bone of another animal."""
    first, second = (load_animal(name) for name in (animal, other))
    joint = f"{bone}_L"
    lengths = [np.linalg.norm(made.tips_m[made.joint(joint)]) for made in (first, second)]
    return float(lengths[0] / lengths[1])


def withers_over_others(animal, other):
    return load_animal(animal).withers_height_m / load_animal(other).withers_height_m


def stands_deg(animal, joint, end):
    """Included angle of a joint of a limb, standing."""
    made = load_animal(animal)
    limb, places = made.limb(end), standing_positions_m(made)
    row = made.joint(f"{joint}_L")
    k = limb.joints.index(row)
    before, after = places[limb.joints[k - 1]] - places[row], places[limb.joints[k + 1]] - places[row]
    cos = np.dot(before, after) / np.linalg.norm(before) / np.linalg.norm(after)
    return float(np.degrees(np.arccos(cos)))


def stands_more_deg(animal, joint, end, other):
    return stands_deg(animal, joint, end) - stands_deg(other, joint, end)


# --- a stride -----------------------------------------------------------------------------------------------


def impulse_body_weight_s(animal, gait, end, speed_m_s=None):
    """Vertical impulse of one foot over a stride. [body weights times seconds]"""
    clip = stride(animal, gait, speed_m_s)
    force = clip.plan.force_n[:-1, of_end(end)].mean()
    return float(force * clip.facts.period_s / (clip.animal.body_mass_kg * GRAVITY_M_S2))


def peak_body_weights(animal, gait, end, froude):
    """Greatest vertical force of a foot at a Froude number. [body weights]"""
    made = load_animal(animal)
    clip = going(gait, speed_of_froude(froude, made.hip_height_m), animal=animal)
    return float(clip.plan.force_n[:, of_end(end)].max() / (made.body_mass_kg * GRAVITY_M_S2))


def _led_over_first(clip, end, values):
    return float(values[led(clip, end, "leading")] / values[led(clip, end, "trailing")])


def leading_stance_over_trailing(animal, gait, end, speed_m_s=None):
    clip = stride(animal, gait, speed_m_s)
    return _led_over_first(clip, end, contacts_s(clip)[1])


def leading_impulse_over_trailing(animal, gait, end, speed_m_s=None):
    clip = stride(animal, gait, speed_m_s)
    return _led_over_first(clip, end, clip.plan.force_n[:-1].mean(axis=0))


def dip_of_force(animal, gait, end, speed_m_s=None):
    """How far a foot's force sinks between two humps, as a share of the highest: 0 with one hump."""
    clip = stride(animal, gait, speed_m_s)
    limb = of_end(end)[1]
    contact, down = contacts_s(clip)
    first = round(contact[limb] * clip.frame_rate_hz)
    force = np.roll(clip.plan.force_n[:-1, limb], -first)[: round(down[limb] * clip.frame_rate_hz)]
    before = np.maximum.accumulate(force)
    after = np.maximum.accumulate(force[::-1])[::-1]
    humps = np.minimum(before, after)
    return float(((humps - force) / humps.max()).max())


def dips_more_behind(animal, gait, speed_m_s=None):
    return dip_of_force(animal, gait, "hind", speed_m_s) - dip_of_force(animal, gait, "fore", speed_m_s)


def straddle_m(animal, gait, speed_m_s=None):
    """Width of a trail, from the outer edge of the left prints to that of the right ones. [m]"""
    clip = stride(animal, gait, speed_m_s)
    across = clip.steps.place_m[:, 1]
    half = np.array([clip.animal.limbs[limb].foot.half_width_m for limb in clip.steps.limb])
    return float((across + half).max() - (across - half).min())


def pair_leaves_the_ground(animal, gait, end, froude):
    """Whether there is a moment at which neither foot of an end is down: 1 or 0."""
    speed = speed_of_froude(froude, load_animal(animal).hip_height_m)
    planted = measure_feet(going(gait, speed, animal=animal)).planted[:-1, of_end(end)]
    return int(not planted.any(axis=1).all())


def back_waves(animal, gait, axis, speed_m_s=None):
    """How many times in a stride pelvis and chest turn against each other, for the most part."""
    clip = stride(animal, gait, speed_m_s)
    ends = (clip.animal.joint_names[clip.animal.spine[0]], clip.animal.joint_names[clip.animal.chest])
    return main_wave(between_deg(clip, *ends, axis))


def top_bone_in_step(animal, gait, end, speed_m_s=None):
    """Share that the turn of the topmost bone of a limb has in its step, from landing to lift-off.

    As if the limb below were stiff: the turn of the bone times the way from its top down to the ground, over
    how far the foot goes back under the top.
    """
    clip = stride(animal, gait, speed_m_s)
    number = of_end(end)[1]
    limb = clip.animal.limbs[number]
    places, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    places, world = places[:-1], world[:-1]
    contact, down = contacts_s(clip)
    rate = clip.frame_rate_hz
    rows = [round(t * rate) % len(places) for t in (contact[number], contact[number] + down[number])]
    trunk = clip.animal.parents[limb.joints[0]] if end == "hind" else clip.animal.chest
    on_trunk = np.einsum("fji,fj->fi", world[rows, trunk], world[rows, limb.joints[0]] @ [0.0, 0.0, -1.0])
    turn = np.ptp(np.arctan2(on_trunk[:, 0], -on_trunk[:, 2]))
    foot = np.einsum(
        "fji,fj->fi", world[rows, trunk], (places[:, limb.foot_joint] - places[:, limb.joints[0]])[rows]
    )
    return float(turn * np.abs(foot[:, 2]).mean() / np.abs(np.diff(foot[:, 0]))[0])


def joint_when_deg(animal, gait, joint, limb, share, speed_m_s=None):
    """Included angle of a joint at a share of its foot's stance."""
    clip = stride(animal, gait, speed_m_s)
    number = ("LF", "RF", "LH", "RH").index(limb)
    contact, down = contacts_s(clip)
    angle = joint_deg(clip, joint, number)
    return float(angle[round((contact[number] + share * down[number]) * clip.frame_rate_hz) % angle.size])


def opens_in_stance(animal, gait, joint, limb, speed_m_s=None):
    """How much of all the turning of a joint in stance opens it: 1 if it does nothing else."""
    clip = stride(animal, gait, speed_m_s)
    number = ("LF", "RF", "LH", "RH").index(limb)
    angle = joint_deg(clip, joint, number)
    contact, down = contacts_s(clip)
    first = round(contact[number] * clip.frame_rate_hz)
    steps = np.diff(np.roll(angle, -first)[: round(down[number] * clip.frame_rate_hz)])
    return float(steps[steps > 0.0].sum() / np.abs(steps).sum())


def posture_more_deg(animal, gait, joint, limb, other, froude):
    """Included angle of a joint at mid-stance, less that of another animal at the same Froude number."""
    own, its = (
        joint_when_deg(name, gait, joint, limb, 0.5, speed_of_froude(froude, load_animal(name).hip_height_m))
        for name in (animal, other)
    )
    return own - its


def cannon_leans_back_more_deg(animal, gait, speed_m_s=None):
    """How much farther back the cannon of a foreleg leans as its foot leaves than that of a hind leg."""
    clip = stride(animal, gait, speed_m_s)
    contact, down = contacts_s(clip)

    def leans(name, number):
        turns = turn_deg(clip, name, "pitch")
        return float(turns[round((contact[number] + down[number]) * clip.frame_rate_hz) % turns.size])

    return abs(leans("fore_cannon_R", 1)) - abs(leans("hind_cannon_R", 3))


def energy_after_landing(animal, gait, end, speed_m_s=None, share=0.08):
    """Change of the energy of the centre of mass just after a foot of an end lands, over its range.

    Both feet of the end, over a share of the stride.
    """
    clip = stride(animal, gait, speed_m_s)
    energy = _energy_j_kg(clip)
    rows = [round(contacts_s(clip)[0][limb] * clip.frame_rate_hz) for limb in of_end(end)]
    later = round(share * energy.size)
    change = [energy[(row + later) % energy.size] - energy[row % energy.size] for row in rows]
    return float(np.mean(change) / np.ptp(energy))


def _energy_j_kg(clip):
    positions, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    centres = positions + np.einsum("fjab,jb->fja", world, clip.animal.mass_centres_m)
    centre = np.einsum("j,fja->fa", clip.animal.mass_shares, centres)[:-1]
    speed = (np.roll(centre, -1, axis=0) - np.roll(centre, 1, axis=0)) * clip.frame_rate_hz / 2.0
    speed[:, 0] += clip.facts.speed_m_s
    return GRAVITY_M_S2 * centre[:, 2] + np.einsum("fi,fi->f", speed, speed) / 2.0


def turns_in_stance_deg(animal, gait, joint, limb, froude):
    """How far a joint has opened from the landing of its foot to its lift-off."""
    speed = speed_of_froude(froude, load_animal(animal).hip_height_m)
    first, last = (joint_when_deg(animal, gait, joint, limb, share, speed) for share in (0.0, 1.0))
    return last - first


def force_pivot(animal, gait, end, way, speed_m_s=None):
    """Where the lines of a foot's force meet best, ``before`` or ``above`` the top of its limb. [hip heights]

    By least squares over the part of stance in which it carries a fifth of its peak or more, the limb's top
    standing still.
    """
    clip = stride(animal, gait, speed_m_s)
    number = of_end(end)[1]
    limb = clip.animal.limbs[number]
    places = world_frames(clip.animal, clip.root_path_m, clip.rotations)[0][:-1]
    top, foot = places[:, limb.joints[0]], places[:, limb.foot_joint]
    force = np.stack(
        [clip.plan.force_horizontal_n[:-1, number, 0], clip.plan.force_n[:-1, number]], axis=1
    )  # (samples, 2)
    carries = force[:, 1] > 0.2 * force[:, 1].max()
    along = force[carries] / np.linalg.norm(force[carries], axis=1)[:, None]
    start = np.stack([foot[:, 0] - top[:, 0], -top[:, 2]], axis=1)[carries]
    across = np.eye(2) - along[:, :, None] * along[:, None, :]  # (samples, 2, 2)
    meets = np.linalg.solve(across.sum(axis=0), np.einsum("fij,fj->i", across, start))
    return float(meets[("before", "above").index(way)] / clip.animal.hip_height_m)
