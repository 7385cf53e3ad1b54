"""How the page looks: one column, dark ink on white, the same with a telephone, a desk and a printer.

Every pair of ink and paper has a contrast of at least 7:1 (a test computes it). A state is a shape and a
word; the tint behind it only repeats them.
"""

from __future__ import annotations

INK, PAPER = "#17211f", "#ffffff"

TINTS = {
    "clean": ("#14473a", "#e4efe9"),
    "bad": ("#7a1530", "#f8e6e8"),
    "undecided": ("#573c00", "#f7edd2"),
    "not_visited": ("#36424a", "#e9ecec"),
    "caution": ("#2b2200", "#f6da84"),
    "notice": ("#1b3c4b", "#e1ecf1"),
}
"""Ink and paper of each state, and of what has to be minded."""

EDGE = "#4d5957"

_TINTED = "\n".join(
    f".{name.replace('_', '-')} {{ color: {ink}; background: {paper}; }}"
    for name, (ink, paper) in TINTS.items()
)

STYLE = f"""
:root {{ color-scheme: light; font-size: 112.5%; }}
* {{ box-sizing: border-box; }}
html {{ -webkit-text-size-adjust: 100%; }}
body {{ margin: 0; color: {INK}; background: {PAPER}; font-family: Helvetica, Arial, sans-serif;
  line-height: 1.45; overflow-wrap: anywhere; }}
main, header, footer {{ max-width: 58rem; margin: 0 auto; padding: 0 1rem; }}
h1 {{ font-size: 1.7rem; line-height: 1.2; margin: 1.2rem 0 .5rem; }}
h2 {{ font-size: 1.4rem; line-height: 1.2; margin: 2.5rem 0 .5rem; border-top: .25rem solid {INK};
  padding-top: .8rem; }}
h3 {{ font-size: 1.15rem; line-height: 1.25; margin: 1.8rem 0 .5rem; border-top: 1px solid {EDGE};
  padding-top: .7rem; }}
h2 + h3, h1 + h3 {{ border-top: 0; }}
p, ul, ol, dl {{ margin: .4rem 0; }}
ul, ol {{ padding-left: 1.2rem; }}
p, li, dd, td, figcaption {{ white-space: pre-line; }}
a {{ color: #1d3f66; }}
small, .small {{ font-size: .85rem; }}
.box {{ padding: .6rem .8rem; margin: .6rem 0; border-left: .4rem solid; }}
.answer {{ font-size: 1.25rem; font-weight: bold; }}
.state {{ display: inline; padding: .05rem .4rem; font-weight: bold; -webkit-box-decoration-break: clone;
  box-decoration-break: clone; }}
.mark {{ width: .85em; height: .85em; vertical-align: -.06em; margin-right: .35em; }}
{_TINTED}
dl {{ display: grid; grid-template-columns: minmax(6rem, max-content) 1fr; gap: .2rem 1rem; }}
dt {{ color: {EDGE}; }}
dd {{ margin: 0; }}
.stages {{ list-style: none; padding: 0; display: flex; flex-wrap: wrap; gap: .4rem .6rem; }}
.entries {{ list-style: none; padding: 0; }}
.entries > li {{ margin: .6rem 0; padding-left: .8rem; border-left: 2px solid {EDGE}; }}
.entries p {{ margin: .1rem 0; }}
.detail {{ font-size: .9rem; margin: .15rem 0; }}
table {{ border-collapse: collapse; width: 100%; }}
caption {{ text-align: left; font-size: .9rem; padding-bottom: .4rem; }}
th, td {{ text-align: left; vertical-align: top; padding: .35rem .6rem .35rem 0;
  border-bottom: 1px solid {EDGE}; }}
thead th {{ font-size: .85rem; border-bottom: 2px solid {INK}; }}
.number {{ text-align: right; white-space: nowrap; font-variant-numeric: tabular-nums; }}
td .state {{ white-space: nowrap; }}
.first {{ font-weight: bold; }}
figure {{ margin: 1rem 0 1.4rem; }}
figcaption {{ font-size: .9rem; }}
figcaption b {{ display: block; font-size: 1rem; }}
figcaption ul {{ margin: .2rem 0; }}
.wide {{ overflow-x: auto; }}
.wide svg, .wide img {{ display: block; width: 100%; min-width: 30rem; height: auto; }}
.wide svg * {{ stroke-linejoin: round; stroke-linecap: butt; }}
.shelf {{ position: absolute; }}
.pictures {{ display: grid; gap: 1rem;
  grid-template-columns: repeat(auto-fit, minmax(min(17rem, 100%), 1fr)); }}
.pictures figure {{ margin: 0; }}
.pictures img {{ display: block; width: 100%; height: auto; }}
.sides {{ font-size: .95rem; }}
footer {{ margin-top: 2.5rem; padding-top: .8rem; padding-bottom: 2rem; border-top: .25rem solid {INK}; }}
@media (max-width: 44rem) {{
  thead {{ position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }}
  table, tbody, tr, th, td, caption {{ display: block; }}
  tr {{ padding: .5rem 0; border-bottom: 1px solid {EDGE}; }}
  th, td {{ border: 0; padding: .05rem 0; }}
  tbody th {{ font-size: 1.05rem; }}
  tbody td {{ display: inline-block; margin-right: 1.1rem; }}
  tbody td:empty {{ display: none; }}
  td[data-label]::before {{ content: attr(data-label) ": "; color: {EDGE}; }}
  .number {{ text-align: left; white-space: normal; }}
  dl {{ grid-template-columns: 1fr; gap: 0; }}
  dd {{ margin-bottom: .4rem; }}
}}
@media print {{
  @page {{ size: A4; margin: 14mm; }}
  :root {{ font-size: 10.5pt; }}
  main, header, footer {{ max-width: none; padding: 0; }}
  h1, h2, h3 {{ break-after: avoid; }}
  article + article {{ break-before: page; }}
  article + article h2 {{ border-top: 0; margin-top: 0; }}
  figure, tr, .entries > li, .box {{ break-inside: avoid; }}
  table {{ font-size: .92em; }}
  .wide {{ overflow: visible; }}
  .wide svg, .wide img {{ min-width: 0; max-height: 230mm; }}
  .pictures {{ grid-template-columns: 1fr 1fr; }}
  * {{ -webkit-print-color-adjust: exact; print-color-adjust: exact; }}
  a {{ color: inherit; text-decoration: none; }}
}}
"""
