"""Gaits: read from the gait files, and named in the science's terms."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from importlib import resources
from pathlib import Path

from gaitgen.animal.animal import Animal
from gaitgen.animal.known_gaits import gait_names
from gaitgen.animal.limb import LIMBS
from gaitgen.animal.own_gait import (
    DUTY_LIMITS,
    FORE_MORE_LIMITS,
    FROUDE_LIMITS,
    LAG_LIMITS,
    OwnGait,
    read_beats,
)
from gaitgen.animal.slow_gait import Beats, SlowGait
from gaitgen.animal.toml_table import NAME, Table, nearest, parse, read_bytes
from gaitgen.errors import AnimalError, GaitError
from gaitgen.gait.fast import Fast, read_fast
from gaitgen.gait.request import LEADS

__all__ = ["LEADS", "LIMBS", "Gait", "gait_names", "load_gait"]

SOURCES = ("lag", "duty_factor", "froude", "frames", "reach", "lift", "rise", "apart", "head")
ON_SPOT_REACH = 0.2  # of the ground that a foot covers else: with less an animal hardly goes
HIP_LIMITS_M = 0.05, 5.0
OLD_FRAMES = 32  # length of a stride in gait files that say nothing of it


@dataclass(frozen=True)
class Gait:
    """One gait: when in a stride each foot lands, and for how long.

    Attributes
    ----------
    name, title
        ``walk``, ``Walk``.
    says
        What it is, in a sentence.
    lag
        Share of a stride by which a fore foot lands after the hind foot of its side, in a symmetrical gait
        (Hildebrand 1965, Science 150:701-708); None in a gait with a lead. [0 to 1)
    beats
        Share of a stride at which each foot of BEATS lands, in a gait with a lead; None in a symmetrical one.
    like
        The gaits, the nearest first, whose way of going an animal takes that has none of its own in this one.
    is_rotary
        Whether the fore feet have the other lead than the hind feet.
    duty_factor_range
        Least and greatest share of the stride a foot is down, fore and hind together. [0 to 1]
    fore_duty_more
        By how much more of the stride a fore foot is down than a hind foot.
    leading_longer
        How many times as long the leading fore foot is down as the one that lands first, with a lead.
    jumps
        Whether an animal jumps out of it, and goes on in it.
    is_backward
        Whether it goes backwards: its numbers are those of the gait that it is in reverse.
    reach
        Ground that a foot covers in stance, against what it does in the animal's tempo.
    lift
        Factor on the lift and fold of the swinging legs.
    least_step
        How far feet that cover no ground are lifted, tip and hang, against those of a full step. [0 to 1]
    most_rise
        How much higher than it stands the body may be carried where its legs have room, in hip heights.
    apart
        How far apart two feet of a pair set down that land together, of the ground that a foot covers: the
        leading one ahead.
    head_lower_rad
        How much lower than usual neck and head are carried. [rad]
    fast
        What its numbers become as it goes faster than usually; None for nothing.
    slow
        What an animal's numbers become as it goes slower in a gait with a lead; None for nothing.
    froude_range
        Froude numbers between which an animal goes in this gait.
    usual_froude
        Froude number at which it goes if nothing is asked.
    usual_frames
        Length of a stride if nothing is asked, at 24 frames a second; None for what the animal takes at its
        usual speed. [frames]
    usual_frames_hip_m
        Height of the hips that this length is for; None for any. [m]
    least_frames
        Fewest frames in which the gait can be told.
    longest_strides
        How many times as long as usual a stride may take; None for as long as in most animals.
    contacts, contact_frames
        Contacts and lift-offs read off film, and the length of that stride; None for a gait given by its
        lag or beats. [frames]
    """

    name: str
    title: str
    says: str
    lag: float | None
    beats: Beats | None
    duty_factor_range: tuple[float, float]
    froude_range: tuple[float, float]
    usual_froude: float
    least_frames: int
    longest_strides: float | None = None
    usual_frames: int | None = None
    usual_frames_hip_m: float | None = None
    is_rotary: bool = False
    like: tuple[str, ...] = ()
    contacts: str | None = None
    contact_frames: int | None = None
    fore_duty_more: float = 0.0
    leading_longer: float = 1.0
    is_backward: bool = False
    jumps: bool = False
    reach: float = 1.0
    lift: float = 1.0
    least_step: float = 0.0
    most_rise: float = 0.0
    apart: float = 0.0
    head_lower_rad: float = 0.0
    fast: Fast | None = None
    slow: SlowGait | None = None

    @property
    def with_article(self) -> str:
        """Its name in a sentence: a trot, an amble."""
        name = self.title.lower()
        return f"{'an' if name[0] in 'aeiou' else 'a'} {name}"

    @property
    def froude_limit(self) -> float:
        """Froude number above which the animal would go over to a faster gait."""
        return self.froude_range[1]

    @property
    def walks(self) -> bool:
        """Whether each foot is always down for more than half of the stride (Hildebrand 1965)."""
        return self.duty_factor_range[0] > 0.5

    @property
    def goes_forward(self) -> bool:
        """Whether it goes ahead, and not backwards or on the spot."""
        return not self.is_backward and self.reach > ON_SPOT_REACH

    @property
    def has_lead(self) -> bool:
        """Whether left and right differ, so that its mirror image is the other lead."""
        return self.beats is not None

    def at_froude(self, froude: float) -> Gait:
        """Return the gait with the numbers that it has at a Froude number."""
        if self.slow is not None and self.beats is not None:
            return self._slowed(self.slow, self.beats, froude)
        if self.fast is None or self.lag is None or froude <= self.usual_froude:
            return self
        usual = self.lag, *self.duty_factor_range, self.fore_duty_more
        fast = self.fast.lag, *self.fast.duty_factor_range, self.fast.fore_duty_more
        share = min(1.0, (froude - self.usual_froude) / (self.fast.froude - self.usual_froude))
        lag, least, greatest, more = (a + share * (b - a) for a, b in zip(usual, fast, strict=True))
        return replace(self, lag=lag, duty_factor_range=(least, greatest), fore_duty_more=more)

    def _slowed(self, slow: SlowGait, beats: Beats, froude: float) -> Gait:
        names = ("duty_factor_range", "fore_duty_more", "most_rise")
        usual = replace(slow, beats=beats, **{name: getattr(self, name) for name in names})
        now = slow.mixed(froude, usual)
        return replace(self, beats=now.beats, **{name: getattr(now, name) for name in names})

    def touchdowns(self, lead: str = "left") -> tuple[float, float, float, float]:
        """Return the share of a stride at which each foot lands, in LIMBS order.

        Parameters
        ----------
        lead
            The side that leads, of a gait with a lead; the fore feet's where the two differ.
        """
        if self.beats is None:
            return symmetrical(self.lag or 0.0)
        trailing_hind, leading_hind, trailing_fore, leading_fore = self.beats
        fore = (leading_fore, trailing_fore)  # left, right of a left lead
        hind = (trailing_hind, leading_hind) if self.is_rotary else (leading_hind, trailing_hind)
        if lead == "right":
            fore, hind = fore[::-1], hind[::-1]
        return (*fore, *hind)

    def down_factors(self, lead: str = "left") -> tuple[float, float, float, float]:
        """Return how many times as long as its pair each foot is down, in LIMBS order; ``lead`` as above."""
        if self.beats is None:
            return 1.0, 1.0, 1.0, 1.0
        longer = math.sqrt(self.leading_longer)
        left = longer if lead == "left" else 1.0 / longer
        return left, 1.0 / left, 1.0, 1.0

    def as_used_by(self, animal: Animal) -> Gait:
        """Return the gait with the numbers that an animal has its own way.

        Raises
        ------
        GaitError
            If the animal has beats for a gait that has none.
        """
        own = animal.own_gaits.get(self.name, OwnGait())
        if self.beats is None and (own.beats, own.slow) != (None, None):
            raise GaitError(f"{animal.name} has beats in [gait.{self.name}]; {self.with_article} has a lag")
        given = {item.name: getattr(own, item.name) for item in fields(own)}
        return replace(self, **{name: value for name, value in given.items() if value is not None})


def symmetrical(lag: float) -> tuple[float, float, float, float]:
    """Return the share of a stride at which each foot lands, in LIMBS order, of a gait given by its lag."""
    return ((0.5 + lag) % 1.0, lag % 1.0, 0.5, 0.0)


def load_gait(name: str, also: tuple[str, ...] = ()) -> Gait:
    """Read one of the gaits that come with gaitgen, or a gait file.

    Parameters
    ----------
    name
        A name from :func:`gait_names`, or the path of a file that ends in ``.toml``.
    also
        Words that could have been written there although they are none of these.

    Raises
    ------
    GaitError
        If there is no such gait (the message suggests the nearest), or the file is not usable.
    """
    if name.endswith(".toml"):
        try:
            return _gait(parse(read_bytes(Path(name), "gait file"), name))
        except AnimalError as error:
            raise GaitError(str(error)) from None
    names = gait_names()
    if name not in names:
        known = sorted((*names, *also))
        if name.lower() in RUNNING:
            runs = [each for each in names if max(_known(each).duty_factor_range) < RUN_DUTY_FACTOR]
            raise GaitError(f"{name!r} may be any of several gaits; name one of {', '.join(sorted(runs))}")
        raise GaitError(f"unknown gait {name!r}{nearest(name, known)}; use one of {', '.join(known)}")
    return _known(name)


RUNNING = "run", "running"
RUN_DUTY_FACTOR = 0.5  # a run: each foot is down for less than half of the stride (Hildebrand 1976)


@lru_cache(maxsize=64)
def _known(name: str) -> Gait:
    """Read one of the gaits that come with gaitgen, once."""
    data = (resources.files("gaitgen") / "gaits" / f"{name}.toml").read_bytes()
    return _gait(parse(data, f"{name}.toml"))


def _gait(table: Table) -> Gait:
    least, greatest = table.limits("duty_factor_range", *DUTY_LIMITS)
    has_beats = table.has("beats")
    if has_beats == table.has("lag"):
        raise table.fail("needs lag, for a symmetrical gait, or [beats], for one with a lead, and not both")
    lag = None if has_beats else table.number("lag", *LAG_LIMITS)
    frames = int(table.number("usual_frames", 4, 1000)) if table.has("usual_frames") else None
    hip_m = table.number("usual_frames_hip_m", *HIP_LIMITS_M) if table.has("usual_frames_hip_m") else None
    if table.has("froude_limit"):  # as files had it when all gaits were walks
        slow, fast, frames = 0.0, table.number("froude_limit", *FROUDE_LIMITS), frames or OLD_FRAMES
    else:
        slow, fast = table.limits("froude_range", *FROUDE_LIMITS)
    usual = table.number_or((slow + fast) / 2.0, "usual_froude", *FROUDE_LIMITS)
    gait = Gait(
        name=table.text("name", NAME, "a name of letters, digits and _"),
        title=table.text("title"),
        says=table.text("says") if table.has("says") else "",
        lag=lag,
        beats=read_beats(table.table("beats")) if has_beats else None,
        is_rotary=table.flag("is_rotary"),
        like=table.names("like") if table.has("like") else (),
        duty_factor_range=(least, greatest),
        froude_range=(slow, fast),
        usual_froude=usual,
        usual_frames=frames,
        usual_frames_hip_m=hip_m,
        least_frames=int(table.number("least_frames", 4, 1000)),
        contacts=table.text("contacts") if table.has("contacts") else None,
        contact_frames=int(table.number("contact_frames", 4, 2000)) if table.has("contacts") else None,
        fore_duty_more=table.number_or(0.0, "fore_duty_more", *FORE_MORE_LIMITS),
        is_backward=table.flag("is_backward"),
        jumps=table.flag("jumps"),
        reach=table.number_or(1.0, "reach", 0.0, 2.0),
        lift=table.number_or(1.0, "lift", 0.3, 3.0),
        least_step=table.number_or(0.0, "least_step", 0.0, 1.0),
        most_rise=table.number_or(0.0, "most_rise", 0.0, 0.2),
        apart=table.number_or(0.0, "apart", 0.0, 0.5),
        head_lower_rad=math.radians(table.number_or(0.0, "head_lower_deg", -30.0, 30.0)),
        fast=read_fast(table.table("fast"), usual) if table.has("fast") else None,
    )
    table.no_more({f"{what}_source" for what in SOURCES} | {"source"})
    return gait
