"""Limbs of a horse's walk at the lengths that animators use: published rows, derived bands, and what reads badly.

The figures that are published were measured at strides of 1.0 to 1.2 s; at 16 and 48 frames the same are asked for
where they are of joints, and nothing where they are of heights and times that go with speed.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import pytest

from gaitgen import Request, make_cycle
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.extremes import extremes
from gaitgen.motion.kinematics import included_angles_rad, landmark_m, world_frames
from gaitgen.motion.measure import measure_feet
from gaitgen.numerics.rotations import pitch_roll_yaw_rad

HORSES = ("riding_horse", "draft_horse")
LENGTHS = (16, 24, 28, 32, 48)
FINE = 8  # moments for each frame


@dataclass(frozen=True, eq=False)
class Walk:
    """One stride of a walk on eight times its frames; curves of the right side, each from its foot's landing on."""

    animal: str
    frames: int

    @cached_property
    def clip(self):
        return make_cycle(
            Request(gait="walk", animal=self.animal, frames=FINE * self.frames, frame_rate_hz=FINE * 24.0)
        )

    @cached_property
    def world(self):
        return world_frames(self.clip.animal, self.clip.root_path_m, self.clip.rotations)

    def times(self, limb):
        """Moment of landing, and how many moments a foot is down."""
        row = list(self.clip.steps.limb).index(LIMBS.index(limb))
        lands, leaves = (
            round(float(at[row]) * self.clip.frame_rate_hz)
            for at in (self.clip.steps.touchdown_s, self.clip.steps.liftoff_s)
        )
        return lands, leaves - lands

    def down(self, limb):
        return self.times(limb)[1]

    def landed(self, limb, curve):
        return np.roll(curve[:-1], -self.times(limb)[0], axis=0)

    def angle(self, joint):
        """Included angle of a joint on the right. [deg]"""
        angles = np.degrees(included_angles_rad(self.clip.animal, self.clip.rotations))
        row = self.clip.animal.joint(f"{joint}_R")
        return self.landed(self.limb_of(row), angles[:, row])

    def limb_of(self, row):
        return next(each.name for each in self.clip.animal.limbs if row in each.joints)

    def joint_height_m(self, joint):
        row = self.clip.animal.joint(f"{joint}_R")
        return self.landed(self.limb_of(row), self.world[0][:, row, 2])

    def slope(self, joint):
        """Slope of a bone to the ground, of one that points ahead and down. [deg]"""
        row = self.clip.animal.joint(f"{joint}_R")
        way = self.world[1][:, row] @ self.clip.animal.tips_m[row]
        return self.landed(self.limb_of(row), np.degrees(np.arctan2(-way[:, 2], way[:, 0])))

    def height_mm(self, landmark, limb):
        return 1e3 * self.landed(limb, landmark_m(self.clip.animal, *self.world, landmark)[:, 2])

    def toe_mm(self, limb):
        return 1e3 * self.landed(limb, measure_feet(self.clip).toe_m[:, LIMBS.index(limb), 2])

    def heel_off(self, limb):
        """The moment at which the heel is 5 mm up."""
        own = self.clip.animal.limbs[LIMBS.index(limb)]
        places, turned = self.world
        heel = turned[:, own.foot_joint] @ [-own.foot.heel_m, 0.0, -own.foot.height_m]
        height, down = self.landed(limb, places[:, own.foot_joint, 2] + heel[:, 2]), self.down(limb)
        return down // 3 + int(np.argmax(height[down // 3 :] > 0.005))

    def coffin(self):
        """Pitch of the fore foot against its pastern. [deg]"""
        foot, above = (
            self.world[1][:, self.clip.animal.joint(f"{name}_R")] for name in ("fore_hoof", "fore_pastern")
        )
        between = np.swapaxes(above, -1, -2) @ foot
        return self.landed("RF", np.degrees(pitch_roll_yaw_rad(between)[:, 0]))


walk = lru_cache(Walk)


def least_percent_of_stride(made, joint):
    curve = made.angle(joint)
    return 100.0 * np.argmin(curve) / curve.size


