"""Files are named after what was asked, so that two requests do not share a name."""

import pytest

from gaitgen import Request
from gaitgen.animal.sizes import Proportions
from gaitgen.batch.plan import parse_style, plan_variants
from gaitgen.gait.name_words import MOST_LETTERS
from gaitgen.gait.style import Style
from gaitgen.option import options_of
from gaitgen.pipeline.settle import settle

FILMED = "RH 1-22, RF 8-30, LH 17-7, LF 25-15"
NAMES = {
    "riding_horse_walk_32": Request(gait="walk"),
    "riding_horse_walk_24": Request(gait="walk", frames=24),
    "riding_horse_canter_right_14": Request(gait="canter", lead="right", frames=14),
    "riding_horse_walk_32_tired": Request(named_style="tired"),
    "riding_horse_walk_32_proud_heavy_nod_1p2": Request(named_style="proud, heavy", style=Style(nod=1.2)),
    "riding_horse_walk_32_speed_1p3": Request(frames=32, speed_m_s=1.3, gait="walk"),
    "riding_horse_walk_32_froude_0p1": Request(frames=32, froude=0.1, gait="walk"),
    "riding_horse_walk_32_start_LH_travel_strides_3": Request(start="LH", in_place=False, strides=3),
    "riding_horse_walk_32_fps_25_no_whole_frames": Request(frame_rate_hz=25.0, whole_frames=False),
    "riding_horse_walk_32_withers_height_1p5": Request(
        frames=32, proportions=Proportions(withers_height_m=1.5)
    ),
    "riding_horse_walk_32_LF25-15_LH17-7_RF8-30_RH1-22": Request(gait="walk", frames=32, contacts=FILMED),
}


@pytest.mark.parametrize("name", NAMES)
def test_a_name_says_what_was_asked(name):
    assert settle(NAMES[name]).asked.stem("riding_horse") == name


def test_every_option_of_the_motion_is_in_the_name():
    for found in options_of(Request):
        if found.name in {"gait", "animal", "frames", "lead"}:
            continue
        value = {str: "proud", bool: not found.default}.get(found.kind, 2)
        asked = Request()
        if len(found.path) == 1:
            object.__setattr__(asked, found.field, value)  # past what does not go together
        else:
            object.__setattr__(getattr(asked, found.path[0]), found.field, value)
        assert asked.stem("a") != "a_walk", found.name


def test_the_order_of_the_feet_makes_no_name():
    turned = ", ".join(reversed(FILMED.split(", ")))
    assert Request(contacts=FILMED).stem("a") == Request(contacts=turned).stem("a")


@pytest.mark.parametrize(
    ("one", "other"),
    [("tired", "tired 1"), ("tired, heavy 0.5", "tired 1.0,heavy 0.50"), ("lame LF", "lame lf 1")],
)
def test_all_of_a_style_is_named_as_the_style(one, other):
    assert Request(named_style=one).stem("a") == Request(named_style=other).stem("a")
    assert Request(named_style=one).stem("a") != Request(named_style=f"{one} 0.9").stem("a")


def test_a_long_name_is_cut_and_still_its_own():
    factors = {found.field: 1.123456 for found in options_of(Style)}
    one, other = (Request(style=Style(**factors | {"reach": reach})).stem("a") for reach in (1.1, 1.2))
    assert one != other
    assert max(len(one), len(other)) < MOST_LETTERS + 20
    assert Request(contacts="RH 1/../../2, LF \n\x1b").stem("a").isidentifier()


def test_variants_are_named_by_the_same_rule():
    asked = Request(gait="walk", frame_rate_hz=25.0)
    styles = [parse_style("brisk: bounce=1.3 nod=1.4"), parse_style("tired")]
    assert [variant.name for variant in plan_variants(asked, ["riding_horse"], [24], styles)] == [
        "riding_horse_walk_24_fps_25_brisk",
        "riding_horse_walk_24_fps_25_tired",
    ]
    (plain,) = plan_variants(asked, ["riding_horse"], [24])
    assert plain.name == "riding_horse_walk_24_fps_25"
