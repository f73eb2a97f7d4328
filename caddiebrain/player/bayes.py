"""The machinery all pages share: a normal prior, any log-likelihood, the mode, the curvature there.

A page has U units (clubs, lies, or one putter) with B parameters each on unbounded scales. Evidence about
different units is independent given the parameters; the prior may tie them together. Find

    theta* = argmax  sum of log-likelihoods(theta) - (theta - mean)' P (theta - mean) / 2

by Newton's method with the page's second derivatives, each step halved until the posterior rises. Where the
posterior is no peak, directions that curve upward are followed as if they curved down. It has converged when
half the squared Newton step, measured by the curvature, is below 1e-16; else it is an error.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve

from caddiebrain.errors import SolveError

__all__ = ["Mode", "Page", "Terms", "block_precision", "maximise"]

Floats = NDArray[np.float64]

_EXACT = 1e-16
_MOST_STEPS = 200
_LONGEST_STEP = 1.5
_ROUNDING = 1e-12


@dataclass(frozen=True)
class Terms:
    """Log-likelihood (), gradient (U, B) and minus its second derivatives (U, B, B) of some evidence."""

    value: float
    gradient: Floats
    information: Floats

    def __add__(self, other: "Terms") -> "Terms":
        return Terms(
            self.value + other.value,
            self.gradient + other.gradient,
            self.information + other.information,
        )


class Page(Protocol):
    """A statistical model: evidence held, a formula evaluated."""

    def terms(self, theta: Floats) -> Terms:
        """Evaluate the evidence at parameters (U, B)."""
        ...


@dataclass(frozen=True)
class Mode:
    """Most likely parameters (U, B), the evidence's curvature there (U, B, B), and the last squared step."""

    theta: Floats
    information: Floats
    gap: float


def maximise(page: Page, mean: Floats, precision: Floats) -> Mode:
    """Find the mode of a page under a normal prior.

    Parameters
    ----------
    page : Page
    mean : ndarray of shape (U, B)
    precision : ndarray of shape (U B, U B)

    Raises
    ------
    SolveError
        If Newton's method has not converged.
    """
    theta, gap = mean.copy(), np.inf
    terms = page.terms(theta)
    for _ in range(_MOST_STEPS):
        off = (theta - mean).ravel()
        slope = terms.gradient.ravel() - precision @ off
        curvature = _downward(terms.information, precision)
        move = cho_solve(cho_factor(block_precision(precision, curvature)), slope)
        gap = 0.5 * float(slope @ move)
        if gap < _EXACT:
            return Mode(theta + move.reshape(theta.shape), curvature, gap)
        theta, terms = _risen(page, theta, terms, move, mean, precision)
    raise SolveError(f"the fit did not settle: the last step still measured {gap:.1e}, above {_EXACT:.0e}")


def block_precision(precision: Floats, blocks: Floats) -> Floats:
    """Add blocks (U, B, B) to the diagonal of a precision matrix (U B, U B)."""
    units, size = blocks.shape[:2]
    total = precision.reshape(units, size, units, size).copy()
    at = np.arange(units)
    total[at, :, at, :] += blocks
    return total.reshape(units * size, units * size)


def _risen(
    page: Page, theta: Floats, terms: Terms, move: Floats, mean: Floats, precision: Floats
) -> tuple[Floats, Terms]:
    """Go along a step, halved until the posterior is no lower than before but for rounding."""
    move = move * min(1.0, _LONGEST_STEP / max(float(np.abs(move).max()), 1e-300))
    height = terms.value - _cost(theta, mean, precision)
    for _ in range(40):
        there = theta + move.reshape(theta.shape)
        found = page.terms(there)
        if found.value - _cost(there, mean, precision) >= height - _ROUNDING * max(1.0, abs(height)):
            return there, found
        move = 0.5 * move
    return theta, terms


def _cost(theta: Floats, mean: Floats, precision: Floats) -> float:
    off = (theta - mean).ravel()
    return 0.5 * float(off @ precision @ off)


def _downward(blocks: Floats, precision: Floats) -> Floats:
    """Return the curvature itself where the posterior is a peak, else with every direction made to curve down."""
    if np.linalg.eigvalsh(block_precision(precision, blocks))[0] > 0.0:
        return blocks
    values, vectors = np.linalg.eigh(blocks)
    return np.asarray(np.einsum("uik,uk,ujk->uij", vectors, np.abs(values), vectors))
