"""What is said of every motion on a rig."""

from __future__ import annotations

from gaitgen.errors import Notice
from gaitgen.formats.units import UNIT_WORDS
from gaitgen.rigs.encode import stumbling_names
from gaitgen.rigs.pose import RigMotion
from gaitgen.rigs.rig import Rig


def measured_notice(rig: Rig, motion: RigMotion) -> Notice:
    """Say what a motion is on, and how near its toes come to their places."""
    text = (
        f"the motion is on the {len(rig.file.joint_names)} joints of {rig.name}, in "
        f"{UNIT_WORDS.get(rig.map.unit, rig.map.unit)}, {rig.map.up} up; its toes are within "
        f"{motion.misses_m.max() * 1000:.3f} mm of their places."
    )
    return Notice("rig", text)


def names_notice(rig: Rig) -> tuple[Notice, ...]:
    """Say which joint names some readers stumble over, if any."""
    odd = stumbling_names(rig)
    if not odd:
        return ()
    shown = ", ".join(repr(name) for name in odd[:3]) + (", ..." if len(odd) > 3 else "")
    text = f"some readers stumble over joint names like {shown}; they are kept as they are."
    return (Notice("names", text),)
