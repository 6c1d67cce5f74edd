"""Temperatures from an ordinary picture: the scale bar beside it is found, its colours inverted.

A bar is a strip whose colours run far along it and are the same across it. Every pixel of the
picture takes the place on the bar whose colour is nearest to its own; what is near to none (text,
a cross, a logo) is no reading, nor is what lies at the bar's ends, where the scale is cut off.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError
from warmside.wording import PAPER

Floats = npt.NDArray[np.float64]

THINNEST = 5  # [pixels] of a bar
SHORTEST = 0.35  # [-] of the picture's side
ALIKE = 14.0  # [levels] that neighbours across a bar may differ by, the wear of a JPEG
FARTHEST_PATH = 240.0  # [levels] that colours run along a bar at least
STEEPEST = 60.0  # [levels] from one place of a bar to the next
FOREIGN = 30.0  # [levels] from every colour of the bar: no temperature
NOISE = 8.0  # [levels] within which two colours are one
TWICE = 0.2  # [-] of the scale that one colour may stand for
ENDS = 0.004  # [-] of the scale at either end, where it may be cut off
COLOUR = 0.25  # [-] weight of colour against lightness, which a JPEG wears less
NUMBERS = 1.5  # [-] of a bar's thickness beside it that its numbers and frame take
_SAMPLES = 24  # places by which the path along a strip is measured: noise adds none
_PLAIN = 4  # [pixels] of one colour that are no scale
GREY = 8.0  # [levels] between channels of a picture without colours
_PLACE = "thermal picture"


@dataclass(frozen=True, eq=False)
class Bar:
    """A scale bar: colours (n, 3) from cold to warm, and where it stands (rows, columns)."""

    colours: Floats
    rows: slice
    columns: slice


def is_grey(picture: Floats) -> bool:
    """Whether a picture (rows, columns, 3) holds no colours, so that its tones are its scale."""
    spread = picture.max(axis=2) - picture.min(axis=2)
    return bool(np.percentile(spread, 99.0) <= GREY)


MOST_OF_IT = 0.5  # [-] of a picture that a bar beside it may cover


def bar_of(picture: Floats) -> Bar | None:
    """The scale bar of a picture (rows, columns, 3) [0 to 255], None where there is none.

    Warm is at the top of an upright bar and at the right of a lying one (common practice).
    """
    upright, lying = _upright(picture), _upright(picture.transpose(1, 0, 2)[::-1])
    found = [one for one in (upright, lying) if one is not None]
    if not found:
        return None
    rank, rows, columns, colours = max(found, key=lambda one: one[0])
    covered = (rows.stop - rows.start) * (columns.stop - columns.start)
    if covered > MOST_OF_IT * picture.shape[0] * picture.shape[1]:
        return None  # it is the picture itself: nothing stands beside it
    if upright is not None and rank == upright[0]:
        return Bar(colours, rows, columns)
    wide = picture.shape[1]  # turned back: its rows ran from the right
    return Bar(colours, columns, slice(wide - rows.stop, wide - rows.start))


# a scale in which no colour comes twice goes before any other strip, then the longest path
_Rank = tuple[bool, float]
_Found = tuple[_Rank, slice, slice, Floats]


def _upright(picture: Floats) -> _Found | None:
    """The longest path of colours down a strip that is alike across."""
    rows = picture.shape[0]
    across = np.abs(np.diff(picture, axis=1)).max(axis=2) <= ALIKE
    best: _Found | None = None
    least = max(16, round(SHORTEST * rows))
    thick = THINNEST - 1
    run = np.cumsum(np.pad(across, ((0, 0), (1, 0))), axis=1)
    flat = (run[:, thick:] - run[:, :-thick]) == thick  # strips that begin in a column
    for left in range(flat.shape[1]):
        for first, last in _runs(flat[:, left], least):
            line = picture[first:last, left : left + THINNEST].mean(axis=1)
            steps = np.linalg.norm(np.diff(line, axis=0), axis=1)
            ended = np.flatnonzero(steps > STEEPEST)  # a frame or a number ends the bar
            cuts = [0, *(int(k) + 1 for k in ended), line.shape[0]]
            for start, end in pairwise(cuts):
                a = start + _plateau(line[start:end])
                b = end - _plateau(line[a:end][::-1])
                if b - a < least:
                    continue
                smooth = _smooth(line[a:b])
                few = smooth[np.linspace(0, b - a - 1, _SAMPLES).astype(int)]
                path = float(np.linalg.norm(np.diff(few, axis=0), axis=1).sum())
                if path <= FARTHEST_PATH or (best and path <= best[0][1] and best[0][0]):
                    continue
                spans = _spans(smooth)
                rank = (float(np.percentile(spans, 95.0)) <= TWICE, path)
                if _once(spans) and (best is None or rank > best[0]):
                    best = (rank, slice(first + a, first + b),
                            slice(left, left + THINNEST), smooth[::-1])  # fmt: skip
    if best is None:
        return None
    rank, rows_of, columns_of, colours = best
    return rank, rows_of, _thickness(picture[rows_of], columns_of), colours


def _thickness(rows: Floats, columns: slice) -> slice:
    """All columns beside ``columns`` that run through the same colours along ``rows``."""
    line = rows[:, columns].mean(axis=1, keepdims=True)
    alike = np.abs(rows - line).max(axis=2).mean(axis=0) <= ALIKE
    first, last = columns.start, columns.stop
    while first > 0 and alike[first - 1]:
        first -= 1
    while last < alike.size and alike[last]:
        last += 1
    return slice(first, last)


def _plateau(line: Floats) -> int:
    """Length of a plain stretch that a strip begins with: a frame of the palette's end colour."""
    if line.shape[0] < _PLAIN:
        return 0
    away = np.abs(line - line[0]).max(axis=1) > 1.0
    length = int(np.argmax(away)) if away.any() else line.shape[0]
    return length if length >= _PLAIN else 0


