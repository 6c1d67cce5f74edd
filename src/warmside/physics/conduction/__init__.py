"""Heat through the wall."""

from warmside.physics.conduction._simple import (
    ISO_FILMS,
    ISO_SURFACE_FILMS,
    NBC_FILMS,
    Combined,
    Films,
    Profile,
    air_layer_resistance,
    code_resistance,
    combined,
    isothermal_planes,
    layer_resistance,
    parallel_path,
    profile,
    resistances,
)

__all__ = [
    "ISO_FILMS",
    "ISO_SURFACE_FILMS",
    "NBC_FILMS",
    "Combined",
    "Films",
    "Profile",
    "air_layer_resistance",
    "code_resistance",
    "combined",
    "isothermal_planes",
    "layer_resistance",
    "parallel_path",
    "profile",
    "resistances",
]