def range_deg(made, joint):
    return np.ptp(made.angle(joint))


def least_deg(made, joint):
    return made.angle(joint).min()


def greatest_deg(made, joint):
    return made.angle(joint).max()


def in_stance_deg(made, joint, limb):
    return np.ptp(made.angle(joint)[: made.down(limb) + 1])


def coffin_range_deg(made):
    return np.ptp(made.coffin())


def coffin_opens_deg(made):
    """From landing to 75 % of stance."""
    curve = made.coffin()
    return curve[round(0.75 * made.down("RF"))] - curve[0]


def heel_off_percent(made, limb):
    return 100.0 * made.heel_off(limb) / made.down(limb)


def carpus_leaves_deg(made):
    return made.angle("fore_cannon")[made.down("RF")]


def rise_mm(made, landmark):
    return np.ptp(made.height_mm(landmark, "RF"))


def low_percent(made, landmark, limb):
    curve = made.height_mm(landmark, limb)
    return 100.0 * np.argmin(curve[: curve.size // 2]) / made.down(limb)


def high_percent(made, landmark, limb):
    curve = made.height_mm(landmark, limb)
    half = curve.size // 2
    share = 100.0 * np.argmax(curve[:half]) / made.down(limb)
    return share + 100.0 * half / made.down(limb) if share < 20.0 else share


def gives_deg(made, joint, limb):
    """From landing to the least in the first two fifths of stance."""
    curve = made.angle(joint)
    return curve[0] - curve[: round(0.4 * made.down(limb))].min()


def opens_deg(made, joint, limb):
    """From its least in early stance to 65 % of stance."""
    curve, down = made.angle(joint), made.down(limb)
    least = int(np.argmin(curve[: round(0.4 * down)]))
    return curve[least : round(0.65 * down)].max() - curve[least]


def toe_highest_percent(made, limb):
    toe, down = made.toe_mm(limb), made.down(limb)
    return 100.0 * np.argmax(toe[down:]) / (toe.size - down)


def stance_peaks(made):
    """How often the fore fetlock is most open in stance, where that is more than half a degree."""
    curve = made.angle("fore_pastern")[: made.down("RF") + 1]
    return sum(turn.is_high for turn in extremes(curve, is_closed=False))


# What is measured, its inputs, what was published, the room around it, and where from. Rows of joints are asked of all
# lengths; rows of heights and times only of strides of about the length they were measured at.
FLAT_WALK = "Nicodemus M.C. et al., flat-walking yearlings, abstract; room for where markers sit"
HODSON = "Hodson, Clayton & Lanovaz 2000, EVJ 32:287, from a summary"
BACKS = "Animals 2022 12:3053 and others, from a summary"
CLAYTON = "Clayton et al. 2004, EVJ, and 2007, VCOT 20:86, from summaries and an abstract"
USUAL = (24, 28, 32)
ROWS = (
    (least_deg, ("radius",), 109.0, 10.0, LENGTHS, FLAT_WALK),
    (greatest_deg, ("radius",), 154.0, 10.0, LENGTHS, FLAT_WALK),
    (range_deg, ("fore_cannon",), 54.0, 10.0, LENGTHS, FLAT_WALK),
    (greatest_deg, ("tibia",), 157.0, 10.0, LENGTHS, FLAT_WALK),
    (greatest_deg, ("hind_cannon",), 167.0, 10.0, LENGTHS, FLAT_WALK),
    (least_deg, ("hind_cannon",), 127.0, 10.0, LENGTHS, FLAT_WALK),
    (range_deg, ("hind_pastern",), 60.0, 10.0, USUAL, FLAT_WALK),
    (range_deg, ("fore_pastern",), 62.0, 10.0, LENGTHS, CLAYTON),
    (coffin_range_deg, (), 46.0, 6.0, USUAL, CLAYTON),
    (in_stance_deg, ("fore_cannon", "RF"), 15.0, 6.0, USUAL, CLAYTON),
    (carpus_leaves_deg, (), 168.5, 9.5, LENGTHS, "derived: 184 less 15 +- 6 of a stance, 3 to 5 more at a walk"),
    (heel_off_percent, ("RF",), 86.0, 8.0, LENGTHS, "a study of break-over, from a summary"),
    (low_percent, ("croup", "RH"), 10.0, 6.0, LENGTHS, BACKS),
    (high_percent, ("croup", "RH"), 54.0, 6.0, USUAL, BACKS),
    (low_percent, ("withers", "RF"), 8.0, 7.0, LENGTHS, BACKS),
    (high_percent, ("withers", "RF"), 45.0, 7.0, USUAL, BACKS),
    (low_percent, ("poll", "RF"), 47.0, 8.0, (16, 24, 28), BACKS),
    (high_percent, ("poll", "RF"), 87.0, 8.0, USUAL, BACKS),
    (rise_mm, ("withers",), 35.0, 12.0, USUAL, BACKS),
    (rise_mm, ("croup",), 72.0, 15.0, (24, 28), BACKS),
    (toe_highest_percent, ("RF",), 30.0, 10.0, LENGTHS, "Clayton 1990, EVJ 22, trot, from a summary: soon after lift-off"),
    (gives_deg, ("tibia", "RH"), 11.5, 8.5, LENGTHS, "derived: 8 to 15 degrees +- 5"),
    (gives_deg, ("hind_cannon", "RH"), 11.5, 8.5, LENGTHS, "derived: 8 to 15 degrees +- 5"),
)
CASES = [
    pytest.param(animal, frames, row, id=f"{row[0].__name__}-{'-'.join(row[1])}-{animal}-{frames}")
    for row in ROWS
    for animal in HORSES
    for frames in row[4]
]
if __name__ == "__main__":
    rows = {
        "carpus76": lambda m: least_percent_of_stride(m, "fore_cannon"), "fet81": lambda m: least_percent_of_stride(m, "fore_pastern"), "elb84": lambda m: least_percent_of_stride(m, "radius"),
        "fetrange62": lambda m: range_deg(m, "fore_pastern"), "coR46": coffin_range_deg, "coO29": coffin_opens_deg, "caSt15": lambda m: in_stance_deg(m, "fore_cannon", "RF"),
        "caLv168": carpus_leaves_deg, "heel86": lambda m: heel_off_percent(m, "RF"), "croupL10": lambda m: low_percent(m, "croup", "RH"), "croupH54": lambda m: high_percent(m, "croup", "RH"),
        "withL8": lambda m: low_percent(m, "withers", "RF"), "withH45": lambda m: high_percent(m, "withers", "RF"), "pollL47": lambda m: low_percent(m, "poll", "RF"), "pollH87": lambda m: high_percent(m, "poll", "RF"),
        "with35": lambda m: rise_mm(m, "withers"), "croup72": lambda m: rise_mm(m, "croup"), "poll100": lambda m: rise_mm(m, "poll"),
        "stG8-15": lambda m: gives_deg(m, "tibia", "RH"), "hkG": lambda m: gives_deg(m, "hind_cannon", "RH"), "stO>8": lambda m: opens_deg(m, "tibia", "RH"),
        "toe20-40": lambda m: toe_highest_percent(m, "RF"), "toeH": lambda m: toe_highest_percent(m, "RH"), "peaks2": stance_peaks,
        "elmin109": lambda m: least_deg(m, "radius"), "stMax157": lambda m: greatest_deg(m, "tibia"), "hkMin127": lambda m: least_deg(m, "hind_cannon"), "hkMax167": lambda m: greatest_deg(m, "hind_cannon"), "hfr60": lambda m: range_deg(m, "hind_pastern"), "hfmax216": lambda m: greatest_deg(m, "hind_pastern"), "ffmax222": lambda m: greatest_deg(m, "fore_pastern"), "elmax154": lambda m: greatest_deg(m, "radius"), "car54": lambda m: range_deg(m, "fore_cannon"),
    }
    print("%-10s" % "", *["%7s" % f"{a[0]}{f}" for a in HORSES for f in LENGTHS])
    for n, fn in rows.items():
        print("%-10s" % n, *["%7.1f" % fn(walk(a, f)) for a in HORSES for f in LENGTHS])
