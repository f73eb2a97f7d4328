"""The machinery all pages share: a normal prior, any log-likelihood, the mode, the curvature there.

A page has U units (clubs, lies, or one putter) with B parameters each on unbounded scales. Evidence about
different units is independent given the parameters; the prior may tie them together. Find

    theta* = argmax  sum of log-likelihoods(theta) - (theta - mean)' P (theta - mean) / 2

by Newton's method: first with the page's own positive information (outer products or expected), then with the
observed curvature, found by differences of the gradient, all units at once because their blocks are apart. It
has converged when half the squared Newton step, measured by the curvature, is below 1e-16; else it is an error.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve

from caddiebrain.errors import SolveError

__all__ = ["Mode", "Page", "Terms", "block_precision", "maximise"]

Floats = NDArray[np.float64]

_ROUGH, _EXACT = 1e-3, 1e-16
_ROUGH_STEPS, _EXACT_STEPS = 30, 25
_DIFFERENCE = 1e-4
_LONGEST_STEP = 1.5


@dataclass(frozen=True)
class Terms:
    """Log-likelihood (), gradient (U, B) and information (U, B, B) of some evidence."""

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
    for _ in range(_ROUGH_STEPS):
        terms = page.terms(theta)
        theta, gap = _step(page, theta, terms, terms.information, mean, precision)
        if gap < _ROUGH:
            break
    for _ in range(_EXACT_STEPS):
        terms = page.terms(theta)
        curvature = _curvature(page, theta, precision)
        theta, gap = _step(page, theta, terms, curvature, mean, precision)
        if gap < _EXACT:
            return Mode(theta, curvature, gap)
    raise SolveError(f"the fit did not settle: the last step still measured {gap:.1e}, above {_EXACT:.0e}")


def block_precision(precision: Floats, blocks: Floats) -> Floats:
    """Add blocks (U, B, B) to the diagonal of a precision matrix (U B, U B)."""
    units, size = blocks.shape[:2]
    total = precision.reshape(units, size, units, size).copy()
    at = np.arange(units)
    total[at, :, at, :] += blocks
    return total.reshape(units * size, units * size)


def _step(
    page: Page, theta: Floats, terms: Terms, information: Floats, mean: Floats, precision: Floats
) -> tuple[Floats, float]:
    """One Newton step, shortened until the posterior rises; returns its squared length before shortening."""
    off = (theta - mean).ravel()
    slope = terms.gradient.ravel() - precision @ off
    move = cho_solve(cho_factor(block_precision(precision, information)), slope)
    gap = 0.5 * float(slope @ move)
    move *= min(1.0, _LONGEST_STEP / max(float(np.abs(move).max()), 1e-300))
    if gap < _EXACT:
        return theta + move.reshape(theta.shape), gap
    height = terms.value - 0.5 * float(off @ precision @ off)
    for _ in range(30):
        there = theta + move.reshape(theta.shape)
        away = (there - mean).ravel()
        rise = page.terms(there).value - 0.5 * float(away @ precision @ away) - height
        if rise >= -1e-12 * max(1.0, abs(height)):
            return there, gap
        move *= 0.5
    return theta, gap


def _observed(page: Page, theta: Floats) -> Floats:
    """Minus the second derivatives (U, B, B) of the log-likelihood, by central differences."""
    units, size = theta.shape
    out = np.empty((units, size, size))
    for j in range(size):
        shift = np.zeros(size)
        shift[j] = _DIFFERENCE
        out[:, j] = (page.terms(theta - shift).gradient - page.terms(theta + shift).gradient) / (
            2.0 * _DIFFERENCE
        )
    return 0.5 * (out + np.transpose(out, (0, 2, 1)))


def _curvature(page: Page, theta: Floats, precision: Floats) -> Floats:
    """Observed curvature; where the posterior is no peak there, with the negative directions flattened."""
    blocks = _observed(page, theta)
    if np.linalg.eigvalsh(block_precision(precision, blocks))[0] > 0.0:
        return blocks
    values, vectors = np.linalg.eigh(blocks)
    return np.asarray(np.einsum("uik,uk,ujk->uij", vectors, np.maximum(values, 0.0), vectors))
