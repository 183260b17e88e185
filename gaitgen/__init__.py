"""gaitgen computes four-legged locomotion to a frame count, as a blocking pass for animators.

>>> from gaitgen import Request, make_cycle
>>> clip = make_cycle(Request(frames=32))
>>> [pose.name for pose in clip.key_poses][:2]
['RH contact', 'hips low, chest high']
"""

from importlib import import_module

TYPE_CHECKING = False  # as `typing` has it, whose loading would keep Ctrl-C waiting for those who hear it
if TYPE_CHECKING:
    from gaitgen.animal.library import animal_names, load_animal
    from gaitgen.animal.sizes import Proportions
    from gaitgen.errors import GaitgenError, Notice
    from gaitgen.gait.request import Request
    from gaitgen.gait.style import Style
    from gaitgen.motion.motion import KeyPose, Motion
    from gaitgen.pipeline import make_cycle

__version__ = "0.1.0"
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

# Where each public name lives: it is loaded when it is first asked for, so that a part of the package (the
# help of the command line, say) does not wait for all of it.
_HOMES = {
    "GaitgenError": "errors",
    "KeyPose": "motion.motion",
    "Motion": "motion.motion",
    "Notice": "errors",
    "Proportions": "animal.sizes",
    "Request": "gait.request",
    "Style": "gait.style",
    "animal_names": "animal.library",
    "load_animal": "animal.library",
    "make_cycle": "pipeline",
}

if not TYPE_CHECKING:

    def __getattr__(name: str) -> object:
        """Load a public name."""
        if name not in _HOMES:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        value = getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
        globals()[name] = value
        return value

    def __dir__() -> list[str]:
        """List the public names, loaded or not."""
        return sorted({*globals(), *__all__})
