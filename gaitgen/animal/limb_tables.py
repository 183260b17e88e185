"""The limbs of an animal file: [limbs.fore] and [limbs.hind], written once and mirrored."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from gaitgen.animal.girdle_tables import check_arm, read_girdle
from gaitgen.animal.joint_tables import Joint
from gaitgen.animal.limb import ENDS, LIMBS, Foot, FootPath, JointLaw, Limb, Rim
from gaitgen.animal.toml_table import LARGEST_M, NAME, Table, nearest

KINDS = ("hoof", "cloven hoof", "paw", "pad", "column", "sole")
_FOLLOWS = 1.5
LEAST_OPENS = 1e-3  # a joint that opens by less does not


def read_feet(top: Table) -> dict[str, tuple[str, Foot]]:
    """Read foot joint and foot of both ends, which the joint tree needs.

    Raises
    ------
    AnimalError
        If a limb has no joints or no foot, or shares a joint with another.
    """
    limbs = top.table("limbs")
    feet = {}
    for end in ENDS:
        table = limbs.table(end)
        joints = table.names("joints")
        if len(joints) < 2:
            raise table.fail("joints has fewer than two joints; a limb is at least a bone and a foot")
        feet[end] = joints[-1], _foot(table.table("foot"))
    shared = set(limbs.table("fore").names("joints")) & set(limbs.table("hind").names("joints"))
    if shared:
        raise limbs.fail(f"fore and hind both have {min(shared)!r}; a joint is in one limb only")
    return feet


def _foot(table: Table) -> Foot:
    kind = table.text("kind", "|".join(KINDS), f"one of {', '.join(KINDS)}")
    height, toe, heel, half_width = (
        table.number(key, 0.001, 1.0) for key in ("height_m", "toe_m", "heel_m", "half_width_m")
    )
    rim = _rim(table) if table.has("rim_m") else None
    out = table.number("toes_out_deg", -40.0, 40.0) if table.has("toes_out_deg") else 0.0
    table.no_more({"source"})
    return Foot(kind, height, toe, heel, half_width, rim, float(np.radians(out)))


def _rim(table: Table) -> Rim:
    up, ahead, behind, aside = table.vector("rim_m", 4, -1.0, 1.0)
    if up <= 0.0 or ahead <= -behind or aside <= 0.0:
        raise table.fail("rim_m is no rim; write height over the sole, then length ahead, behind and aside")
    return up, ahead, behind, aside


def read_limbs(top: Table, joints: Mapping[str, Joint], index: Mapping[str, int]) -> tuple[Limb, ...]:
    """Read both pairs of limbs, in LIMBS order.

    Parameters
    ----------
    top
        The file.
    joints
        The joints as written, by name without side.
    index
        Place of each joint in the tree, by name with side.

    Raises
    ------
    AnimalError
        If a limb names a joint that is none, breaks the tree, or its law cannot place the foot.
    """
    feet = read_feet(top)
    tables = top.table("limbs")
    ends = {}
    for end in ENDS:
        table = tables.table(end)
        names = table.names("joints")
        _check_chain(table, names, joints)
        ends[end] = table, names
    tables.no_more(set(ENDS))
    return tuple(_limb(name, *ends[_end(name)], feet[_end(name)][1], joints, index) for name in LIMBS)


def _end(limb: str) -> str:
    return "fore" if limb[1] == "F" else "hind"


def _check_chain(table: Table, names: tuple[str, ...], joints: Mapping[str, Joint]) -> None:
    for k, name in enumerate(names):
        if name not in joints:
            raise table.fail(f"joints names {name!r}, which is no joint{nearest(name, joints)}")
        if not joints[name].paired:
            raise joints[name].table.fail("is in a limb; add paired = true")
        if k and joints[name].parent != names[k - 1]:
            raise joints[name].table.fail(f"parent is {joints[name].parent!r}; write {names[k - 1]!r}")
        if 0 < k < len(names) - 1 and joints[name].angle_rad is None:
            raise joints[name].table.fail("is in a limb; add angle_deg and angle_side")


def _limb(
    name: str,
    table: Table,
    names: tuple[str, ...],
    foot: Foot,
    joints: Mapping[str, Joint],
    index: Mapping[str, int],
) -> Limb:
    side = name[0]
    girdle, sling = read_girdle(table, names, joints, index)
    load = table.table("load")
    limb = Limb(
        name=name,
        end=_end(name),
        side=side,
        girdle=index[girdle],
        sling=None if sling is None else index[f"{sling}_{side}"],
        joints=tuple(index[f"{joint}_{side}"] for joint in names),
        laws=_laws(table, names),
        foot=foot,
        path=_path(table.table("path")),
        track_m=table.number("track_m", 0.0, LARGEST_M),
        ride_m=table.number("ride_m", 0.0, 1.0) if sling else 0.0,
        glide_m=table.number("glide_m", 0.0, 1.0) if sling else 0.0,
        rise_share=table.number("rise_share", 0.0, 2.0),
        lower_m=table.number("lower_m", -1.0, LARGEST_M) if table.has("lower_m") else 0.0,
        low_sooner_strides=_strides(table, "low_sooner_strides"),
        high_later_strides=_strides(table, "high_later_strides"),
        load_frequency_hz=load.number("frequency_hz", 0.1, 100.0),
        load_damping=load.number("damping_ratio", 0.2, 2.0),
        on_trunk=table.whole("on_trunk", 0, len(names)),
        cannon=_cannon(table, names),
    )
    load.no_more({"source"})
    table.no_more({"foot", "source", "track_source", "rise_source", "lower_source"})
    if sling is not None:
        check_arm(joints[names[0]], sling, max(limb.ride_m, limb.glide_m))
    return limb


def _strides(table: Table, name: str) -> float:
    """Read a share of a stride, 0 where nothing is said of it."""
    return table.number(name, -0.1, 0.1) if table.has(name) else 0.0


def _cannon(table: Table, names: tuple[str, ...]) -> int | None:
    if not table.has("cannon"):
        return None
    cannon = table.text("cannon", NAME, "the name of a joint")
    if cannon not in names[2:-1]:
        lower = ", ".join(names[2:-1])
        raise table.fail(f"cannon {cannon!r} is none of {lower or 'no joints'}; name one, or leave it out")
    return names.index(cannon)


def _laws(table: Table, names: tuple[str, ...]) -> tuple[JointLaw, ...]:
    laws = table.table("law")
    found = {item: JointLaw() for item in names[:-1]}
    for key in laws.content:
        if key not in found:
            raise laws.fail(f"has a law for {key!r}, which bends no limb here{nearest(key, found)}")
        found[key] = _law(laws.table(key))
    made = tuple(found.values())
    follows = [law.follows != 0.0 for law in made]
    pointing = follows.index(False) if False in follows else len(made)
    if pointing == len(made) or any(follows[pointing:]):
        raise laws.fail("lets every joint follow, or one below a joint that points; follow from the top only")
    if made[pointing].opens != 0.0 or not any(law.opens for law in made[pointing + 1 :]):
        raise laws.fail(
            f"cannot reach the ground: below {names[pointing]} no joint opens with the unknown; "
            "write opens = 1.0 for one of them"
        )
    return made


def _law(table: Table) -> JointLaw:
    numbers = {
        "follows": (0.0, _FOLLOWS),
        "opens": (-3.0, 3.0),
        "load_deg_kg_n": (-20.0, 20.0),
        "fold_deg": (-60.0, 150.0),
        "fold_share": (0.02, 0.98),
        "fold_lead": (0.0, 1.0),
        "fold_to": (0.1, 1.6),
        "fold_until": (0.02, 0.98),
        "again_deg": (-60.0, 90.0),
        "again_share": (0.5, 0.95),
        "straightest_deg": (0.0, 360.0),
    }
    given: dict[str, float] = {}
    for key, (least, greatest) in numbers.items():
        if table.has(key):
            value = table.number(key, least, greatest)
            given[key.replace("_deg", "_rad")] = float(np.radians(value)) if "_deg" in key else value
    table.no_more({"source"})
    law = JointLaw(**given)
    if 0.0 < abs(law.opens) < LEAST_OPENS:
        raise table.fail(f"opens is {law.opens:g}, next to nothing; write 0, or {LEAST_OPENS:g} or more")
    if law.fold_to <= law.fold_share:
        raise table.fail(
            f"fold_to is {law.fold_to:g}, not after fold_share = {law.fold_share:g}; let the fold end later"
        )
    if law.fold_until < law.fold_share or law.fold_until >= law.fold_to:
        raise table.fail(
            f"fold_until is {law.fold_until:g}, not between fold_share = {law.fold_share:g} and "
            f"fold_to = {law.fold_to:g}; let the fold stay until then, or leave it out"
        )
    return law


def _path(table: Table) -> FootPath:
    def share(key: str) -> float:
        return table.number(key, 0.0, 1.0)

    def angle(key: str) -> float:
        return float(np.radians(table.number(key, -180.0, 180.0)))

    path = FootPath(
        heel_off_share=table.number("heel_off_share", 0.3, 1.0),
        landing_room_m=table.number("landing_room_m", 0.0, 1.0),
        tip_rad=angle("tip_deg"),
        tip_share=table.number("tip_share", 0.05, 0.75),
        hang_rad=angle("hang_deg"),
        hang_from=share("hang_from"),
        hang_full=share("hang_full"),
        level_from=share("level_from"),
        level_to=share("level_to"),
        toe_up_rad=angle("toe_up_deg"),
        early_lift_m=table.number("early_lift_m", 0.0, 2.0),
        early_share=table.number("early_share", 0.05, 0.95),
        late_lift_m=table.number("late_lift_m", 0.0, 2.0),
        late_share=table.number("late_share", 0.5, 0.95),
        ease_in=table.number("ease_in", 0.05, 0.9),
        ease_out=table.number("ease_out", 0.05, 0.9),
        rest_tip_rad=angle("rest_tip_deg") if table.has("rest_tip_deg") else 0.0,
        room_without_sling_m=(
            table.number("room_without_sling_m", 0.0, 1.0) if table.has("room_without_sling_m") else 0.0
        ),
        heel_off_without_sling=(
            table.number("heel_off_without_sling", 0.3, 1.0) if table.has("heel_off_without_sling") else 1.0
        ),
        around_m=table.number("around_m", -1.0, 1.0) if table.has("around_m") else 0.0,
        **_carried(table),
    )
    if not path.hang_from < path.hang_full <= path.level_from < path.level_to:
        raise table.fail("shares of hanging and levelling are out of order; let them grow from hang_from on")
    if not (path.trails_to < path.reaches_at and path.folds_from < path.folded_at <= path.opens_from):
        raise table.fail("shares of folding are out of order; let them grow from folds_from on")
    if path.opens_from >= path.opens_to:
        raise table.fail("opens_to is not after opens_from; let the leg open later")
    if path.ease_in + path.ease_out > 1.0:
        raise table.fail("ease_in and ease_out are more than 1 together; make one smaller")
    table.no_more({"source"})
    return path


def _carried(table: Table) -> dict[str, float]:
    """Read how a running leg carries its foot, as far as the file says."""
    limits = {
        "folds_to": (0.3, 1.5),
        "trails_to": (0.0, 0.6),
        "reaches_at": (0.3, 1.0),
        "folds_from": (0.0, 0.6),
        "folded_at": (0.1, 0.9),
        "opens_from": (0.1, 0.95),
        "opens_to": (0.3, 1.0),
    }
    return {key: table.number(key, *ends) for key, ends in limits.items() if table.has(key)}
