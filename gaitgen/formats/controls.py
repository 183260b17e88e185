"""Writes control curves as tables, dense and as keys: comma-separated values after RFC 4180, but with LF."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh import POSITION_WORDS
from gaitgen.formats.channels import with_frames
from gaitgen.formats.decimals import table_text
from gaitgen.formats.keys import tolerances
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.controls import Controls
from gaitgen.motion.keys import Keys, choose_keys
from gaitgen.motion.motion import Motion
from gaitgen.motion.tolerance import Tolerance
from gaitgen.numerics.rotations import channel_angles

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

FOOT_WORDS = (*(f"toe.{word}" for word in POSITION_WORDS), "heading", "pitch", "toe_roll", "planted")


def control_table(controls: Controls, space: FileSpace) -> tuple[tuple[str, ...], Array]:
    """Lay the curves out as one column a channel.

    Parameters
    ----------
    controls
        The curves.
    space
        Unit, axes and rotation order.

    Returns
    -------
    names
        ``LF.toe.Xposition``, ..., ``LF.planted``, ..., ``pelvis.Xposition``, ..., ``breath``.
    values
        (frames, channels) positions in the file's unit, angles in degrees, planted 0 or 1, breath 0 to 1.
    """
    frames = controls.toe_m.shape[0]
    rotation_words = tuple(f"{letter}rotation" for letter in space.rotation_order)
    names = [f"{limb}.{word}" for limb in LIMBS for word in FOOT_WORDS]
    names += [f"{part}.{word}" for part in controls.parts for word in (*POSITION_WORDS, *rotation_words)]
    angles_rad = np.stack([controls.heading_rad, controls.pitch_rad, controls.toe_roll_rad], axis=2)
    toe = space.positions_to_file(controls.toe_m)
    feet = np.concatenate([toe, np.degrees(angles_rad), controls.planted[..., None]], axis=2)
    turns = channel_angles(space.rotations_to_file(controls.part_rotations), space.rotation_order)
    parts = np.concatenate([space.positions_to_file(controls.part_m), np.degrees(turns)], axis=2)
    columns = [feet.reshape(frames, -1), parts.reshape(frames, -1), controls.breath[:, None]]
    return (*names, "breath"), np.concatenate(columns, axis=1)


def _straight(controls: Controls, space: FileSpace, channels: int) -> tuple[Bools, Array]:
    """Where each channel runs exactly straight, (frames, channels), and at which slope, (channels,)."""
    frames = controls.toe_m.shape[0]
    belt = space.positions_to_file(np.array([*-controls.belt_m_frame, 0.0]))
    flat = controls.planted & (controls.pitch_rad == 0.0)
    down = controls.planted
    feet = np.stack([down, down, down, down, flat, flat, np.ones_like(down)], axis=2)
    is_straight = np.zeros((frames, channels), dtype=np.bool_)
    is_straight[:, : feet[0].size] = feet.reshape(frames, -1)
    slope = np.zeros(channels)
    slope[: feet[0].size] = np.tile([*belt, 0.0, 0.0, 0.0, 0.0], len(LIMBS))
    return is_straight, slope


def control_keys(
    clip: Motion,
    controls: Controls,
    space: FileSpace,
    tolerance: Tolerance | None = None,
    scale: float = 1.0,
    *,
    is_sparse: bool = False,
) -> Keys:
    """Choose the keys of the control curves; a planted foot's keys lie exactly on the belt's line.

    Parameters
    ----------
    clip
        The motion that the curves belong to.
    controls
        The curves.
    space
        Unit, axes and rotation order.
    tolerance
        How far the splines may be from the motion; half a degree and 3 mm, or less of a small animal, if not
        given.
    scale
        Size of the rig against the animal; the tolerance of lengths goes with it.
    is_sparse
        As few keys as the tolerance allows, not one on every named pose.

    Raises
    ------
    FileFormatError
        If a number is not finite.
    """
    names, table = control_table(controls, space)
    is_straight, slope = _straight(controls, space, len(names))
    limits = tolerances(names, space, tolerance or Tolerance(), clip.animal.hip_height_m, scale)
    return choose_keys(
        clip,
        names,
        table,
        limits,
        is_straight=is_straight,
        straight_slope=slope,
        is_sparse=is_sparse,
    )


def encode(controls: Controls, space: FileSpace, frame_rate_hz: float) -> bytes:
    """Write one row a frame: ``frame,time_s,LF.toe.Xposition,...``.

    Parameters
    ----------
    controls
        The curves.
    space
        Unit, axes and rotation order.
    frame_rate_hz
        Frames per second. [Hz]

    Returns
    -------
    bytes
        The whole file; the same curves always give the same bytes.

    Raises
    ------
    FileFormatError
        If a number is not finite.
    """
    names, values = control_table(controls, space)
    return with_frames(names, table_text(values, names), frame_rate_hz)
