"""Six rigs more, in other languages, units and axes: found, walked, trotted, styled, judged."""

import pytest
from make_rigs import text
from make_six_rigs import SIX as PLANS
from rig_measures import lift_m, nod_rad, slip_m

from gaitgen.commands.check_file import check_file

SLIP_M = 1e-4
# Of each rig: pelvis, chest, head, first of the tail; tops of the left limbs, and how many joints they have.
FOUND = {
    "Rüsselkalb": ("Hüfte Brustkorb Schädel Schwänzchen", "Schulterblatt_a 5 Oberschenkel_a 4"),
    "kaplan": ("govde gogus kafa kuyruk1", "kurek_a 5 uyluk_a 4"),
    "kuori": ("runko keula - -", "olka_a 4 lonkka_a 4"),
    "mulod": ("pelfis brest pen cynffon1", "palfais_a 6 clun_a 5"),
    "tavkudi": ("menji mkerdi tavi kudi1", "bechi_a 6 barkali_a 5"),
    "mchimbaji": ("nyonga kifua kichwa mkia", "bega_a 3 paja_a 4"),
}


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", PLANS)
def test_its_parts_are_found(name, chart):
    found = chart(name)[1].map
    parts, limbs = FOUND[name]
    own = (found.pelvis, found.chest, found.head, *(found.tail[:1] or (None,)))
    assert " ".join(each or "-" for each in own) == parts
    fore, hind = (found.limbs[limb].joints for limb in ("LF", "LH"))
    assert f"{fore[0]} {len(fore)} {hind[0]} {len(hind)}" == limbs


def test_straps_packs_and_reins_are_no_part_of_it(chart):
    """And the body moves on the joint that has positions, over a master that stays on the ground."""
    found = chart("mulod")[1].map
    assert (found.ear_left, found.jaw, found.body) == ("clust_a", "gen", "corff")
    named = {
        *found.spine,
        *found.neck,
        *found.tail,
        *(j for limb in found.limbs.values() for j in limb.joints),
    }
    assert not {name for name in named if name.startswith(("awen", "strap", "pecyn", "cyfrwy", "camera"))}
    assert {found.limbs[limb].goal for limb in ("LF", "LH")} == {"nod_blaen_a", "nod_ol_a"}


@pytest.mark.sample(2)
@pytest.mark.parametrize("name", PLANS)
def test_it_goes_without_slip_and_passes_the_check(name, clip, chart, tmp_path):
    for gait in ("walk", "trot"):
        made = clip(name, gait)
        assert slip_m(PLANS[name], made) < SLIP_M
        own = text(PLANS[name]).encode()
        assert made.bvh().split(b"MOTION")[0] == own.split(b"MOTION")[0]
        (tmp_path / "a.bvh").write_bytes(made.bvh())
        assert not check_file(tmp_path / "a.bvh", map_path=chart(name)[0]).findings


@pytest.mark.sample(2, 3)
@pytest.mark.parametrize("name", PLANS)
def test_styles_have_their_effect(name, clip):
    """A nod of 1.4 nods 1.3 to 1.5 times as far, also where a steep heavy neck pushes its trunk."""
    plan, plain = PLANS[name], clip(name)
    assert lift_m(plan, clip(name, lift=1.4)) / lift_m(plan, plain) > 1.3
    if plain.rig.map.head is not None:
        assert 1.3 <= nod_rad(plan, clip(name, nod=1.4)) / nod_rad(plan, plain) <= 1.5
