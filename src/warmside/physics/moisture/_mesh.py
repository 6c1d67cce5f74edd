"""Layers and their cells."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError
from warmside.physics.moisture._materials import HygroMaterial
from warmside.physics.moisture._potential import FloatArray

THIN = 0.0011  # [m] a layer up to this is one cell
FINEST = 0.0006  # [m] first cell at a face, where the layer allows it
LAYERS_MOST = 40


@dataclass(frozen=True)
class Slab:
    """One layer of the path: ``thickness`` [m] of a material."""

    material: HygroMaterial
    thickness: float
    name: str = ""


@dataclass(frozen=True, eq=False)
class Mesh:
    """Finite volumes of a path, room side first.

    Attributes
    ----------
    slabs : tuple[Slab, ...]
        The layers.
    width : FloatArray
        Of each cell, shape (n_cells,) [m].
    layer : numpy.ndarray
        Index of the layer of each cell, shape (n_cells,).
    """

    slabs: tuple[Slab, ...]
    width: FloatArray
    layer: npt.NDArray[np.int64]

    @property
    def centre(self) -> FloatArray:
        """Cell centres from the room face, shape (n_cells,) [m]."""
        return np.cumsum(self.width) - 0.5 * self.width

    def cells(self, layer: int) -> npt.NDArray[np.int64]:
        """Indices of the cells of a layer."""
        return np.flatnonzero(self.layer == layer)


def mesh(slabs: tuple[Slab, ...], cells: int = 80, *, uniform: bool = False) -> Mesh:
    """Cells of the layers, small at every face and growing inwards.

    Parameters
    ----------
    slabs : tuple[Slab, ...]
        Layers, room side first.
    cells : int
        About how many cells in all [-].
    uniform : bool
        Equal cells within each layer [-].

    Raises
    ------
    InputError
        No layers, too many, or a thickness out of range.
    """
    faults = [
        Fault(
            f"layer {k + 1} ({s.name or s.material.name}), thickness",
            f"{s.thickness} m",
            "0.01 mm to 3 m",
        )
        for k, s in enumerate(slabs)
        if not 1e-5 <= s.thickness <= 3.0
    ]
    if not 1 <= len(slabs) <= LAYERS_MOST:
        faults.append(Fault("layers of the path", f"{len(slabs)}", f"1 to {LAYERS_MOST}"))
    if not len(slabs) <= cells <= 5000:
        faults.append(Fault("cells of the path", f"{cells}", f"{len(slabs)} to 5000"))
    if faults:
        raise InputError(faults)
    thick = np.array([0.0 if s.thickness <= THIN else np.sqrt(s.thickness) for s in slabs])
    spare = cells - int((thick == 0.0).sum())
    widths: list[FloatArray] = []
    for slab, weight in zip(slabs, thick, strict=True):
        count = max(2, round(spare * weight / thick.sum())) if weight else 1
        widths.append(_graded(slab.thickness, count, uniform=uniform))
    layer = np.repeat(np.arange(len(slabs)), [w.size for w in widths])
    return Mesh(slabs, np.concatenate(widths), layer)


@lru_cache(maxsize=4096)  # paths of a house have few layers of their own
def _graded(thickness: float, count: int, *, uniform: bool) -> FloatArray:
    """``count`` widths that add up to ``thickness``, in geometric growth from both faces."""
    if uniform or count < 4 or thickness / count <= FINEST:
        return np.full(count, thickness / count)
    steps = np.minimum(np.arange(count), np.arange(count)[::-1]).astype(np.float64)
    low, high = 1.0, 3.0
    for _ in range(60):
        growth = 0.5 * (low + high)
        widths = growth**steps
        if thickness / widths.sum() > FINEST:
            low = growth
        else:
            high = growth
    return np.asarray(widths * (thickness / widths.sum()))
