"""All findings there are, and which part of a clip each is made in: the one list for cycles and shots."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum, auto

from gaitgen.check.finding import Finding
from gaitgen.check.findings import (
    back_jitter,
    bones,
    carried,
    craft,
    evenness,
    exchanged,
    feet,
    flips,
    force,
    frames,
    held,
    held_for_good,
    held_joints,
    in_between,
    jitter,
    late_end,
    leaning,
    legs,
    lifted,
    loops,
    mirrored,
    misread,
    on_rails,
    out_of_step,
    overlap,
    pops,
    reverse,
    root_keys,
    scaled,
    shaking_parts,
    sides,
    slides,
    slipped,
    still_middle,
    tempo,
    timing,
    trunk,
)
from gaitgen.check.seen import Seen

Find = Callable[[Seen], list[Finding]]


class Where(Enum):
    """Where a finding is made in a clip without a period; a cycle is always seen as a whole."""

    WHOLE = auto()
    """In all of it at once."""
    EVERYWHERE = auto()
    """In each stretch."""
    MOVING = auto()
    """In each stretch in which the animal goes, be it that its strides change."""
    GOING = auto()
    """In stretches of strides that are alike."""
    NOWHERE = auto()
    """In cycles alone."""


@dataclass(frozen=True)
class Finder:
    """One kind of finding, or a few that are found together.

    Attributes
    ----------
    find
        Makes the findings.
    where
        Where it looks in a clip without a period.
    in_cycles
        Whether it looks at cycles.
    """

    find: Find
    where: Where
    in_cycles: bool = True


FINDERS = (
    Finder(misread.root_misread, Where.WHOLE),
    Finder(out_of_step.in_radians, Where.WHOLE),
    Finder(misread.read_otherwise, Where.WHOLE),
    Finder(exchanged.exchanged, Where.WHOLE),
    Finder(out_of_step.late_leg, Where.NOWHERE),
    Finder(late_end.late_end, Where.NOWHERE),
    Finder(scaled.scaled_curves, Where.NOWHERE),
    Finder(reverse.reversed_in_time, Where.NOWHERE),
    Finder(reverse.reversed_shot, Where.WHOLE, in_cycles=False),
    Finder(mirrored.mirrored, Where.WHOLE),
    Finder(tempo.retimed, Where.NOWHERE),
    Finder(held.rounded, Where.WHOLE),
    Finder(bones.unlike, Where.WHOLE),
    Finder(slipped.slipped_points, Where.WHOLE),
    Finder(flips.flips, Where.WHOLE),
    Finder(frames.swapped, Where.EVERYWHERE),
    Finder(frames.missing, Where.MOVING),
    Finder(held.repeated, Where.MOVING),
    Finder(in_between.in_between, Where.WHOLE),
    Finder(held.begun_again, Where.NOWHERE),
    Finder(held.pasted, Where.WHOLE),
    Finder(held.stuck_parts, Where.GOING),
    Finder(held_joints.stuck_joints, Where.MOVING),
    Finder(held.frozen, Where.WHOLE),
    Finder(still_middle.frozen, Where.WHOLE),
    Finder(held_for_good.stopped, Where.WHOLE, in_cycles=False),
    Finder(root_keys.missing, Where.GOING),
    Finder(root_keys.flat, Where.NOWHERE),
    Finder(root_keys.flat_turns, Where.NOWHERE),
    Finder(pops.pops, Where.GOING),
    Finder(pops.ears_alone, Where.WHOLE, in_cycles=False),
    Finder(back_jitter.back, Where.WHOLE),
    Finder(jitter.jitter, Where.EVERYWHERE),
    Finder(sides.shaking, Where.NOWHERE),
    Finder(jitter.over_strides, Where.WHOLE, in_cycles=False),
    Finder(shaking_parts.shaking_parts, Where.NOWHERE),
    Finder(feet.off_ground, Where.WHOLE),
    Finder(feet.no_stance, Where.WHOLE),
    Finder(leaning.leaning, Where.NOWHERE),
    Finder(leaning.pitched, Where.NOWHERE),
    Finder(carried.hips_late, Where.NOWHERE),
    Finder(carried.body_over_feet, Where.WHOLE),
    Finder(lifted.body_lifted, Where.WHOLE),
    Finder(loops.position, Where.NOWHERE),
    Finder(loops.speed, Where.NOWHERE),
    Finder(loops.root_drift, Where.GOING),
    Finder(timing.no_whole_stride, Where.NOWHERE),
    Finder(timing.off_plan, Where.GOING),
    Finder(timing.order, Where.GOING),
    Finder(timing.lag, Where.GOING),
    Finder(timing.duty, Where.GOING),
    Finder(evenness.asymmetry, Where.GOING),
    Finder(on_rails.body_on_rails, Where.GOING),
    Finder(trunk.opposing, Where.GOING),
    Finder(trunk.head_phase, Where.GOING),
    Finder(trunk.spine, Where.GOING),
    Finder(force.support, Where.GOING),
    Finder(overlap.tail_lag, Where.GOING),
    Finder(slides.slides, Where.NOWHERE),
    Finder(feet.slips, Where.WHOLE),
    Finder(feet.belt_drift, Where.NOWHERE),
    Finder(feet.under_ground, Where.WHOLE),
    Finder(feet.floating, Where.WHOLE),
    Finder(sides.swings_unlike, Where.NOWHERE),
    Finder(legs.foreleg_bending, Where.EVERYWHERE),
    Finder(legs.locked, Where.EVERYWHERE),
    Finder(legs.parting, Where.EVERYWHERE),
    Finder(legs.out_of_range, Where.EVERYWHERE),
    Finder(craft.gives, Where.GOING),
    Finder(craft.turns_back, Where.GOING),
    Finder(craft.locked_at_liftoff, Where.GOING),
    Finder(craft.cocked, Where.GOING),
    Finder(craft.head_on_rails, Where.GOING),
)


def in_cycles() -> tuple[Find, ...]:
    """Return what looks at a cycle."""
    return tuple(finder.find for finder in FINDERS if finder.in_cycles)


def made(*places: Where) -> tuple[Find, ...]:
    """Return what looks at some part of a clip without a period."""
    return tuple(finder.find for finder in FINDERS if finder.where in places)
