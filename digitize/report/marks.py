"""The marks that a checker finds on the check print, as plain polylines.

After the drawing office's habit (common practice, no source) what is right is struck lightly in yellow and what is
wrong is ringed in red. The marks differ by shape as well as by colour:

agreed
    a yellow stroke under the figure
unproven
    an open bracket before it
disputed
    a red ring round it
unread
    a hatched box over it
"""

from dataclasses import dataclass, replace

import numpy as np

from calibrate.sheet import FloatArray
from digitize.dimensions.table import State

COLOURS: dict[State, str] = {
    State.AGREED: "#f2c200",
    State.UNPROVEN: "#1d4f91",
    State.DISPUTED: "#c1121f",
    State.UNREAD: "#5b3f8c",
}
MEANINGS: dict[State, str] = {
    State.AGREED: "a yellow stroke under the figure: independent witnesses agree on it",
    State.UNPROVEN: "an open bracket before it: nothing but the figure, or the drawing, speaks for it",
    State.DISPUTED: "a red ring: figure and drawing contradict each other",
    State.UNREAD: "a hatched box: lettering that could not be read",
}
URGENCY = (State.DISPUTED, State.UNREAD, State.UNPROVEN, State.AGREED)  # what to check first

_RING_CORNERS = 48
_UNDERLINE_GAP = 0.28  # all in parts of the figure's height
_BRACKET_GAP = 0.25
_BRACKET_REACH = 0.3
_HATCH_STEP = 0.35
_BOX_MARGIN = 0.2
_PEN = {State.AGREED: 0.3, State.UNPROVEN: 0.14, State.DISPUTED: 0.14, State.UNREAD: 0.08}
_RING_GROWTH = 2**0.5  # an ellipse through a rectangle's corners
_RING_MARGIN = 0.12


@dataclass(frozen=True)
class Mark:
    """Polylines, each of shape (N, 2) in level pixels, drawn with one pen."""

    state: State
    paths: tuple[FloatArray, ...]
    width_px: float

    def within(self, shape: tuple[int, ...]) -> "Mark":
        """The mark moved onto a picture (height and width in px): that of a figure at its edge would not be seen."""
        points, half = np.vstack(self.paths), self.width_px / 2
        room = np.array([shape[1], shape[0]], np.float64)
        move = np.minimum(room - half - points.max(axis=0), 0.0) + np.maximum(half - points.min(axis=0), 0.0)
        return replace(self, paths=tuple(path + move for path in self.paths))


@dataclass(frozen=True)
class _Figure:
    """A quad as its own coordinates: 0 to ``length`` along the reading direction, 0 to 1 from its top down."""

    origin: FloatArray
    right: FloatArray
    down: FloatArray
    length: float
    height_px: float

    def at(self, points: list[tuple[float, float]]) -> FloatArray:
        """Figure coordinates, in heights, to level pixels."""
        across = np.array(points, dtype=np.float64)
        return np.asarray(self.origin + across[:, :1] * self.right + across[:, 1:] * self.down, dtype=np.float64)


def _figure(quad: FloatArray) -> _Figure:
    right, down = quad[1] - quad[0], quad[3] - quad[0]
    height = max(float(np.hypot(*down)), 1.0)
    length = max(float(np.hypot(*right)), 1.0)
    return _Figure(quad[0], right / length * height, down, length / height, height)


def mark(quad: FloatArray, state: State) -> Mark:
    """Make the mark of one figure.

    Parameters
    ----------
    quad : ndarray, float64, shape (4, 2)
        Corners of the figure in level pixels, in reading order from its top left.
    state : State
    """
    figure = _figure(quad)
    paths = {
        State.AGREED: _underline,
        State.UNPROVEN: _bracket,
        State.DISPUTED: _ring,
        State.UNREAD: _hatched_box,
    }[state](figure)
    return Mark(state, tuple(figure.at(path) for path in paths), _PEN[state] * figure.height_px)


_Paths = list[list[tuple[float, float]]]


def _underline(figure: _Figure) -> _Paths:
    below = 1 + _UNDERLINE_GAP
    return [[(0, below), (figure.length, below)]]


def _bracket(_figure: _Figure) -> _Paths:
    left, top, bottom = -_BRACKET_GAP - _BRACKET_REACH, -_BOX_MARGIN, 1 + _BOX_MARGIN
    return [[(left + _BRACKET_REACH, top), (left, top), (left, bottom), (left + _BRACKET_REACH, bottom)]]


def _ring(figure: _Figure) -> _Paths:
    wide = figure.length / 2 * _RING_GROWTH + _RING_MARGIN
    high = 0.5 * _RING_GROWTH + _RING_MARGIN
    angles = np.linspace(0, 2 * np.pi, _RING_CORNERS + 1)
    return [[(float(figure.length / 2 + wide * np.cos(a)), float(0.5 + high * np.sin(a))) for a in angles]]


def _hatched_box(figure: _Figure) -> _Paths:
    left, right, top, bottom = -_BOX_MARGIN, figure.length + _BOX_MARGIN, -_BOX_MARGIN, 1 + _BOX_MARGIN
    outline = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)]
    tall = bottom - top
    starts = np.arange(left - tall + _HATCH_STEP, right, _HATCH_STEP)
    return [outline, *(_hatch_line(float(start), left, right, top, tall) for start in starts)]


def _hatch_line(start: float, left: float, right: float, top: float, tall: float) -> list[tuple[float, float]]:
    """One line at 45 degrees from the box's foot at ``start`` to its top, cut off at the box's sides."""
    first, last = max(start, left), min(start + tall, right)
    return [(first, top + tall - (first - start)), (last, top + tall - (last - start))]
