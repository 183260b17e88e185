"""When the feet of a cycle are down: contacts of the gait at its tempo, on frames, or read off film."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaitgen.course.contacts import parse_contacts, refuse_stances, stretched
from gaitgen.course.cycle import CycleTiming, cycle_timing
from gaitgen.gait.gait import symmetrical
from gaitgen.gait.tempo import Tempo, duty_limits, froude_number
from gaitgen.pipeline.settle import Settled


def on_frames(settled: Settled, tempo: Tempo, *, keeps_flights: bool = True) -> CycleTiming:
    """Put contacts on frames; a duty factor that is asked for is rounded as it is, flight or none.

    Flights are made alike up to the speed at which the animal leaves the gait: beyond it feet are down so
    briefly that a frame more on one side snaps the leg that has a frame less (estimate).
    """
    gait, request = settled.gait, settled.request
    own, lead = request.duty_factor is None, request.lead or "left"
    longer = zip(gait.down_factors(lead), request.style.legs.reach, strict=True)
    return cycle_timing(
        settled.frames,
        tempo.duty_factor,
        gait.touchdowns(lead) if request.lag is None else symmetrical(request.lag),
        start=request.first_foot,
        whole_frames=request.whole_frames,
        fore_duty_more=gait.fore_duty_more if own else 0.0,
        down_factor=[ours * theirs for ours, theirs in longer],
        least_duty=gait.duty_factor_range[0] if own and keeps_flights else None,
        alike=froude_number(tempo.speed_m_s, settled.animal.hip_height_m) <= gait.froude_limit,
    )


def with_kept_flights(settled: Settled, tempo: Tempo, timing: CycleTiming) -> Tempo:
    """Go faster, where it is free, if all feet are down for less so that a flight is seen.

    The ground that a foot covers stays the animal's own.
    """
    plain = on_frames(settled, tempo, keeps_flights=False)
    less = min(np.array(plain.down) - np.array(timing.down)) / settled.frames
    if less <= 0.0:
        return tempo
    request, duty = settled.request, tempo.duty_factor - less
    is_free = (request.speed_m_s, request.stride_length_m, settled.usual_m_s) == (None, None, None)
    farther = tempo.duty_factor / duty if is_free else 1.0
    return replace(tempo, duty_factor=duty, stride_length_m=tempo.stride_length_m * farther)


def filmed(settled: Settled) -> CycleTiming | None:
    """Take contacts that were read off film, from the request or stretched from the gait."""
    request, gait = settled.request, settled.gait
    if request.contacts is not None:
        timing = parse_contacts(request.contacts, settled.frames)
        refuse_stances(timing, *duty_limits(gait), gait.with_article)
        return timing
    if gait.contacts is None or gait.contact_frames is None:
        return None
    read = parse_contacts(gait.contacts, gait.contact_frames)
    return stretched(read, settled.frames, whole_frames=request.whole_frames)
