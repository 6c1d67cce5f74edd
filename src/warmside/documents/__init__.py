"""Papers that a client, an official and a crew can act on (PDF)."""

from warmside.documents.annex_data import AnnexView, WallPage
from warmside.documents.annex_paper import annex, takeoff
from warmside.documents.annex_view import annex_view
from warmside.documents.close_out_data import close_out_csv, close_out_json
from warmside.documents.close_out_paper import SitePhoto, close_out, close_out_view
from warmside.documents.crew_paper import crew_sheet, workable, write_crew_sheet
from warmside.documents.crew_views import (
    CrewView,
    crew_view,
    reading_limits,
    spray_day,
    wall_view,
)
from warmside.documents.foresight import foreseen, powers_of
from warmside.documents.job_papers import (
    JobPaper,
    Letter,
    job_paper,
    rebate_csv,
    set_paper,
    warranty_card,
)
from warmside.documents.offer_paper import offer, offer_view, set_offer, style_of
from warmside.documents.picture import Picture, mark_of
from warmside.documents.readers import builder_style, client_style
from warmside.documents.stock import programme_csv, stock_paper, write_stock_papers
from warmside.documents.stock_views import Wish, stock_view
from warmside.documents.typesetting import FONTS, PaperError, typeset
from warmside.documents.verification_paper import (
    case_row,
    measured_row,
    verification,
    write_verification,
)
from warmside.documents.write import ForClient, write_close_out, write_papers

__all__ = [
    "FONTS",
    "AnnexView",
    "CrewView",
    "ForClient",
    "JobPaper",
    "Letter",
    "PaperError",
    "Picture",
    "SitePhoto",
    "WallPage",
    "Wish",
    "annex",
    "annex_view",
    "builder_style",
    "case_row",
    "client_style",
    "close_out",
    "close_out_csv",
    "close_out_json",
    "close_out_view",
    "crew_sheet",
    "crew_view",
    "foreseen",
    "job_paper",
    "mark_of",
    "measured_row",
    "offer",
    "offer_view",
    "powers_of",
    "programme_csv",
    "reading_limits",
    "rebate_csv",
    "set_offer",
    "set_paper",
    "spray_day",
    "stock_paper",
    "stock_view",
    "style_of",
    "takeoff",
    "typeset",
    "verification",
    "wall_view",
    "warranty_card",
    "workable",
    "write_close_out",
    "write_crew_sheet",
    "write_papers",
    "write_stock_papers",
    "write_verification",
]
