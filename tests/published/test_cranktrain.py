"""Backlash against handbooks of gearing: what it changes by as the shafts come apart."""

import pytest

from gen.cranktrain import at_cam
from gen.linewanted import Cam
from gen.rowline import Line


def backlash_of(apart: float, pressure_angle: float) -> float:
    cam = Cam.model_validate({"toward": "+Z", "x": 0, "drive": "gears", "pressure_angle": pressure_angle})
    found = at_cam(cam, Line(0.0, 0.0, -apart, 0.0)).backlash
    assert found is not None
    return found


@pytest.mark.parametrize(("pressure_angle", "apart_per_backlash"), [(14.5, 1.933), (20, 1.374)])
def test_shafts_apart_for_a_backlash(pressure_angle: float, apart_per_backlash: float) -> None:
    """Elements of Metric Gear Technology, p. T47: dC = 1.933 dB at 14.5 degrees, 1.374 dB at 20."""
    assert 1 / backlash_of(1, pressure_angle) == pytest.approx(apart_per_backlash, abs=5e-4)


def test_a_worked_change() -> None:
    """The same, by its formula: shafts of 20 degree gears 0.05 mm farther apart gain 0.0364 mm, figures our own."""
    assert backlash_of(0.05, 20) == pytest.approx(0.0364, abs=5e-5)
    assert backlash_of(-0.05, 20) == pytest.approx(-0.0364, abs=5e-5)


def test_gears_of_20_degrees_have_41_percent_more() -> None:
    """A gear maker's handbook, Backlash, eq. 14-3: than those of 14.5, their shafts as far apart."""
    assert backlash_of(0.1, 20) / backlash_of(0.1, 14.5) == pytest.approx(1.41, abs=5e-3)
