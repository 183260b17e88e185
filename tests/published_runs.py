"""Measures that rows of published.toml name: joints, hooves, heights and forces of a horse that runs."""

import numpy as np
from gait_measures import (
    contacts_s,
    going,
    in_stance,
    joint_deg,
    landmark_left_m,
    limb_number,
    of_end,
    peak_n_kg,
    places_m,
    reach_deg,
    share_held,
    share_of_swing,
    swing_s,
    turn_deg,
)

from gaitgen.motion.measure import measure_feet


def joint_extreme_at_deg(gait, speed, joint, limb, which):
    """Least or greatest included angle over a stride."""
    curve = joint_deg(going(gait, speed), joint, limb_number(limb))
    return float({"least": np.min, "greatest": np.max}[which](curve))


def joint_more_than_at_a_walk_deg(gait, speed, joint, limb, which, while_down):
    """How much greater the least, or greatest, angle in stance or in swing is than at a walk of 1.6 m/s."""
    row = limb_number(limb)
    extreme = {"least": np.min, "greatest": np.max}[which]
    values = []
    for each in ((gait, speed), ("walk", 1.6)):
        clip = going(*each)
        planted = measure_feet(clip).planted[:-1, row]
        values.append(extreme(joint_deg(clip, joint, row)[planted == while_down]))
    return float(values[0] - values[1])


def sways_percent(gait, speed, landmark):
    """How far a landmark goes from side to side, in per cent of the height of the withers."""
    clip = going(gait, speed)
    return 100.0 * float(np.ptp(landmark_left_m(clip, landmark))) / clip.animal.withers_height_m


def foreleg_gives_mm(gait, speed, part, limb):
    """How much shorter a part of a foreleg is at its shortest in stance than as it lands.

    ``distal``: elbow to foot joint; ``proximal``: top of the shoulder blade to elbow.
    """
    clip, row = going(gait, speed), limb_number(limb)
    joints, places = clip.animal.limbs[row].joints, places_m(clip)
    ends = {"proximal": (joints[0], joints[2]), "distal": (joints[2], joints[-1])}[part]
    length = in_stance(clip, row, np.linalg.norm(places[:, ends[0]] - places[:, ends[1]], axis=1))
    return 1e3 * float(length[0] - length.min())


def in_air_s(gait, speed):
    """Time in a stride with no foot down. [s]"""
    clip = going(gait, speed)
    contact, down = contacts_s(clip)
    moments = np.arange(4000)[:, None] / 4000 * clip.facts.period_s
    return float(((moments - contact) % clip.facts.period_s >= down).all(axis=1).mean()) * clip.facts.period_s


def in_air_ratio(gait, speed, other_speed):
    return in_air_s(gait, other_speed) / in_air_s(gait, speed)


def swing_faster_over_slower(gait, slower, faster, end):
    return swing_s(going(gait, faster), end) / swing_s(going(gait, slower), end)


def goes_on_back_share(gait, speed, end):
    """Share of its swing for which a limb still goes back after lift-off, under its top."""
    clip = going(gait, speed)
    limb = of_end(end)[1]
    farthest = int(np.argmin(reach_deg(clip, limb))) / clip.frame_rate_hz
    share = share_of_swing(clip, limb, farthest)
    return share if share < 0.5 else 0.0


def goes_on_back_more(gait, speed):
    return goes_on_back_share(gait, speed, "fore") - goes_on_back_share(gait, speed, "hind")


def hoof_over_body_speed(gait, speed, limb):
    """Greatest forward speed of a hoof over the ground, over that of the body."""
    clip = going(gait, speed, in_place=False)
    ahead = measure_feet(clip).toe_m[:, limb_number(limb), 0]
    return float(np.diff(ahead).max() * clip.frame_rate_hz / clip.facts.speed_m_s)


def cannon_swings_deg(gait, speed, limb, which):
    """Angle of a cannon before the vertical in stance: greatest, least, or half-way through."""
    clip, row = going(gait, speed), limb_number(limb)
    joints, places = clip.animal.limbs[row].joints, places_m(clip)
    bone = list(joints)[-3:-1]
    line = places[:, bone[1]] - places[:, bone[0]]
    angle = in_stance(clip, row, np.degrees(np.arctan2(line[:, 0], -line[:, 2])))
    return float({"greatest": angle.max(), "least": angle.min(), "middle": angle[angle.size // 2]}[which])


def peak_of_end_n_kg(gait, speed, end):
    """Mean of the greatest forces under the two feet of a pair."""
    clip = going(gait, speed)
    return float(np.mean([peak_n_kg(clip, [limb]) for limb in of_end(end)]))


def saddle_pitch_over(gait, speed, other, other_speed):
    """How many times as far the back pitches under a saddle as in another gait."""
    mine, theirs = (
        np.ptp(turn_deg(going(*each), "thorax_3", "pitch")) for each in ((gait, speed), (other, other_speed))
    )
    return float(mine / theirs)


def joint_opens_more_deg(gait, speed, other, other_speed, joint, limb):
    """By how much farther a joint opens than in another gait."""
    mine, theirs = (
        joint_deg(going(*each), joint, limb_number(limb)).max()
        for each in ((gait, speed), (other, other_speed))
    )
    return float(mine - theirs)


def lateral_less_diagonal_percent(gait):
    """Support by two feet of a side less that by a diagonal, in per cent of the stride."""
    clip = going(gait)
    return share_held(clip, "lateral") - share_held(clip, "diagonal")
