"""How the documents become a site: `sphinx-build -W -b html docs site`.

The documents are written to be read as they are; what only a site minds is mended here
while it is built.
"""

from __future__ import annotations

import re

from sphinx.application import Sphinx

project = "lapping"
extensions = ["myst_parser"]
exclude_patterns = ["gallery/*.py"]
myst_heading_anchors = 3
html_theme = "alabaster"
html_theme_options = {
    "description": "How flat a plane's sole is, how sure, and what to do next",
    "fixed_sidebar": True,
    "page_width": "60rem",
    "sidebar_width": "14rem",
    "font_family": "system-ui, sans-serif",
    "head_font_family": "system-ui, sans-serif",
}
html_sidebars = {"**": ["about.html", "navigation.html", "searchbox.html"]}
html_copy_source = False
html_show_copyright = False
OUTSIDE = re.compile(r"\[([^\]]+)\]\(\.\./[^)]*\)")
"""A link to a file that is no part of the site; its words stay."""
NO_LEXER = re.compile(r"^```csv.*$", re.MULTILINE)


def setup(app: Sphinx) -> None:
    """Mend each document as it is read."""
    app.connect("source-read", _mend)


def _mend(app: Sphinx, name: str, source: list[str]) -> None:
    source[0] = NO_LEXER.sub("```text", OUTSIDE.sub(r"\1", source[0]))
