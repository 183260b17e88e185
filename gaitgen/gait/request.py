"""What one cycle is asked to be."""

# The options are read from these annotations as they stand, so this module does without postponed ones: the
# animal's type is not loaded to list the options.
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from gaitgen.animal.sizes import Proportions
from gaitgen.errors import RequestError
from gaitgen.gait.leg_factors import EXAMPLE, FEET
from gaitgen.gait.name_words import words_of_name
from gaitgen.gait.style import Style
from gaitgen.option import Slider, in_digits, option, options_of, refuse_outside_limits

if TYPE_CHECKING:
    from gaitgen.animal.animal import Animal

LEADS = ("left", "right")
FIRST_FEET = {"left": "RH", "right": "LH"}
WALK = "walk"
STAND = "stand"
"""No gait: the animal stays where it is."""
FRAME_RATES_HZ = (12.0, 15.0, 24.0, 25.0, 30.0, 48.0, 50.0, 60.0)
LONGEST_STRIDE_S = 20.0
"""Five times a slow walk's; the forces of longer strides would take minutes to work out."""
MOST_FRAMES = 12_000
"""Of one clip: eight minutes at 24 frames a second, and memory below a gigabyte."""
MOST_METRES = 1000.0
"""Of a stride, and in a second: far beyond any animal, and small enough to be squared."""
_IN_PLAIN_NAME = ("gait", "animal", "frames", "lead")
MOST_VARIED = 24
"""Strides that differ, at the most: their forces are worked out together."""
_OWN = "the animal's own choice if not given"


