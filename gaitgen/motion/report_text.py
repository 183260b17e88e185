"""The report of a clip, laid out for people."""

from __future__ import annotations

from itertools import zip_longest

from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.motion.report import Report

OF_GOING = ("stride", "speed", "duty factor")  # nothing to say of an animal that stands


def as_text(found: Report) -> str:
    """Write the report for people."""
    plan = _plan(found)
    lines = [
        *_heading(found),
        "",
        *plan,
        *([""] if plan else []),
        *_measures(found),
        *_keys(found),
        *_ends(found),
    ]
    return "\n".join(lines) + "\n"


def _mass_words(mass_kg: float) -> str:
    """Write a mass with three digits, or whole kilograms."""
    return f"{mass_kg:.0f}" if mass_kg >= 100.0 else f"{mass_kg:.3g}"


def _heading(found: Report) -> list[str]:
    place = "in place" if found.in_place else "travelling"
    strides = "" if found.strides == 1 else f", {found.strides} strides"
    line = (
        f"{found.title}, {found.withers_height_m:.3g} m at the withers, "
        f"{_mass_words(found.body_mass_kg)} kg: {place}, "
        f"frames 1 to {found.last_frame} at {found.frame_rate_hz:g} fps{strides}"
    )
    return [line]


def _plan(found: Report) -> list[str]:
    """Lay out feet on the left and the two ends of the body on the right; nothing of one that stands."""
    if not found.feet:
        return []
    left = [f"{'foot':<6}{'contact':>8}{'lift-off':>10}{'frames down':>13}"]
    left += [
        f"{foot.foot:<6}{foot.contact_frame:>8g}{foot.liftoff_frame:>10g}{foot.frames_down:>13g}"
        for foot in found.feet
    ]
    ends = (("hips", found.hips), ("chest", found.chest))
    lows, highs = (
        [", ".join(map(str, frames)) for frames in turns]
        for turns in zip(*((heave.low_frames, heave.high_frames) for _, heave in ends), strict=True)
    )
    low, high = (max(12, *(len(text) + 2 for text in column)) for column in (lows, highs))
    right = [f"{'body':<7}{'low at':<{low}}{'high at':<{high}}{'rise':>6}"]
    right += [
        f"{end:<7}{below:<{low}}{above:<{high}}{1000.0 * heave.range_m:>3.0f} mm"
        for (end, heave), below, above in zip(ends, lows, highs, strict=True)
    ]
    rows = zip_longest(left, right, fillvalue="")
    return [f"  {feet_row:<42}{body_row}".rstrip() for feet_row, body_row in rows]


def _unevenness(asymmetry: float) -> str:
    """Say how far left and right differ, where they do."""
    return f"; left and right differ by {asymmetry:.2f} of a stride" if asymmetry > 0.005 else ""


def _carried(found: Report) -> dict[str, str]:
    """Say how high the trunk is carried against standing."""
    hips, chest = round(found.hips_drop_m * 1000), round(found.chest_drop_m * 1000)
    if max(hips, chest) < 0:
        return {"trunk raised": f"{-hips} mm at the hips, {-chest} mm at the chest, as the legs reach"}
    if min(hips, chest) >= 0:
        return {"trunk lowered": f"{hips} mm at the hips, {chest} mm at the chest, so that the legs reach"}
    ends = (("hips", hips), ("chest", chest))
    words = (f"{abs(drop)} mm {'lower' if drop > 0 else 'higher'} at the {end}" for end, drop in ends)
    return {"trunk carried": f"{', '.join(words)}, so that the legs reach"}


def _measures(found: Report) -> list[str]:
    tight = found.tightest_joint
    rows = {
        "gait": found.gait + _unevenness(found.asymmetry),
        "stride": f"{found.stride_length_m:.2f} m in {found.period_s:.2f} s",
        "speed": f"{found.speed_m_s:.2f} m/s, Froude number {found.froude_number:.2f}",
        "duty factor": f"{found.duty_factor:.3f}, fore foot {found.lag:.3f} of a stride after the hind",
        **_carried(found),
        "peak force": f"{found.peak_fore_n_kg / GRAVITY_M_S2:.2f} body weights on a fore foot, "
        f"{found.peak_hind_n_kg / GRAVITY_M_S2:.2f} on a hind foot",
        "largest slip": f"{found.largest_slip_m * 1000:.3f} mm",
        "tightest": f"{tight.joint}, {tight.axis}: {tight.margin_deg:.1f} degrees to spare",
    }
    if not found.feet:
        rows = {label: text for label, text in rows.items() if label not in OF_GOING}
    return [f"  {label:<14}{text}" for label, text in rows.items()]


def _keys(found: Report) -> list[str]:
    keys = found.keys
    if keys is None:
        return []
    busiest = f"at most {keys.most_per_channel} in one ({keys.busiest_channel})"
    off = f"at most {keys.worst_deviation_deg:.2f} degrees and {keys.worst_deviation_m * 1000:.1f} mm"
    drift = f"planted toes drift by at most {keys.planted_drift_m * 1000:.1f} mm, also between frames"
    return [
        f"  keys          {keys.keys} in {keys.channels} channels, {busiest}",
        f"  splines       deviate by {off}; {drift}",
    ]


def _ends(found: Report) -> list[str]:
    lines = []
    if found.notices:
        lines += ["", *(f"  note: {notice.text}" for notice in found.notices)]
    if found.files:
        lines += ["", *(f"  wrote {name}" for name in found.files)]
    return lines
