"""A factor that asks for more than joints allow is held where that begins, however much more is asked."""

from dataclasses import replace

import numpy as np
import pytest

from gaitgen import Request, make_cycle
from gaitgen.gait.style import Style, factor_limits
from gaitgen.motion.measure import range_margins_rad
from gaitgen.pipeline import temper, trial
from gaitgen.pipeline.settle import settle
from gaitgen.pipeline.temper import HELD_LEAST, HELD_STEP, tempered
from gaitgen.pipeline.trial import Trial

CASES = [("walk", "nod", 2.8, 2.95), ("walk", "sway", 2.8, 2.95), ("trot", "bounce", 1.8, 1.9)]


def factor_left(request):
    return tempered(settle(request)).style


@pytest.mark.sample(1)
@pytest.mark.parametrize(("gait", "name", "more", "most"), CASES)
def test_it_is_held_alike_however_much_more_is_asked(gait, name, more, most):
    """In either order, and where nothing is kept from before."""
    wanted = [Request(gait=gait, frames=24, style=Style(**{name: value})) for value in (more, most)]
    alone = []
    for request in wanted:
        for kept in (temper._alone, trial.once):  # noqa: SLF001
            kept.cache_clear()
        alone.append(make_cycle(request))
    after = [make_cycle(request) for request in reversed(wanted)][::-1]
    for clip in (*alone[1:], *after):
        np.testing.assert_array_equal(clip.rotations, alone[0].rotations)
        np.testing.assert_array_equal(clip.root_path_m, alone[0].root_path_m)
    for clip, value in zip(alone, (more, most), strict=True):
        assert any(f" instead of {value:g};" in notice.text for notice in clip.notices)
    assert range_margins_rad(alone[0]).min() >= -1e-9


@pytest.mark.parametrize(("gait", "name", "more"), [case[:3] for case in CASES])
def test_one_step_more_would_break_something(gait, name, more):
    request = Request(gait=gait, frames=24, style=Style(**{name: more}))
    left = factor_left(request).named()[name]
    assert 1.0 < left < more
    again = factor_left(Request(gait=gait, frames=24, style=Style(**{name: left})))
    assert again.named()[name] == left
    beyond = Request(gait=gait, frames=24, style=Style(**{name: left + HELD_STEP}))
    assert any(notice.topic == "style" for notice in make_cycle(beyond).notices)


def test_what_is_held_back_by_less_than_is_said_is_not_said():
    """As if nothing were left out of a list that is empty."""
    are_held = []
    for frames in (26, 28, 30, 32):
        held = Request(frames=frames, style=Style(lift=2.9))
        left = factor_left(held).lift
        hardly = make_cycle(replace(held, style=Style(lift=left + HELD_LEAST - 0.001)))
        are_held.append(np.array_equal(hardly.rotations, make_cycle(held).rotations))
        assert not any(notice.topic == "style" for notice in hardly.notices)
    assert any(are_held)  # in the others the limit lies between two of its steps, and nothing is


def test_what_is_held_back_is_found_in_few_tries(monkeypatch):
    """The motion that is asked for, the plain one, and two or three between."""
    trial.once.cache_clear()
    tried = []
    run = Trial.run
    monkeypatch.setattr(Trial, "run", lambda self, style: tried.append(style.lift) or run(self, style))
    left = factor_left(Request(frames=30, style=Style(lift=2.9))).lift
    assert 1.0 < left < 2.9
    assert tried[:2] == [2.9, 1.0]
    assert len(tried) <= 5


def test_limits_of_factors_are_those_of_their_options():
    assert factor_limits("bounce") == (0.0, 3.0)
    assert factor_limits("reach") == (0.3, 3.0)
    assert factor_limits("LF reach") == (0.5, 1.5)
