"""Small pictures with known truth: every pixel gets the share of it that the pen covers."""

from pathlib import Path

import numpy as np
from scipy.ndimage import gaussian_filter

from calibrate.sheet import LevelSheet, Polarity, Resolution, ResolutionStatus
from digitize.strokes.centre_lines.refine import FloatArray
from digitize.strokes.ground import Ground, ground_of

MM_PER_PX = 25.4 / 300
SCANNER_BLUR_PX = 0.5


class Picture:
    """A blank sheet that lines, arcs and filled shapes are drawn on, in px."""

    def __init__(self, width: int, height: int) -> None:
        self.cover = np.zeros((height, width))
        self.y, self.x = np.mgrid[0:height, 0:width].astype(float)

    def _lay(self, distance: FloatArray, width: float) -> None:
        self.cover = np.maximum(self.cover, np.clip(width / 2 + 0.5 - distance, 0.0, min(width, 1.0)))

    def line(self, p: tuple[float, float], q: tuple[float, float], width: float = 3.0) -> "Picture":
        """A line with round ends."""
        dx, dy = q[0] - p[0], q[1] - p[1]
        t = np.clip(((self.x - p[0]) * dx + (self.y - p[1]) * dy) / max(dx * dx + dy * dy, 1e-12), 0.0, 1.0)
        self._lay(np.hypot(self.x - p[0] - t * dx, self.y - p[1] - t * dy), width)
        return self

    def broken(
        self, p: tuple[float, float], q: tuple[float, float], pattern: list[float], width: float = 3.0
    ) -> "Picture":
        """A line whose dashes and gaps (between the round ends' centres) repeat a pattern."""
        length = float(np.hypot(q[0] - p[0], q[1] - p[1]))
        ux, uy = (q[0] - p[0]) / length, (q[1] - p[1]) / length
        at, n = 0.0, 0
        while at < length:
            end = min(at + pattern[n % len(pattern)], length)
            if n % 2 == 0:
                self.line((p[0] + at * ux, p[1] + at * uy), (p[0] + end * ux, p[1] + end * uy), width)
            at, n = end, n + 1
        return self

    def arc(
        self, centre: tuple[float, float], radius: float, start: float = 0.0, sweep: float = 360.0, width: float = 3.0
    ) -> "Picture":
        """An arc from ``start`` counter-clockwise as seen, in degrees."""
        x, y = self.x - centre[0], centre[1] - self.y
        past = (np.degrees(np.arctan2(y, x)) - start) % 360.0
        distance = np.abs(np.hypot(x, y) - radius)
        for end in (start, start + sweep):
            a = np.radians(end)
            to_end = np.hypot(x - radius * np.cos(a), y - radius * np.sin(a))
            distance = np.where(past > sweep, np.minimum(np.where(past > sweep, np.inf, distance), to_end), distance)
        if sweep < 360.0:
            ends = [
                np.hypot(x - radius * np.cos(np.radians(e)), y - radius * np.sin(np.radians(e)))
                for e in (start, start + sweep)
            ]
            distance = np.where(past > sweep, np.minimum(*ends), np.abs(np.hypot(x, y) - radius))
        self._lay(distance, width)
        return self

    def fill(self, *corners: tuple[float, float]) -> "Picture":
        """A convex polygon with soft edges."""
        area = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
        inside = np.full_like(self.cover, np.inf)
        for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
            length = np.hypot(b[0] - a[0], b[1] - a[1])
            off = ((b[0] - a[0]) * (self.y - a[1]) - (b[1] - a[1]) * (self.x - a[0])) / length
            inside = np.minimum(inside, off * np.sign(area))
        self.cover = np.maximum(self.cover, np.clip(inside + 0.5, 0.0, 1.0))
        return self

    def head(
        self, tip: tuple[float, float], direction_deg: float, length: float = 36.0, slim: float = 3.0
    ) -> "Picture":
        """A filled arrowhead, ``slim`` times as long as wide, pointing counter-clockwise as seen from +x."""
        left, right = barbs(tip, direction_deg, length, slim)
        return self.fill(tip, left, right)

    def open_head(self, tip: tuple[float, float], direction_deg: float, length: float = 36.0) -> "Picture":
        """Two barbs."""
        left, right = barbs(tip, direction_deg, length, 3.0)
        return self.line(tip, left).line(tip, right)

    def grey(self, noise: float = 0.0, seed: int = 1) -> np.ndarray:
        """Paper white, ink black, with noise of a standard deviation in grey levels."""
        rng = np.random.default_rng(seed)
        cover = gaussian_filter(self.cover, SCANNER_BLUR_PX)
        return np.clip(np.rint(250.0 - 240.0 * cover + rng.normal(0.0, 1.0, cover.shape) * noise), 0, 255).astype(
            np.uint8
        )

    def sheet(self, noise: float = 0.0, seed: int = 1) -> LevelSheet:
        """The picture as a level sheet at 300 dpi."""
        return sheet_of(self.grey(noise, seed))

    def ground(self, noise: float = 0.0) -> Ground:
        """The picture as tracing sees it, without lettering."""
        return ground_of(self.sheet(noise), self.no_lettering())

    def no_lettering(self) -> np.ndarray:
        """An empty mask."""
        return np.zeros(self.cover.shape, bool)


def barbs(
    tip: tuple[float, float], direction_deg: float, length: float, slim: float
) -> tuple[tuple[float, float], tuple[float, float]]:
    """The two rear corners of an arrowhead."""
    a = np.radians(direction_deg)
    dx, dy = np.cos(a), -np.sin(a)
    half = length / slim / 2
    back = (tip[0] - length * dx, tip[1] - length * dy)
    return (back[0] - half * dy, back[1] + half * dx), (back[0] + half * dy, back[1] - half * dx)


def sheet_of(grey: np.ndarray, mm_per_px: float = MM_PER_PX) -> LevelSheet:
    """A level sheet whose frames are all the same."""
    dpi = 25.4 / mm_per_px
    return LevelSheet(
        path=Path("drawn.png"),
        sha256="0" * 64,
        page=1,
        page_count=1,
        source_shape_px=grey.shape,
        polarity=Polarity.DARK_ON_LIGHT,
        resolution=Resolution(ResolutionStatus.STATED, dpi, dpi, "drawn"),
        working_grey=grey,
        working_ink=grey < 130,
        grey=grey,
        ink=grey < 130,
        working_from_source=np.eye(3),
        level_from_working=np.eye(3),
        orientation_deg=0,
        skew_deg=0.0,
        skew_std_deg=0.0,
        rectified=False,
        paper_mm_per_px=mm_per_px,
        pen_px=3.0,
    )
