"""Pieces of a page that stands by itself: escaped text, tables, figures, the whole.

Nothing is fetched from anywhere, and what people typed never becomes markup.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

MADE_BY = b'<meta name="generator" content="lapping">'
"""In every page of ours, so that no other file is written over."""
SHORT = 20
"""A table of no more rows is not broken between two sheets of paper."""
STYLE = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { font: 16px/1.45 system-ui, sans-serif; color: #1a1a1a; background: #fff;
  max-width: 52rem; margin: 0 auto; padding: 1rem; overflow-wrap: break-word; }
h1 { font-size: 1.6rem; margin: 0; line-height: 1.2; }
h2 { font-size: 1.2rem; margin: 2rem 0 .5rem; border-bottom: 2px solid #1a1a1a; }
h3 { font-size: 1rem; margin: 1.2rem 0 .4rem; }
p, dl, ul { margin: .4rem 0; }
.first { border: 3px solid #1a1a1a; padding: .6rem .8rem; margin: .8rem 0; }
.first p { margin: .35rem 0; }
.first strong { font-size: 1.15rem; }
.small { font-size: .85rem; color: #444; }
table { border-collapse: collapse; width: 100%; font-size: .9rem; margin: .5rem 0; }
caption { text-align: left; font-size: .85rem; color: #444; padding-bottom: .2rem; }
th, td { border: 1px solid #777; padding: .22rem .45rem; text-align: left;
  vertical-align: top; }
thead th { background: #ececec; }
.scroll { overflow-x: auto; }
dl { display: grid; grid-template-columns: 5.5rem 1fr; gap: .25rem .6rem; }
dt { font-weight: 600; }
dd { margin: 0; grid-column: 2; }
figure { margin: .8rem 0; }
figure svg, figure img { width: 100%; height: auto; max-width: 44rem; display: block; }
figcaption { font-size: .85rem; color: #444; margin-top: .3rem; }
svg { stroke-linejoin: round; stroke-linecap: butt; }
@media (max-width: 30rem) { body { padding: .6rem; } table { font-size: .8rem; }
  dl { display: block; } dd { margin: 0 0 .4rem 1rem; } }
@page { margin: 13mm; }
@media print {
  html { font-size: 12.5px; }
  body { font-size: 9.5pt; line-height: 1.35; max-width: none; padding: 0; }
  h2 { margin-top: 1.1rem; }
  th, td { padding: .1rem .4rem; }
  figure { margin: .5rem 0; }
  h2, h3, h2 + p { break-after: avoid; }
  figure, tr, .first, .short { break-inside: avoid; }
  dt, caption { break-after: avoid; }
  figure svg { max-width: 112mm; max-height: 145mm; }
  figure img { width: auto; max-width: 140mm; max-height: 200mm; }
  .scroll { overflow: visible; }
  thead { display: table-header-group; }
}
"""


def document(title: str, body: Iterable[str]) -> str:
    """Give the whole page."""
    return "\n".join(
        (
            "<!DOCTYPE html>",
            '<html lang="en">',
            "<head>",
            '<meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            MADE_BY.decode(),
            f"<title>{escape(title)}</title>",
            f"<style>{STYLE}</style>",
            "</head>",
            "<body>",
            "<main>",
            *body,
            "</main>",
            "</body>",
            "</html>",
            "",
        )
    )


def heading(level: int, text: str) -> str:
    """Give a heading."""
    return f"<h{level}>{escape(text)}</h{level}>"


def paragraph(text: str, kind: str = "") -> str:
    """Give a paragraph, of a kind that the style knows."""
    of_kind = f' class="{kind}"' if kind else ""
    return f"<p{of_kind}>{escape(text)}</p>"


def entries(pairs: Iterable[tuple[str, str]]) -> str:
    """Give labels with what belongs to each, more of it under an empty label."""
    inside = "\n".join(
        (f"<dt>{escape(label)}</dt>" if label else "") + f"<dd>{escape(text)}</dd>"
        for label, text in pairs
    )
    return f"<dl>\n{inside}\n</dl>" if inside else ""


def listed_items(texts: Iterable[str], kind: str = "") -> str:
    """Give a list, of a kind that the style knows; nothing where there is none."""
    inside = "\n".join(f"<li>{escape(text)}</li>" for text in texts)
    of_kind = f' class="{kind}"' if kind else ""
    return f"<ul{of_kind}>\n{inside}\n</ul>" if inside else ""


def table(caption: str, heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Give a table whose first column names its rows."""
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in heads)
    lines = list(rows)
    body = "\n".join(
        f'<tr><th scope="row">{escape(first)}</th>'
        + "".join(f"<td>{escape(cell)}</td>" for cell in rest)
        + "</tr>"
        for first, *rest in lines
    )
    # A wide table scrolls by itself, which the keyboard has to reach.
    said = escape(caption)
    kind = "scroll short" if len(lines) <= SHORT else "scroll"
    return (
        f'<div class="{kind}" tabindex="0" role="region" aria-label="{said}">\n'
        f"<table>\n<caption>{said}</caption>\n"
        f"<thead><tr>{head}</tr></thead>\n<tbody>\n{body}\n</tbody>\n</table>\n</div>"
    )


def figure(drawn: str, caption: str) -> str:
    """Give a figure with what it shows in words below it."""
    return f"<figure>\n{drawn}\n<figcaption>{escape(caption)}</figcaption>\n</figure>"
