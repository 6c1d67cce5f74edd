"""Roles and directives of these documents: every figure and picture comes from the code."""

from __future__ import annotations

import base64
from pathlib import Path
from typing import Any, ClassVar

import commands
import equations
import figures
import gallery
import measured
import register
import rooms
import rule_matrix
import source_tags
import survey_reference
from docutils import nodes
from docutils.parsers.rst import directives
from names import names
from sphinx.application import Sphinx
from sphinx.util.docutils import SphinxDirective, SphinxRole

from warmside.survey import template

PAGES = {
    "commands": commands.page,
    "survey": survey_reference.page,
    "gallery": gallery.page,
    "clauses": rule_matrix.page,
    "measured": register.measured,
    "register": register.page,
    "register_kinds": register.kinds,
    "sources_by_tag": source_tags.page,
    "template": lambda: f"```toml\n{template()}\n```\n",
}


def _html(text: str) -> nodes.raw:
    return nodes.raw("", text, format="html")


class Figure(SphinxRole):
    """``{figure-from}`name``: what a function of ``figures.py`` returns."""

    def run(self) -> tuple[list[nodes.Node], list[nodes.system_message]]:
        """The figure as text."""
        return [nodes.inline("", figures.figure(self.text), classes=["figure"])], []


class Measured(SphinxRole):
    """``{measured}`bench: figure``` as the history of the benchmarks has it."""

    def run(self) -> tuple[list[nodes.Node], list[nodes.system_message]]:
        """The figure as text."""
        return [nodes.inline("", measured.measured(self.text), classes=["figure"])], []


class Symbol(SphinxRole):
    """``{m}`R_"si"``: a symbol within a line."""

    def run(self) -> tuple[list[nodes.Node], list[nodes.system_message]]:
        """The symbol as a drawing."""
        return [_html(equations.svg(self.text, block=False))], []


class Equation(SphinxDirective):
    """An equation of its own line, in Typst's notation."""

    has_content = True

    def run(self) -> list[nodes.Node]:
        """One drawing for each equation; empty lines part them."""
        return [
            _html(equations.svg(one, block=True)) for one in "\n".join(self.content).split("\n\n")
        ]


class Picture(SphinxDirective):
    """A drawing of the tool: a function of ``figures.py``, or a file just made."""

    required_arguments = 1
    final_argument_whitespace = True
    has_content = True
    option_spec: ClassVar[dict[str, Any]] = {"alt": directives.unchanged}

    def run(self) -> list[nodes.Node]:
        """SVG stands in the page, so that its ink is the page's; PNG as data."""
        name = self.arguments[0]
        drawn: str | bytes
        if Path(name).is_file():
            drawn = Path(name).read_bytes() if name.endswith(".png") else Path(name).read_text()
        else:
            drawn = figures.picture(name)
        caption = " ".join(self.content)
        if isinstance(drawn, bytes):
            data = base64.b64encode(drawn).decode()
            alt = self.options.get("alt", caption or Path(name).stem.replace("_", " "))
            drawn = f'<img alt="{alt}" src="data:image/png;base64,{data}"/>'
        under = f"<figcaption>{caption}</figcaption>" if caption else ""
        return [_html(f'<figure class="drawn">{drawn}{under}</figure>')]


class From(SphinxDirective):
    """``{from-code} name``: a part of a page written by the code itself."""

    required_arguments = 1

    def run(self) -> list[nodes.Node]:
        """Parse what the code wrote."""
        text = PAGES[self.arguments[0]]()
        return self.parse_text_to_nodes(text, allow_section_headings=True)


class Nomenclature(SphinxDirective):
    """The table of symbols."""

    def run(self) -> list[nodes.Node]:
        """One row for each symbol."""
        rows = "".join(
            f"<tr><td>{equations.svg(n.symbol, block=False)}</td><td>{n.name}</td><td>{n.unit}</td>"
            f"<td><code>{n.code}</code></td></tr>"
            for n in names()
        )
        head = "<tr><th>symbol</th><th>name</th><th>unit</th><th>in the code</th></tr>"
        return [_html(
            f'<div class="table-wrapper"><table class="docutils names"><thead>{head}</thead>'
            f"<tbody>{rows}</tbody></table></div>"
        )]  # fmt: skip


class Plan(SphinxDirective):
    """The rooms as drawn from the import contract."""

    def run(self) -> list[nodes.Node]:
        """The drawing."""
        return [_html(f'<figure class="drawn">{rooms.picture()}</figure>')]


def setup(app: Sphinx) -> dict[str, Any]:
    """Register all of them."""
    app.add_role("figure-from", Figure())
    app.add_role("measured", Measured())
    app.add_role("m", Symbol())
    app.add_directive("equation", Equation)
    app.add_directive("picture", Picture)
    app.add_directive("from-code", From)
    app.add_directive("nomenclature", Nomenclature)
    app.add_directive("plan", Plan)
    app.connect("autodoc-process-signature", _short_signature)
    return {"parallel_read_safe": False, "parallel_write_safe": True}


def _short_signature(
    _app: Sphinx, what: str, _name: str, obj: Any, _options: Any, signature: str, returns: str
) -> tuple[str, str] | None:
    """A survey record's fields are in the survey reference: its signature would fill a screen."""
    if what == "class" and (hasattr(obj, "model_fields") or len(signature or "") > 300):
        return "", returns
    return None
