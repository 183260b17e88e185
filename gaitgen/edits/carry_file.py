"""What `gaitgen carry` does, without the printing: from a refined file to a carried clip and its report."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

import numpy as np

from gaitgen.animal.sizes import Proportions
from gaitgen.edits.as_animal import animals_edit, rig_names
from gaitgen.edits.carried_file import CarriedFile, Wanted
from gaitgen.edits.carry import carry
from gaitgen.edits.carry_rig_file import edit_on, is_on, raised_on, refined_on, rig_maker, seam_notice
from gaitgen.edits.difference import Edit, difference, planted_m, refuse_other_length
from gaitgen.edits.laid_over import Laid, held_back, laid_out, started_from_notice, target_of
from gaitgen.edits.misread import (
    far_notice,
    refuse_misread,
    refuse_mistaken,
    refuse_other_animal,
    refuse_plain_mistake,
)
from gaitgen.edits.moved_steps import with_moved_legs, with_moved_steps
from gaitgen.edits.named_style import factors_in_name, style_in_name
from gaitgen.edits.on_ground import on_ground
from gaitgen.edits.original import Maker, Started, animal_of, retimed, started_from
from gaitgen.edits.own_name import own_name, varied_in_name
from gaitgen.edits.phase import timing_of
from gaitgen.edits.refined import RefinedClip, read_refined
from gaitgen.edits.rig_edit import carry_on_rig
from gaitgen.edits.rig_slings import with_rig_slings_along
from gaitgen.edits.seen import Seen, seen_in
from gaitgen.edits.slings_along import with_slings_along
from gaitgen.errors import Notice, RequestError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh_file import rotation_letters
from gaitgen.formats.units import METRES_PER_UNIT
from gaitgen.gait.request import Request
from gaitgen.motion.motion import Motion
from gaitgen.pipeline import make_cycle
from gaitgen.reading.read import opened
from gaitgen.reading.strides import is_closed
from gaitgen.rigs.cycle import LoadedRig, load_rig, refuse_what_is_the_rigs
from gaitgen.rigs.map_file import is_map

Made = TypeVar("Made")

REMADE_RAD = np.radians(0.3)  # a clip that was named is made again, if what is made is as near to it
SEAM = (
    "the last frame of the stride is not as its first, though it is the same moment; what was changed in the "
    "last one only is not carried, so change the first one alike."
)


def carry_file(
    path: Path, wanted: Wanted, original: Path | None = None, map_path: Path | None = None
) -> CarriedFile:
    """Carry what a hand changed in a clip to another length, speed, animal or gait.

    Parameters
    ----------
    path
        The refined clip, on the joints that gaitgen writes.
    wanted
        Where to.
    original
        The clip that it started from; made again from what the refined one shows if not given.
    map_path
        The map of the rig that the clip is on; if not given it is on gaitgen's joints, or on those of the
        rig that it is to be carried to.

    Raises
    ------
    GaitgenError
        If a file cannot be read, or the edit cannot be carried there; one line.
    """
    begun_from = path if original is None else original
    name = own_name(begun_from)
    wanted = replace(
        wanted, may_have=style_in_name(name), may_go=factors_in_name(name), varied=varied_in_name(name)
    )
    to = _rig_of(wanted)
    if map_path is not None:
        return _from_rig(path, load_rig(str(map_path)), to, wanted, original)
    if to is not None and is_on(path, to.rig):
        return _from_rig(path, to, None, wanted, original)
    refined = read_refined(path, varied=wanted.varied)
    chosen = refined.chosen if is_closed(refined.stride) else (*refined.chosen, Notice("seam", SEAM))
    begun = _begun(refined, wanted, original)
    stride, slings = with_slings_along(refined.stride, begun.before, begun.started.moved)
    found = difference(begun.before, stride)
    edit, moved = on_ground(found, planted_m(begun.before, stride))
    space, about = space_of(path)
    clip = refined.clip
    target = target_of(begun.started, wanted, to, in_place=clip.is_in_place, strides=clip.facts.strides)
    laid = laid_out(target, begun.started, make_cycle if to is None else to.animals_cycle, with_moved_steps)
    return _carried(path, edit, laid, wanted, to, space, (*begun.notices, *slings, *moved, *chosen, *about))


@dataclass(frozen=True, eq=False)
class _Begun:
    """What a clip started from: what makes it, the clip itself, one stride, and what is to be said."""

    started: Started[Motion]
    before: Motion
    notices: tuple[Notice, ...]


def _begun(refined: RefinedClip, wanted: Wanted, original: Path | None) -> _Begun:
    """Find the clip that a refined one started from, or read it where it is named."""
    animal = refined.clip.animal
    if original is None:
        names = animal.joint_names
        seen, maker, asked = refined.seen(names), _maker(names), wanted.may_be(animal_of(animal))
        started = started_from(
            seen, asked, maker, lambda tried: refuse_plain_mistake(refined.name, seen, tried, asked, maker)
        )
        odd = refuse_misread(refined.name, seen, started, asked, maker)
        about = started_from_notice(started.request, started.made.facts.speed_m_s, wanted)
        return _Begun(started, started.made, (about, *odd))
    first = read_refined(original, varied=wanted.varied)
    refuse_other_animal(refined.name, animal, str(original), first.clip.animal)
    refuse_other_length(first.frames, refined.frames)
    names = tuple(name for name in first.clip.animal.joint_names if name in animal.index)
    maker = _maker(names)
    started = started_from(first.seen(names), wanted.may_be(animal_of(first.clip.animal)), maker)
    before = replace(first.stride, steps=started.made.steps)
    seen = refined.seen(names)
    refuse_mistaken(refined.name, seen, first.seen(names))
    later = retimed(seen, replace(started, made=before, seen=maker.look(before)), maker)
    about = Notice("from", f"changed by hand is what differs from {original}.")
    odd = far_notice(refined.name, seen, str(original), first.seen(names))
    return _Begun(later, later.made, (about, *odd, *first.chosen))


def _maker(names: tuple[str, ...]) -> Maker[Motion]:
    def look(made: Motion) -> Seen:
        timing = timing_of(made)
        return seen_in(made, timing.frames, timing, names)

    return Maker(make_cycle, look, with_moved_legs, with_moved_steps)


def _carried(
    path: Path,
    edit: Edit,
    laid: Laid,
    wanted: Wanted,
    to: LoadedRig | None,
    space: FileSpace,
    notices: tuple[Notice, ...],
) -> CarriedFile:
    """Lay an edit over a cycle of an animal, or of the one that stands for a rig."""
    carried = carry(edit, laid.plain, laid.stride)
    on_rig = None if to is None else to.carry(carried.clip)
    made = carried.clip if on_rig is None else on_rig.clip
    notices = (*notices, *laid.notices, *held_back(carried, edit), *made.notices)
    return CarriedFile(path, edit, carried, laid.request, wanted, space, notices, on_rig)


def _rig_of(wanted: Wanted) -> LoadedRig | None:
    """Read the rig that an edit is to be carried to, if it is one.

    Raises
    ------
    GaitgenError
        If it cannot be read, or proportions are asked for, which are a rig's own.
    """
    if not isinstance(wanted.animal, str) or not is_map(wanted.animal):
        return None
    refuse_what_is_the_rigs(wanted.animal, Request(proportions=wanted.proportions))
    return load_rig(wanted.animal)


def _from_rig(
    path: Path, own: LoadedRig, to: LoadedRig | None, wanted: Wanted, original: Path | None
) -> CarriedFile:
    """Carry what was changed in a clip on a rig along the rig, or to an animal or another rig."""
    refined, maker, motion = refined_on(path, own.rig, wanted.varied), rig_maker(own), None
    asked = tuple(replace(each, in_place=refined.is_in_place) for each in wanted.may_be(own.animal))
    if original is None:
        seen = refined.seen(own.rig)
        started = started_from(
            seen, asked, maker, lambda tried: refuse_plain_mistake(path.name, seen, tried, asked, maker)
        )
        notices: tuple[Notice, ...] = (
            started_from_notice(started.request, started.made.clip.facts.speed_m_s, wanted),
            *refuse_misread(path.name, seen, started, asked, maker),
        )
    else:
        first = refined_on(original, own.rig, wanted.varied)
        refuse_other_length(first.frames, refined.frames)
        started = started_from(first.seen(own.rig), asked, maker)
        motion = first.motion
        refuse_mistaken(path.name, refined.seen(own.rig), first.seen(own.rig))
        odd = far_notice(path.name, refined.seen(own.rig), str(original), first.seen(own.rig))
        notices = (Notice("from", f"changed by hand is what differs from {original}."), *odd)
        if started.apart_rad < REMADE_RAD:  # else it has nothing to move steps of
            later = retimed(refined.seen(own.rig), started, maker)
            motion = None if later.moved.any() else motion
            started = later
    before = started.made
    own_motion, slings = with_rig_slings_along(refined.motion, before, started.moved)
    refined = replace(refined, motion=own_motion)
    found = edit_on(refined, before, motion)
    edit, moved = on_ground(found.edit, raised_on(refined, before, motion))
    found, notices = replace(found, edit=edit), (*notices, *slings, *moved, *seam_notice(refined, SEAM))
    is_along = to is None and (wanted.animal is None or is_map(wanted.animal))
    goes_to = own if is_along else to
    target = target_of(started, wanted, goes_to, in_place=refined.is_in_place, strides=refined.strides)
    make = make_cycle if goes_to is None else goes_to.animals_cycle
    if is_along and wanted.proportions != Proportions():
        raise RequestError("a rig has its own proportions; leave out withers height and the other ones")
    laid = laid_out(target, started, make, with_moved_steps)
    if not is_along:
        carried = _carried(path, animals_edit(found, before), laid, wanted, to, FileSpace(), notices)
        return replace(carried, from_names=rig_names(own.rig, own.animal))
    plain = one = own.carry(laid.plain)
    if laid.stride is not laid.plain:
        one = own.carry(laid.stride)
    along = carry_on_rig(found, plain, one)
    notices = (*notices, *laid.notices, *held_back(along, found.edit), *along.clip.notices)
    return CarriedFile(
        path, found.told(own.rig), along, laid.request, wanted, FileSpace(), notices, along.made
    )


def space_of(path: Path) -> tuple[FileSpace, tuple[Notice, ...]]:
    """Return unit, up axis and rotation order of a file, as far as gaitgen writes such ones."""
    file, matched = opened(path)
    letters = rotation_letters(file, int(matched.rows[0]))
    own = {up: FileSpace("m", up).positions_to_file(np.eye(3)).T for up in ("y", "z")}
    ups = [up for up, axes in own.items() if np.array_equal(axes.T, matched.axes)]
    if matched.unit in METRES_PER_UNIT and ups and len(letters) == 3:
        return FileSpace(matched.unit, ups[0], letters), ()
    text = "unit or axes of the file are none that gaitgen writes; the new files are in cm, y up, ZXY."
    return FileSpace(), (Notice("space", text),)
