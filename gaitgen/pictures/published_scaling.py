"""Published lines of strides against size, to lay under a plot."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

import numpy as np
import numpy.typing as npt

from gaitgen.animal.toml_table import Table, parse

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class ScalingLine:
    """One published line, y = factor x^power.

    Attributes
    ----------
    label, source
        What it is of, and where it is from.
    x, y
        What lies along the axes: ``mass`` [kg], ``hip height`` [m] or ``froude``; ``frequency`` [Hz],
        ``speed`` [m/s], ``length`` [m] or ``relative length`` [hip heights].
    of
        ``walk``, ``walk change``, ``change`` (to a gallop) or ``all``.
    factor, power
        Of the line.
    status
        How the source was read: ``abstract``, ``figure``, or ``memory`` where only its numbers are known.
    """

    label: str
    source: str
    x: str
    y: str
    of: str
    factor: float
    power: float
    status: str

    def at(self, x: npt.ArrayLike) -> Array:
        """Return the height of the line over some places."""
        return np.asarray(self.factor * np.asarray(x, dtype=np.float64) ** self.power)

    @property
    def words(self) -> str:
        """Source, and that it is from memory where it is."""
        return f"{self.source}{' (from memory)' if self.status == 'memory' else ''}"


@lru_cache(maxsize=1)
def scaling_lines() -> tuple[ScalingLine, ...]:
    """Return the published lines.

    Raises
    ------
    AnimalError
        If their file is damaged.
    """
    name = "published_scaling.toml"
    top = parse((resources.files("gaitgen.pictures") / name).read_bytes(), name)
    top.number("format", 1, 1)
    found = tuple(_line(table) for table in top.array("line"))
    top.no_more()
    return found


def _line(table: Table) -> ScalingLine:
    line = ScalingLine(
        label=table.text("label"),
        source=table.text("source"),
        x=table.text("x"),
        y=table.text("y"),
        of=table.text("of"),
        factor=table.number("factor", 0.0, 1000.0),
        power=table.number("power", -2.0, 2.0),
        status=table.text("status", "abstract|figure|memory", "how it was read"),
    )
    table.no_more()
    return line
