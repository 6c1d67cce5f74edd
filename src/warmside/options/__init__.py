"""What could be done: an option applied to a wall gives layers per path."""

from warmside.options._apply import apply
from warmside.options._as_built import aligned, as_built
from warmside.options._layers import layer_of, permeance
from warmside.options._offered import LEAVE, offered, thickness_options
from warmside.options._option import (
    Beyond,
    BuildUp,
    Job,
    Kind,
    LayerSources,
    Opened,
    Option,
    Refusal,
)
from warmside.options._work import (
    BROKEN,
    WHY_SEALING,
    Gate,
    Quantity,
    Sealing,
    Step,
    Task,
    Trade,
    Ware,
)
from warmside.options.kinds import KINDS, misfits

__all__ = [
    "BROKEN",
    "KINDS",
    "LEAVE",
    "WHY_SEALING",
    "Beyond",
    "BuildUp",
    "Gate",
    "Job",
    "Kind",
    "LayerSources",
    "Opened",
    "Option",
    "Quantity",
    "Refusal",
    "Sealing",
    "Step",
    "Task",
    "Trade",
    "Ware",
    "aligned",
    "apply",
    "as_built",
    "layer_of",
    "misfits",
    "offered",
    "permeance",
    "thickness_options",
]
