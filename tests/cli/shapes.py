"""Whether a JSON document has the keys and types that it should have, and no others."""

import math

NUMBER = object()


def check_shape(value, shape, at="the document"):
    """Compare a value with a shape, down to its last part.

    A dictionary gives its keys, those with a question mark optional; a list its items' shape; a
    set the values there are; a tuple shapes of which one will do; NUMBER any finite number.
    """
    if isinstance(shape, dict):
        must = {key for key in shape if not key.endswith("?")}
        assert type(value) is dict, f"{at} is {value!r}"
        assert must <= set(value) <= {key.rstrip("?") for key in shape}, f"{at} has {set(value)}"
        for key, inner in shape.items():
            if key.rstrip("?") in value:
                check_shape(value[key.rstrip("?")], inner, f"{at}.{key}")
    elif isinstance(shape, list):
        assert type(value) is list, f"{at} is {value!r}"
        for place, item in enumerate(value):
            check_shape(item, shape[0], f"{at}[{place}]")
    elif isinstance(shape, tuple):
        assert any(_has(value, one) for one in shape), f"{at} is {value!r}"
    elif isinstance(shape, set):
        assert value in shape, f"{at} is {value!r}"
    elif shape is NUMBER:
        assert type(value) in (int, float), f"{at} is {value!r}"
        assert math.isfinite(value), f"{at} is {value!r}"
    else:
        assert type(value) is shape, f"{at} is {value!r}"


def _has(value, shape):
    if shape is None:
        return value is None
    try:
        check_shape(value, shape)
    except AssertionError:
        return False
    return True
