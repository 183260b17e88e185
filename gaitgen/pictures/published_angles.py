"""Figures read in papers, to lay under the curves of a plot: one file a species, published/SPECIES.toml."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from importlib import resources

import numpy as np

from gaitgen.animal.toml_table import Table, parse
from gaitgen.course.cycle import CycleTiming
from gaitgen.course.named_gait import nearest_gait
from gaitgen.gait.gait import LIMBS, load_gait
from gaitgen.gait.request import WALK
from gaitgen.motion.motion import Motion

_WHICH = ("greatest", "least", "range")


@dataclass(frozen=True)
class PublishedExtreme:
    """One mean and standard deviation of an extreme of a joint.

    Attributes
    ----------
    joint
        What the trade calls the angle.
    which
        ``greatest``, ``least`` or ``range`` over a stride.
    mean_deg, deviation_deg
        Mean and standard deviation between animals. [degrees]
    """

    joint: str
    which: str
    mean_deg: float
    deviation_deg: float


@dataclass(frozen=True)
class Published:
    """What is known of one species in one gait; an empty source and no figures where nothing is.

    Attributes
    ----------
    extremes, source
        Extremes of the joints, and where they are from.
    peak_fore_n_kg, peak_source
        Mean and standard deviation of the peak force on a fore foot; None if not known. [N/kg]
    """

    extremes: tuple[PublishedExtreme, ...] = ()
    source: str = ""
    peak_fore_n_kg: tuple[float, float] | None = None
    peak_source: str = ""


@lru_cache(maxsize=32)
def published_of(species: str, gait: str) -> Published:
    """Return the figures of a species in a gait; none for one that has no file, or a gait not in it.

    Raises
    ------
    AnimalError
        If its file is damaged.
    """
    folder = resources.files("gaitgen.pictures") / "published"
    name = next((f.name for f in folder.iterdir() if f.name == f"{species}.toml"), None)
    if name is None:
        return Published()
    top = parse((folder / name).read_bytes(), name)
    top.number("format", 1, 1)
    if not isinstance(top.content.get(gait), dict):
        return Published()
    table, made = top.table(gait), Published()
    if table.has("angles"):
        angles = table.table("angles")
        extremes = tuple(_extreme(angles, row) for row in angles.rows("extremes"))
        made = replace(made, extremes=extremes, source=angles.text("source"))
        angles.no_more()
    if table.has("peak_fore"):
        peak = table.table("peak_fore")
        fore = peak.number("mean_n_kg", 0.0, 100.0), peak.number("deviation_n_kg", 0.0, 100.0)
        made = replace(made, peak_fore_n_kg=fore, peak_source=peak.text("source"))
        peak.no_more()
    table.no_more()
    return made


def published_for(clip: Motion) -> Published:
    """Return the figures that belong to the species and the gait of a clip.

    The gait of a clip that was read is the one whose contacts are nearest.

    Raises
    ------
    AnimalError
        If the file of the species is damaged.
    """
    return published_of(clip.animal.species, _gait(clip))


def _gait(clip: Motion) -> str:
    """Name the gait of a clip; empty for one that does not repeat."""
    if clip.asked is not None:
        return load_gait(clip.asked.gait or WALK).name
    steps = clip.steps
    if steps.period_s is None or steps.limb.size != len(LIMBS):
        return ""
    contact, down = np.empty(len(LIMBS)), np.empty(len(LIMBS))
    contact[steps.limb] = steps.touchdown_s * clip.frame_rate_hz
    down[steps.limb] = (steps.liftoff_s - steps.touchdown_s) * clip.frame_rate_hz
    timing = CycleTiming(tuple(contact), tuple(down), clip.facts.frames)  # type: ignore[arg-type]
    return nearest_gait(timing)[0]


def _extreme(table: Table, row: list[object]) -> PublishedExtreme:
    if len(row) != 4 or row[1] not in _WHICH:
        raise table.fail("extremes has a row that is not [angle, greatest, least or range, mean, deviation]")
    mean, deviation = (table.checked(item, "extremes", 0.0, 360.0) for item in row[2:])
    return PublishedExtreme(str(row[0]), str(row[1]), mean, deviation)
