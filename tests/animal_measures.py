"""Measures that rows of published_strangers.toml name: animals as they stand, and strides of any gait."""

from functools import lru_cache

import numpy as np
from gait_measures import (
    contacts_s,
    drive,
    duty_share,
    going,
    height_m,
    joint_deg,
    led,
    limb_number,
    of_end,
    peak_n_kg,
    reach_deg,
    share_held,
    share_of_swing,
    stance_s,
    swing_s,
    turn_deg,
)

from gaitgen import load_animal
from gaitgen.animal.standing import standing_landmark_m, standing_positions_m
from gaitgen.gait.own_speeds import own_speeds
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.motion.kinematics import landmark_m, world_frames
from gaitgen.motion.measure import measure_feet
from gaitgen.numerics.rotations import pitch_roll_yaw_rad

# --- the standing animal ------------------------------------------------------------------------------------


def stands_m(animal, name):
    made = load_animal(animal)
    if name in made.landmarks_m:
        return standing_landmark_m(made, name)
    return standing_positions_m(made)[made.joint(name)]


def neck_m(animal):
    made = load_animal(animal)
    return np.linalg.norm(stands_m(animal, "poll") - standing_positions_m(made)[made.neck[0]])


def bone_over_bone(animal, bone, other):
    made = load_animal(animal)
    first, second = (np.linalg.norm(made.tips_m[made.joint(f"{name}_L")]) for name in (bone, other))
    return first / second


def sole_m(animal, end):
    foot = load_animal(animal).limb(end).foot
    return foot.toe_m + foot.heel_m


def sole_over_sole(animal):
    return sole_m(animal, "fore") / sole_m(animal, "hind")


def foot_width_m(animal, end):
    return 2.0 * load_animal(animal).limb(end).foot.half_width_m


def scapula_over_hip(animal):
    """Height of the top of the shoulder blade over that of the hip joint."""
    return stands_m(animal, "scapula_L")[2] / stands_m(animal, "femur_L")[2]


def flesh_m(animal, joints):
    """Fore, hind and lowest end of the flesh on some joints, standing. [m]"""
    made = load_animal(animal)
    places = standing_positions_m(made)
    away = {"tail_hair", "udder", "dewlap", "mane", "hump"}
    balls = [ball for ball in made.outline if made.joint(ball[0]) in joints and ball[3] not in away]
    centres = np.array([places[made.joint(name)] + centre for name, centre, _, _ in balls])
    radii = np.array([radius for _, _, radius, _ in balls])
    return (centres[:, 0] + radii).max(), (centres[:, 0] - radii).min(), (centres[:, 2] - radii).min()


def trunk_over_withers(animal):
    """From the front of chest and shoulder to the back of rump and thigh, over the withers height."""
    made = load_animal(animal)
    front = flesh_m(animal, {made.chest, *made.limb("fore").joints[:2]})[0]
    back = flesh_m(animal, {made.spine[0], made.limb("hind").top})[1]
    return (front - back) / made.withers_height_m


def body_length_m(animal):
    return trunk_over_withers(animal) * load_animal(animal).withers_height_m


def clearance_over_withers(animal):
    """Height of the lowest flesh of the trunk over that of the withers."""
    made = load_animal(animal)
    return flesh_m(animal, set(made.spine))[2] / made.withers_height_m


def standing_top_m(animal):
    return stands_m(animal, "poll")[2]


def fore_digit_longer_m(animal):
    made = load_animal(animal)
    first, second = (
        np.linalg.norm(made.tips_m[made.joint(f"{end}_pastern_L")]) + made.limb(end).foot.toe_m
        for end in ("fore", "hind")
    )
    return first - second


# --- a stride -----------------------------------------------------------------------------------------------


def usual(animal, gait):
    """Speed at which an animal goes in a gait if nothing is asked. [m/s]"""
    return next(own.speed_m_s for own in own_speeds(load_animal(animal)) if own.name == gait)


def stride(animal, gait, speed_m_s=None, hip_m=None):
    """One stride, sampled finely, at its usual speed or another, of an animal of its size or another."""
    own = load_animal(animal)
    withers = None if hip_m is None else hip_m * own.withers_height_m / own.hip_height_m
    speed = usual(animal, gait) if speed_m_s is None else speed_m_s
    return going(gait, speed, animal=animal, withers_m=withers)


def gait_lag(animal, gait, speed_m_s, hip_m=None):
    clip = stride(animal, gait, speed_m_s, hip_m)
    contact, _ = contacts_s(clip)
    return ((contact[0] - contact[2]) / clip.facts.period_s) % 1.0


def gait_phase(animal, gait, foot, speed_m_s, hip_m=None):
    """Share of a stride by which a foot lands after LH."""
    clip = stride(animal, gait, speed_m_s, hip_m)
    contact, _ = contacts_s(clip)
    return ((contact[limb_number(foot)] - contact[2]) / clip.facts.period_s) % 1.0


