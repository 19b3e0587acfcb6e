"""Numbers on a control's grid: multiples of its smallest step, as the decimals a person would write."""

import math
from decimal import Decimal


def decimals(step: float) -> int:
    """Digits behind the point that write every multiple of a step exactly."""
    exponent = Decimal(repr(step)).normalize().as_tuple().exponent
    return max(0, -int(exponent))


def nearest(value: float, step: float) -> float:
    """The multiple of ``step`` nearest to a value, as the decimal a person would write."""
    return round(round(value / step) * step, decimals(step))


def upward(value: float, step: float) -> float:
    """The smallest multiple of ``step`` that is not below a value.

    A value that is a multiple but for the last bits of a float counts as one.
    """
    count = math.ceil(value / step - 1e-9)
    return round(count * step, decimals(step))
