"""Least squares under relations that must hold exactly.

Glossary
--------
unknown
    One number to be found, with the value it has on the drawing and a weight.
relation
    A function of a few unknowns that must be zero.
independent
    A relation that says something the relations before it do not.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import FloatArray

Values = NDArray[np.complex128]

INDEPENDENT = 1e-7  # part of a gradient, relative, that must be new for its relation to say something new
SETTLED_MM = 1e-10  # every relation holds to this when the solution has settled
_ROUNDS = 40  # Gauss-Newton needs a handful; more means that it does not settle
_TINY = 1e-30  # complex step: exact derivatives without differences


@dataclass(frozen=True)
class Relation:
    """``residual`` of the values of ``unknowns`` (indices) must be 0; mm, or radians.

    ``residual`` takes complex values, so that its derivatives can be taken by a complex step. ``dimension`` is the
    row id where a figure on the print is the reason, and ``slack`` by how much the residual may be off for what that
    figure is rounded and tolerated by; ``linear``: its derivatives are the same everywhere.
    """

    unknowns: tuple[int, ...]
    residual: Callable[[Values], complex]
    dimension: str | None = None
    slack: float = 0.0
    linear: bool = False

    def value(self, values: FloatArray) -> float:
        """How far the relation is from holding."""
        return float(np.real(self.residual(values[list(self.unknowns)].astype(np.complex128))))

    def gradient(self, values: FloatArray) -> FloatArray:
        """Derivatives by its own unknowns."""
        base = values[list(self.unknowns)].astype(np.complex128)
        steps = base + 1j * _TINY * np.eye(len(base))
        return np.array([np.imag(self.residual(step)) / _TINY for step in steps])


def linear(terms: dict[int, float], constant: float, dimension: str | None = None) -> Relation:
    """The relation sum(coefficient * unknown) = constant.

    Examples
    --------
    >>> linear({0: 1.0, 2: -1.0}, 5.0).value(np.array([9.0, 0.0, 3.0]))
    1.0
    """
    factors = np.array(list(terms.values()))
    return Relation(tuple(terms), lambda values: complex(factors @ values - constant), dimension, linear=True)


@dataclass(frozen=True)
class Solution:
    """Result of `solve`.

    Attributes
    ----------
    values : ndarray, float64, shape (N,)
    settled : bool
        False where no solution was found; ``values`` are then the drawing's.
    holding, following, rounded, contradicting : tuple of Relation
        Those that were imposed, those that follow from them, those that do but for what figures are rounded or
        tolerated by, and those that can't hold beside them.
    free : ndarray, float64, shape (N, K)
        Directions in which the unknowns can still move without breaking a relation.
    """

    values: FloatArray
    settled: bool
    holding: tuple[Relation, ...]
    following: tuple[Relation, ...]
    rounded: tuple[Relation, ...]
    contradicting: tuple[Relation, ...]
    free: FloatArray


def solve(drawn: FloatArray, weights: FloatArray, relations: Sequence[Relation]) -> Solution:
    """Move the unknowns as little as possible so that the relations hold.

    Parameters
    ----------
    drawn : ndarray, float64, shape (N,)
        Values on the drawing.
    weights : ndarray, float64, shape (N,)
        Of the squared movements; positive.
    relations : sequence of Relation
        The first have the right of way: one that depends on those before it is only checked.

    Returns
    -------
    Solution

    Notes
    -----
    Minimise (v - drawn)^T W (v - drawn) with c(v) = 0 by Gauss-Newton: of the moves that meet the relations as they are
    at v, each round takes the least from the drawing, the shortest solution of J W^-1/2 u = c + J (drawn - v), and
    moves to drawn - W^-1/2 u. Linear relations hold after one round.

    Which relations are independent is asked where those hold that are linear and of the drawing itself: where a line
    touches an arc, what is drawn a hair beside it would look like news.
    """
    tidied = [each for each in relations if each.linear and each.dimension is None]
    start, _ = _settle(drawn, weights, _sift(drawn, tidied)[0], drawn)
    independent, dependent = _sift(start, relations)
    values, settled = _settle(drawn, weights, independent, start)
    if not settled:
        return Solution(drawn, False, (), (), (), tuple(relations), np.eye(len(drawn)))
    following = tuple(each for each in dependent if abs(each.value(values)) <= 100 * SETTLED_MM)
    others = [each for each in dependent if each not in following]
    rounded = tuple(each for each in others if abs(each.value(values)) <= _slack(each, independent, values))
    contradicting = tuple(each for each in others if each not in rounded)
    return Solution(values, True, tuple(independent), following, rounded, contradicting, _free(values, independent))


def _slack(relation: Relation, holding: Sequence[Relation], values: FloatArray) -> float:
    """How far a relation that others give may be off for their slack and its own.

    Notes
    -----
    Its gradient is a sum of theirs, g = J^T k, so that shifts e of what they demand shift it by k . e.
    """
    if not any(each.slack for each in (*holding, relation)):
        return 0.0
    jacobian = np.array([_row(each, values) for each in holding])
    shares = np.linalg.lstsq(jacobian.T, _row(relation, values), rcond=None)[0]
    return relation.slack + float(np.abs(shares) @ [each.slack for each in holding]) + 100 * SETTLED_MM


def _sift(drawn: FloatArray, relations: Sequence[Relation]) -> tuple[list[Relation], list[Relation]]:
    """Split relations into independent ones and those whose gradient the earlier ones already span."""
    basis = np.empty((len(relations), len(drawn)))
    independent: list[Relation] = []
    dependent: list[Relation] = []
    for relation in relations:
        row = _row(relation, drawn)
        length = np.linalg.norm(row)
        known = basis[: len(independent)]
        row -= known.T @ (known @ row)
        row -= known.T @ (known @ row)  # twice is enough to keep the basis orthogonal
        new = np.linalg.norm(row)
        if new <= INDEPENDENT * length:
            dependent.append(relation)
        else:
            basis[len(independent)] = row / new
            independent.append(relation)
    return independent, dependent


def _row(relation: Relation, values: FloatArray) -> FloatArray:
    row = np.zeros(len(values))
    np.add.at(row, list(relation.unknowns), relation.gradient(values))
    return row


def _settle(
    drawn: FloatArray, weights: FloatArray, relations: Sequence[Relation], start: FloatArray
) -> tuple[FloatArray, bool]:
    values, ease = start.copy(), 1 / np.sqrt(weights)
    if not relations:
        return values, True
    for step in range(_ROUNDS):
        with np.errstate(all="ignore"):  # a step into a place where two points fall together is seen just below
            residuals = np.array([each.value(values) for each in relations])
            jacobian = np.array([_row(each, values) for each in relations])
        if not (np.isfinite(residuals).all() and np.isfinite(jacobian).all()):
            return values, False
        if step > 0 and np.abs(residuals).max() < SETTLED_MM:
            return values, True
        wanted = residuals + jacobian @ (drawn - values)
        values = drawn - ease * np.linalg.lstsq(jacobian * ease, wanted, rcond=None)[0]
    return values, False


def _free(values: FloatArray, relations: Sequence[Relation]) -> FloatArray:
    if not relations:
        return np.eye(len(values))
    jacobian = np.array([_row(each, values) for each in relations])
    _, singular, rows = np.linalg.svd(jacobian)
    rank = int((singular > INDEPENDENT * singular[0]).sum())
    return np.asarray(rows[rank:].T, dtype=np.float64)
