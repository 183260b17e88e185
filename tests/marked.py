"""Cases of a test that are not met, each with its figure or reason."""

import pytest


def marked(*values, why=None, name=None):
    """Return a case of a test; one with a reason has to fail, and is told when it no longer does."""
    marks = () if why is None else pytest.mark.xfail(strict=True, reason=why)
    return pytest.param(*values, id=name, marks=marks)
