"""A material as the hourly model needs it: four functions over the whole range of wetness."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.moisture._potential import (
    DU,
    NODES,
    SUCTION_UNIT,
    FloatArray,
    curves,
    suction_of_u,
)

Function = Callable[[FloatArray], FloatArray]

FINER = 8  # samples of the liquid conductivity between two nodes


@dataclass(frozen=True, eq=False)
class HygroMaterial:
    """Heat and moisture functions of one material, sampled at the nodes of the potential.

    Attributes
    ----------
    name : str
        For messages.
    density : float
        Dry [kg/m3].
    specific_heat : float
        Dry [J/(kg K)].
    storage : FloatArray
        Water content, shape (n_nodes,), never falling [kg/m3].
    permeability : FloatArray
        Vapour permeability, shape (n_nodes,) [kg/(m s Pa)].
    liquid : FloatArray
        Integral of K ds from dry, shape (n_nodes,), never falling [kg/(m s)].
    conductivity : float
        Thermal, dry [W/(m K)].
    conductivity_wet : float
        Thermal conductivity per water content [W m2/(K kg)].
    permeability_over_t : float
        0: permeability independent of temperature; 1: proportional to 1/T [-].

    Raises
    ------
    InputError
        A function with a wrong shape, sign, slope or a value that is not finite.
    """

    name: str
    density: float
    specific_heat: float
    storage: FloatArray
    permeability: FloatArray
    liquid: FloatArray
    conductivity: float
    conductivity_wet: float = 0.0
    permeability_over_t: float = 0.0

    def __post_init__(self) -> None:
        faults: list[Fault] = []
        place = f"material {self.name}"
        for name in ("storage", "permeability", "liquid"):
            values = np.asarray(getattr(self, name), dtype=np.float64)
            if values.shape != NODES.shape or not np.isfinite(values).all():
                faults.append(
                    Fault(
                        f"{place}, {name}", f"shape {values.shape}", f"{NODES.size} finite values"
                    )
                )
            elif (values < 0.0).any():
                faults.append(Fault(f"{place}, {name}", f"{values.min():g}", "zero or more"))
            elif name in ("storage", "liquid") and (np.diff(values) < -1e-12 * values[-1]).any():
                faults.append(Fault(f"{place}, {name}", "falling values", "values that never fall"))
            object.__setattr__(self, name, values)
        faults.extend(
            Fault(f"{place}, {name}", f"{getattr(self, name)}", "above 0")
            for name in ("density", "specific_heat", "conductivity")
            if not 0.0 < getattr(self, name) < 1e5
        )
        if not 0.0 <= self.conductivity_wet < 1.0:
            faults.append(Fault(f"{place}, conductivity_wet", f"{self.conductivity_wet}", "0 to 1"))
        if not faults and not self.permeability.min() > 0.0:
            faults.append(Fault(f"{place}, permeability", "0", "values above 0"))
        if faults:
            raise InputError(faults)

    @cached_property
    def curves(self) -> FloatArray:
        """Cubic pieces for the compiled loop, shape (n_nodes, 16)."""
        return curves(self.storage, self.permeability, self.liquid)

    @classmethod
    def from_functions(
        cls,
        name: str,
        *,
        density: float,
        specific_heat: float,
        storage: Function,
        permeability: Function,
        conductivity: float,
        conductivity_wet: float = 0.0,
        liquid_conductivity: Function | None = None,
        diffusivity: Function | None = None,
        permeability_over_t: float = 0.0,
    ) -> HygroMaterial:
        """Sample a material given by formulas.

        Parameters
        ----------
        name : str
            For messages.
        density, specific_heat : float
            Dry [kg/m3], [J/(kg K)].
        storage : Function
            Water content [kg/m3] of suction [Pa].
        permeability : Function
            Vapour permeability at 20 degC [kg/(m s Pa)] of water content [kg/m3].
        conductivity, conductivity_wet : float
            Thermal, dry [W/(m K)] and per water content [W m2/(K kg)].
        liquid_conductivity : Function or None
            K [kg/(m s Pa)] of water content [kg/m3].
        diffusivity : Function or None
            Liquid diffusivity [m2/s] of water content [kg/m3]; instead of the former.
        permeability_over_t : float
            0 or 1, see the class [-].
        """
        with np.errstate(divide="ignore"):
            suction = suction_of_u(np.maximum(NODES, DU * 1e-3))
        w = np.asarray(storage(suction), dtype=np.float64)
        return cls(
            name,
            density,
            specific_heat,
            w,
            np.broadcast_to(permeability(w), w.shape).astype(np.float64),
            liquid_potential(storage, liquid_conductivity, diffusivity),
            conductivity,
            conductivity_wet,
            permeability_over_t,
        )


def liquid_potential(
    storage: Function, conductivity: Function | None, diffusivity: Function | None
) -> FloatArray:
    """Liquid transport potential at ``NODES``: ``Phi = int K ds``, or ``int D dw`` [kg/(m s)].

    From dry to each node, by trapezoids on a finer grid; zeros where neither is given. Arguments as
    `HygroMaterial.from_functions` takes them.
    """
    if conductivity is None and diffusivity is None:
        return np.zeros_like(NODES)
    fine = np.linspace(NODES[0], NODES[-1], FINER * (NODES.size - 1) + 1)
    fine[0] = DU * 1e-3
    w = np.asarray(storage(suction_of_u(fine)), dtype=np.float64)
    if diffusivity is not None:
        d = np.asarray(np.broadcast_to(diffusivity(w), w.shape))
        steps = 0.5 * (d[1:] + d[:-1]) * np.diff(w)
    else:
        assert conductivity is not None  # noqa: S101 - narrows the type
        # -ds/du = SUCTION_UNIT / (e^u - 1)
        flow = np.asarray(conductivity(w)) * SUCTION_UNIT / np.expm1(fine)
        steps = 0.5 * (flow[1:] + flow[:-1]) * np.diff(fine)
    total = np.concatenate(([0.0], np.cumsum(steps)))
    return total[::FINER]
