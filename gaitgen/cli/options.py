"""Choices that several commands offer."""

from enum import StrEnum


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
