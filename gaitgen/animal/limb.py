"""One limb as data: its joints, its foot, and the law by which its joints move together."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Rim = tuple[float, float, float, float]

LIMBS = ("LF", "RF", "LH", "RH")
ENDS = ("fore", "hind")
HORN = ("hoof", "cloven hoof")  # feet of these are drawn darker than the skin
# Top of a foot as it is drawn, unless its file says otherwise: share of the height over the sole, of the toe,
# of the heel and of the half width (estimate).
RIM_SHARES = (1.42, 0.36, 0.80, 0.72)


@dataclass(frozen=True)
class Foot:
    """What touches the ground, seen from the side: a flat sole under the foot joint.

    Attributes
    ----------
    kind
        ``hoof``, ``paw``, ``column``, ... for reports and for drawing.
    height_m
        Foot joint above the sole, standing. [m]
    toe_m
        Ground point of the toe ahead of the foot joint; the sole rolls over it. [m]
    heel_m
        Ground point of the heel behind the foot joint, positive. [m]
    half_width_m
        Half the width of the sole. [m]
    own_rim_m
        The top of the foot as it is drawn: its height over the sole, and how far it goes ahead of the foot
        joint, behind it and to either side; None for a foot that tapers evenly. [m]
    toes_out_rad
        How far the toes point outward as the foot goes; below zero, inward. The leg goes straight. [rad]
    """

    kind: str
    height_m: float
    toe_m: float
    heel_m: float
    half_width_m: float
    own_rim_m: Rim | None = None
    toes_out_rad: float = 0.0

    @property
    def rim_m(self) -> Rim:
        """The top of the foot as it is drawn. [m]"""
        if self.own_rim_m is not None:
            return self.own_rim_m
        up, ahead, behind, aside = RIM_SHARES
        return up * self.height_m, ahead * self.toe_m, behind * self.heel_m, aside * self.half_width_m

    @property
    def is_horn(self) -> bool:
        """Whether it is of horn."""
        return self.kind in HORN

    def scaled(self, factor: float) -> Foot:
        """Return the same foot in another size."""
        rim = self.own_rim_m
        if rim is not None:
            rim = rim[0] * factor, rim[1] * factor, rim[2] * factor, rim[3] * factor
        return replace(
            self,
            height_m=self.height_m * factor,
            toe_m=self.toe_m * factor,
            heel_m=self.heel_m * factor,
            half_width_m=self.half_width_m * factor,
            own_rim_m=rim,
        )

    @property
    def tip_m(self) -> Array:
        """Ground point of the toe from the foot joint, standing, (3,). [m]"""
        return np.array([self.toe_m, 0.0, -self.height_m])


@dataclass(frozen=True)
class FootPath:
    """How the feet of one end roll over the toe and swing.

    Attributes
    ----------
    heel_off_share
        Share of stance at which the heel begins to rise.
    landing_room_m
        Room that the leg keeps under its longest when it lands, for the knees to give. [m]
    tip_rad
        Greatest tip of the sole to the rear that the roll itself aims at, reached at ``tip_share`` of
        swing. [rad]
    tip_share
        Share of swing.
    hang_rad
        How far the swinging foot hangs back from the bone above it, against standing. [rad]
    hang_from, hang_full, level_from, level_to
        Shares of swing: from the first to the second the foot goes over to hanging, from the third to the
        fourth it comes level for landing.
    toe_up_rad
        Toe raised just before landing. [rad]
    early_lift_m, early_share
        Height of the early peak of the toe and its share of swing. [m]
    late_lift_m, late_share
        The same for the later, lower peak.
    ease_in, ease_out
        Share of swing in which the foot speeds up, and in which it slows down.
    rest_tip_rad
        How far a standing animal tips the foot of a leg that it rests, on its toe; 0 if it does not. [rad]
    around_m
        How far out a swinging foot goes around the one of its pair that stands, or around a foreleg; below
        zero, in. [m]
    room_without_sling_m, heel_off_without_sling
        So much more room the leg keeps when it lands on a rig whose top of the limb does not ride [m], and
        the share of stance at which its heel rises there if that is earlier.
    folds_to, trails_to, reaches_at, folds_from, folded_at, opens_from, opens_to
        At a run: how short a swinging leg becomes, of its length as it stands, top to foot joint (0: the foot
        is led over the ground); from which share of swing to which it goes forward, folds, and opens.
    """

    heel_off_share: float
    landing_room_m: float
    tip_rad: float
    tip_share: float
    hang_rad: float
    hang_from: float
    hang_full: float
    level_from: float
    level_to: float
    toe_up_rad: float
    early_lift_m: float
    early_share: float
    late_lift_m: float
    late_share: float
    ease_in: float
    ease_out: float
    rest_tip_rad: float = 0.0
    room_without_sling_m: float = 0.0
    heel_off_without_sling: float = 1.0
    around_m: float = 0.0
    folds_to: float = 0.0
    trails_to: float = 0.0
    reaches_at: float = 0.9
    folds_from: float = 0.06
    folded_at: float = 0.42
    opens_from: float = 0.46
    opens_to: float = 0.95

    def scaled(self, factor: float) -> FootPath:
        """Return the path of an animal of another size."""
        return replace(
            self,
            landing_room_m=self.landing_room_m * factor,
            room_without_sling_m=self.room_without_sling_m * factor,
            around_m=self.around_m * factor,
            early_lift_m=self.early_lift_m * factor,
            late_lift_m=self.late_lift_m * factor,
        )


@dataclass(frozen=True)
class JointLaw:
    """How one joint of a limb moves: opening = standing + opens u + load - folds, u being the one unknown.

    Attributes
    ----------
    follows
        For joints above the one that points the limb: turn in space for that of the line from the top
        of the limb to the foot joint.
    opens
        Opening for one radian of the unknown.
    load_rad_kg_n
        Opening for each N/kg of load over standing; of a joint that follows, turn in space, its lower end
        forward. [rad kg/N]
    fold_rad, fold_share
        Closing in swing, and the share of swing at which it is greatest. [rad]
    fold_lead, fold_to
        Share of a swing's time by which the fold begins before lift-off, and share of swing at which it
        has gone; over 1, as much later than the landing: the joint lands bent, and gives.
    fold_until
        Share of swing until which it stays folded; nan: ``fold_share``.
    again_rad, again_share
        A second, smaller fold late in swing. [rad]
    straightest_rad
        Greatest opening that is used for reach; nan where the joint has no say in it. [rad]
    """

    follows: float = 0.0
    opens: float = 0.0
    load_rad_kg_n: float = 0.0
    fold_rad: float = 0.0
    fold_share: float = 0.4
    fold_lead: float = 0.0
    fold_to: float = 1.0
    fold_until: float = float("nan")
    again_rad: float = 0.0
    again_share: float = 0.75
    straightest_rad: float = float("nan")


@dataclass(frozen=True)
class Limb:
    """One limb, from the trunk to the foot.

    Attributes
    ----------
    name, end, side
        ``LF``, ``fore``, ``L``.
    girdle
        Joint of the trunk that carries it.
    sling
        Joint that lets the top of the limb ride up and down on the trunk, or None.
    joints
        From the top to the foot joint, which is the last.
    laws
        One for each joint but the foot.
    foot, path
        The foot, and how it rolls and swings.
    track_m
        Half the distance between left and right prints. [m]
    ride_m, glide_m
        How far the top of the limb comes down on the trunk when it bears no load, against standing, and how
        far it glides forward and back to reach. [m]
    rise_share
        Rise and fall of this end of the trunk against that of a rigid strut over the feet.
    lower_m
        How much lower than it stands this end of the trunk is carried. [m]
    low_sooner_strides
        By how much of a stride this end is lowest sooner after a contact than the body is to settle.
    high_later_strides
        By how much of a stride more than its low the high of this end is later than a rigid strut's.
    load_frequency_hz, load_damping
        How quickly the joints answer their load. [Hz]
    on_trunk
        How many joints, from the top, lie in the flesh of the trunk.
    cannon
        Place in ``joints`` of the bone whose length tells the type of the animal, or None.
    """

    name: str
    end: str
    side: str
    girdle: int
    sling: int | None
    joints: tuple[int, ...]
    laws: tuple[JointLaw, ...]
    foot: Foot
    path: FootPath
    track_m: float
    ride_m: float
    glide_m: float
    rise_share: float
    lower_m: float
    low_sooner_strides: float
    high_later_strides: float
    load_frequency_hz: float
    load_damping: float
    on_trunk: int
    cannon: int | None

    @property
    def foot_joint(self) -> int:
        """The joint of the foot."""
        return self.joints[-1]

    @property
    def top(self) -> int:
        """The joint at which the limb hangs in the trunk: scapula or femur."""
        return self.joints[0]

    @property
    def pointing(self) -> int:
        """Place in ``joints`` of the joint that points the rest of the limb at the foot."""
        return next(k for k, law in enumerate(self.laws) if law.follows == 0.0)

    @property
    def is_left(self) -> bool:
        """Whether it is on the left."""
        return self.side == "L"

    @property
    def toes_left_rad(self) -> float:
        """How far the toes point to the left of where the leg goes. [rad]"""
        return self.foot.toes_out_rad if self.is_left else -self.foot.toes_out_rad

    def scaled(self, factor: float) -> Limb:
        """Return the limb of an animal of another size; quickness falls like that of pendulums."""
        return replace(
            self,
            foot=self.foot.scaled(factor),
            path=self.path.scaled(factor),
            track_m=self.track_m * factor,
            ride_m=self.ride_m * factor,
            glide_m=self.glide_m * factor,
            lower_m=self.lower_m * factor,
            load_frequency_hz=self.load_frequency_hz / float(np.sqrt(factor)),
        )
