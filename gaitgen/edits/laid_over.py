"""What an edit is laid over, and what is said of that."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from gaitgen.animal.sizes import Proportions
from gaitgen.course.contacts import contacts_text, parse_contacts, stretched
from gaitgen.edits.carried_file import Wanted
from gaitgen.edits.carry import Carried
from gaitgen.edits.difference import Edit
from gaitgen.edits.joint_changes import LEAST_DEG
from gaitgen.edits.moves import Moves
from gaitgen.edits.original import Started
from gaitgen.edits.phase import timing_of
from gaitgen.edits.reached import held_notices
from gaitgen.edits.rig_edit import CarriedRig
from gaitgen.errors import Notice, RequestError
from gaitgen.gait.gait import load_gait
from gaitgen.gait.request import Request
from gaitgen.gait.style import Style
from gaitgen.motion.motion import Motion
from gaitgen.rigs.cycle import LoadedRig

Made = TypeVar("Made")


def target_of(
    started: Started[Made], wanted: Wanted, to: LoadedRig | None, *, in_place: bool, strides: int
) -> Request:
    """Say what is to be made: the request of the refined clip, with what is wanted instead.

    Another gait takes as many frames as the animal takes for it, if nothing is said about its length.
    """
    request = wanted.styled(started.request)
    is_other = wanted.gait not in (None, request.gait)
    frames = wanted.frames or (None if is_other else request.frames)
    animal = to.animal if to is not None else wanted.animal or request.animal
    same = (frames, wanted.animal, wanted.gait) == (request.frames, None, None)
    if wanted.proportions != Proportions() and not isinstance(animal, str):
        raise RequestError(
            "the animal of this clip has proportions of its own; name one with --animal to change it"
        )
    contacts = request.contacts if wanted.gait is None else None
    if contacts is not None and frames and request.frames and frames != request.frames:
        timing = stretched(parse_contacts(contacts, request.frames), frames, whole_frames=True)
        contacts = contacts_text(timing)
    speed = wanted.speed_m_s if wanted.speed_m_s is not None else (request.speed_m_s if same else None)
    gait = wanted.gait or request.gait
    return replace(
        request,
        gait=gait,
        lead=request.lead if gait and load_gait(gait).has_lead else None,
        animal=animal,
        frames=frames,
        speed_m_s=speed,
        contacts=contacts,
        in_place=in_place,
        strides=strides if request.seed is None else request.strides,
        proportions=wanted.proportions,
    )


@dataclass(frozen=True, eq=False)
class Laid:
    """What an edit is laid over: the request, the clip, one stride of it in place, and what is to be said."""

    request: Request
    plain: Motion
    stride: Motion
    notices: tuple[Notice, ...]


def laid_out(
    target: Request,
    started: Started[Made],
    make: Callable[[Request], Motion],
    move: Callable[[Motion, Moves], tuple[Motion, Moves]],
) -> Laid:
    """Make the clip that an edit is laid over, with steps moved as by hand, on whole frames."""
    plain = stride = make(target)
    if target.frames is None:
        target = replace(target, frames=plain.facts.frames)
    if target.seed is None and target.strides != 1:
        stride = make(replace(target, in_place=True, strides=1))
    elif not target.in_place:
        stride = make(replace(target, in_place=True))
    if not started.moved.any():
        return Laid(target, plain, stride, ())
    frames = timing_of(stride).frames
    asked = started.moved.in_stride(started.seen.frames, frames)
    one, moves = move(stride, asked)
    plain, stride = move(plain, moves)[0] if plain is not stride else one, one
    here = moves.said() or "nothing moves"
    if not asked.any():
        here = f"that is less than half a frame, and {here}"
    elif not np.array_equal(asked.by, moves.by):
        here += ", as far as the leg reaches"
    if moves.lowered_m > 0.0:
        here += f", and the trunk is lowered by {1000.0 * moves.lowered_m:.0f} mm, so that it reaches"
    text = f"{started.moved.said()} than in that clip; in the new one {here}."
    return Laid(target, plain, stride, (Notice("contacts", text),))


def started_from_notice(request: Request, speed_m_s: float, wanted: Wanted) -> Notice:
    """Say what clip a refined one was compared with."""
    how = "with the contacts found in it" if request.contacts else f"at {speed_m_s:.2f} m/s"
    if request.seed is not None:
        how += f" in {request.strides} strides that differ by seed {request.seed}"
    if wanted.has_style:
        how += " in that style" if wanted.styled(request) == request else " without a style"
    elif request.named_style is not None or request.style != Style():
        factors = [f"{name} {value:g}" for name, value in request.style.named().items() if value != 1.0]
        told = ", ".join([*factors, *([request.named_style] if request.named_style else [])])
        how += f" in the style {told}, which its name tells and the new clip has too"
    text = (
        f"changed by hand is what differs from the {request.gait} of {request.frames} frames that gaitgen "
        f"makes {how}; name the clip that it started from with --from if that was another."
    )
    return Notice("from", text)


def held_back(carried: Carried | CarriedRig, edit: Edit) -> list[Notice]:
    """Say what was held back, and what found no joint."""
    notices = held_notices(carried.sunk_m, carried.trunk_share, carried.limb_share)
    size = np.degrees(np.linalg.norm(edit.turn_rad, axis=2).max(axis=0))
    lost = [
        name
        for name, angle in zip(edit.joint_names, size, strict=True)
        if angle >= LEAST_DEG and name not in carried.joint_names
    ]
    if lost:
        some = ", ".join(lost[:3]) + (", ..." if len(lost) > 3 else "")
        text = f"this animal has no {some}; what was changed there is carried as far as it moved a foot."
        notices.append(Notice("joints", text))
    return notices
