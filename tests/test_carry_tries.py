"""How often `carry` makes what a clip may have started from."""

import pytest
from hand_edits import smooth
from test_carry_mistakes import backward

from gaitgen import Request, make_cycle
from gaitgen.edits import original
from gaitgen.edits.carried_file import Wanted
from gaitgen.edits.carry_file import carry_file
from gaitgen.errors import RequestError
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace


def test_nothing_is_made_twice(tmp_path, monkeypatch):
    """What was tried for one end is known for another: of a refined clip that is looked into at all ends."""
    clip = smooth(7, 2.0, 3.0)(make_cycle(Request(animal="dog", gait="trot", frames=16)))
    (tmp_path / "a.bvh").write_bytes(bvh.encode(clip, FileSpace()))
    asked, made = [], []
    tried = original.Maker.tried

    def counted(self, seen, request):
        asked.append(request)
        make = self.make
        object.__setattr__(self, "make", lambda each: (made.append(each), make(each))[1])
        try:
            return tried(self, seen, request)
        finally:
            object.__setattr__(self, "make", make)

    monkeypatch.setattr(original.Maker, "tried", counted)
    carry_file(tmp_path / "a.bvh", Wanted(frames=20))
    assert len(asked) > len(made)
    assert len(made) == len(set(made))


def test_a_clip_that_is_another_one_played_backward_is_refused_before_speeds_are_tried(tmp_path, monkeypatch):
    """What it is shows as soon as every gait was made as the animal takes it."""
    asked = []
    tried = original.Maker.tried

    def counted(self, seen, request):
        asked.append(request)
        return tried(self, seen, request)

    monkeypatch.setattr(original.Maker, "tried", counted)
    data = bvh.encode(make_cycle(Request(animal="riding_horse", gait="walk", frames=24)), FileSpace())
    (tmp_path / "a.bvh").write_bytes(backward(data))
    with pytest.raises(RequestError, match="it plays backward"):
        carry_file(tmp_path / "a.bvh", Wanted(frames=20))
    assert asked
    assert not any(each.speed_m_s is not None and each.contacts is None for each in asked)
