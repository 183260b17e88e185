"""How an animal moves: its back, its tempo, and what of it is another way in one gait."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from gaitgen.animal.hanging_part import HangingPart
from gaitgen.animal.limb import Limb

if TYPE_CHECKING:
    from gaitgen.animal.animal import Animal


@dataclass(frozen=True)
class Back:
    """How the trunk moves. Ranges over a walking stride are peak to peak.

    Attributes
    ----------
    flexion_rad
        Flexion and extension of the pelvis against the chest, two cycles a stride. [rad]
    bending_rad
        Lateral bending of the pelvis against the chest, one cycle. [rad]
    pelvis_axial_rad, chest_axial_rad
        Roll of pelvis and chest, one cycle. [rad]
    force_point_m
        Height of the fixed point that the force of a foot points to, over the ground. [m]
    gather_rad
        Flexion and extension of the pelvis against the chest, once a stride, where both hind feet go to and
        fro together. [rad]
    gather_wave
        By how much of a stride the joint next to the chest bends in that before the one at the pelvis.
    over_feet
        How far chest and hips of the running animal sway over the feet that bear them, of the way; with
        0 the body hardly sways and rolls.
    walks_over_feet
        The same of the walking animal, of what a body on stilts sways over its feet; with 0 the whole body
        alone sways.
    walk_flexion_share
        Share of the flexion that the back of the walking animal makes itself; the see-saw of chest and hips
        makes the rest.
    forces_early
        How much more the feet of the running animal push in the first half of a stance than in the second:
        the height of one wave of a sine over the stance that lies over the hump, of that of the hump.
    walk_drive
        How far ahead of the middle of their stances the forces of walking hind feet point, in hip heights:
        hind feet drive, and fore feet brake as much.
    run_drive
        The same of the running animal; as measured at a trot of horses if its file does not say (Merkens et
        al. 1993, EVJ 25:134, abstract).
    """

    flexion_rad: float
    bending_rad: float
    pelvis_axial_rad: float
    chest_axial_rad: float
    force_point_m: float
    gather_rad: float = 0.0
    over_feet: float = 0.0
    walks_over_feet: float = 0.0
    walk_flexion_share: float = 0.05
    forces_early: float = 0.0
    walk_drive: float = 0.0
    run_drive: float = 0.042
    gather_wave: float = 0.0


@dataclass(frozen=True)
class Tempo:
    """What hardly changes with speed in one animal.

    Attributes
    ----------
    swing_time_s
        Time a foot is off the ground. [s]
    stance_distance_m
        How far the body travels over a foot on the ground. [m]
    settle_strides
        Share of a stride after contact at which an end of the body is lowest at a walk.
    settle_share
        Of the time that an end stands on both its feet, after which it is lowest at the earliest.
    slow_stride_s, slow_power
        Strides longer than this are slower than a free walk; in them a foot is off the ground longer, as
        the stride over this to this power. [s]
    slow_reach_power
        In such strides a foot covers less ground, as this over the stride to this power.
    slow_room_power
        In such strides a leg keeps less of its room as it lands, as this over the stride to this power: a
        body that covers less ground over a foot rises and falls less, as the square of it.
    kept_strides
        In strides up to so many times as long as slow ones a gait with a lead keeps its speed where somebody
        asks for so many frames (estimate: without it a body creeps in a stride a quarter longer, and does not
        reach; in one half longer, legs of small animals cannot do it).
    fast_stride_s, fast_reach_power
        In strides shorter than this a foot covers more ground, as this over the stride to this power. [s]
    """

    swing_time_s: float
    stance_distance_m: float
    settle_strides: float
    settle_share: float = 0.0
    slow_stride_s: float = float("inf")
    slow_power: float = 0.0
    slow_reach_power: float = 0.0
    slow_room_power: float = 0.0
    kept_strides: float = 1.25
    fast_stride_s: float = 0.0
    fast_reach_power: float = 0.0

    def swing_s(self, stride_s: float) -> float:
        """Return how long a foot is off the ground in a stride of this length. [s]

        Constant from a free walk up to a trot (Back et al. 1996); longer in slower strides (estimate).
        """
        return self.swing_time_s * math.pow(max(1.0, stride_s / self.slow_stride_s), self.slow_power)

    def stance_m(self, stride_s: float) -> float:
        """Return how far the body travels over a foot in a stride of this length. [m]

        Constant from a free walk up to a trot (Back et al. 1996); shorter in slower strides (estimate),
        longer in those of a fast gallop (racehorses: Witte, Hirst & Wilson 2006, J Exp Biol 209:4389).
        """
        slow = math.pow(min(1.0, self.slow_stride_s / stride_s), self.slow_reach_power)
        fast = math.pow(max(1.0, self.fast_stride_s / stride_s), self.fast_reach_power)
        return self.stance_distance_m * slow * fast

    def room_share(self, stride_s: float) -> float:
        """Return how much of its room a leg keeps as it lands, in a stride of this length (estimate). [s]"""
        return math.pow(min(1.0, self.slow_stride_s / stride_s), self.slow_room_power)

    def scaled(self, factor: float) -> Tempo:
        """Return the tempo of an animal of another size: that of pendulums."""
        return replace(
            self,
            swing_time_s=self.swing_time_s * math.sqrt(factor),
            stance_distance_m=self.stance_distance_m * factor,
            slow_stride_s=self.slow_stride_s * math.sqrt(factor),
            fast_stride_s=self.fast_stride_s * math.sqrt(factor),
        )


@dataclass(frozen=True, eq=False)
class Going:
    """What of an animal is another way in one gait: as the attributes of the same names of Animal."""

    back: Back
    tempo: Tempo
    limbs: tuple[Limb, ...]
    hanging: tuple[HangingPart, ...]

    @classmethod
    def of(cls, animal: Animal) -> Going:
        """Take it from an animal."""
        return cls(animal.back, animal.tempo, animal.limbs, animal.hanging)

    def on_longer_legs(self, factor: float) -> Going:
        """Return that of an animal of the same trunk on longer legs: their strides, and how they lift."""
        limbs = tuple(replace(limb, path=limb.path.scaled(factor)) for limb in self.limbs)
        return replace(self, tempo=self.tempo.scaled(factor), limbs=limbs)

    def scaled(self, factor: float) -> Going:
        """Return that of an animal of another size."""
        return Going(
            back=replace(self.back, force_point_m=self.back.force_point_m * factor),
            tempo=self.tempo.scaled(factor),
            limbs=tuple(limb.scaled(factor) for limb in self.limbs),
            hanging=tuple(part.scaled(factor) for part in self.hanging),
        )