@dataclass(frozen=True)
class Request:
    """One cycle to make: what each field asks for is said by its option; None lets the animal choose.

    Attributes
    ----------
    animal
        Name of an animal, path of a skeleton file, or an Animal.
    style, proportions
        The style of the motion, and what to change in the animal; options of their own.
    """

    gait: str | None = field(
        default=None,
        metadata=option(
            "The gait to make",
            "one of `gaitgen gaits`, stand, or the path of a gait file (.toml); a walk if not given, or what "
            "the animal takes at the speed or Froude number",
            kind=str,
            is_positional=True,
            slider=Slider("Timing"),
        ),
    )
    animal: "str | Animal" = field(
        default="riding_horse",
        metadata=option(
            "The animal that moves",
            "one of `gaitgen animals`, a skeleton file or the map of a rig (.toml)",
            kind=str,
            slider=Slider("Animal"),
        ),
    )
    frames: int | None = field(
        default=None,
        metadata=option(
            "Length of one stride in frames",
            "the last frame repeats the first; what the animal takes at its usual speed if not given",
            limits=(1, 2000),
            told_from=8,  # a trot or a pace takes 6
            slider=Slider("Timing", step=1, ends=(8, 96)),
        ),
    )
    frame_rate_hz: float = field(
        default=24.0,
        metadata=option(
            "Frame rate in frames per second",
            name="fps",
            label="frame rate",
            limits=(1.0, 1000.0),
            slider=Slider("Timing", offers=FRAME_RATES_HZ),
        ),
    )
    start: str | None = field(
        default=None,
        metadata=option(
            "The foot whose contact is frame 1",
            "RH if not given, or LH where the right side leads: the mirror image of a left lead",
            choices=FEET,
            slider=Slider("Timing", label="Starts on"),
        ),
    )
    in_place: bool = field(
        default=True,
        metadata=option(
            "Keep the body over the origin, or let it travel",
            switch="--in-place/--travel",
            is_drawn=False,
        ),
    )
    strides: int = field(
        default=1,
        metadata=option(
            "Number of strides to write, one after the other",
            f"at most {MOST_FRAMES} frames in all",
            limits=(1, 500),
            is_drawn=False,
        ),
    )
    seed: int | None = field(
        default=None,
        metadata=option(
            "Let the strides differ a little, as an animal's do: a number that chooses how",
            f"with 2 to {MOST_VARIED} strides; the row of them is the loop",
            limits=(0, 99_999),
            is_drawn=False,
        ),
    )
    speed_m_s: float | None = field(
        default=None,
        metadata=option(
            "Speed over the ground in m/s",
            _OWN,
            name="speed",
            slider=Slider("Timing", step=0.01, unit=" m/s", ends=(0.2, 12.0)),
        ),
    )
    froude: float | None = field(
        default=None,
        metadata=option(
            "Speed as a Froude number, the speed squared over gravity and hip height",
            "0.1 is a slow walk, 1 a trot, 5 a gallop of any size of animal",
            limits=(0.001, 60.0),
            is_drawn=True,
        ),
    )
    lead: str | None = field(
        default=None,
        metadata=option(
            "The side that leads at a canter or gallop",
            "left if not given",
            choices=LEADS,
            slider=Slider("Timing", label="Lead"),
        ),
    )
    stride_length_m: float | None = field(
        default=None, metadata=option("Length of a stride in m", _OWN, name="stride_length")
    )
    duty_factor: float | None = field(
        default=None,
        metadata=option(
            "Share of the stride for which each foot is down",
            "from the tempo if not given",
            limits=(0.12, 0.9),
            is_checked_later=True,  # the message names the gait
            slider=Slider("Timing", step=0.005),
        ),
    )
    lag: float | None = field(
        default=None,
        metadata=option(
            "Share of a stride by which a fore foot lands after the hind foot of its side",
            "the gait's own if not given",
            limits=(0.0, 0.99),
            slider=Slider("Timing", step=0.005),
        ),
    )
    contacts: str | None = field(
        default=None,
        metadata=option(
            "Contacts and lift-offs in frames, as off film, such as 'RH 1-23, RF 9-31, LH 17-7, LF 25-15'",
            "in a stride of 32, 17-7 and 17-39 both run on into the next; stands for duty factor, lag, start "
            "and whole frames",
        ),
    )
    settle_strides: float | None = field(
        default=None,
        metadata=option(
            "Low after contact: how long after a contact the hips or chest above it are lowest, as a share "
            "of the stride",
            "the animal's own if not given",
            name="settle",
            label="settle (low after contact)",
            limits=(0.0, 0.25),
            slider=Slider("Timing", step=0.005, label="Low after contact"),
        ),
    )
    whole_frames: bool = field(
        default=True, metadata=option("Put contacts and lift-offs on whole frames, or not")
    )
    named_style: str | None = field(
        default=None,
        metadata=option(
            "Ready-made styles to mix, such as tired, 'proud, heavy' or 'lame LF, old 0.5'",
            "of heavy, light, tired, proud, cautious, old and lame, which is of a leg; a number is how much "
            "of it; factors given beside are multiplied",
            name="style",
        ),
    )
    legs: str | None = field(
        default=None,
        metadata=option(
            f"Style factors of single legs, such as {EXAMPLE}",
            "of lift, weight, reach and load, for a foot, fore, hind, left or right; load is a leg's share "
            "of what its pair carries",
        ),
    )
    style: Style = field(default_factory=Style)
    proportions: Proportions = field(default_factory=Proportions)

    @property
    def first_foot(self) -> str:
        """The foot whose contact is frame 1; if none is asked for, a right lead is the mirror of a left."""
        return self.start or FIRST_FEET[self.lead or "left"]

    @property
    def gait_stem(self) -> str:
        """The gait as it is called in names and headings."""
        return Path(self.gait or WALK).stem

    def stem(self, animal: str) -> str:
        """Name the files of this cycle, without suffix: ANIMAL_GAIT_FRAMES, and what else is asked for."""
        lead = "_right" if self.lead == "right" else ""
        plain = f"{animal}_{self.gait_stem}{lead}_{self.frames or ''}".rstrip("_")
        return "_".join((plain, *words_of_name(self, _IN_PLAIN_NAME)))

    def refuse_endless(self) -> None:
        """Refuse what would take minutes, or more memory than there may be, and one stride that is to differ.

        Raises
        ------
        RequestError
            If a stride lasts longer than LONGEST_STRIDE_S, there are more frames than MOST_FRAMES, or one or
            more than MOST_VARIED strides are to differ by a seed.
        """
        if self.seed is not None and not 2 <= self.strides <= MOST_VARIED:
            raise RequestError(
                f"strides is {self.strides}; with a seed strides differ, so give 2 to {MOST_VARIED} of them"
            )
        length = self.frames or 1
        period_s, frames = length / self.frame_rate_hz, length * self.strides
        if period_s > LONGEST_STRIDE_S:
            message = f"one stride would take {period_s:.4g} s; give fewer frames or a higher rate"
            raise RequestError(f"{message}: at most {LONGEST_STRIDE_S:g} s")
        if frames > MOST_FRAMES:
            message = f"{self.strides} strides of {length} frames make {frames} frames"
            raise RequestError(f"{message}; ask for at most {MOST_FRAMES}, the cycle repeats itself")

    def __post_init__(self) -> None:
        """Refuse numbers that make no cycle.

        Raises
        ------
        RequestError
            For a number that is not finite or outside its limits.
        """
        refuse_outside_limits(options_of(type(self)), vars(self))
        for label, value in (("speed", self.speed_m_s), ("stride length", self.stride_length_m)):
            if value is not None and not abs(value) <= MOST_METRES:
                raise RequestError(f"{label} is {in_digits(value)}; give a number up to {MOST_METRES:g}")
        if self.contacts is not None and not (self.duty_factor is None and self.lag is None):
            raise RequestError("contacts say duty factor and lag already; leave those out")
        if self.contacts is not None and self.lead is not None:
            raise RequestError("contacts say which side leads already; leave lead out")
        if self.froude is not None and (self.speed_m_s is not None or self.stride_length_m is not None):
            raise RequestError("a Froude number says the speed already; leave out speed and stride length")
        if self.lead is not None and self.lead not in LEADS:
            raise RequestError(f"lead is {self.lead!r}; use one of {', '.join(LEADS)}")
        if self.start is not None and self.start not in FEET:
            raise RequestError(f"start is {self.start!r}; use one of {', '.join(FEET)}")
