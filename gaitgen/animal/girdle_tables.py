"""What carries a limb in an animal file: its girdle, and the sling on which its top rides and glides."""

from __future__ import annotations

from collections.abc import Mapping

from gaitgen.animal.joint_tables import Joint
from gaitgen.animal.toml_table import NAME, Table, nearest

# A sling turns no farther than to this sine.
ARM_SHARE = 0.9


def read_girdle(
    table: Table, names: tuple[str, ...], joints: Mapping[str, Joint], index: Mapping[str, int]
) -> tuple[str, str | None]:
    """Read the joint of the trunk that carries a limb, and the sling between the two.

    Parameters
    ----------
    table, names
        The table of the limb, and its joints from the top.
    joints, index
        The joints as written, by name without side; place in the tree by name with side.

    Raises
    ------
    AnimalError
        If the limb hangs on something else, or one of the two is no such joint.
    """
    girdle = table.text("girdle", NAME, "the name of a joint")
    if girdle not in joints or girdle not in index:
        single = [name for name in joints if name in index]
        raise table.fail(f"girdle {girdle!r} is no single joint{nearest(girdle, single)}")
    above = joints[names[0]].parent
    sling = table.text("sling", NAME, "the name of a joint") if table.has("sling") else None
    if above != (sling or girdle) or (sling and (sling not in joints or joints[sling].parent != girdle)):
        raise table.fail(
            f"{names[0]} hangs on {above!r}; let its parent be the girdle, or a sling on the girdle"
        )
    if sling and not joints[sling].paired:
        raise joints[sling].table.fail("is the sling of a limb; add paired = true")
    return girdle, sling


def check_arm(top: Joint, sling: str, most_m: float) -> None:
    """Refuse a sling that is too short to carry the top of its limb as far as it rides and glides.

    Raises
    ------
    AnimalError
        If the top is not far enough to the left of the joint of the sling.
    """
    arm_m = float(top.offset_m[1])
    if arm_m * ARM_SHARE < most_m or arm_m <= 0.0:
        raise top.table.fail(
            f"is {arm_m:g} m to the left of its sling {sling!r}, too little to ride and glide {most_m:g} m; "
            f"write offset_m = [0.0, {max(2.0 * most_m, 0.01):g}, 0.0], and move the sling right by as much"
        )
