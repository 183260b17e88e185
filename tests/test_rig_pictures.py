"""A clip on somebody's rig, refined by hand, drawn as it is: sheet, page and plot with the map of the rig."""

from dataclasses import replace

import numpy as np
import pytest
from make_more_rigs import MORE as PLANS
from rig_measures import tracks_m
from scipy.spatial.transform import Rotation

from gaitgen.commands import run
from gaitgen.edits.rig_edit import local_changes
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.kinematics import fixed_points, world_frames
from gaitgen.reading.read import clip_from_bvh

pytestmark = pytest.mark.usefixtures("fits_once")
RIGS = ("kaltblut", "sole", "twist", "topo", "maszyna", "horn")
ELBOW_SHARE = (
    0.03  # of the withers height: where a rig's own elbow or stifle is off the plane of its animal's
)


def refined(made):
    """Nod more, as a hand does on the rig's own joints."""
    rig, frames = made.rig, made.clip.frames
    turn = 2.0 * np.pi * np.arange(frames) / (frames - 1)
    local = local_changes(rig.file.parents, made.motion.changes)
    joint = rig.joint(rig.map.head or rig.map.chest)
    local[:, joint] = (
        local[:, joint]
        @ Rotation.from_rotvec(np.radians(12.0) * np.outer(np.sin(turn), [0.0, 1.0, 0.0])).as_matrix()
    )
    changes = np.empty_like(local)
    for row, parent in enumerate(rig.file.parents.tolist()):
        changes[:, row] = local[:, row] if parent < 0 else changes[:, parent] @ local[:, row]
    return replace(made, motion=replace(made.motion, changes=changes))


def written(made, tmp_path):
    path = tmp_path / "by_hand.bvh"
    path.write_bytes(made.bvh())
    return path


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", RIGS)
def test_the_figure_stands_where_the_rig_does(name, chart, clip, tmp_path):
    """Limb joints of the rig are where they are in its file, toes to a millimetre, and steps as made."""
    made = refined(clip(name, frames=24))
    rig = made.rig
    drawn = clip_from_bvh(written(made, tmp_path), str(chart(name)[0]))
    animal, rows = drawn.animal, slice(0, 25)
    own, worlds = world_frames(animal, drawn.root_path_m, drawn.rotations)
    there, prints = tracks_m(PLANS[name], made)
    away = []
    for limb, chain in zip(rig.limbs, animal.limbs, strict=True):
        for joint, bone in zip(limb.joints, limb.bones, strict=True):
            if bone >= 0:
                away.append(own[rows, chain.joints[bone]] - there[rig.file.joint_names[joint]])
    away = np.array(away)
    away -= np.median(away, axis=(0, 1))  # where the whole plan lies is free
    assert np.linalg.norm(away, axis=2).max() < ELBOW_SHARE * animal.withers_height_m
    feet = [limb.foot_joint for limb in animal.limbs]
    toes = fixed_points(own, worlds, feet, animal.tips_m[feet])[rows]
    off = toes - prints
    assert np.linalg.norm(off - np.median(off, axis=(0, 1)), axis=2).max() < 1e-3
    for limb in range(len(LIMBS)):
        for moments in ("touchdown_s", "liftoff_s"):
            mine, asked = (
                np.sort(getattr(each.steps, moments)[each.steps.limb == limb]) * 24.0
                for each in (drawn, made.clip)
            )
            np.testing.assert_allclose(mine % 24, asked % 24, atol=1e-6)


def test_what_a_hand_changed_is_in_the_picture(chart, clip, tmp_path):
    """The head of the figure turns by what was added, and what was not touched does not."""
    path = str(chart("kaltblut")[0])
    plain = clip("kaltblut", frames=24)
    before, after = (clip_from_bvh(written(made, tmp_path), path) for made in (plain, refined(plain)))
    animal = before.animal
    turns = [world_frames(animal, each.root_path_m, each.rotations)[1] for each in (before, after)]
    added = Rotation.from_matrix((np.swapaxes(turns[0], -1, -2) @ turns[1])[:, animal.head]).magnitude()
    assert np.degrees(added).max() == pytest.approx(12.0, abs=0.2)
    neck, chest = animal.neck[0], animal.spine[-1]
    np.testing.assert_allclose(turns[0][:, [neck, chest]], turns[1][:, [neck, chest]], atol=1e-5)


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("line", "files"),
    [
        (["sheet", "{clip}", "--png", "--out", "{to}/s.pdf"], ("s.pdf", "s_1.png", "s_2.png")),
        (["plot", "{clip}", "--what", "joints", "--out", "{to}/p.svg"], ("p.svg",)),
        (["preview", "{clip}", "--html", "{to}/w.html"], ("w.html",)),
    ],
)
def test_sheet_plot_and_page_take_it(line, files, chart, clip, tmp_path, capsys, monkeypatch):
    """Where its figure stands is tested above; a sheet is sooner drawn without it."""
    monkeypatch.setattr("gaitgen.pictures.pose_cell.paint", lambda *_, **__: None)
    path = written(refined(clip("twist", frames=24)), tmp_path)
    line = [part.format(clip=path, to=tmp_path) for part in line]
    assert run([*line, "--animal", str(chart("twist")[0])]) == 0
    for file in files:
        assert (tmp_path / file).stat().st_size > 1000
    if files == ("w.html",):
        page = (tmp_path / "w.html").read_text(encoding="utf-8")
        assert "Rig twist" in page
        assert str(chart("twist")[0].parent) not in page, "a page that is handed on tells nobody's folders"
    assert "read from by_hand.bvh with" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("animal", "told"),
    [
        (
            None,
            "(`gaitgen fit` makes it): pictures take it as `gaitgen sheet --animal`",
        ),
        ("dog", "if it is on your rig, give the rig's map"),
        ("horn", "does not have the joints of horn, which the map is for"),
    ],
)
def test_without_its_map_the_way_is_said(animal, told, chart, clip, tmp_path, capsys):
    path = written(clip("twist", frames=24), tmp_path)
    named = [] if animal is None else ["--animal", str(chart("horn")[0]) if animal == "horn" else animal]
    assert run(["sheet", str(path), "--out", str(tmp_path / "s.pdf"), *named]) == 2
    assert told in capsys.readouterr().err
    assert not (tmp_path / "s.pdf").exists()
