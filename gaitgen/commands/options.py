"""Choices and options that several commands offer."""

from enum import StrEnum
from typing import Annotated

import typer


class Foot(StrEnum):
    """The four feet."""

    LF = "LF"
    RF = "RF"
    LH = "LH"
    RH = "RH"


class Unit(StrEnum):
    """Units of length in files."""

    CM = "cm"
    M = "m"
    IN = "in"


class Up(StrEnum):
    """Up axis in files."""

    Y = "y"
    Z = "z"


class Order(StrEnum):
    """Orders of the three rotation channels."""

    XYZ = "XYZ"
    XZY = "XZY"
    YXZ = "YXZ"
    YZX = "YZX"
    ZXY = "ZXY"
    ZYX = "ZYX"


Fps = Annotated[float, typer.Option(help="Frame rate in frames per second.")]
Start = Annotated[Foot, typer.Option(help="The foot whose contact is frame 1.")]
InPlace = Annotated[
    bool, typer.Option("--in-place/--travel", help="Keep the body over the origin, or let it travel along.")
]
InUnit = Annotated[Unit, typer.Option(help="Unit of length in the files.")]
UpAxis = Annotated[
    Up, typer.Option(help="Up axis: y (the animal faces +z, left is +x) or z (it faces +x, left is +y).")
]
RotationOrder = Annotated[Order, typer.Option(help="Order of the three rotation channels of every joint.")]
