"""What the lines in question are called; ``gen.lines`` has what each of them is."""

from typing import Final

LEAST_MOVED: Final = "least moved"
MOST_STOCK: Final = "most stock"
NEW_ZERO_ONLY: Final = "new zero only"
WITHIN_LIMITS: Final = "within limits"
END_BORES: Final = "end bores"
LEAST_SQUARES: Final = "least squares"
AS_IT_LIES: Final = "as it lies"
NAMES: Final = (LEAST_MOVED, WITHIN_LIMITS, MOST_STOCK, NEW_ZERO_ONLY, END_BORES, LEAST_SQUARES, AS_IT_LIES)
"""In the order in which they are told."""