def gait_duty(animal, gait, end, speed_m_s=None):
    return duty_share(stride(animal, gait, speed_m_s), end)


def duty_more_before(animal, gait, speed_m_s=None):
    clip = stride(animal, gait, speed_m_s)
    return duty_share(clip, "fore") - duty_share(clip, "hind")


def gait_stride_m(animal, gait, speed_m_s=None):
    return stride(animal, gait, speed_m_s).facts.stride_length_m


def gait_frequency_hz(animal, gait, speed_m_s=None):
    return 1.0 / stride(animal, gait, speed_m_s).facts.period_s


def gait_swing_s(animal, gait, end, speed_m_s=None):
    return swing_s(stride(animal, gait, speed_m_s), end)


def centre_rises_m(animal, gait, speed_m_s=None):
    """Rise and fall of the centre of mass over a stride. [m]"""
    return float(np.ptp(_centre_m(stride(animal, gait, speed_m_s))[:, 2]))


@lru_cache
def _centre_m(clip):
    positions, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    centres = positions + np.einsum("fjab,jb->fja", world, clip.animal.mass_centres_m)
    return np.einsum("j,fja->fa", clip.animal.mass_shares, centres)[:-1]


def energy_recovered_percent(animal, gait, speed_m_s=None):
    """Share of the work on the centre of mass that an exchange of its energies spares (Cavagna's sum)."""
    clip = stride(animal, gait, speed_m_s)
    centre, rate = _centre_m(clip), clip.frame_rate_hz
    speed = (np.roll(centre, -1, axis=0) - np.roll(centre, 1, axis=0)) * rate / 2.0
    along, up = speed[:, 0] + clip.facts.speed_m_s, speed[:, 2]
    high, ahead = GRAVITY_M_S2 * centre[:, 2] + up**2 / 2.0, along**2 / 2.0
    rises = [np.maximum(np.diff(e, append=e[:1]), 0.0).sum() for e in (high, ahead, high + ahead)]
    return 100.0 * (1.0 - rises[2] / (rises[0] + rises[1]))


def flights(animal, gait, speed_m_s=None):
    """How many times in a stride no foot is down."""
    clip = stride(animal, gait, speed_m_s)
    in_air = ~measure_feet(clip).planted[:-1].any(axis=1)
    return int((in_air & ~np.roll(in_air, 1)).sum())


def share_of_load_behind(animal, gait, speed_m_s=None):
    force = stride(animal, gait, speed_m_s).plan.force_n[:-1]
    return force[:, 2:].sum() / force.sum()


def peak_faster_over_slower(animal, gait, end, slower_m_s, faster_m_s):
    first, second = (peak_n_kg(stride(animal, gait, v), of_end(end)) for v in (slower_m_s, faster_m_s))
    return second / first


def impulse_faster_over_slower(animal, gait, end, slower_m_s, faster_m_s):
    def impulse(speed):
        clip = stride(animal, gait, speed)
        return clip.plan.force_n[:-1, of_end(end)].mean() * clip.facts.period_s

    return impulse(faster_m_s) / impulse(slower_m_s)


def net_drive(animal, gait, end, speed_m_s=None):
    """Forward impulse of the feet of one end over a stride, over the weight; below zero they brake."""
    clip = stride(animal, gait, speed_m_s)
    return sum(drive(clip, limb) for limb in of_end(end))


def trailing_over_leading(animal, gait, end, speed_m_s=None):
    clip = stride(animal, gait, speed_m_s)
    return peak_n_kg(clip, led(clip, end, "trailing")) / peak_n_kg(clip, led(clip, end, "leading"))


def overstep_m(animal, gait, speed_m_s=None):
    """How far the print of a hind foot lies ahead of that of the fore foot of its side. [m]"""
    return float(_hind_from_fore_m(animal, gait, speed_m_s)[0])


def overstep_in_feet(animal, gait, speed_m_s=None):
    """The same over the length of a fore print."""
    return overstep_m(animal, gait, speed_m_s) / sole_m(animal, "fore")


def hind_print_inside_m(animal, gait, speed_m_s=None):
    return float(_hind_from_fore_m(animal, gait, speed_m_s)[1])


def _hind_from_fore_m(animal, gait, speed_m_s):
    clip = stride(animal, gait, speed_m_s)
    steps = clip.steps
    order = np.argsort(steps.limb)
    place, when = steps.place_m[order], steps.touchdown_s[order]
    period, gone = clip.facts.period_s, clip.facts.stride_length_m
    # The next landing of RH after the lift-off of RF.
    later = np.ceil((when[1] - when[3]) / period)
    ahead = place[3, 0] + later * gone - place[1, 0]
    left = place[3, 1] - place[1, 1]
    return np.array([ahead, left])


