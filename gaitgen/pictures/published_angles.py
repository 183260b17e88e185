"""Joint extremes read in papers, to lay under the curves of a plot. Angles on the flexor side."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class PublishedExtreme:
    """One mean and standard deviation of an extreme of a joint.

    Attributes
    ----------
    joint
        Bone below the joint, without its side.
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
    PublishedExtreme("radius", "greatest", 154.0, 3.0),
    PublishedExtreme("radius", "least", 109.0, 3.0),
    PublishedExtreme("fore_cannon", "greatest", 185.0, 3.0),
    PublishedExtreme("fore_cannon", "range", 54.0, 4.0),
    PublishedExtreme("fore_pastern", "greatest", 222.0, 9.0),
    PublishedExtreme("fore_pastern", "range", 45.0, 8.0),
    PublishedExtreme("femur", "greatest", 111.0, 3.0),
    PublishedExtreme("femur", "least", 88.0, 6.0),
    PublishedExtreme("tibia", "greatest", 157.0, 4.0),
    PublishedExtreme("hind_cannon", "greatest", 167.0, 9.0),
    PublishedExtreme("hind_cannon", "range", 40.0, 9.0),
    PublishedExtreme("hind_pastern", "greatest", 216.0, 11.0),
    PublishedExtreme("hind_pastern", "range", 60.0, 10.0),
)
PEAK_SOURCE = (
    "Grey band: peak on a foreleg at a walk, mean and standard deviation (McGuigan & Wilson 2003, Table 2)."
)
# Mean and standard deviation. [N/kg]
PEAK_FORE_N_KG = (6.16, 0.53)
