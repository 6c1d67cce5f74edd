"""Compile the loops once."""

from __future__ import annotations


def warm() -> None:
    """Compile all loops of the room by running the smallest wall, and judge it."""
    import numpy as np

    from warmside.physics.moisture._decay import decay
    from warmside.physics.moisture._materials import HygroMaterial
    from warmside.physics.moisture._mesh import Slab, mesh
    from warmside.physics.moisture._mould import mould_index
    from warmside.physics.moisture._simulation import Forcing, simulate

    layer = HygroMaterial.from_functions(
        "warm", density=400.0, specific_heat=1500.0, storage=lambda s: 50.0 / (1.0 + s / 1e8),
        permeability=lambda w: np.full_like(w, 1e-11), conductivity=0.12,
    )  # fmt: skip
    cells = mesh((Slab(layer, 0.02), Slab(layer, 0.02)), 8)
    run = simulate(cells, Forcing(20.0, 900.0, 0.0, 400.0), 2)
    mould_index(run.temperature[:, 0], run.humidity[:, 0], "sensitive")
    decay(run.temperature[:, 0], run.humidity[:, 0])
