"""Five rigs more: walked, styled, judged, drawn after a hand was at them, and carried on."""

import numpy as np
import pytest
from make_last_rigs import LAST as PLANS
from rig_measures import has_styles, slip_m
from test_carry_rigs import drawn_and_carried

from gaitgen.commands.check_file import check_file
from gaitgen.reading.read import clip_from_bvh
from gaitgen.rigs.map_file import read_map

SLIP_M = 1e-4


@pytest.mark.thorough
@pytest.mark.parametrize("name", PLANS)
def test_it_goes_without_slip_and_passes_the_check(name, clip, chart, tmp_path):
    found = set()
    for gait in ("walk", "trot"):
        made = clip(name, gait)
        assert slip_m(PLANS[name], made) < SLIP_M
        (tmp_path / "a.bvh").write_bytes(made.bvh())
        if made.clip.frames >= 8:
            judged = check_file(tmp_path / "a.bvh", map_path=chart(name)[0])
            found |= {each.kind for each in judged.findings}
    assert not found


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("name", "head", "neck"), [("giba", "craneo", "pescuezo5"), ("bestia", "mascara", "garganta4")]
)
def test_a_muzzle_below_the_skull_is_not_the_head(name, head, neck, chart):
    """Without ears the skull is told by the end of its own bone, which goes on over the muzzle."""
    own, *_ = read_map(chart(name)[0])
    assert own.head == head
    assert own.neck[-1] == neck


@pytest.mark.thorough
@pytest.mark.parametrize("name", PLANS)
def test_styles_have_their_effect(name, clip):
    assert has_styles(PLANS[name], clip, name)


@pytest.mark.thorough
@pytest.mark.parametrize("name", PLANS)
def test_a_refined_clip_is_drawn_and_carried_to_another_length(name, clip, chart, tmp_path):
    made, path = clip(name, frames=24), chart(name)[0]
    carried = drawn_and_carried(made, path, tmp_path)
    drawn = clip_from_bvh(tmp_path / "refined.bvh", str(path))
    assert drawn.facts.frames == 24
    np.testing.assert_allclose(
        np.sort(drawn.steps.touchdown_s) * 24 % 24, np.sort(made.clip.steps.touchdown_s) * 24 % 24, atol=1e-6
    )
    assert {joint.joint for joint in carried.joints()} >= {made.rig.map.head, made.rig.map.chest}
