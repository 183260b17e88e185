"""What is known about a finished shot, for a person or a program."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.limb import LIMBS
from gaitgen.course.path import gone_ahead_m
from gaitgen.errors import Notice
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.motion.measure import slip_m
from gaitgen.motion.report import KeyFacts
from gaitgen.numerics.json_text import report_text
from gaitgen.shot.make import Made
from gaitgen.shot.marked import Reached, reached
from gaitgen.shot.section import STYLE
from gaitgen.shot.sinking import soles_over_m
from gaitgen.shot.standing import Doing, doings
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]

WORDS = {
    "start": "sets off",
    "halt": "comes to a halt",
    "haunches": "turns on the haunches",
    "forehand": "turns on the forehand",
    "jump": "jumps",
}

STANDS = "stands"
SAID_M = 0.1  # less than this beyond the end of a path is not worth a word


@dataclass(frozen=True)
class Part:
    """One part of a shot: what it is, its frames, from 1, its speed at its end, and how far it goes."""

    what: str
    first_frame: int
    last_frame: int
    speed_m_s: float
    distance_m: float
    turn_deg: float


@dataclass(frozen=True)
class Step:
    """One contact: foot, frame of contact and of lift-off, from 1, and the place of the toe. [m]"""

    foot: str
    contact_frame: float
    liftoff_frame: float
    place_m: tuple[float, float, float]


@dataclass(frozen=True)
class ShotReport:
    """The plan and the measures of a shot; programs get it with these names, in this order.

    Attributes
    ----------
    animal, title
        Name of the animal, its title.
    last_frame, frame_rate_hz
        Frames of the clip, from 1, and their rate. [Hz]
    distance_m, turn_deg, climb_m
        How far the body goes along its path, how far that turns to the left, and how far it climbs.
    beyond_path_m
        How far of that is straight ahead beyond the end of a path that was given.
    parts
        What happens when.
    first_foot
        The foot that moves first from a halt at the start; None where the shot starts in a gait.
    marks
        What came of each mark.
    steps
        Every contact inside the clip.
    hips_drop_m, chest_drop_m
        How far the trunk is lowered at the most, so that the legs reach. [m]
    peak_force_body_weights
        Greatest vertical force on a foot.
    largest_slip_m
        Farthest that a planted toe is from its print. [m]
    lowest_sole_m
        Lowest point of any sole over the ground; negative under it. [m]
    notices
        What was changed or is unusual.
    keys
        What is known about the keys; None where there are none.
    files
        Names of the files that were written.
    """

    animal: str
    title: str
    last_frame: int
    frame_rate_hz: float
    distance_m: float
    turn_deg: float
    climb_m: float
    beyond_path_m: float
    parts: tuple[Part, ...]
    first_foot: str | None
    marks: tuple[Reached, ...]
    steps: tuple[Step, ...]
    hips_drop_m: float
    chest_drop_m: float
    peak_force_body_weights: float
    largest_slip_m: float
    lowest_sole_m: float
    notices: tuple[Notice, ...]
    keys: KeyFacts | None = None
    files: tuple[str, ...] = ()


def shot_report(made: Made) -> ShotReport:
    """Collect the plan and the measures of a shot."""
    clip, animal = made.clip, made.clip.animal
    parts = shot_parts(made)
    place, heading = made.root_motion()
    return ShotReport(
        animal=animal.name,
        title=animal.title,
        last_frame=clip.frames,
        frame_rate_hz=clip.frame_rate_hz,
        distance_m=sum(part.distance_m for part in parts),
        turn_deg=float(np.degrees(heading[-1] - heading[0])),
        climb_m=float(place[-1, 2] - place[0, 2]),
        beyond_path_m=beyond_path_m(made),
        parts=parts,
        first_foot=_first_foot(made),
        marks=reached(made, made.marks),
        steps=_steps(made),
        hips_drop_m=clip.facts.hips_drop_m,
        chest_drop_m=clip.facts.chest_drop_m,
        peak_force_body_weights=float(clip.plan.force_n.max()) / (animal.body_mass_kg * GRAVITY_M_S2),
        largest_slip_m=slip_m(clip),
        lowest_sole_m=lowest_sole_m(made),
        notices=clip.notices,
    )


def shot_parts(made: Made) -> tuple[Part, ...]:
    """List what happens in a shot, in order; it stands from the last foot down until the first leaves."""
    gone_m = gone_ahead_m(*made.root_motion())
    return tuple(_part(made, doing, gone_m) for doing in doings(made.timeline))


def beyond_path_m(made: Made) -> float:
    """Return how far a shot goes straight ahead beyond the end of its path; 0 if none was given. [m]"""
    length_m = sum(length for length, _ in made.path.pieces if np.isfinite(length))
    gone = float(made.timeline.pace.distance_m(np.array(made.timeline.frames / made.clip.frame_rate_hz)))
    return max(gone - length_m, 0.0) if length_m > 0.0 else 0.0


def lowest_sole_m(made: Made) -> float:
    """Return how far the lowest corner of any sole is over the ground under it, standing or swinging. [m]"""
    return float(soles_over_m(made.clip, made.ground).min())


def _what(timeline: Timeline, number: int | None) -> str:
    """Say what is done in a piece, by its number; None for standing."""
    if number is None:
        return STANDS
    piece = timeline.pieces[number]
    names = [timeline.cycles[k].gait.title.lower() for k in piece.cycles]
    what = WORDS.get(piece.kind, names[0])
    if piece.kind == "change":
        what = f"{names[0]} to {names[1]}"
    elif piece.kind == STYLE:
        what = f"{names[0]}, its style changes"
    elif piece.kind == "start":
        what = f"sets off into a {names[1]}"
    return what


def _part(made: Made, doing: Doing, gone_m: Array) -> Part:
    timeline = made.timeline
    ends = np.array([doing.first, doing.after]) / timeline.frame_rate_hz
    first, last = timeline.pace.distance_m(ends)
    heading = made.path.unspun.at(np.array([first, last]))[1] + made.path.turned_rad(ends)
    speed = float(timeline.pace.distance_m(ends[1], 1))
    turn = float(np.degrees(heading[1] - heading[0]))
    return Part(
        _what(timeline, doing.piece),
        doing.first + 1,
        doing.after + 1,
        round(speed, 3) + 0.0,  # no minus zero
        round(float(gone_m[doing.after] - gone_m[doing.first]), 3) + 0.0,
        round(turn, 1) + 0.0,
    )


def _first_foot(made: Made) -> str | None:
    pieces = made.timeline.pieces
    if all(piece.kind != "start" for piece in pieces):
        return None
    start = next(piece for piece in pieces if piece.kind == "start")
    laid = made.timeline.stances
    later = laid.liftoff >= start.first
    return LIMBS[int(laid.limb[later][np.argmin(laid.liftoff[later])])]


def _steps(made: Made) -> tuple[Step, ...]:
    steps, frames = made.clip.steps, made.timeline.frames
    contact = steps.touchdown_s * made.clip.frame_rate_hz + 1.0
    liftoff = steps.liftoff_s * made.clip.frame_rate_hz + 1.0
    found = []
    for k in np.flatnonzero((contact >= 1.0 - 1e-6) & (contact <= frames + 1.0 + 1e-6)):
        x, y, z = (round(float(value), 4) + 0.0 for value in steps.place_m[k])
        up = round(min(float(liftoff[k]), frames + 1.0), 3)
        found.append(Step(LIMBS[steps.limb[k]], round(float(contact[k]), 3), up, (x, y, z)))
    return tuple(found)


def as_json(found: ShotReport, more: Mapping[str, object] | None = None) -> str:
    """Write the report for programs, and what else is to be told: JSON, keys with units, a final newline."""
    values = {name: value for name, value in asdict(found).items() if value is not None} | dict(more or {})
    return report_text(values) + "\n"


def as_text(found: ShotReport) -> str:
    """Write the report for people."""
    lines = [_heading(found), ""]
    lines += [
        f"  frames {part.first_frame:>5} to {part.last_frame:<5} {part.what:<28} {part.distance_m:>6.2f} m, "
        f"then {part.speed_m_s:.2f} m/s"
        for part in found.parts
    ]
    lines.append("")
    lines += [f"  {label:<14}{text}" for label, text in _measures(found).items()]
    lines += [f"  {'mark':<14}{mark.text}" for mark in found.marks]
    if found.notices:
        lines += ["", *(f"  note: {notice.text}" for notice in found.notices)]
    if found.files:
        lines += ["", *(f"  wrote {name}" for name in found.files)]
    return "\n".join(lines) + "\n"


def _heading(found: ShotReport) -> str:
    seconds = (found.last_frame - 1) / found.frame_rate_hz
    way = f"{found.distance_m:.1f} m"
    if abs(found.turn_deg) >= 0.5:
        side = "left" if found.turn_deg > 0 else "right"
        way += f", turning {abs(found.turn_deg):.0f} degrees to the {side}"
    if abs(found.climb_m) >= 0.005:
        way += f", {'up' if found.climb_m > 0 else 'down'} {abs(found.climb_m):.2f} m"
    rate = f"{found.frame_rate_hz:g} fps"
    return f"{found.title}: frames 1 to {found.last_frame} at {rate}, {seconds:.1f} s, {way}"


def _measures(found: ShotReport) -> dict[str, str]:
    hips, chest = found.hips_drop_m * 1000, found.chest_drop_m * 1000
    rows = {"first foot": found.first_foot} if found.first_foot else {}
    if found.beyond_path_m >= SAID_M:
        rows["path"] = f"ends {found.beyond_path_m:.1f} m before the shot, which goes straight on from there"
    rows |= {
        "contacts": f"{len(found.steps)}",
        "trunk lowered": f"at most {hips:.0f} mm at the hips, {chest:.0f} mm at the chest, for legs to reach",
        "peak force": f"{found.peak_force_body_weights:.2f} body weights on a foot",
        "largest slip": f"{found.largest_slip_m * 1000:.3f} mm",
    }
    if found.keys is not None:
        keys = found.keys
        off = f"{keys.worst_deviation_deg:.2f} degrees and {keys.worst_deviation_m * 1000:.1f} mm"
        rows["keys"] = f"{keys.keys} in {keys.channels} channels"
        rows["splines"] = (
            f"deviate by at most {off}; toes drift by at most {keys.planted_drift_m * 1000:.1f} mm"
        )
    return rows


def with_files(
    found: ShotReport, files: Sequence[str], keys: KeyFacts | None, more: Sequence[Notice]
) -> ShotReport:
    """Add what was written, and what came up on the way."""
    return replace(found, files=tuple(files), keys=keys, notices=(*found.notices, *more))
