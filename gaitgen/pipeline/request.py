"""The request as the stages of the pipeline know it."""

from gaitgen.gait.request import Request

__all__ = ["Request"]
