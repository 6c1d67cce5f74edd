"""What could be done: an option applied to a wall gives layers per path and solids."""

from warmside.options._apply import apply
from warmside.options._as_built import aligned, as_built
from warmside.options._layers import layer_of, permeance
from warmside.options._offered import LEAVE, offered
from warmside.options._parts import (
    BuildUp,
    Layer,
    Option,
    OptionKind,
    Refusal,
    Role,
    Solid,
    Stack,
)
from warmside.options._solids import solids

__all__ = [
    "LEAVE",
    "BuildUp",
    "Layer",
    "Option",
    "OptionKind",
    "Refusal",
    "Role",
    "Solid",
    "Stack",
    "aligned",
    "apply",
    "as_built",
    "layer_of",
    "offered",
    "permeance",
    "solids",
]
