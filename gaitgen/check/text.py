"""What was seen and found, for people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from gaitgen.check.facts import support_sequence
from gaitgen.check.finding import Finding
from gaitgen.check.finding_words import finding_lines, grouped
from gaitgen.check.findings.held import WORDS, held_every
from gaitgen.check.frame_rate import frame_rate_doubt
from gaitgen.check.gait import Gait
from gaitgen.check.seen import Seen
from gaitgen.check.shot.words import shot_lines
from gaitgen.course.named_gait import NO_NAME
from gaitgen.formats.units import unit_m
from gaitgen.gait.gait import LIMBS

Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

MAP_WIDTH = 96  # frames in a line of the map
MOST_BLOCKS = 3  # lines one under the other, of a clip that is shown whole
# So much, in hip heights, head and hips may rise farther over one foot than over its mate unsaid: five
# times what sound horses do at a trot, 6 and 3 mm (texts, from memory).
UNEVEN_RISE = {"head": 0.024, "hips": 0.012}
MOST_SHOWN = 20


def _ground_words(seen: Seen) -> str:
    """Say where the ground is taken to be, and how the soles stand to it."""
    metres = unit_m(seen.motion.map.unit)
    if seen.plane_from == "under the feet":
        return "the ground goes up or down; it is taken to be where the feet stand."
    if seen.plane_from == "under each foot":
        return (
            "the ground is uneven, as steps and rocks are: each foot is taken to stand on it wherever it "
            "stands. With --shot FILE, soles are held against the ground of a shot file."
        )
    height = f"{seen.plane_m / metres:g} {seen.motion.map.unit}"
    taken = {
        "given": f"the ground is at {height}, as given",
        "zero": "the ground is taken to be at 0 of the file",
        "of the shot": "the ground is that of the shot file",
        "where the rig stands": f"the ground is taken to be where the rig stands, at {height}",
    }[seen.plane_from]
    off = 1000.0 * (seen.feet.ground_m - seen.plane_m)
    if not seen.feet.stances:
        return f"{taken}; no sole stands on it. If wrong, give --ground HEIGHT."
    word = "on it" if abs(off) < 0.5 else f"{abs(off):.0f} mm {'above' if off > 0.0 else 'under'} it"
    if seen.plane_from == "of the shot":
        return f"{taken}; the planted soles are {word}."
    return f"{taken}; the planted soles are {word}. If wrong, give --ground HEIGHT."


def as_text(seen: Seen, findings: Sequence[Finding]) -> str:
    """Write everything for people: the gait, a map of the frames, the findings, causes first."""
    lines = [heading(seen), "", *gait_lines(seen), "", *_frame_map(seen, findings), ""]
    if not findings:
        lines.append("  nothing found")
    else:
        groups = grouped(findings)
        count = len(groups)
        lines.append(f"  {count} finding{'s' if count > 1 else ''}, in the order of mending")
        for number, group in enumerate(groups[:MOST_SHOWN], start=1):
            lines += finding_lines(number, group)
        if len(groups) > MOST_SHOWN:
            lines.append(f"  ... and {len(groups) - MOST_SHOWN} more; --json has them all")
    lines += [f"  note: {notice.text}" for notice in seen.motion.notices]
    lines.append(f"  note: {_ground_words(seen)}")
    if seen.meant.words:
        lines.append(f"  note: meant, and no fault: {', '.join(sorted(seen.meant.words))}.")
    if seen.meant.style:
        shown = sorted({f"{each.kind} ({each.limb})" for each in seen.meant.shown})
        what = f": {', '.join(shown)}" if shown else ""
        lines.append(f"  note: what a cycle in the style {seen.meant.style} shows too is no fault{what}.")
    turn = held_every(seen.motion.file.rows)
    doubt = frame_rate_doubt(seen, findings) if turn == 1 else ""
    if doubt:
        lines.append(f"  note: {doubt}")
    if turn > 1:
        lines.append(f"  note: the clip is {WORDS[turn]}: each pose is held, so nothing else is judged.")
    elif seen.noise.angle_deg > 0.0:
        lines.append(
            f"  note: the channels are noisy by about {seen.noise.angle_deg:.2f} degrees; limits are wider "
            "by five times what comes of it."
        )
    return "\n".join(lines) + "\n"


def heading(seen: Seen) -> str:
    """Say in one line what the clip is."""
    motion, feet = seen.motion, seen.feet
    place = "in place" if feet.in_place else "travelling"
    speed = float(np.linalg.norm(feet.body_m_s)) * (-1.0 if seen.is_backward else 1.0)
    loop = "a loop" if seen.loop.closes else "no loop" if seen.shot is None else "a shot"
    return (
        f"{motion.name}: frames 1 to {motion.frames} at {motion.frame_rate_hz:g} fps, {place}, {loop}; "
        f"hips {motion.hip_height_m:.2f} m high, {speed:.2f} m/s"
    )


def gait_lines(seen: Seen) -> list[str]:
    """Say in a few lines what its feet and body do."""
    gait = seen.gait
    if seen.shot is not None:
        return shot_lines(seen.shot)
    if gait is None:
        return [f"  gait          none: {seen.no_gait}"]
    summary = gait.summary
    duty = ", ".join(f"{n} {v:.2f}" for n, v in zip(LIMBS, summary.duty_factor, strict=True))
    support = "; ".join(f"{key} {100 * share:.0f} %" for key, share in support_sequence(seen))
    kinds = "; ".join(f"{key} {100 * share:.0f} %" for key, share in gait.support_kinds.items())
    is_named = gait.symmetrical or summary.lead is not None or summary.name == NO_NAME
    name = summary.name if is_named else f"left and right differ; nearest {summary.name}"
    lines = [
        f"  gait          {name}",
        f"  stride        {gait.period:g} frames, feet land {', '.join(gait.order)}",
        f"  duty factors  {duty}",
        f"  lag           fore {summary.lag[0]:.2f} (left), {summary.lag[1]:.2f} (right) after hind",
        f"  support       {support}",
        f"                {kinds}",
        f"  asymmetry     {100 * summary.asymmetry:.0f} % of the stride{_higher_over(seen, gait)}",
    ]
    for name, wave in seen.waves.items():
        lows, highs = (", ".join(map(str, rows[:4])) or "-" for rows in (wave.lows, wave.highs))
        rise = 1000.0 * float(np.ptp(wave.smooth))
        lines.append(f"  {name:<13} low at {lows}, high at {highs}, rise {rise:.0f} mm")
    return lines


def _higher_over(seen: Seen, gait: Gait) -> str:
    """Say over which foot head or hips go up farther than over its mate, as over a lame leg, if they do."""
    said = ""
    for name, feet in (("head", (0, 1)), ("hips", (2, 3))) if gait.symmetrical else ():
        once = seen.waves[name].first if name in seen.waves else 0.0
        rise_m = 2.0 * abs(once)
        if rise_m < UNEVEN_RISE[name] * seen.motion.hip_height_m:
            continue
        high = (-np.angle(once) / (2.0 * np.pi)) % 1.0
        middle = [gait.contact[foot] / gait.period + gait.summary.duty_factor[foot] / 2.0 for foot in feet]
        apart = [abs((high - share + 0.5) % 1.0 - 0.5) for share in middle]
        said += f"; {name} {1000.0 * rise_m:.0f} mm higher over {LIMBS[feet[int(np.argmin(apart))]]}"
    return said


def _frame_map(seen: Seen, findings: Sequence[Finding]) -> list[str]:
    """One line a foot: = planted, . in the air, ! a finding of this foot; one line for the rest.

    A clip that is wider than a line goes on below; of a long one a part is shown, which is said.
    """
    frames = seen.motion.frames
    marked = {name: np.zeros(frames, dtype=bool) for name in (*LIMBS, "other")}
    for finding in findings:
        row = finding.limb if finding.limb in LIMBS else "other"
        if finding.first_frame <= finding.last_frame:
            marked[row][finding.first_frame - 1 : finding.last_frame] = True
        else:
            marked[row][finding.first_frame - 1 :] = True
            marked[row][: finding.last_frame] = True
    is_whole = frames <= MOST_BLOCKS * MAP_WIDTH
    starts = range(0, frames, MAP_WIDTH) if is_whole else [_map_start(frames, findings)]
    lines = []
    for first in starts:
        rows = np.arange(first, min(frames, first + MAP_WIDTH))
        lines += [*_map_block(rows, seen.feet.planted, marked), ""]
    lines[-1] = f"  {'':<7}= planted  . in the air  ! finding"
    if not is_whole:
        first = starts[0]
        lines[-1] += (
            f"  (frames {first + 1} to {first + MAP_WIDTH} of {frames}; --json has the stances of all)"
        )
    return lines


def _map_block(rows: Ints, planted: Bools, marked: Mapping[str, Bools]) -> list[str]:
    """Draw some frames (rows) of a map: a ruler, and a line for each foot (frames, 4) and for the rest."""
    ruler = "".join(f"{row + 1:<8}" for row in rows[::8])
    lines = [f"  {'frame':<7}{ruler.rstrip()}"]
    for name, found in marked.items():
        if name == "other" and not found[rows].any():
            continue
        down = planted[rows, LIMBS.index(name)] if name in LIMBS else np.zeros(len(rows), dtype=bool)
        signs = np.where(found[rows], "!", np.where(down, "=", "."))
        lines.append(f"  {name:<7}{''.join(signs)}")
    return lines


def _map_start(frames: int, findings: Sequence[Finding]) -> int:
    """First row of the map: the start, or some frames before the worst finding that has a place."""
    placed = [f for f in findings if f.last_frame - f.first_frame < MAP_WIDTH // 2]
    if frames <= MAP_WIDTH or not placed:
        return 0
    return max(0, min(frames - MAP_WIDTH, placed[0].first_frame - 1 - MAP_WIDTH // 3) // 8 * 8)
