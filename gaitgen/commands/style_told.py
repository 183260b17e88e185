"""What a check finds in a cycle because of its style: said while it is made."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gaitgen.errors import GaitgenError, Notice

if TYPE_CHECKING:
    from gaitgen.check.finding import Finding
    from gaitgen.motion.motion import Motion


def style_notices(clip: Motion) -> tuple[Notice, ...]:
    """Say which legs a style folds too far or lets turn back, as a check of the clip would find it.

    Nothing of a plain cycle, which a check finds nothing in, nor of timings, which a style may mean.
    """
    from gaitgen.gait.style import Style

    asked = clip.asked
    if asked is None or (asked.named_style is None and asked.legs is None and asked.style == Style()):
        return ()
    from gaitgen.check.computed import found_in
    from gaitgen.check.finding_words import amount_words
    from gaitgen.check.kinds import CRAFT, LEG

    try:
        every = found_in(clip, clip.animal.name)
    except GaitgenError:  # an animal of the user's own, whose limits nobody knows
        return ()
    worst = [each for each in every if each.kind in {*LEG, *CRAFT} and each.kind != "unlike other side"]
    if not worst:
        return ()
    by_kind: dict[str, Finding] = {}
    for each in worst:
        by_kind.setdefault(each.kind, each)
    said = [
        f"{each.kind}, {each.place}, frame {each.first_frame}: {amount_words(each)}"
        for each in by_kind.values()
    ]
    text = f"in this style legs do more than a check lets through: {'; '.join(said)}"
    return (Notice("style", f"{text}; less of it would not."),)
