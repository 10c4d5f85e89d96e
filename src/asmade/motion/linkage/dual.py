"""Arrays that carry their rates: forward-mode differentiation for planar mechanisms.

A point of the plane is a complex number ``x + iy``. Values have the three axes (position, crank angle, sample);
rates have one more axis in front, one row for each thing they are rates to. A quantity that depends on none of
them carries ``None``, so nothing is spent on zeros.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[Any]


@dataclass(frozen=True, slots=True, eq=False)
class Dual:
    """A value, shape (positions, angles, samples), and its rates, shape (n, ...) broadcasting with it, or none."""

    value: Array
    rates: Array | None = None

    # numpy must hand ``array * dual`` over to us instead of building an array of objects
    __array_ufunc__ = None

    def __add__(self, other: Dual | complex) -> Dual:
        if not isinstance(other, Dual):
            return Dual(self.value + other, self.rates)
        return Dual(self.value + other.value, _sum(self.rates, other.rates))

    __radd__ = __add__

    def __sub__(self, other: Dual | complex) -> Dual:
        if not isinstance(other, Dual):
            return Dual(self.value - other, self.rates)
        lost = None if other.rates is None else -other.rates
        return Dual(self.value - other.value, _sum(self.rates, lost))

    def __rsub__(self, other: complex) -> Dual:
        return Dual(other - self.value, None if self.rates is None else -self.rates)

    def __neg__(self) -> Dual:
        return Dual(-self.value, None if self.rates is None else -self.rates)

    def __mul__(self, other: Dual | complex) -> Dual:
        if not isinstance(other, Dual):
            return Dual(self.value * other, None if self.rates is None else self.rates * other)
        a, b = self.value, other.value
        return Dual(
            a * b,
            _sum(
                None if self.rates is None else self.rates * b,
                None if other.rates is None else other.rates * a,
            ),
        )

    __rmul__ = __mul__

    def __truediv__(self, other: Dual | complex) -> Dual:
        if not isinstance(other, Dual):
            return Dual(self.value / other, None if self.rates is None else self.rates / other)
        quotient = self.value / other.value
        if self.rates is None and other.rates is None:
            return Dual(quotient)
        top = _sum(self.rates, None if other.rates is None else -other.rates * quotient)
        return Dual(quotient, None if top is None else top / other.value)

    def __rtruediv__(self, other: complex) -> Dual:
        quotient = other / self.value
        return Dual(quotient, None if self.rates is None else -self.rates * (quotient / self.value))

    @property
    def real(self) -> Dual:
        """Along x."""
        return Dual(self.value.real, None if self.rates is None else self.rates.real)

    @property
    def imag(self) -> Dual:
        """Along y."""
        return Dual(self.value.imag, None if self.rates is None else self.rates.imag)

    def conjugate(self) -> Dual:
        """Mirror image in the x axis."""
        return Dual(np.conj(self.value), None if self.rates is None else np.conj(self.rates))

    def square(self) -> Dual:
        """Squared length of a vector, or square of a number."""
        v = self.value
        if not np.iscomplexobj(v):
            return Dual(v * v, None if self.rates is None else 2 * v * self.rates)
        return Dual(v.real**2 + v.imag**2, None if self.rates is None else 2 * dot(v, self.rates))

    def length(self) -> Dual:
        """Length of a vector."""
        return sqrt(self.square())


def _sum(a: Array | None, b: Array | None) -> Array | None:
    if a is None:
        return b
    return a if b is None else a + b


def dot(a: Array, b: Array) -> Array:
    """Scalar product of plane vectors held as complex arrays."""
    product: Array = (np.conj(a) * b).real
    return product


def cross(a: Array, b: Array) -> Array:
    """Vector product of plane vectors held as complex arrays; positive where ``b`` is anticlockwise of ``a``."""
    product: Array = (np.conj(a) * b).imag
    return product


def sqrt(a: Dual) -> Dual:
    """Square root of a positive real quantity."""
    root = np.sqrt(a.value)
    return Dual(root, None if a.rates is None else a.rates / (2 * root))


def turn(angle: Dual) -> Dual:
    """Unit vector at an angle (rad, anticlockwise from x)."""
    value = np.empty(angle.value.shape, dtype=np.complex128)
    np.cos(angle.value, out=value.real)
    np.sin(angle.value, out=value.imag)
    return Dual(value, None if angle.rates is None else angle.rates * (1j * value))


def half_turn(tangent: Dual) -> Dual:
    """Unit vector at the angle whose half has this tangent: a rotation without sines, for use as an unknown."""
    up = 1.0 + 1j * tangent
    return up * up / up.square()


def bearing(vector: Dual) -> Dual:
    """Angle of a vector, rad in -pi..pi, anticlockwise from x."""
    v = vector.value
    angle = np.arctan2(v.imag, v.real)
    if vector.rates is None:
        return Dual(angle)
    return Dual(angle, cross(v, vector.rates) / (v.real**2 + v.imag**2))
