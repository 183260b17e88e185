"""How long a change takes: of the lengths that are not looked at closely none would be the best."""

import pytest

from gaitgen import Request
from gaitgen.shot.cycle import cycle_of
from gaitgen.shot.items import Halt
from gaitgen.shot.laid_shot import LaidShot, Shot
from gaitgen.shot.section import Section
from gaitgen.shot.suiting import LEAST_LEFT, STRIDE_COST, TRIED_STRIDES, _best_first, _farther

CHANGES = [
    ("riding_horse", "walk", "canter"),
    ("dog", "canter", "trot"),
    ("cat", "gallop", None),
    ("hare", "canter", "walk"),
    ("cat", "trot", "walk"),
    ("dog", "gallop", "trot"),
]


def longer_by(animal, before, after):
    """Return what lays the change when it takes so many strides longer."""
    cycles = [cycle_of(Request(animal=animal, gait=name)) for name in (before, after) if name]
    stride = min(cycle.frames for cycle in cycles)
    rate = Request().frame_rate_hz

    def laid(strides):
        longer = round(stride * strides)
        lengths = (0, longer, 0) if after else (0, longer)
        whole = tuple((cycle, 0) for cycle in cycles)
        section = Section(whole, starts=False, halts=after is None, frame_rate_hz=rate, longer_frames=lengths)
        items = (section,) if after else (section, Halt(0))
        return LaidShot.of(Shot(items, rate))

    return laid


@pytest.mark.sample(1, 4)
@pytest.mark.parametrize(("animal", "before", "after"), CHANGES)
def test_lengths_come_in_the_order_in_which_a_close_look_at_each_puts_them(animal, before, after):
    laid = longer_by(animal, before, after)
    far = {strides: _farther(laid(strides)) for strides in (0.0, *TRIED_STRIDES)}
    looked = sorted(far, key=lambda strides: (far[strides] + STRIDE_COST * strides, strides))
    assert list(_best_first(far[0.0], laid, starts=False)) == looked
    for strides in TRIED_STRIDES:
        assert far[strides] >= LEAST_LEFT * _farther(laid(strides), is_rough=True)
