"""Limbs of a horse's walk at the lengths that animators use: published rows, derived bands, what reads badly.

The figures were measured at strides of 1.0 to 1.2 s; at 16 and 48 frames the same are asked for where they
are of joints, and nothing where they are of heights and times that go with speed.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import pytest

from gaitgen import Request, make_cycle
from gaitgen.body.struts import own_settle_strides
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.kinematics import included_angles_rad, landmark_m, world_frames
from gaitgen.motion.measure import measure_feet
from gaitgen.numerics.rotations import pitch_roll_yaw_rad

HORSES = ("riding_horse", "draft_horse")
LENGTHS = (16, 24, 28, 32, 48)
FINE = 8  # moments for each frame


@dataclass(frozen=True, eq=False)
class Walk:
    """One stride on eight times its frames; curves of the right side, each from its foot's landing on."""

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


def top_at(curve):
    """Where a curve is highest, between its samples too: the top of the parabola through the three around."""
    k = int(np.argmax(curve))
    if k in (0, curve.size - 1):
        return float(k)
    before, here, after = curve[k - 1 : k + 2]
    return k + 0.5 * (before - after) / (before - 2.0 * here + after)


def low_percent(made, landmark, limb):
    curve = made.height_mm(landmark, limb)
    return 100.0 * top_at(-curve[: curve.size // 2]) / made.down(limb)


def high_percent(made, landmark, limb):
    curve = made.height_mm(landmark, limb)
    half = curve.size // 2
    share = 100.0 * top_at(curve[:half]) / made.down(limb)
    return share + 100.0 * half / made.down(limb) if share < 20.0 else share


def gives_deg(made, joint, limb):
    """From landing to the least in the first two fifths of stance."""
    curve = made.angle(joint)
    return curve[0] - curve[: round(0.4 * made.down(limb))].min()


def toe_highest_percent(made, limb):
    toe, down = made.toe_mm(limb), made.down(limb)
    return 100.0 * np.argmax(toe[down:]) / (toe.size - down)


# What is measured, its inputs, what was published, the room around it, at which lengths, and where from.
FLAT_WALK = "Nicodemus M.C. et al., flat-walking yearlings, abstract; room for where markers sit"
BACKS = "Animals 2022 12:3053 and others, from a summary"
FLUOROSCOPY = (
    "high-speed fluoroscopy of six horses, Royal Veterinary College, abstract: landing to 75 % of stance"
)
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
    (coffin_opens_deg, (), 29.0, 6.0, USUAL, FLUOROSCOPY),
    (in_stance_deg, ("fore_cannon", "RF"), 15.0, 6.0, USUAL, CLAYTON),
    (
        carpus_leaves_deg,
        (),
        168.5,
        9.5,
        LENGTHS,
        "derived: 184 less 15 +- 6 of a stance, 3 to 5 more at a walk",
    ),
    (heel_off_percent, ("RF",), 86.0, 8.0, LENGTHS, "a study of break-over, from a summary"),
    (low_percent, ("croup", "RH"), 10.0, 6.0, LENGTHS, BACKS),
    (high_percent, ("croup", "RH"), 54.0, 6.0, USUAL, BACKS),
    (low_percent, ("withers", "RF"), 8.0, 7.0, LENGTHS, BACKS),
    (high_percent, ("withers", "RF"), 45.0, 7.0, USUAL, BACKS),
    (low_percent, ("poll", "RF"), 47.0, 8.0, (16, 24, 28), BACKS),
    (high_percent, ("poll", "RF"), 87.0, 8.0, USUAL, BACKS),
    (rise_mm, ("withers",), 35.0, 12.0, USUAL, BACKS),
    (rise_mm, ("croup",), 72.0, 15.0, USUAL, BACKS),
    (
        toe_highest_percent,
        ("RF",),
        30.0,
        10.0,
        LENGTHS,
        "Clayton 1990, EVJ 22, trot, from a summary: soon after lift-off",
    ),
    (
        toe_highest_percent,
        ("RH",),
        30.0,
        10.0,
        LENGTHS,
        "Clayton, trot, from a summary: a hind foot's first peak is the highest, a longer plateau follows",
    ),
    (gives_deg, ("tibia", "RH"), 11.5, 8.5, LENGTHS, "derived: 8 to 15 degrees +- 5"),
    (gives_deg, ("hind_cannon", "RH"), 11.5, 8.5, LENGTHS, "derived: 8 to 15 degrees +- 5"),
)
# What is not met, and what is measured. A fore force dips by 0.03 N/kg between its two humps at 28 frames: a
# head that is lowest at mid-stance presses there, by 1.3 N/kg at 24 frames (trial: a neck not driven).
# Swings of 0.441 s, withers low sooner than the croup and a fetlock of 3.5 degrees for 1 N/kg meet all these
# rows (trial); but then the blade turns by 12 degrees (15 before, 15 to 20 are known), elbow and shoulder
# stop late in stance, an elbow in a shot is 4.9 degrees from the clip's (test_laws lets 4 through), and a
# stride at a Froude number of 0.35 is 0.0002 hip heights too short. Withers high later and a slow fetlock
# (3.4 Hz) meet all at 24 frames, and every row of test_published (trial); but then a fore foot pushes .38 of
# the weight between its peaks up a rise (.35 is let through, .34 before), the elbow lands 6 degrees less
# straight, and a limp from contacts pops, where fetlock and carpus fold another way.
NOT_MET = {
    ("coffin_opens_deg", "riding_horse", 24): "20.8 degrees",
    ("sinks_twice", "riding_horse", 24): "one peak, at 88 % of stance",
    ("sinks_twice", "riding_horse", 28): "one peak, at 52 % of stance, as of the force",
    ("sinks_twice", "riding_horse", 32): "one peak, at 49 % of stance, as of the force",
}


def not_met(*case):
    """Marks of a case."""
    return [pytest.mark.xfail(reason=NOT_MET[case], strict=True)] if case in NOT_MET else []


CASES = [
    pytest.param(
        animal,
        frames,
        row,
        id="-".join((row[0].__name__, *row[1], animal, str(frames))),
        marks=not_met(row[0].__name__, animal, frames),
    )
    for row in ROWS
    for animal in HORSES
    for frames in row[4]
]


@pytest.mark.sample(12)
@pytest.mark.parametrize(("animal", "frames", "row"), CASES)
def test_limbs_are_as_published_at_the_lengths_of_animators(animal, frames, row):
    found, asked, expected, room, _, source = row
    assert found(walk(animal, frames), *asked) == pytest.approx(expected, abs=room), source


EACH = pytest.mark.parametrize(("animal", "frames"), [(a, n) for a in HORSES for n in LENGTHS])
USUALLY = pytest.mark.parametrize(("animal", "frames"), [(a, n) for a in HORSES for n in USUAL])


@pytest.mark.sample(4)
@EACH
def test_a_knee_goes_up_from_heel_off_to_the_middle_of_swing(animal, frames):
    """And falls by what is not seen, a hundredth of the withers height (common practice, no source)."""
    made = walk(animal, frames)
    height, down = made.joint_height_m("fore_cannon"), made.down("RF")
    rises = height[made.heel_off("RF") : down + (height.size - down) // 2 + 1]
    assert (np.maximum.accumulate(rises) - rises).max() < 0.01 * made.clip.animal.withers_height_m
    assert rises[-1] - rises[0] > 0.04 * made.clip.animal.withers_height_m


@pytest.mark.sample(4)
@EACH
def test_carpus_fetlock_and_elbow_are_folded_most_one_after_the_other(animal, frames):
    """At 76, 81 and 84 % of the stride (Hodson, Clayton & Lanovaz 2000, EVJ 32:287, from a summary).

    At strides as long as they were measured at to 4 %; at shorter and longer ones in this order.
    """
    made = walk(animal, frames)
    found = [
        100.0 * top_at(-made.angle(joint)) / made.angle(joint).size
        for joint in ("fore_cannon", "fore_pastern", "radius")
    ]
    assert np.diff(found).min() > 1.0
    if frames in USUAL:
        assert found == pytest.approx([76.0, 81.0, 84.0], abs=4.0)


SEEN_DEG = 0.5  # a dip between two peaks, of what is measured with markers (estimate)


@pytest.mark.sample(2)
@pytest.mark.parametrize(
    ("animal", "frames"),
    [pytest.param(a, n, marks=not_met("sinks_twice", a, n)) for a in HORSES for n in USUAL],
)
def test_a_fore_fetlock_sinks_twice_in_a_stance(animal, frames):
    """Clayton, Sha, Stick & Elvin 2007, VCOT 20:86, from a summary: two extension peaks at a walk."""
    made = walk(animal, frames)
    stance = made.angle("fore_pastern")[: made.down("RF") + 1]
    assert len(peaks(stance, SEEN_DEG)) == 2


def peaks(curve, least):
    """Rows of the highs of a curve with a dip of so much to either side before what is higher."""
    return [
        k
        for k in range(1, curve.size - 1)
        if curve[k - 1] <= curve[k] > curve[k + 1] and min(dip(curve[k::-1]), dip(curve[k:])) >= least
    ]


def dip(curve):
    """How far a curve falls from where it begins until it is higher than there, or ends."""
    higher = np.flatnonzero(curve > curve[0])
    return curve[0] - curve[: higher[0] if higher.size else None].min()


@pytest.mark.sample(4)
@EACH
@pytest.mark.parametrize(("joint", "most_deg"), [("radius", 4.0), ("humerus", 5.0)])
def test_a_foreleg_that_has_folded_opens_once(animal, frames, joint, most_deg):
    """Elbow and shoulder open from their deepest fold to landing and hardly turn back (common practice)."""
    made = walk(animal, frames)
    swing = made.angle(joint)[made.down("RF") :]
    opens = swing[swing.argmin() :]
    assert (np.maximum.accumulate(opens) - opens).max() < most_deg


@pytest.mark.sample(4)
@USUALLY
def test_a_hind_leg_that_lands_gives_softly(animal, frames):
    """No tenth of a stance closes the stifle by ten degrees, as of a peg (common practice, no source)."""
    made = walk(animal, frames)
    stifle, tenth = made.angle("tibia"), round(0.1 * made.down("RH"))
    early = stifle[: round(0.4 * made.down("RH"))]
    assert (early[:-tenth] - early[tenth:]).max() < 10.0


def opens_twice_deg(stance):
    """By how much a joint closes after the first two fifths of a stance, and opens again before its end."""
    late = stance[round(0.4 * (stance.size - 1)) :]
    before, after = np.maximum.accumulate(late), np.maximum.accumulate(late[::-1])[::-1]
    return np.minimum(before - late, after - late).max()


@pytest.mark.sample(4)
@pytest.mark.parametrize("frames", range(16, 65))
@pytest.mark.parametrize("animal", HORSES)
def test_a_hind_leg_that_stands_opens_once(animal, frames):
    """In the written frames, whose contacts are whole ones, as between them.

    Stifle and hock do not close while the hips sink over the other leg and open again as the toe leaves, by
    more than is seen, 3 degrees (common practice; from mid-stance they hold, and from heel-off they close:
    derived).
    """
    clip = make_cycle(Request(gait="walk", animal=animal, frames=frames))
    angles = np.degrees(included_angles_rad(clip.animal, clip.rotations))[:-1]
    for limb, side in (("LH", "L"), ("RH", "R")):
        row = list(clip.steps.limb).index(LIMBS.index(limb))
        at = (clip.steps.touchdown_s[row], clip.steps.liftoff_s[row])
        lands, leaves = (round(float(each) * clip.frame_rate_hz) for each in at)
        for joint in ("tibia", "hind_cannon"):
            landed = np.roll(angles[:, clip.animal.joint(f"{joint}_{side}")], -lands)
            assert opens_twice_deg(landed[: leaves - lands + 1]) < 3.0


@pytest.mark.sample(4)
@EACH
def test_a_hind_leg_that_stands_opens_once_between_frames_too(animal, frames):
    made = walk(animal, frames)
    for joint in ("tibia", "hind_cannon"):
        assert opens_twice_deg(made.angle(joint)[: made.down("RH") + 1]) < 3.0


@pytest.mark.sample(4)
@EACH
def test_a_hind_pastern_lands_upright_and_sinks(animal, frames):
    """Flattest at 10 to 30 % of stance (derived): the fetlock takes up what the stifle need not give."""
    made = walk(animal, frames)
    slope = made.slope("hind_pastern")[: made.heel_off("RH")]
    assert slope[0] > 43.0
    assert slope[0] - slope.min() > 12.0
    assert 0.1 <= np.argmin(slope) / made.down("RH") <= 0.3


@pytest.mark.sample(4)
@EACH
def test_the_trunk_sinks_by_less_than_a_fiftieth_so_that_legs_reach(animal, frames):
    facts = make_cycle(Request(gait="walk", animal=animal, frames=frames)).facts
    assert (
        max(facts.chest_drop_m, facts.hips_drop_m) < 0.02 * walk(animal, frames).clip.animal.withers_height_m
    )


@pytest.mark.sample(2)
@pytest.mark.parametrize("frames", [16, 24, 32, 45, 54, 64])
@pytest.mark.parametrize("animal", HORSES)
def test_hips_are_lowest_no_sooner_in_double_support_the_longer_it_is(animal, frames):
    """Of itself, and where it is published, 10 +- 6 % of a hind stance (Animals 2022 12:3053)."""
    clip = make_cycle(Request(gait="walk", animal=animal, frames=frames))
    lowest = own_settle_strides(clip.animal, clip.steps)
    down = (clip.steps.liftoff_s - clip.steps.touchdown_s)[clip.steps.limb >= LIMBS.index("LH")]
    stance = float(down.mean()) * clip.frame_rate_hz / frames
    assert lowest >= clip.animal.tempo.settle_share * (stance - 0.5) - 1e-9
    assert 100.0 * lowest / stance == pytest.approx(10.0, abs=6.0)
    asked = make_cycle(Request(gait="walk", animal=animal, frames=frames, settle_strides=lowest))
    assert asked.rotations == pytest.approx(clip.rotations, abs=1e-4)
