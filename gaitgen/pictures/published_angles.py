"""Joint extremes read in papers, to lay under the curves of a plot. Angles on the flexor side."""

from __future__ import annotations

from dataclasses import dataclass


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


SOURCE = (
    "Grey bands: greatest and least, mean and standard deviation, of Tennessee Walking Horse yearlings at a "
    "flat walk (Nicodemus et al., abstract); where markers sit is worth 10 degrees."
)
EXTREMES = (
    PublishedExtreme("elbow", "greatest", 154.0, 3.0),
    PublishedExtreme("elbow", "least", 109.0, 3.0),
    PublishedExtreme("carpus", "greatest", 185.0, 3.0),
    PublishedExtreme("carpus", "range", 54.0, 4.0),
    PublishedExtreme("fore fetlock", "greatest", 222.0, 9.0),
    PublishedExtreme("fore fetlock", "range", 45.0, 8.0),
    PublishedExtreme("hip", "greatest", 111.0, 3.0),
    PublishedExtreme("hip", "least", 88.0, 6.0),
    PublishedExtreme("stifle", "greatest", 157.0, 4.0),
    PublishedExtreme("hock", "greatest", 167.0, 9.0),
    PublishedExtreme("hock", "range", 40.0, 9.0),
    PublishedExtreme("hind fetlock", "greatest", 216.0, 11.0),
    PublishedExtreme("hind fetlock", "range", 60.0, 10.0),
)
PEAK_SOURCE = (
    "Grey band: peak on a foreleg at a walk, mean and standard deviation (McGuigan & Wilson 2003, Table 2)."
)
# Mean and standard deviation. [N/kg]
PEAK_FORE_N_KG = (6.16, 0.53)
