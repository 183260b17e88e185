"""The pipeline: request, timeline, trunk, limbs, overlap, clip.

`make_cycle` → `settle` (gait, length and speed, where a request leaves them open; the animal as it goes in
that gait) → `tempered` (holds a style back where joints ask for it; a factor that alone is at fault is
looked for on hundredths, whatever more is asked, and so once while a slider is drawn) → `place_feet`:
`choose_tempo`, `cycle_timing`, `cycle_steps` (`Steps` on a `Path` over `Ground`) → `carry`: `move_body`
(struts, one `balance`, the back), `plan_feet`, `given_by_law` → `solve_motion`: `on_legs` (the trunk is
lowered until the legs reach, lengths alone; in `aim_legs` the foot hangs; `solve_legs` is one batch, one
unknown a limb), `hang`; then once more with what limbs and hanging parts need beside a stiff body
(`departure`) → `to_clip`.

All of it is in the frame that goes along the path, on a `Grid` of at least 96 moments a stride; rotations
are built for the frames alone. What does not change from round to round is taken over from the round
before (`before`, `near_rad`), what no style changes from one style to the next (`_level` in
`body/footing`, `on_feet`; `begin` in `trial`, which knows nothing of what hangs and sways). The same
functions take steps without a period. Whole frames never round a run's flight away (`course/flight`): where
one of a frame or more would leave no pose in the air, the nearest rounding that shows it is taken, with
stances of two frames or more. Strides that differ (`course/varied`) are one period of many stances; `stand`
is solved by statics instead, with the same legs and hanging parts. What a lame leg is spared is in
`body/sparing`.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaitgen.animal.animal import Animal
from gaitgen.course.cycle import CycleTiming
from gaitgen.course.named_gait import nearest_gait, summarise
from gaitgen.course.steps import Steps
from gaitgen.errors import Notice, ReachError
from gaitgen.gait.gait import LIMBS, load_gait
from gaitgen.gait.request import STAND, Request
from gaitgen.gait.tempo import froude_number
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.measure import sole_points_m
from gaitgen.motion.motion import Motion
from gaitgen.motion.trunk_room import belly_notices
from gaitgen.pipeline.own_stride import AT_MOST, is_held_back, most_frames, own_count
from gaitgen.pipeline.settle import Settled, settle, strange_gait, usual_frames
from gaitgen.pipeline.solve import solve_motion
from gaitgen.pipeline.stand import stand
from gaitgen.pipeline.temper import Tempered, tempered
from gaitgen.pipeline.to_clip import to_clip

__all__ = ["Request", "make_cycle", "settle", "solve_motion"]

# A gait is gone in at speeds well below those at which the animal would choose it: held, or on the spot.
SLOWER = 4.0
# Share of the withers height by which a body that does not walk is let down at the most (estimate).
FARTHEST_SUNK = 0.12
# And by which a sole of it may be under the ground, where a leg folds as far as it goes (estimate).
FARTHEST_UNDER = 0.01
# A joint that turns so far past its range is broken: a leg that does not reach turns over itself.
BROKEN_RAD = np.radians(90.0)
# In a run, whose poses are few, one that is half as far past it is broken too (estimate).
BROKEN_AT_A_RUN_RAD = np.radians(45.0)
# Of what its mate carries: where a lame leg carries more than this, the report says why.
HARDLY_LAME = 0.96
# Of a stance of fewer frames, at fewer frames a second than this, more of them show more.
FEWEST_DOWN, MANY_HZ = 3.0, 48.0


def make_cycle(request: Request) -> Motion:
    """Make one cycle of a gait, or of an animal that stands.

    Raises
    ------
    GaitgenError
        If the request, the gait or the animal is not usable.
    """
    if request.gait == STAND:
        return stand(request)
    if request.gait is not None:
        load_gait(request.gait, also=(STAND,))  # so that a word near to it is told
    settled = settle(request)
    made = tempered(settled)
    placed = made.placed
    if not _can_be_done(settled, made):
        raise ReachError(_too_much(settled, made))
    more = [*_cycle_notices(settled, placed.course.steps, placed.timing), *_load_notices(settled, made)]
    notices = (*settled.notices, *placed.notices, *made.notices, *made.solved.notices, *more)
    clip = to_clip(settled, made, notices)
    under = belly_notices(clip)
    return replace(clip, notices=(*notices, *under)) if under else clip


def _too_much(settled: Settled, made: Tempered) -> str:
    """Say that legs cannot do it, and what may help."""
    rate_hz, placed = settled.request.frame_rate_hz, made.placed
    speed_m_s = settled.request.speed_m_s or placed.course.steps.travel_m_s[0]
    text = (
        f"{settled.gait.with_article} of {settled.frames} frames at {rate_hz:g} fps, "
        f"{speed_m_s:.2f} m/s, is more than the legs of {settled.animal.name} can do"
    )
    asked, gait, animal = settled.request, settled.gait, settled.animal
    if settled.frames == gait.least_frames and is_held_back(asked, gait, animal, asked.speed_m_s):
        count = own_count(asked, gait, animal, asked.speed_m_s)
        return f"{text}, which takes {count:.1f} frames for it; give more frames a second"
    most = most_frames(asked, gait, animal)
    if settled.frames > most:
        return f"{text}; {AT_MOST.format(most)}"
    down = min(placed.timing.down)
    if down >= FEWEST_DOWN or rate_hz >= MANY_HZ:
        usual = usual_frames(settled)
        return f"{text}; give another length or speed" + (
            f" (its usual length is {usual} frames)" if usual != settled.frames else ""
        )
    frames = "a frame" if down == 1.0 else f"{down:g} frames"
    return f"{text}: a foot is down for {frames}; give more frames a second, or another length or speed"


def _can_be_done(settled: Settled, made: Tempered) -> bool:
    """Tell whether legs can take these steps at all; a run through its knees is none, nor on broken legs."""
    animal = settled.animal
    sunk = max(made.solved.drop_m) / animal.withers_height_m
    if not np.isfinite(made.rotations).all() or not (settled.gait.walks or sunk < FARTHEST_SUNK):
        return False
    if not settled.gait.walks and _lowest_sole_m(settled, made) < -FARTHEST_UNDER * animal.withers_height_m:
        return False
    if _too_quick(settled, made):
        return False
    turned = made.turned_rad
    past = np.maximum(
        animal.ranges_rad[..., 0] - turned.min(axis=0), turned.max(axis=0) - animal.ranges_rad[..., 1]
    )
    return bool(past.max() < (BROKEN_RAD if settled.gait.walks else BROKEN_AT_A_RUN_RAD))


def _too_quick(settled: Settled, made: Tempered) -> bool:
    """Tell whether a run asked for by speed is out of reach, and a foot of it down for a frame alone.

    What is made instead would be slower, and no pose of it would show that foot bearing anything.
    """
    asked, placed = settled.request, made.placed
    by_speed = asked.speed_m_s is not None or asked.froude is not None
    shortened = any(notice.topic == "reach" for notice in placed.notices)
    return by_speed and shortened and not settled.gait.walks and min(placed.timing.down) <= 1.0


def _lowest_sole_m(settled: Settled, made: Tempered) -> float:
    """Height of the lowest sole over one stride: legs fold no farther, as the body falls. [m]"""
    rows = np.arange(made.rotations.shape[0]) * made.placed.per_frame
    joints = world_frames(settled.animal, made.solved.trunk.root_m[rows], made.rotations)
    return float(sole_points_m(settled.animal, *joints)[1][..., 2].min())


def _load_notices(settled: Settled, made: Tempered) -> list[Notice]:
    """Say what a leg carries of what its mate does, where that is asked for."""
    notices = []
    load = made.style.legs.load
    carried = made.solved.body.balance.force_n[..., 2].sum(axis=0)
    for left in (0, 2):
        if load[left] != load[left + 1]:
            less, more = sorted((left, left + 1), key=lambda limb: load[limb])
            share = float(carried[less] / carried[more])
            why = _why_it_hardly_limps(made, less, more) if share > HARDLY_LAME and settled.gait.walks else ""
            text = f"{LIMBS[less]} carries {100.0 * share:.0f} % of what {LIMBS[more]} does{why}."
            notices.append(Notice("lame", text))
    return notices


def _why_it_hardly_limps(made: Tempered, less: int, more: int) -> str:
    """Say why a leg carries nearly what its mate does, where it was to carry less, and what helps."""
    down = made.placed.timing.down
    stands = "; its foot is down as long as its mate's" if down[less] >= down[more] else ""
    return (
        f": in slow strides less is spared than at a trot{stands}. Let it be down for fewer frames, ask for "
        "more (a number after lame), or take a trot"
    )


def _sequence_notices(settled: Settled, steps: Steps) -> list[Notice]:
    """Say that feet of a walk land in an order in which no animal here walks."""
    name = summarise(steps).name if settled.request.contacts is not None else ""
    if not settled.gait.walks or "diagonal sequence" not in name:
        return []
    text = (
        "each fore foot lands after the hind foot of the other side, a diagonal sequence, in which no animal "
        "here walks: let it land after the hind foot of its own side, and before the other hind foot."
    )
    return [Notice("sequence", text)]


def _too_fast(animal: Animal, fastest: float, name: str) -> str:
    """Say what an animal does above a Froude number, at which it leaves a gait of this name."""
    most = max(load_gait(own).as_used_by(animal).froude_range[1] for own in animal.gaits)
    if fastest >= most:
        return f"{most:g} this animal goes in no gait"
    return f"{fastest:g} this animal would leave the {name} for a faster gait"


def _cycle_notices(settled: Settled, steps: Steps, timing: CycleTiming) -> list[Notice]:
    request, gait, animal = settled.request, settled.gait, settled.animal
    name = gait.title.lower()
    notices = []
    speed_m_s = float(np.linalg.norm(steps.travel_m_s))
    froude = froude_number(speed_m_s, animal.hip_height_m)
    slowest, fastest = gait.froude_range
    speed = f"{speed_m_s:.2f} m/s is Froude number {froude:.2f}"
    if froude > fastest:
        text = f"{speed}; above {_too_fast(animal, fastest, name)}."
        notices.append(Notice("speed", text))
    elif froude < slowest / SLOWER:
        text = f"{speed}; so slow this animal would take a slower gait than the {name}"
        usual = usual_frames(settled)
        text += f" (whose usual length is {usual} frames)." if usual != settled.frames else "."
        notices.append(Notice("speed", text))
    brief = [limb for limb, down in zip(LIMBS, timing.down, strict=True) if down <= 1.0]
    if brief and not gait.walks:
        text = (
            f"{', '.join(brief)} {'is' if len(brief) == 1 else 'are'} down for one frame, which shows no "
            "weight on them; more frames a second show more."
        )
        notices.append(Notice("stance", text))
    if request.style.bounce != 1.0 and not gait.walks:
        text = (
            f"in {gait.with_article} the rise and fall of the body follows from its footfalls, so bounce "
            "changes how far the back bends and little else."
        )
        notices.append(Notice("bounce", text))
    if request.contacts is None:
        notices += strange_gait(gait, animal)
    if request.whole_frames and settled.frames % 2 and request.contacts is None and not gait.has_lead:
        notices.append(
            Notice(
                "frames",
                f"{settled.frames} is an odd number of frames, so left and right steps differ by a frame; "
                "give an even number for equal steps, or let contacts fall between frames "
                "(`gaitgen cycle --no-whole-frames`).",
            )
        )
    if request.contacts is not None or request.lag is not None:
        near = load_gait(nearest_gait(timing)[0])
        if near.name != gait.name and gait.contacts is None and not (near.walks and gait.walks):
            text = f"these contacts are nearer to {near.with_article} than to {gait.with_article}."
            notices.append(Notice("contacts", text))
    notices += _sequence_notices(settled, steps)
    if gait.walks and min(timing.down) / settled.frames < 0.5 - abs(gait.fore_duty_more) / 2.0:
        text = f"feet are down for less than half of the stride, which is no {name}."
        notices.append(Notice("duty_factor", text))
    return notices
