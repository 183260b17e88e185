"""The pipeline: request, timeline, trunk, limbs, overlap, clip."""

from __future__ import annotations

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import load_animal
from gaitgen.course.cycle import CycleTiming
from gaitgen.course.steps import Steps
from gaitgen.errors import Notice, RequestError
from gaitgen.gait.gait import Gait, load_gait
from gaitgen.gait.request import Request
from gaitgen.gait.tempo import froude_number
from gaitgen.motion.motion import Motion
from gaitgen.pipeline.solve import solve_motion
from gaitgen.pipeline.temper import tempered
from gaitgen.pipeline.to_clip import to_clip

__all__ = ["Request", "make_cycle", "solve_motion"]


def make_cycle(request: Request) -> Motion:
    """Make one cycle of a gait.

    Raises
    ------
    GaitgenError
        If the request, the gait or the animal is not usable.
    """
    request.refuse_endless()
    animal = (
        request.animal
        if isinstance(request.animal, Animal)
        else load_animal(request.animal, request.proportions)
    )
    gait = load_gait(request.gait).as_used_by(animal)
    if request.frames < gait.least_frames:
        raise RequestError(
            f"frames is {request.frames}; a {gait.name} needs at least {gait.least_frames} frames "
            "to tell its contacts apart"
        )
    made = tempered(animal, gait, request)
    more = _cycle_notices(request, gait, animal, made.placed.course.steps, made.placed.timing)
    notices = (*made.placed.notices, *made.notices, *made.solved.notices, *more)
    return to_clip(request, made, notices)


def _cycle_notices(
    request: Request, gait: Gait, animal: Animal, steps: Steps, timing: CycleTiming
) -> list[Notice]:
    notices = []
    froude = froude_number(float(steps.travel_m_s[0]), animal.hip_height_m)
    if froude > gait.froude_limit:
        notices.append(
            Notice(
                "speed",
                f"{steps.travel_m_s[0]:.2f} m/s is Froude number {froude:.2f}; above "
                f"{gait.froude_limit:g} this animal would leave the {gait.name} for a faster gait.",
            )
        )
    if request.whole_frames and request.frames % 2 and request.contacts is None:
        notices.append(
            Notice(
                "frames",
                f"{request.frames} is an odd number of frames, so left and right steps differ by a frame; "
                "give an even number, or --no-whole-frames, for equal steps.",
            )
        )
    if timing.down[0] / request.frames < 0.5:
        notices.append(Notice("duty_factor", "the feet are down for less than half of the stride: no walk."))
    return notices