def _spans(colours: Floats) -> Floats:
    """Share of the scale that every colour stands for (n,) [-]."""
    from scipy.spatial import KDTree

    at = (np.arange(colours.shape[0]) + 0.5) / colours.shape[0]
    near = KDTree(colours).query_ball_point(colours, NOISE)
    return np.array([np.ptp(at[one]) for one in near])


def _once(spans: Floats) -> bool:
    """Whether a strip runs evenly enough along its colours to be a scale, not a piece of wall.

    A strip of wall lingers and turns back: many of its colours stand for a large share of it.
    """
    return float(np.percentile(spans, 95.0)) <= 1.0 - TWICE and float(np.median(spans)) <= TWICE


def _runs(mask: npt.NDArray[np.bool_], least: int) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.pad(mask.astype(int), 1)))
    return [
        (int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a >= least
    ]


def _smooth(line: Floats) -> Floats:
    """Colours along a bar, a median of three places: the wear of a JPEG taken off."""
    wide = np.pad(line, ((1, 1), (0, 0)), mode="edge")
    return np.asarray(np.median([wide[:-2], wide[1:-1], wide[2:]], axis=0))


def inverted(picture: Floats, bar: Bar, coldest: float, warmest: float) -> tuple[Floats, float]:
    """Temperatures (rows, columns) [degC] by the colours of a bar, and the step of one colour [K].

    Raises
    ------
    InputError
        A palette whose colours come twice, or a picture that is not painted with it.
    """
    from scipy.spatial import KDTree

    n = bar.colours.shape[0]
    at = (np.arange(n) + 0.5) / n
    spans = _spans(bar.colours)
    if float(np.percentile(spans, 95.0)) > TWICE:
        most = PAPER(float(spans.max()), "share")
        read = f"a palette in which one colour stands for {most} of the scale"
        allowed = "a palette without colours that come twice, or the camera's temperatures"
        raise InputError([Fault(_PLACE, read, allowed)])
    _, nearest = KDTree(_worn(bar.colours)).query(_worn(picture.reshape(-1, 3)))
    away = np.linalg.norm(picture.reshape(-1, 3) - bar.colours[nearest], axis=1)
    share = at[nearest].reshape(picture.shape[:2])
    seen = (away <= FOREIGN).reshape(share.shape) & (share > ENDS) & (share < 1.0 - ENDS)
    seen[_beside(bar, picture.shape[0], picture.shape[1])] = False
    if seen.mean() < 0.3:
        read = (
            f"{PAPER(float(seen.mean()), 'share')} of the picture in the colours of its scale bar"
        )
        raise InputError([Fault(_PLACE, read, "a picture painted with the bar beside it")])
    values = np.where(seen, coldest + share * (warmest - coldest), np.nan)
    return values, float(max(np.median(spans), 1.0 / n) * (warmest - coldest))


# what Rec. ITU-R BT.601 makes of red, green and blue: lightness, and two of colour
_LIGHT = np.array([
    [0.299, 0.587, 0.114], [-0.168736, -0.331264, 0.5], [0.5, -0.418688, -0.081312]
])  # fmt: skip


def _worn(colours: Floats) -> Floats:
    """Colours (..., 3) as far as a JPEG keeps them: lightness pixel by pixel, colour smeared."""
    return np.asarray(colours @ _LIGHT.T * np.array([1.0, COLOUR, COLOUR]))


def _beside(bar: Bar, rows: int, columns: int) -> tuple[slice, slice]:
    """The strip of a picture in which a bar stands with the numbers at its ends."""
    tall, wide = bar.rows.stop - bar.rows.start, bar.columns.stop - bar.columns.start
    room = round(NUMBERS * min(tall, wide))
    if tall >= wide:
        return slice(0, rows), slice(max(bar.columns.start - room, 0), bar.columns.stop + room)
    return slice(max(bar.rows.start - room, 0), bar.rows.stop + room), slice(0, columns)
