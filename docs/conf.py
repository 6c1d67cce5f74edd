"""The documents' site: built offline, warnings are errors (``docs/build``)."""

import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE / "_ext"), str(HERE.parent / "src")]

from warmside import __version__  # noqa: E402

project = "Warmside"
version = release = __version__
project_copyright = "the authors of Warmside, Apache-2.0"
language = "en"
extensions = [
    "myst_parser",
    "sphinx.ext.autodoc",
    "sphinx.ext.napoleon",
    "sphinx.ext.mathjax",
    "warmside_docs",
]

# MyST
myst_enable_extensions = ["dollarmath", "colon_fence"]
myst_heading_anchors = 3

# The API page
autodoc_member_order = "bysource"
autodoc_typehints = "none"
napoleon_google_docstring = False
napoleon_use_rtype = False
# words such as "shape" in the type of an argument are words, not references
suppress_warnings = ["ref.python"]

# Look: the theme's frame, the tool's own type and two hues; nothing is fetched
html_theme = "furo"
html_title = "Warmside"
html_static_path = ["_static", "../src/warmside/documents/fonts"]
html_css_files = ["warmside.css"]
html_show_sphinx = False
html_copy_source = False
exclude_patterns = ["pictures", "_ext", "build"]
HUES = {
    "light": {"cold": "#2a6797", "warm": "#a8430f", "paper": "#fbfaf7", "wash": "#e9f1f7"},
    "dark": {"cold": "#7fb6e0", "warm": "#f0a070", "paper": "#14181b", "wash": "#1c2c39"},
}
html_theme_options = {
    f"{mode}_css_variables": {
        "font-stack": "Inter, 'Helvetica Neue', Arial, sans-serif",
        "color-brand-primary": hues["cold"],
        "color-brand-content": hues["cold"],
        "color-brand-visited": hues["warm"],
        "color-background-primary": hues["paper"],
        "color-background-secondary": hues["wash"],
        "color-api-name": hues["warm"],
        "color-api-pre-name": hues["warm"],
    }
    for mode, hues in HUES.items()
}
