"""gaitgen computes four-legged locomotion to a frame count, as a blocking pass for animators.

>>> from gaitgen import Request, generate
>>> clip = generate(Request(frames=32))
>>> [pose.name for pose in clip.key_poses][:2]
['RH contact', 'hips low, chest high']
"""

from gaitgen.errors import GaitgenError, Notice
from gaitgen.generate import Request, generate
from gaitgen.motion.clip import Clip, KeyPose
from gaitgen.parameters.style import Style
from gaitgen.skeleton.library import animal_names, load_animal
from gaitgen.skeleton.proportions import Proportions

__all__ = [
    "Clip",
    "GaitgenError",
    "KeyPose",
    "Notice",
    "Proportions",
    "Request",
    "Style",
    "animal_names",
    "generate",
    "load_animal",
]
