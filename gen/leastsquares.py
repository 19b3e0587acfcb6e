"""Linear least squares, weighted, with the uncertainty of what it finds."""

from typing import NamedTuple

import numpy as np

from gen.sections import Floats

TELLS = 1e-12
"""Part of the first term that the last must add for itself to be told from the others; near the rounding of floats."""


class Fit(NamedTuple):
    """Terms (k,), their covariance (k, k) for the deviations given, and what the fit leaves over (n,)."""

    terms: Floats
    covariance: Floats
    residuals: Floats


def fit(design: Floats, values: Floats, deviations: Floats) -> Fit:
    """Terms t for which the sum of ((values - design t) / deviations)^2 is least.

    ``design`` (n, k), ``values`` and ``deviations`` (n,), the standard deviation of each value. A prior is a row more.
    By QR of the design, its columns brought to one length, and one step of refinement (G. H. Golub, C. F. Van Loan,
    Matrix Computations, 5.3; from memory). Raises ValueError when the values do not tell the terms apart.
    """
    count, terms = design.shape
    if count < terms:
        raise ValueError(f"{count} values for {terms} terms: there must be at least as many")
    weighted = design / deviations[:, None]
    lengths = np.sqrt((weighted * weighted).sum(axis=0))
    if not lengths.all():
        raise ValueError("a term that no value depends on: leave it out")
    q, r = np.linalg.qr(weighted / lengths)
    if np.abs(np.diag(r)).min() <= TELLS:
        raise ValueError("terms that the values do not tell apart: leave one out")
    found = np.zeros(terms)
    for _ in range(2):
        found += np.linalg.solve(r, q.T @ ((values - design @ found) / deviations)) / lengths
    root = np.linalg.inv(r) / lengths[:, None]
    return Fit(found, root @ root.T, values - design @ found)
