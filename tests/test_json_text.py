"""JSON that any reader takes: RFC 8259, section 6, has no Infinity and no NaN."""

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaitgen.numerics.json_text import json_text


def strict(text):
    def refuse(word):
        raise AssertionError(word)

    return json.loads(text, parse_constant=refuse)


LEAVES = st.none() | st.booleans() | st.integers() | st.text() | st.floats()
VALUES = st.recursive(
    LEAVES, lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner) | st.tuples(inner, inner)
)


def finite(value):
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if isinstance(value, dict):
        return {key: finite(item) for key, item in value.items()}
    return [finite(item) for item in value] if isinstance(value, list | tuple) else value


@pytest.mark.thorough
@given(VALUES, st.sampled_from([None, 2]), st.booleans())
@settings(max_examples=200, deadline=None)
def test_what_is_not_finite_is_null_and_all_else_as_it_is(value, indent, compact):
    assert strict(json_text(value, indent=indent, compact=compact)) == finite(value)


def test_what_is_finite_is_written_as_ever():
    value = {"a": [1, 2.5, (True, None)], "b": "w\u99ac"}
    assert json_text(value, indent=2) == json.dumps(value, indent=2)
    assert json_text(value, compact=True) == json.dumps(value, separators=(",", ":"))
    assert json_text([math.nan, -math.inf]) == "[null, null]"
