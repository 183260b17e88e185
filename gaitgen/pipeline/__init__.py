"""The pipeline: request, timeline, trunk, limbs, overlap, clip."""

from __future__ import annotations

import numpy as np

from gaitgen.course.contacts import nearest_gait
from gaitgen.course.cycle import CycleTiming
from gaitgen.course.steps import Steps
from gaitgen.errors import Notice, ReachError
from gaitgen.gait.gait import LIMBS, load_gait
from gaitgen.gait.request import STAND, Request
from gaitgen.gait.tempo import froude_number
from gaitgen.motion.motion import Motion
from gaitgen.pipeline.settle import Settled, settle
from gaitgen.pipeline.solve import solve_motion
from gaitgen.pipeline.stand import stand
from gaitgen.pipeline.temper import Tempered, tempered
from gaitgen.pipeline.to_clip import to_clip

__all__ = ["Request", "make_cycle", "settle", "solve_motion"]

# A gait is gone in at speeds well below those at which the animal would choose it: held, or on the spot.
SLOWER = 4.0
# Share of the withers height by which a body that does not walk is let down at the most (estimate).
FARTHEST_SUNK = 0.12


def make_cycle(request: Request) -> Motion:
    """Make one cycle of a gait, or of an animal that stands.

    Raises
    ------
    GaitgenError
        If the request, the gait or the animal is not usable.
    """
    if request.gait == STAND:
        return stand(request)
    settled = settle(request)
    made = tempered(settled)
    placed = made.placed
    if not _can_be_done(settled, made):
        raise ReachError(
            f"{settled.gait.with_article} of {settled.frames} frames at {request.frame_rate_hz:g} fps, "
            f"{placed.course.steps.travel_m_s[0]:.2f} m/s, is more than the legs of {settled.animal.name} "
            "can do; give another length or speed"
        )
    more = [*_cycle_notices(settled, placed.course.steps, placed.timing), *_load_notices(made)]
    notices = (*settled.notices, *placed.notices, *made.notices, *made.solved.notices, *more)
    return to_clip(settled, made, notices)


def _can_be_done(settled: Settled, made: Tempered) -> bool:
    """Tell whether legs can take these steps at all; a run through its knees is none."""
    sunk = max(made.solved.drop_m) / settled.animal.withers_height_m
    return bool(np.isfinite(made.rotations).all()) and (settled.gait.walks or sunk < FARTHEST_SUNK)


def _load_notices(made: Tempered) -> list[Notice]:
    """Say what a leg carries of what its mate does, where that is asked for."""
    notices = []
    load = made.style.legs.load
    carried = made.solved.body.balance.force_n[..., 2].sum(axis=0)
    for left in (0, 2):
        if load[left] != load[left + 1]:
            less, more = sorted((left, left + 1), key=lambda limb: load[limb])
            share = float(carried[less] / carried[more])
            notices.append(
                Notice("lame", f"{LIMBS[less]} carries {100.0 * share:.0f} % of what {LIMBS[more]} does.")
            )
    return notices


def not_its_own(settled: Settled) -> tuple[Notice, ...]:
    """Say that an animal never goes in the gait that is asked for, where that is so."""
    gait, animal = settled.gait, settled.animal
    if gait.name in animal.gaits or settled.request.contacts is not None or gait.is_backward:
        return ()
    own = ", ".join(each.replace("_", " ") for each in animal.gaits)
    text = f"{gait.with_article} is none of this animal's gaits ({own}); it is made all the same."
    return (Notice("gait", text),)


def _cycle_notices(settled: Settled, steps: Steps, timing: CycleTiming) -> list[Notice]:
    request, gait, animal = settled.request, settled.gait, settled.animal
    name = gait.title.lower()
    notices = []
    speed_m_s = float(np.linalg.norm(steps.travel_m_s))
    froude = froude_number(speed_m_s, animal.hip_height_m)
    slowest, fastest = gait.froude_range
    speed = f"{speed_m_s:.2f} m/s is Froude number {froude:.2f}"
    if froude > fastest:
        text = f"{speed}; above {fastest:g} this animal would leave the {name} for a faster gait."
        notices.append(Notice("speed", text))
    elif froude < slowest / SLOWER:
        text = f"{speed}; so slow this animal would take a slower gait than the {name}."
        notices.append(Notice("speed", text))
    if request.style.bounce != 1.0 and not gait.walks:
        text = (
            f"in {gait.with_article} the rise and fall of the body follows from its footfalls, so bounce "
            "changes how far the back bends and little else."
        )
        notices.append(Notice("bounce", text))
    notices += not_its_own(settled)
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
    if gait.walks and min(timing.down) / settled.frames < 0.5:
        text = f"feet are down for less than half of the stride, which is no {name}."
        notices.append(Notice("duty_factor", text))
    return notices
