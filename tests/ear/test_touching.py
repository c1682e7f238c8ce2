import pytest

from combwright.ear.touching import to_touch


@pytest.mark.parametrize(
    ("off", "sd", "touched"),
    [
        ([0.05, -0.08], [0.01, 0.01], ()),
        ([0.5, -0.4], [0.3, 0.3], ()),
        ([3.0, -0.5], [0.05, 0.05], (0,)),
        ([-0.5, 3.0, 2.0], [0.05, 0.05, 0.05], (1,)),
        ([2.0, -2.05], [0.05, 0.05], (1, 0)),
        ([5.0], [0.1], (0,)),
    ],
)
def test_the_reed_to_touch_is_the_one_surely_further_off(off, sd, touched):
    assert to_touch(off, sd) == touched