def excursion_deg(animal, gait, end, speed_m_s=None):
    clip = stride(animal, gait, speed_m_s)
    return np.mean([np.ptp(reach_deg(clip, limb)) for limb in of_end(end)])


def joint_extreme_deg(animal, gait, joint, limb, which, speed_m_s=None, while_down=None):
    """Least, greatest or range of an included angle; in stance or swing alone where that is said."""
    clip = stride(animal, gait, speed_m_s)
    number = limb_number(limb)
    angle = joint_deg(clip, joint, number)
    if while_down is not None:
        planted = measure_feet(clip).planted[:-1, number]
        angle = angle[planted == while_down]
    return {"least": np.min, "greatest": np.max, "range": np.ptp}[which](angle)


def joint_at_deg(animal, gait, joint, limb, moment, speed_m_s=None):
    """Included angle as a foot lands or leaves."""
    clip = stride(animal, gait, speed_m_s)
    number = limb_number(limb)
    contact, down = contacts_s(clip)
    time_s = contact[number] + (down[number] if moment == "leaves" else 0.0)
    angle = joint_deg(clip, joint, number)
    return angle[round(time_s * clip.frame_rate_hz) % angle.size]


def joint_gives_deg(animal, gait, joint, limb, speed_m_s=None):
    """How far a joint turns from landing to its deepest or widest in stance."""
    clip = stride(animal, gait, speed_m_s)
    number = limb_number(limb)
    angle = joint_deg(clip, joint, number)
    down = angle[measure_feet(clip).planted[:-1, number]]
    landed = joint_at_deg(animal, gait, joint, limb, "lands", speed_m_s)
    return max(abs(down.max() - landed) if joint == "metacarpus" else landed - down.min(), 0.0)


def opens_times(animal, gait, joint, limb, speed_m_s=None):
    """How many times in a stride a joint opens to a peak that stands out by 5 degrees."""
    angle = joint_deg(stride(animal, gait, speed_m_s), joint, limb_number(limb))
    angle = np.roll(angle, -int(np.argmin(angle)))
    count, low, high, rising = 0, angle[0], angle[0], True
    for value in [*angle, angle[0]]:
        if rising:
            high = max(high, value)
            if high - value > 5.0:
                count, low, rising = count + 1, value, False
        else:
            low = min(low, value)
            if value - low > 5.0:
                high, rising = value, True
    return count


def roll_over_yaw(animal, gait, joint, speed_m_s=None):
    clip = stride(animal, gait, speed_m_s)
    return float(np.ptp(turn_deg(clip, joint, "roll")) / np.ptp(turn_deg(clip, joint, "yaw")))


def pitch_over_yaw(animal, gait, joint, speed_m_s=None):
    clip = stride(animal, gait, speed_m_s)
    return float(np.ptp(turn_deg(clip, joint, "pitch")) / np.ptp(turn_deg(clip, joint, "yaw")))


@lru_cache
def _rounded_deg(clip):
    """How far the back is rounded: pelvis and chest turned to each other below, (samples,)."""
    _, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    turns = pitch_roll_yaw_rad(world[:-1])[..., 0]
    return np.degrees(turns[:, clip.animal.spine[0]] - turns[:, clip.animal.chest])


def back_rounded_share_of_swing(animal, gait, which, speed_m_s=None):
    """When the back is most flexed or extended, as a share of the swing of the hind foot that leads.

    From 1 on that foot is down.
    """
    clip = stride(animal, gait, speed_m_s)
    curve = _rounded_deg(clip)
    at = int(np.argmax(curve) if which == "flexed" else np.argmin(curve))
    lands_first = led(clip, "hind", "trailing")
    return share_of_swing(clip, lands_first, at / clip.frame_rate_hz)


def back_in_hind_step(animal, gait, speed_m_s=None):
    """Share of the bending of the back in the turn of the thigh in space, trunk standing still, in stance."""
    clip = stride(animal, gait, speed_m_s)
    planted = measure_feet(clip).planted[:-1, 3]
    whole = reach_deg(clip, 3)[planted]
    pelvis = turn_deg(clip, clip.animal.joint_names[clip.animal.spine[0]], "pitch")[planted]
    chest = turn_deg(clip, clip.animal.joint_names[clip.animal.chest], "pitch")[planted]
    return abs((pelvis - chest)[-1] - (pelvis - chest)[0]) / abs(whole[-1] - whole[0])


def blade_glides_back_in_stance_m(animal, gait, speed_m_s=None):
    """How far back on the chest the top of a shoulder blade goes from landing to lift-off. [m]"""
    clip = stride(animal, gait, speed_m_s)
    positions, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    chest, blade = clip.animal.chest, clip.animal.joint("scapula_R")
    on_chest = np.einsum("fji,fj->fi", world[:, chest], positions[:, blade] - positions[:, chest])[:-1, 0]
    contact, down = contacts_s(clip)
    rows = [round(t * clip.frame_rate_hz) % on_chest.size for t in (contact[1], contact[1] + down[1])]
    return float(on_chest[rows[0]] - on_chest[rows[1]])


