"""A command that refuses an option with two values: which of them was meant is not for a parser to choose."""

from __future__ import annotations

from collections import Counter
from typing import Any

import typer
from typer.core import TyperCommand


class OneOfEach(TyperCommand):
    """A command each of whose options is given once, but for those that may be given again."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:  # noqa: ANN401
        """Read the command line.

        Raises
        ------
        typer.BadParameter
            If an option that takes one value is given twice.
        """
        _, _, order = self.make_parser(ctx).parse_args(args=list(args))
        for item, times in Counter(item for item in order if item.param_type_name == "option").items():
            if times > 1 and not (getattr(item, "multiple", False) or getattr(item, "is_flag", False)):
                message = f"{item.opts[-1]} is given {times} times; give it once"
                raise typer.BadParameter(message, ctx=ctx)
        return super().parse_args(ctx, args)
