"""Numbers with a covariance, and exact conditions imposed on them.

The conditions are linear, ``A x = b``: two sills on one line, a width of 1 000. What comes
out is the set of values that meets them and lies nearest to what was measured, near in the
sense of the whole covariance, so that a number moves the ones it is correlated with.

Knows no openings and no drawing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.linalg import lapack, solve_triangular
from scipy.sparse import csr_array

from shared.jets import Array

#: Part of its own variance that is left of a number when it counts as settled by conditions
#: already imposed: rounding leaves about 1e-12, a real remainder is far more.
SETTLED = 1e-8

#: Millimetres by which a condition may fail and still count as met: rounding, on walls of some
#: hundred metres.
MET_MM = 1e-5


@dataclass(frozen=True, slots=True)
class Imposed:
    """What imposing conditions did.

    Attributes
    ----------
    chi_square : float
        How much the numbers resisted: the squared distance moved, in units of the ±.
    degrees : int
        Conditions that said something new.
    broken : tuple of int
        Conditions that could not be met, because earlier ones fix them otherwise.
    """

    chi_square: float
    degrees: int
    broken: tuple[int, ...]


class Constrained:
    """Values and covariance under conditions imposed one set after the other.

    Parameters
    ----------
    values : ndarray, shape (n,)
    cov : ndarray, shape (n, n)

    Notes
    -----
    With the misclosure ``w = A x - b`` and ``S = A C A'`` the constrained values are
    ``x - C A' S^-1 w``, their covariance ``C - C A' S^-1 A C``, and ``w' S^-1 w`` is
    distributed as chi-square with as many degrees of freedom as S has rank, if what the
    conditions say is true.

    Conditions that say the same twice make S singular. It is factored with pivots; the rows
    left over follow from the others, and are only looked at to see whether they are met.

    References
    ----------
    E. M. Mikhail, *Observations and Least Squares*, 1976 (conditions between observations;
    from memory). Pivoted factoring: N. J. Higham, *Analysis of the Cholesky decomposition of
    a semi-definite matrix*, 1990.

    Examples
    --------
    Two sills of the same ± that read 900 and 910 are both 905, and that is known better by a
    factor of the square root of two.

    >>> sills = Constrained(np.array([900.0, 910.0]), np.diag([16.0, 16.0]))
    >>> done = sills.impose(csr_array([[1.0, -1.0]]), np.zeros(1))
    >>> sills.values.round(9).tolist(), sills.cov[0].round(9).tolist(), round(done.chi_square, 9)
    ([905.0, 905.0], [8.0, 8.0], 3.125)
    """

    def __init__(self, values: Array, cov: Array) -> None:
        self.values = np.array(values, dtype=float)
        self.cov = np.array(cov, dtype=float)
        self._given = np.asarray(cov, dtype=float)

    def impose(self, rows: Any, wanted: Array) -> Imposed:
        """Impose ``rows @ x = wanted``.

        Parameters
        ----------
        rows : sparse array, shape (m, n)
        wanted : ndarray, shape (m,)
            In mm.

        Returns
        -------
        Imposed
            With `broken` conditions left unmet, the others met.
        """
        rows = csr_array(rows)
        m = rows.shape[0]
        if m == 0:
            return Imposed(0.0, 0, ())
        misclosure = rows @ self.values - wanted
        scale = np.sqrt(np.maximum(_diagonal_of(rows, self._given), MET_MM**2))
        pulled = np.asarray(rows @ self.cov)
        s = np.asarray(rows @ pulled.T) / np.outer(scale, scale)
        factor, pivots, rank, _ = lapack.dpstrf(0.5 * (s + s.T), tol=SETTLED, lower=1)
        free = pivots[:rank] - 1
        chi_square = 0.0
        if rank:
            lower = np.tril(factor[:rank, :rank])
            w = solve_triangular(lower, misclosure[free] / scale[free], lower=True)
            half = solve_triangular(lower, pulled[free] / scale[free][:, None], lower=True)
            self.values -= half.T @ w
            self.cov -= half.T @ half
            chi_square = float(w @ w)
        left = np.abs(rows @ self.values - wanted)
        broken = np.flatnonzero(left > MET_MM + np.sqrt(SETTLED) * scale)
        return Imposed(chi_square, int(rank), tuple(int(i) for i in broken if i not in free))

    def copy(self) -> Constrained:
        """The same state, to try conditions on."""
        twin = Constrained(self.values, self.cov)
        twin._given = self._given
        return twin

    def cov_of(self, rows: Any) -> Array:
        """Covariance of ``rows @ x``, shape (m, m)."""
        return _cov_of(rows, self.cov)

    def cov_given(self, rows: Any) -> Array:
        """Covariance of ``rows @ x`` as it was before any condition, shape (m, m)."""
        return _cov_of(rows, self._given)


def _cov_of(rows: Any, cov: Array) -> Array:
    out: Array = np.asarray(rows @ np.asarray(rows @ cov).T)
    return 0.5 * (out + out.T)


def _diagonal_of(rows: Any, cov: Array) -> Array:
    return np.asarray((rows.multiply(np.asarray(rows @ cov))).sum(axis=1)).ravel()
