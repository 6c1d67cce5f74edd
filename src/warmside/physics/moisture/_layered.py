"""Layers of an assembly become slabs of the hourly model."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.assembly import Layer, MoistureProperties, Stack
from warmside.physics.conduction import resistances
from warmside.physics.humid_air import AIR_VAPOUR_PERMEABILITY
from warmside.physics.moisture._materials import Function, HygroMaterial, liquid_potential
from warmside.physics.moisture._mesh import Slab
from warmside.physics.moisture._potential import (
    NODES,
    U_MAX,
    FloatArray,
    suction_of_u,
    u_of_suction,
)
from warmside.physics.moisture._wood import wood_equilibrium

DRY_CUP, WET_CUP = 0.25, 0.75  # mean humidity in the two cups [-]
FREE_AT = 10.0  # potential of contact with liquid water: a suction of 6 kPa [-]
FULL = 1.3  # water with every pore filled, over that of free uptake [-]; from memory
COARSE_AT = 5.0  # potential from which coarse pores begin to fill: 0.9 MPa [-]
COARSE_STEP = 5.0  # ... this many times as full with each step of 1 in potential [-]
BETWEEN = 0.97  # humidity from which liquid in pores adds to sorption [-]


def moisture_of(layer: Layer) -> MoistureProperties:
    """Moisture properties of a layer, or InputError that names its material."""
    if layer.moisture is None:
        raise InputError(
            [
                Fault(
                    f"layer '{layer.name}'",
                    f"material '{layer.material}' without moisture properties",
                    "sorption, free saturation, water absorption and mould class of the material",
                )
            ]
        )
    return layer.moisture


@lru_cache(maxsize=256)
def storage_of(own: MoistureProperties, density: float) -> Function:
    """Moisture storage function: water content [kg/m3] of suction [Pa], both (n,).

    Sorption up to 97 %; beyond it straight in the logarithm of suction to free saturation at
    6 kPa (own assumption: pores of all sizes in equal shares). Where nothing draws, pores are
    coarse: nearly all of the water comes in the last step.
    """
    from scipy.interpolate import PchipInterpolator

    if own.isotherm == "wood":
        h = np.concatenate([np.linspace(0.02, 0.96, 48), [BETWEEN]])
        held = wood_equilibrium(20.0, h)
    else:
        h, held = np.array(own.isotherm).T
    u = np.concatenate([[0.0], -np.log(1.0 - h)])
    w = np.concatenate([[0.0], held])
    if own.absorption == 0.0:
        more = np.arange(COARSE_AT, FREE_AT)
        u, w = (
            np.append(u, more),
            np.append(w, 1.05 * w[-1] + own.free_saturation * COARSE_STEP ** (more - FREE_AT)),
        )
    curve = PchipInterpolator(np.append(u, FREE_AT), np.append(w, own.free_saturation) * density)
    # straight to the end: a flat piece would hold no water, whatever its potential
    beyond = own.free_saturation * density * (FULL - 1.0) / (U_MAX - FREE_AT)

    def stored(suction: FloatArray) -> FloatArray:
        at = np.clip(u_of_suction(suction), 0.0, U_MAX)
        filled = beyond * np.maximum(at - FREE_AT, 0.0)
        return np.asarray(curve(np.minimum(at, FREE_AT)) + filled)

    return stored


def permeability_at(dry: float, wet: float, humidity: FloatArray) -> FloatArray:
    """Permeability [kg/(m s Pa)] from dry and wet cup.

    ``d = d_dry (d_wet / d_dry)^((h - 0.25) / 0.5)``, held below 25 % and above 95 %, and never
    above that of still air. (Own form: the logarithm of permeability straight in humidity, as
    plywood's tenfold rise from 50 to 90 % suggests.)

    Parameters
    ----------
    dry, wet : float
        In the two cups [kg/(m s Pa)].
    humidity : FloatArray
        Shape (n,) [-].
    """
    h = np.clip(humidity, DRY_CUP, 0.95)
    raised = dry * (wet / dry) ** ((h - DRY_CUP) / (WET_CUP - DRY_CUP))
    return np.minimum(raised, max(AIR_VAPOUR_PERMEABILITY, dry))


def diffusivity_of(absorption: float, free: float) -> Function:
    """Liquid diffusivity [m2/s] of water content from the uptake coefficient.

    ``D = 3.8 (A / w_f)^2 1000^(w / w_f - 1)``; Kuenzel 1995 (from memory). ``free`` [kg/m3].
    """
    return lambda w: 3.8 * (absorption / free) ** 2 * 1000.0 ** (np.minimum(w / free, 1.0) - 1.0)


@lru_cache(maxsize=256)
def hygro_material(layer: Layer, conductivity: float) -> HygroMaterial:
    """Heat and moisture functions of a layer.

    Parameters
    ----------
    layer : Layer
        Its thickness does not count.
    conductivity : float
        Dry [W/(m K)]; of an air layer the equivalent one, thickness over resistance.

    Raises
    ------
    InputError
        A layer without moisture properties.
    """
    own = moisture_of(layer)
    storage = storage_of(own, layer.density)
    suction = suction_of_u(np.maximum(NODES, 1e-5))
    free = own.free_saturation * layer.density
    drawn = diffusivity_of(own.absorption, free) if own.absorption else None
    return HygroMaterial(
        layer.name,
        layer.density,
        layer.specific_heat,
        storage(suction),
        permeability_at(layer.permeability_dry, layer.permeability_wet, -np.expm1(-NODES)),
        liquid_potential(storage, None, drawn),
        conductivity,
        own.conductivity_per_water,
    )


def slabs_of(stack: Stack) -> tuple[tuple[Slab, Layer], ...]:
    """Slabs of a stack, room side first, each with its layer; slices of one layer are joined.

    Vented layers and all that lies outside them are left out: outdoor air washes what is behind.

    Parameters
    ----------
    stack : Stack
        Layers with moisture properties.

    Returns
    -------
    tuple of (Slab, Layer)
        For `mesh`; an air layer conducts as its ISO 6946 resistance.

    Raises
    ------
    InputError
        No layer behind the vented ones, or one without moisture properties.
    """
    kept: list[tuple[Layer, float]] = []
    for layer, resistance in zip(stack.layers, resistances(stack), strict=True):
        if layer.vented:
            break
        if kept and layer.continues(kept[-1][0]):
            before, more = kept[-1]
            kept[-1] = (
                replace(before, thickness=before.thickness + layer.thickness),
                more + resistance,
            )
        else:
            kept.append((layer, resistance))
    if not kept:
        raise InputError([Fault("stack", "no layer behind the vented ones", "one or more")])
    return tuple((_slab(layer, layer.thickness / r), layer) for layer, r in kept)


def _slab(layer: Layer, conductivity: float) -> Slab:
    """Of a wet layer dry: the model adds what its water conducts."""
    if layer.found_water is not None:
        conductivity = layer.found_water.dry_conductivity
    dry = replace(layer, thickness=0.0, found_water=None)
    return Slab(hygro_material(dry, conductivity), layer.thickness, layer.name)


def layer_index(layers: Sequence[Layer]) -> int:
    """Index of the layer whose room face leaking air meets first on the cold side.

    The first sheathing, paper, board or cladding beyond the stud depth's fill; the last layer if
    there is none.
    """
    outer = ("sheathing", "paper", "board", "cladding")
    inside = max((k for k, one in enumerate(layers) if one.role not in outer), default=-1)
    return min(inside + 1, len(layers) - 1)
