"""What could be done: an option applied to a wall gives layers per path and solids."""

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

__all__ = [
    "BuildUp",
    "Layer",
    "Option",
    "OptionKind",
    "Refusal",
    "Role",
    "Solid",
    "Stack",
]
