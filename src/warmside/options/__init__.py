"""What could be done: an option applied to a wall gives layers per path."""

from warmside.options._apply import apply
from warmside.options._as_built import aligned, as_built
from warmside.options._layers import layer_of, permeance
from warmside.options._offered import LEAVE, offered
from warmside.options._parts import (
    BuildUp,
    LayerSources,
    Option,
    OptionKind,
    Refusal,
)

__all__ = [
    "LEAVE",
    "BuildUp",
    "LayerSources",
    "Option",
    "OptionKind",
    "Refusal",
    "aligned",
    "apply",
    "as_built",
    "layer_of",
    "offered",
    "permeance",
]
