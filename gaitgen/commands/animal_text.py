"""What `gaitgen animals NAME` prints: one animal, laid out for people, and as values for programs."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from itertools import zip_longest

from gaitgen.animal.sources import Source
from gaitgen.gait.animal_facts import AnimalFacts, LimbFacts
from gaitgen.numerics.json_text import report_text

WIDTH = 110
_COLUMN = 46
# What the numbers that are printed rest on.
_SHOWN = re.compile(
    r"size.*|lengths|masses|tempo( slow)?|gait \w+( tempo| froude| lag| duty factor)?|limbs \w+ (foot|track)"
)


def as_json(found: AnimalFacts, sources: Sequence[Source], note: str = "") -> str:
    """Write all of it as JSON."""
    said = [{"about": list(source.about), "text": source.text} for source in sources]
    return report_text({**found.as_values(), "note": note, "sources": said})


def as_text(found: AnimalFacts, sources: Sequence[Source], note: str = "") -> str:
    """Write it for people."""
    lines = [f"{found.title} ({found.name})", "", *_size(found), "", *_limbs(found), "", *_gaits(found)]
    if note:
        lines += ["", *textwrap.wrap(f"note: {note}", WIDTH)]
    return "\n".join([*lines, "", *_sources(sources)]) + "\n"


def mass_words(mass_kg: float) -> str:
    """Write a mass with three digits, or whole kilograms."""
    return f"{mass_kg:.0f} kg" if mass_kg >= 100.0 else f"{mass_kg:.3g} kg"


def _size(found: AnimalFacts) -> list[str]:
    fore, hind = found.limbs
    rows = {
        "species": found.species,
        "height": f"withers {found.withers_height_m:.2f} m, croup {found.croup_height_m:.2f} m, "
        f"hip joint {found.hip_height_m:.2f} m",
        "mass": f"{mass_words(found.body_mass_kg)}, {found.load_share_fore:.0%} of it on the forelegs",
        "legs": ", ".join(
            f"{limb.end} {limb.leg_length_m:.2f} m stretched out from {limb.bones[0].name} to ground"
            for limb in found.limbs
        ),
        "prints": f"left and right {_cm(fore.track_m)} cm apart fore, {_cm(hind.track_m)} cm hind",
        "joints": f"{found.joints}",
    }
    return [f"  {label:<9}{text}" for label, text in rows.items()]


def _cm(length_m: float) -> str:
    """Write a length in centimetres, to the millimetre where it is short."""
    return f"{100.0 * length_m:.0f}" if length_m >= 0.1 else f"{100.0 * length_m:.1f}"


def _limbs(found: AnimalFacts) -> list[str]:
    """Lay out the fore limb on the left and the hind limb on the right."""
    columns = [_limb(limb) for limb in found.limbs]
    return [f"  {left:<{_COLUMN}}{right}".rstrip() for left, right in zip_longest(*columns, fillvalue="")]


def _limb(limb: LimbFacts) -> list[str]:
    lines = [f"{f'{limb.end} limb':<16}{'length':>9}  angle standing"]
    for bone in limb.bones:
        angle = f"{bone.angle} {bone.standing_deg:.0f}" if bone.standing_deg is not None else ""
        lines.append(f"{bone.name:<16}{_cm(bone.length_m):>6} cm  {angle}")
    size = f"{_cm(limb.foot_length_m)} x {_cm(limb.foot_width_m)} cm"
    return [*lines, f"{limb.foot_name:<16}{limb.foot}, {size}"]


def _gaits(found: AnimalFacts) -> list[str]:
    columns = f"{'gait':<15}{'speed m/s':>13}{'usual':>8}{'stride':>17}{'strides a second':>18}"
    lines = [f"  {columns}{'fore down':>11}{'hind':>6}"]
    for gait in found.own_gaits:
        span = f"{gait.slowest_m_s:.1f} to {gait.fastest_m_s:.1f}"
        stride = f"{gait.stride_length_m:.2f} m, {gait.period_s:.2f} s"
        lines.append(
            f"  {gait.name:<15}{span:>13}{gait.speed_m_s:>8.1f}{stride:>17}{gait.frequency_hz:>18.2f}"
            f"{gait.duty_factor_fore:>11.0%}{gait.duty_factor_hind:>6.0%}"
        )
    return [*lines, "  stride and what follows: at the usual speed; down: share of a stride on the ground"]


def _sources(sources: Sequence[Source]) -> list[str]:
    shown = [source for source in sources if any(_is_shown(about) for about in source.about)]
    shown.sort(key=lambda source: source.text == "estimate")  # the bare ones last
    lines = ["  where these numbers are from"]
    for source in shown:
        about = ", ".join(place for place in source.about if _is_shown(place))
        said = f"{about}: {source.text}"
        lines += textwrap.wrap(said, WIDTH, initial_indent="  - ", subsequent_indent="    ")
    rest = len(sources) - len(shown)
    return [*lines, f"  {rest} more, on joints, paths and what hangs: --json"] if rest else lines


def _is_shown(about: str) -> bool:
    return _SHOWN.fullmatch(about) is not None
