"""What a check finds in a cycle because of its style: said while it is made."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gaitgen.errors import GaitgenError, Notice

if TYPE_CHECKING:
    from gaitgen.check.finding import Finding
    from gaitgen.motion.motion import Motion

CLIP = "the cycle"


def style_notices(clip: Motion) -> tuple[Notice, ...]:
    """Say which legs a style folds too far or lets turn back, as a check of the clip would find it.

    Nothing of a plain cycle, which a check finds nothing in, nor of timings, which a style may mean.
    """
    from gaitgen.gait.style import Style

    asked = clip.asked
    if asked is None or (asked.named_style is None and asked.legs is None and asked.style == Style()):
        return ()
    from gaitgen.check.check import check
    from gaitgen.check.kinds import CRAFT, LEG
    from gaitgen.check.look import see
    from gaitgen.check.tracked import place
    from gaitgen.check.whose import whose
    from gaitgen.formats import bvh
    from gaitgen.formats.axes import FileSpace
    from gaitgen.formats.read_bvh import read_bvh

    file = read_bvh(bvh.encode(clip, FileSpace()), CLIP)
    try:
        known = whose(file, CLIP, clip.animal.name)
    except GaitgenError:  # an animal of the user's own, whose limits nobody knows
        return ()
    found = check(see(place(file, known.map, CLIP), known.limits))
    every = [each for finding in found for each in (finding, *finding.follows)]
    worst = [each for each in every if each.kind in {*LEG, *CRAFT} and each.kind != "unlike other side"]
    if not worst:
        return ()
    by_kind: dict[str, Finding] = {}
    for each in worst:
        by_kind.setdefault(each.kind, each)
    said = [
        f"{each.kind} ({each.place}, frame {each.first_frame}: {each.amount:.3g} {each.unit}, "
        f"limit {each.limit:.3g})"
        for each in by_kind.values()
    ]
    text = f"in this style legs do more than a check lets through: {'; '.join(said)}"
    return (Notice("style", f"{text}; less of it would not."),)
