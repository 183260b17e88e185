"""What hangs on the body as data: neck, head, ears, jaw, trunk, tail, mane."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np


@dataclass(frozen=True)
class HangingPart:
    """A row of joints that follows its base as a damped oscillator.

    Attributes
    ----------
    name
        ``neck``, ``tail``, ...
    joints
        From the base outward.
    gains
        For each joint: share of the part's swing, in space, that it has reached.
    kind
        Which style factor scales it: ``nod`` or ``overlap``.
    frequency_hz, damping_ratio, drive
        Undamped natural frequency; share of critical damping; how strongly the motion of the base is felt
        (1 is a passive uniform rod). [Hz]
    surge_drive, side_drive
        The same for pushes forward and to the side; forward below zero is swung by muscles against them.
    side_hz, side_sprung
        Undamped natural frequency to the side, below which a part goes with its base, a little late; share
        of the base's turn to the side that it is sprung to, as by a stiff root. [Hz]
    out_drive
        The same for pushes to the left, felt as pushes forward: a pair that is turned outwards has one of
        above zero on the left and one of below on the right, so that left and right do not move as one.
    upright
        Share of the base's pitch that the part does not follow: 0 is sprung to the base, 1 to the vertical.
    steady, steady_hz
        Share of the base's roll and yaw that the part takes back, and how soon; 0 as its own frequency has
        it, at 1 Hz or more. [Hz]
    lag_hz
        Frequency with which each joint follows the one above; 0 means at once. [Hz]
    most_rad
        Greatest swing. [rad]
    idle_rad
        How far it swings aside when the animal stands and does something with it. [rad]
    spares
        Share of what a lame foreleg is spared that this part takes: it falls while that leg carries.
    rest_rad, breath_rad
        Pitch at rest from standing, and how far it opens with a breath. [rad]
    """

    name: str
    joints: tuple[int, ...]
    gains: tuple[float, ...]
    kind: str
    frequency_hz: float
    damping_ratio: float
    drive: float
    surge_drive: float
    side_drive: float
    upright: float
    steady: float
    lag_hz: float
    most_rad: float
    side_hz: float
    side_sprung: float
    steady_hz: float
    rest_rad: float
    breath_rad: float
    spares: float = 0.0
    idle_rad: float = 0.0
    out_drive: float = 0.0

    def scaled(self, factor: float) -> HangingPart:
        """Return the part of an animal of another size: frequencies fall like those of pendulums."""
        slower = float(np.sqrt(factor))
        return replace(
            self,
            frequency_hz=self.frequency_hz / slower,
            side_hz=self.side_hz / slower,
            steady_hz=self.steady_hz / slower,
            lag_hz=self.lag_hz / slower,
        )
