"""Papers that a client, an official and a crew can act on (PDF)."""

from warmside.documents._from_study import proposal_view
from warmside.documents._proposal import proposal
from warmside.documents._typeset import FONTS, PaperError, typeset
from warmside.documents._view import (
    CHART_WIDTH,
    ELEVATION_HEIGHT,
    ELEVATION_WIDTH,
    IMAGE_HEIGHT,
    IMAGE_WIDTH,
    SECTION_WIDTH,
    Fact,
    Figure,
    Gate,
    HouseRow,
    Judged,
    Note,
    OptionRow,
    Picture,
    ProposalView,
    Reference,
    Sum,
    SummaryRow,
    TakeoffRow,
    Unpromised,
    WallPage,
)
from warmside.documents._write import write_papers

__all__ = [
    "CHART_WIDTH",
    "ELEVATION_HEIGHT",
    "ELEVATION_WIDTH",
    "FONTS",
    "IMAGE_HEIGHT",
    "IMAGE_WIDTH",
    "SECTION_WIDTH",
    "Fact",
    "Figure",
    "Gate",
    "HouseRow",
    "Judged",
    "Note",
    "OptionRow",
    "PaperError",
    "Picture",
    "ProposalView",
    "Reference",
    "Sum",
    "SummaryRow",
    "TakeoffRow",
    "Unpromised",
    "WallPage",
    "proposal",
    "proposal_view",
    "typeset",
    "write_papers",
]
