"""gaitgen computes four-legged locomotion to a frame count, as a blocking pass for animators.

>>> from gaitgen import Request, make_cycle
>>> clip = make_cycle(Request(frames=32))
>>> [pose.name for pose in clip.key_poses][:2]
['RH contact', 'hips low, chest high']
"""

from gaitgen.animal.library import animal_names, load_animal
from gaitgen.animal.proportions import Proportions
from gaitgen.errors import GaitgenError, Notice
from gaitgen.gait.style import Style
from gaitgen.motion.motion import KeyPose, Motion
from gaitgen.pipeline import Request, make_cycle

__all__ = [
    "GaitgenError",
    "KeyPose",
    "Motion",
    "Notice",
    "Proportions",
    "Request",
    "Style",
    "animal_names",
    "load_animal",
    "make_cycle",
]
