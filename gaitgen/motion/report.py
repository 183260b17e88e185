"""What a person or a program is told about a finished clip."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from itertools import zip_longest
from typing import cast

import numpy as np
import numpy.typing as npt

from gaitgen.course.contacts import summarise
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.extremes import extremes
from gaitgen.motion.measure import measure_feet, range_margins_rad, slip_m
from gaitgen.motion.motion import Motion

Array = npt.NDArray[np.float64]
Facts = dict[str, object]

AXES = ("pitch", "roll", "yaw")


def report(clip: Motion, files: Sequence[str] = (), keys: Mapping[str, object] | None = None) -> Facts:
    """Collect the plan and the measures of a clip as plain numbers, lists and words.

    Parameters
    ----------
    clip
        The motion.
    files
        Names of the files written from it.
    keys
        What is known about its keys, if there are any.
    """
    frames = int(clip.facts["frames"])
    joint, axis, margin_rad = _tightest(clip)
    feet = measure_feet(clip)
    summary = summarise(clip.footfalls)
    return {
        "animal": clip.skeleton.name,
        "title": clip.skeleton.title,
        "withers_height_m": clip.skeleton.withers_height_m,
        "body_mass_kg": clip.skeleton.body_mass_kg,
        "frames": frames,
        "strides": int(clip.facts["strides"]),
        "first_frame": 1,
        "last_frame": clip.frames,
        "frame_rate_hz": clip.frame_rate_hz,
        "in_place": clip.is_in_place,
        "gait": summary.name,
        "asymmetry": summary.asymmetry,
        "feet": _feet_plan(clip, frames),
        "hips": _lows_and_highs(clip.plan["hips_heave_m"][:frames]),
        "chest": _lows_and_highs(clip.plan["chest_heave_m"][:frames]),
        "key_poses": [{"frame": pose.frame, "name": pose.name} for pose in clip.key_poses],
        **{
            key: clip.facts[key]
            for key in (
                "period_s",
                "speed_m_s",
                "stride_length_m",
                "duty_factor",
                "lag",
                "froude_number",
                "hips_drop_m",
                "chest_drop_m",
            )
        },
        "peak_force_n_kg": {
            limb: float(clip.plan["force_n"][:, k].max() / clip.skeleton.body_mass_kg)
            for k, limb in enumerate(LIMBS)
        },
        "largest_slip_m": slip_m(clip, feet),
        "lowest_sole_m": float(feet.lowest_m.min()),
        "tightest_joint": {"joint": joint, "axis": axis, "margin_deg": float(np.degrees(margin_rad))},
        "notices": [{"topic": notice.topic, "text": notice.text} for notice in clip.notices],
        **({} if keys is None else {"keys": dict(keys)}),
        "files": list(files),
    }


def _feet_plan(clip: Motion, frames: int) -> list[dict[str, object]]:
    """Contact and lift-off of each foot in the first stride, in frames from 1, by order of contact."""
    footfalls = clip.footfalls
    rows = []
    for k, limb in enumerate(footfalls.limb):
        contact = float(footfalls.touchdown_s[k]) * clip.frame_rate_hz
        liftoff = float(footfalls.liftoff_s[k]) * clip.frame_rate_hz
        rows.append(
            {
                "foot": LIMBS[limb],
                "contact_frame": round(contact % frames + 1.0, 3),
                "liftoff_frame": round(liftoff % frames + 1.0, 3),
                "frames_down": round(liftoff - contact, 3),
            }
        )
    return rows


def _lows_and_highs(heave_m: Array) -> dict[str, object]:
    """Frames, from 1, at which a looping curve turns, and its range. [m]"""
    found = extremes(heave_m, is_closed=True)
    return {
        "low_frames": [extreme.row + 1 for extreme in found if not extreme.is_high],
        "high_frames": [extreme.row + 1 for extreme in found if extreme.is_high],
        "range_m": float(np.ptp(heave_m)),
    }


def _tightest(clip: Motion) -> tuple[str, str, float]:
    """Find the joint and axis with the least room for its range; joints that hardly turn are left out."""
    width = np.ptp(clip.skeleton.ranges_rad, axis=2)
    margins = range_margins_rad(clip)
    share = np.where(width > np.radians(3.0), margins / np.maximum(width, 1e-9), np.inf)
    row, axis = np.unravel_index(int(np.argmin(share)), share.shape)
    return clip.skeleton.joint_names[row], AXES[axis], float(margins[row, axis])


def as_json(facts: Mapping[str, object]) -> str:
    """Write the report for programs: JSON, keys with units, a final newline."""
    return json.dumps(facts, indent=2) + "\n"


def as_text(facts: Facts) -> str:
    """Write the report for people."""
    return (
        "\n".join([*_heading(facts), "", *_plan(facts), "", *_measures(facts), *_keys(facts), *_ends(facts)])
        + "\n"
    )


def _number(value: object, form: str = "g") -> str:
    return format(cast("float", value), form)


def _mass_words(mass_kg: float) -> str:
    """Write a mass with three digits, or whole kilograms."""
    return f"{mass_kg:.0f}" if mass_kg >= 100.0 else f"{mass_kg:.3g}"


def _heading(facts: Facts) -> list[str]:
    place = "in place" if facts["in_place"] else "travelling"
    strides = "" if facts["strides"] == 1 else f", {facts['strides']} strides"
    line = (
        f"{facts['title']}, {_number(facts['withers_height_m'])} m at the withers, "
        f"{_mass_words(cast('float', facts['body_mass_kg']))} kg: {place}, "
        f"frames 1 to {facts['last_frame']} at {_number(facts['frame_rate_hz'])} fps{strides}"
    )
    return [line]


def _plan(facts: Facts) -> list[str]:
    """Lay out feet on the left and the two ends of the body on the right."""
    feet = cast("list[dict[str, object]]", facts["feet"])
    left = [f"{'foot':<6}{'contact':>8}{'lift-off':>10}{'frames down':>13}"]
    left += [
        f"{foot['foot']:<6}{_number(foot['contact_frame']):>8}{_number(foot['liftoff_frame']):>10}"
        f"{_number(foot['frames_down']):>13}"
        for foot in feet
    ]
    right = [f"{'body':<7}{'low at':<12}{'high at':<12}{'rise':>6}"]
    for end in ("hips", "chest"):
        curve = cast("dict[str, list[int]]", facts[end])
        lows, highs = (", ".join(map(str, curve[key])) for key in ("low_frames", "high_frames"))
        rise_mm = 1000.0 * cast("dict[str, float]", facts[end])["range_m"]
        right.append(f"{end:<7}{lows:<12}{highs:<12}{rise_mm:>3.0f} mm")
    rows = zip_longest(left, right, fillvalue="")
    return [f"  {feet_row:<42}{body_row}".rstrip() for feet_row, body_row in rows]


def _unevenness(asymmetry: float) -> str:
    """Say how far left and right differ, where they do."""
    return f"; left and right differ by {asymmetry:.2f} of a stride" if asymmetry > 0.005 else ""


def _measures(facts: Facts) -> list[str]:
    value = cast("Mapping[str, float]", facts)
    tight = cast("Mapping[str, object]", facts["tightest_joint"])
    peaks = cast("Mapping[str, float]", facts["peak_force_n_kg"])
    rows = {
        "gait": str(facts["gait"]) + _unevenness(value["asymmetry"]),
        "stride": f"{value['stride_length_m']:.2f} m in {value['period_s']:.2f} s",
        "speed": f"{value['speed_m_s']:.2f} m/s, Froude number {value['froude_number']:.2f}",
        "duty factor": f"{value['duty_factor']:.3f}, fore foot {value['lag']:.3f} of a stride after the hind",
        "trunk lowered": f"{value['hips_drop_m'] * 1000:.0f} mm at the hips, "
        f"{value['chest_drop_m'] * 1000:.0f} mm at the chest, so that the legs reach",
        "peak force": f"{max(peaks['LF'], peaks['RF']):.1f} N/kg fore, "
        f"{max(peaks['LH'], peaks['RH']):.1f} N/kg hind",
        "largest slip": f"{value['largest_slip_m'] * 1000:.3f} mm",
        "tightest": f"{tight['joint']}, {tight['axis']}: {_number(tight['margin_deg'], '.1f')} degrees "
        "to spare",
    }
    return [f"  {label:<14}{text}" for label, text in rows.items()]


def _keys(facts: Facts) -> list[str]:
    if "keys" not in facts:
        return []
    keys = cast("Mapping[str, float]", facts["keys"])
    busiest = f"at most {keys['most_per_channel']} in one ({keys['busiest_channel']})"
    off = f"{keys['worst_deviation_deg']:.2f} degrees, {keys['worst_deviation_m'] * 1000:.1f} mm"
    drift = f"planted toes drift {keys['planted_drift_m'] * 1000:.1f} mm on them"
    return [
        f"  keys          {keys['keys']} in {keys['channels']} channels, {busiest}",
        f"  splines off   {off}; {drift}",
    ]


def _ends(facts: Facts) -> list[str]:
    lines = []
    notices = cast("Sequence[Mapping[str, str]]", facts["notices"])
    files = cast("Sequence[str]", facts["files"])
    if notices:
        lines += ["", *(f"  note: {notice['text']}" for notice in notices)]
    if files:
        lines += ["", *(f"  wrote {name}" for name in files)]
    return lines