def _neck_swing_m(animal, gait, speed_m_s):
    """How far the poll is ahead of the base of the neck, without its mean: (samples,). [m]"""
    clip = stride(animal, gait, speed_m_s)
    positions, world = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    poll = landmark_m(clip.animal, positions, world, "poll")
    ahead = (poll - positions[:, clip.animal.neck[0]])[:-1, 0]
    return clip, ahead - ahead.mean()


def neck_waves(animal, gait, speed_m_s=None):
    _, ahead = _neck_swing_m(animal, gait, speed_m_s)
    return int(np.argmax(np.abs(np.fft.rfft(ahead))))


def neck_is_a_sine(animal, gait, speed_m_s=None):
    """Share of the power of the neck's swing that its main wave has."""
    _, ahead = _neck_swing_m(animal, gait, speed_m_s)
    power = np.abs(np.fft.rfft(ahead)) ** 2
    return float(power.max() / power.sum())


def neck_swing_m(animal, gait, speed_m_s=None):
    return float(np.ptp(_neck_swing_m(animal, gait, speed_m_s)[1]))


def neck_forward_in_push(animal, gait, speed_m_s=None):
    """How well the neck's forward speed goes with the push of the forelegs: a correlation, from -1 to 1."""
    clip, ahead = _neck_swing_m(animal, gait, speed_m_s)
    speed = np.roll(ahead, -1) - np.roll(ahead, 1)
    push = clip.plan.force_horizontal_n[:-1, :2, 0].sum(axis=1)
    return float(np.corrcoef(speed, push)[0, 1])


def _two(animal, other, gait, speed_m_s, withers_m):
    """Strides of two animals of some withers heights at the same speed."""
    for each, height in zip((animal, other), withers_m, strict=True):
        own = load_animal(each)
        yield stride(each, gait, speed_m_s, height * own.hip_height_m / own.withers_height_m)


def stance_ratio(animal, gait, end, other, speed_m_s, withers_m):
    """Time that a foot is down, over that of another animal at the same speed."""
    first, second = (stance_s(clip, end) for clip in _two(animal, other, gait, speed_m_s, withers_m))
    return first / second


def duty_difference(animal, gait, end, other, speed_m_s, withers_m):
    first, second = (duty_share(clip, end) for clip in _two(animal, other, gait, speed_m_s, withers_m))
    return first - second


def excursion_more_deg(animal, gait, end, other, speed_m_s, withers_m):
    first, second = (
        np.mean([np.ptp(reach_deg(clip, limb)) for limb in of_end(end)])
        for clip in _two(animal, other, gait, speed_m_s, withers_m)
    )
    return first - second


def waves_power(animal, gait, landmark, speed_m_s=None):
    """Share of the power of a landmark's rise and fall that two waves a stride have."""
    height = height_m(stride(animal, gait, speed_m_s), landmark)
    power = np.abs(np.fft.rfft(height - height.mean())) ** 2
    return float(power[2] / power.sum())


def usual_froude(animal, gait):
    made = load_animal(animal)
    return usual(animal, gait) ** 2 / (GRAVITY_M_S2 * made.hip_height_m)


def fore_to_hind_peaks(animal, gait, speed_m_s=None):
    clip = stride(animal, gait, speed_m_s)
    return peak_n_kg(clip, of_end("fore")) / peak_n_kg(clip, of_end("hind"))


def lateral_of_two_legs(animal, gait):
    """Share that the legs of one side have of all the time in which two legs carry."""
    clip = stride(animal, gait)
    lateral, diagonal = (share_held(clip, kind) for kind in ("lateral", "diagonal"))
    return lateral / (lateral + diagonal)


def two_or_three_feet_percent(animal, gait):
    kinds = ("lateral", "diagonal", "two hind + one fore", "two fore + one hind")
    return sum(share_held(stride(animal, gait), kind) for kind in kinds)


def stance_faster_over_slower(animal, gait, slower_m_s, faster_m_s):
    first, second = (stance_s(stride(animal, gait, speed), "hind") for speed in (slower_m_s, faster_m_s))
    return second / first


def neck_swing_faster_over_slower(animal, gait, slower_m_s, faster_m_s):
    first, second = (neck_swing_m(animal, gait, speed) for speed in (slower_m_s, faster_m_s))
    return second / first


def mean_duty(animal, gait, speed_m_s=None):
    clip = stride(animal, gait, speed_m_s)
    return (duty_share(clip, "fore") + duty_share(clip, "hind")) / 2.0
