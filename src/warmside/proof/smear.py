"""How far places of a wall run into one another in a picture.

A pixel covers more of the wall the farther off and the more aslant it is seen; what lies at the far
end of a wall is smeared half as wide again as its middle.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from warmside.proof.prediction import Prediction
from warmside.proof.rectify import View

Floats = npt.NDArray[np.float64]

_REACH = 4.0  # standard deviations that are looked at
_ALIKE = 0.05  # [-] of a standard deviation within which columns are smeared alike
_FARTHEST = 0.25, 4.0  # [-] of the smear in the middle that a view may make of it


@dataclass(frozen=True, eq=False)
class Smear:
    """Standard deviations of what a pixel sees, by columns (nx,) of a grid of ``side`` [m]."""

    along: Floats  # [m]
    up: Floats  # [m]
    side: float

    @classmethod
    def even(cls, spot: float, prediction: Prediction) -> Smear:
        """The same ``spot`` [m] everywhere."""
        all_alike = np.full(prediction.x.size, spot)
        return cls(all_alike, all_alike, float(prediction.x[1] - prediction.x[0]))

    @classmethod
    def through(cls, view: View, prediction: Prediction, pixels: float) -> Smear:
        """That of a camera that smears by so many ``pixels``, as a view lays them on the wall.

        With ``M`` the pixels that a metre along and up the wall make there, a round spot has the
        covariance ``s^2 (M' M)^-1`` on the wall.
        """
        x, step = prediction.x, 1e-3
        z = np.full(x.size, float(prediction.z.mean()))
        here = view.pixels(x, z)
        right, over = ((view.pixels(*at) - here) / step for at in ((x + step, z), (x, z + step)))
        area = abs(right[:, 0] * over[:, 1] - right[:, 1] * over[:, 0])
        least, most = (pixels * view.footprint(float(x.mean()), float(z[0])) * f for f in _FARTHEST)
        along, up = (
            np.clip(pixels * np.hypot(*one.T) / np.maximum(area, 1e-12), least, most)
            for one in (over, right)
        )
        return cls(along, up, float(x[1] - x[0]))

    @property
    def none(self) -> bool:
        """Whether nothing runs into anything."""
        return not self.up.any()

    @property
    def middle(self) -> float:
        """That of a pixel at the middle of the wall, both ways together [m]."""
        k = self.along.size // 2
        return float(np.sqrt(self.along[k] * self.up[k]))

    def of(self, factor: Floats) -> Floats:
        """A map (nz, nx) as it is seen."""
        from scipy.ndimage import gaussian_filter, gaussian_filter1d

        if self.none:
            return factor
        low, high = float(self.up.min()), float(self.up.max())
        if max(np.ptp(self.along) / self.along.max(), 1.0 - low / high) < _ALIKE:
            spots = float(self.up.mean()) / self.side, float(self.along.mean()) / self.side
            return np.asarray(gaussian_filter(factor, spots))
        # a blur adds up by its variance: between the least and the most it runs nearly straight
        share = (self.up**2 - low**2) / max(high**2 - low**2, 1e-12)
        least, most = (gaussian_filter1d(factor, one / self.side, axis=0) for one in (low, high))
        return np.asarray((self._rows @ (least + share * (most - least)).T).T)

    def at(self, x: float) -> tuple[float, float]:
        """Along and up the wall at one place along it [m]."""
        k = int(np.clip(round(x / self.side - 0.5), 0, self.along.size - 1))
        return float(self.along[k]), float(self.up[k])

    @cached_property
    def _rows(self) -> Any:
        """Weights (nx, nx) of the columns that each column sees, sparse."""
        from scipy.sparse import csr_array

        n = self.along.size
        reach = int(np.ceil(_REACH * float(self.along.max()) / self.side))
        off = np.arange(-reach, reach + 1)
        seen = np.arange(n)[:, None] + off
        weight = np.exp(-0.5 * (off * self.side / np.maximum(self.along, 1e-9)[:, None]) ** 2)
        weight = np.where((seen >= 0) & (seen < n), weight, 0.0)
        weight /= weight.sum(axis=1, keepdims=True)
        there = weight > 0.0
        rows = np.broadcast_to(np.arange(n)[:, None], seen.shape)
        return csr_array((weight[there], (rows[there], seen[there])), shape=(n, n))
