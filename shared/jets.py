"""Numbers that carry their own derivatives.

A `Jet` is an array of values together with the gradient of each value with
respect to a fixed list of variables. Ordinary arithmetic and a handful of
numpy functions carry both along, so a formula written once gives its value,
its exact Jacobian (for the adjustment and for propagating ±), and, when fed
plain arrays instead, thousands of samples at a time.

Knows nothing of cameras. The chain rule is all there is; see A. Griewank and
A. Walther, *Evaluating Derivatives*, 2nd ed., 2008, chapter 3 (forward mode).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Number = Any  # a Jet, an array or a float: formulas take any of them

_UNARY: dict[Any, Callable[[Array, Array], tuple[Array, Array]]] = {
    np.sqrt: lambda x, y: (y, 0.5 / y),
    np.sin: lambda x, y: (y, np.cos(x)),
    np.cos: lambda x, y: (y, -np.sin(x)),
    np.exp: lambda x, y: (y, y),
    np.log: lambda x, y: (y, 1.0 / x),
    np.arcsin: lambda x, y: (y, 1.0 / np.sqrt(1.0 - x * x)),
    np.arctan: lambda x, y: (y, 1.0 / (1.0 + x * x)),
    np.absolute: lambda x, y: (y, np.sign(x)),
}


class Jet:
    """Values and their gradients.

    Parameters
    ----------
    value : ndarray, shape S
        Any shape, the empty shape for one number.
    gradient : ndarray, shape S + (n,)
        Derivatives of each value with respect to the n variables.

    Examples
    --------
    The area of a 3 by 4 rectangle grows by 4 for each unit of width and by 3
    for each unit of height.

    >>> width, height = jets_from_values([3.0, 4.0])
    >>> area = width * height
    >>> float(area.value), area.gradient.tolist()
    (12.0, [4.0, 3.0])
    """

    __slots__ = ("gradient", "value")
    __array_priority__ = 1000

    def __init__(self, value: ArrayLike, gradient: ArrayLike) -> None:
        self.value: Array = np.asarray(value, dtype=float)
        self.gradient: Array = np.asarray(gradient, dtype=float)

    @property
    def shape(self) -> tuple[int, ...]:
        """Shape of the values."""
        return self.value.shape

    def __len__(self) -> int:
        return len(self.value)

    def __getitem__(self, key: Any) -> Jet:
        key = key if isinstance(key, tuple) else (key,)
        tail = (slice(None),) if any(part is Ellipsis for part in key) else ()
        return Jet(self.value[key], self.gradient[key + tail])

    def __repr__(self) -> str:
        return f"Jet({self.value!r}, gradient of {self.gradient.shape[-1]})"

    def sum(self, axis: int = -1) -> Jet:
        """Sum over one axis of the values."""
        axis = axis % self.value.ndim
        return Jet(self.value.sum(axis), self.gradient.sum(axis))

    def __neg__(self) -> Jet:
        return Jet(-self.value, -self.gradient)

    def __abs__(self) -> Jet:
        return Jet(np.abs(self.value), self.gradient * np.sign(self.value)[..., None])

    def __add__(self, other: Number) -> Jet:
        if isinstance(other, Jet):
            return Jet(self.value + other.value, self.gradient + other.gradient)
        value = self.value + other
        if value.ndim == self.value.ndim and value.shape == self.value.shape:
            return Jet(value, self.gradient)
        return Jet(value, np.broadcast_to(self.gradient, (*value.shape, self.gradient.shape[-1])))

    __radd__ = __add__

    def __sub__(self, other: Number) -> Jet:
        if isinstance(other, Jet):
            return Jet(self.value - other.value, self.gradient - other.gradient)
        return self.__add__(-other)

    def __rsub__(self, other: Number) -> Jet:
        return self.__neg__().__add__(other)

    def __mul__(self, other: Number) -> Jet:
        if isinstance(other, Jet):
            return Jet(
                self.value * other.value,
                self.gradient * other.value[..., None] + other.gradient * self.value[..., None],
            )
        factor = np.asarray(other, dtype=float)
        return Jet(self.value * factor, self.gradient * factor[..., None])

    __rmul__ = __mul__

    def __truediv__(self, other: Number) -> Jet:
        if isinstance(other, Jet):
            quotient = self.value / other.value
            gradient = self.gradient - other.gradient * quotient[..., None]
            return Jet(quotient, gradient / other.value[..., None])
        return self * (1.0 / np.asarray(other, dtype=float))

    def __rtruediv__(self, other: Number) -> Jet:
        quotient = np.asarray(other, dtype=float) / self.value
        return Jet(quotient, self.gradient * (-quotient / self.value)[..., None])

    def __pow__(self, power: float) -> Jet:
        slope = power * self.value ** (power - 1)
        return Jet(self.value**power, self.gradient * slope[..., None])

    def __array_ufunc__(self, ufunc: Any, method: str, *inputs: Any, **kwargs: Any) -> Any:
        """Carry gradients through numpy functions of one or two arguments."""
        if method != "__call__" or kwargs:
            return NotImplemented
        if ufunc in _UNARY:
            x = inputs[0].value
            value, slope = _UNARY[ufunc](x, ufunc(x))
            return Jet(value, inputs[0].gradient * np.asarray(slope)[..., None])
        a, b = inputs if len(inputs) == 2 else (inputs[0], inputs[0])
        if ufunc is np.add:
            return b + a if isinstance(b, Jet) else a + b
        if ufunc is np.subtract:
            return a - b if isinstance(a, Jet) else b.__rsub__(a)
        if ufunc is np.multiply:
            return b * a if isinstance(b, Jet) else a * b
        if ufunc is np.true_divide:
            return a / b if isinstance(a, Jet) else b.__rtruediv__(a)
        if ufunc is np.negative:
            return -a
        if ufunc in (np.arctan2, np.hypot):
            return _two_argument(ufunc, a, b)
        return NotImplemented


def _two_argument(ufunc: Any, a: Number, b: Number) -> Jet:
    """arctan2 and hypot."""
    x, y = value_of(b), value_of(a)
    norm2 = x * x + y * y
    value = ufunc(y, x)
    slope_y, slope_x = (x / norm2, -y / norm2) if ufunc is np.arctan2 else (y / value, x / value)
    gradient: Any = 0.0
    if isinstance(a, Jet):
        gradient = gradient + a.gradient * np.asarray(slope_y)[..., None]
    if isinstance(b, Jet):
        gradient = gradient + b.gradient * np.asarray(slope_x)[..., None]
    return Jet(value, gradient)


def jets_from_values(values: ArrayLike) -> list[Jet]:
    """Make one scalar `Jet` for each value, each a variable of its own.

    Parameters
    ----------
    values : array_like, shape (n,)

    Returns
    -------
    list of Jet
        n scalars; the gradient of the i-th is the i-th unit vector.
    """
    flat = np.asarray(values, dtype=float)
    unit = np.eye(len(flat))
    return [Jet(flat[i], unit[i]) for i in range(len(flat))]


def value_of(number: Number) -> Array:
    """Values alone, of a Jet or of a plain number."""
    return number.value if isinstance(number, Jet) else np.asarray(number, dtype=float)


def gradient_of(number: Number, count: int) -> Array:
    """Gradient, zero for a plain number, with `count` variables."""
    if isinstance(number, Jet):
        return number.gradient
    return np.zeros((*np.shape(number), count))
