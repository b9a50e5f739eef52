"""How a report looks: one column that widens, light and dark, one accent; what stops is framed and said, never colour alone. Data only.

Colours keep a contrast of at least 4.5 to 1 for text (WCAG 2.2, 1.4.3) in both.
"""

from tracker.reports.sheet_html_style import PAPERS

STYLE = """
@page { size: @PAPER@; margin: 12mm; }
:root { color-scheme: light dark; --ink: #15181b; --soft: #4a5157; --back: #ffffff; --line: #8a9299; --band: #eef3f7;
  --accent: #0b4a7d; --stop: #9c1c10; --mark: #b3400a; }
@media (prefers-color-scheme: dark) { :root { --ink: #e9ecef; --soft: #b6bec5; --back: #14181c; --line: #6d767e;
  --band: #20272e; --accent: #8ec7ff; --stop: #ffab9c; --mark: #ffb36b; } }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1rem; max-width: 76rem; color: var(--ink); background: var(--back);
  font: 1rem/1.45 system-ui, "Segoe UI", Roboto, "Liberation Sans", Arial, sans-serif; }
h1 { font-size: 1.7rem; margin: 0 0 .2rem; } h2 { font-size: 1.3rem; margin: 2.2rem 0 .4rem;
  border-bottom: 2px solid var(--accent); } h3 { font-size: 1.05rem; margin: 1.3rem 0 .4rem; color: var(--accent); }
p { margin: .3rem 0; } .soft { color: var(--soft); } a { color: var(--accent); }
nav ul, .key { display: flex; flex-wrap: wrap; gap: .2rem 1rem; padding: 0; margin: .4rem 0; list-style: none; }
.wide { overflow-x: auto; } table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; vertical-align: top; padding: .25rem .5rem; border-bottom: 1px solid var(--line);
  overflow-wrap: break-word; } td.long { min-width: 16rem; width: 40%; } td code { display: inline-block; min-width: 9rem; }
th { background: var(--band); } tr { break-inside: avoid; } .when { white-space: nowrap; }
code { overflow-wrap: anywhere; } code, .mono { font-family: ui-monospace, "Liberation Mono", Consolas, monospace; font-size: .9em; }
.stop { border: 2px solid var(--stop); padding: .1rem .4rem; color: var(--stop); font-weight: bold; white-space: nowrap; }
.may { border: 1px solid var(--ink); padding: .1rem .4rem; font-weight: bold; white-space: nowrap; }
.note { border-left: 5px solid var(--accent); padding: .3rem .8rem; margin: .8rem 0; background: var(--band); }
details { border: 1px solid var(--line); padding: .3rem .6rem; margin: .3rem 0; }
summary { cursor: pointer; } summary:focus-visible, button:focus-visible, select:focus-visible, a:focus-visible,
.wide:focus-visible { outline: 3px solid var(--accent); outline-offset: 2px; }
pre { margin: .4rem 0; overflow-x: auto; padding: .4rem; background: var(--band); font-size: .85rem; }
pre b { color: var(--mark); } button, select { font: inherit; color: var(--ink); background: var(--band);
  border: 1px solid var(--ink); padding: .15rem .7rem; border-radius: .2rem; }
.tools { display: flex; flex-wrap: wrap; gap: .5rem; align-items: center; margin: .5rem 0; }
.views { display: grid; grid-template-columns: minmax(0, 1fr); gap: .6rem; }
figure { margin: 0; border: 1px solid var(--line); break-inside: avoid; max-width: 46rem; } figure[hidden] { display: none; } figcaption { padding: .2rem .5rem;
  background: var(--band); font-size: .9rem; } svg { display: block; width: 100%; height: auto; } svg[data-view="turn"] { touch-action: none; cursor: grab; }
svg path { vector-effect: non-scaling-stroke; } .said { font-weight: bold; }
svg .feed { fill: none; stroke: var(--ink); stroke-width: 1; } svg .rapid { fill: none; stroke: var(--soft);
  stroke-width: .8; stroke-dasharray: 5 4; } svg .hole { fill: none; stroke: var(--ink); stroke-width: 1; }
svg .changed { stroke: var(--mark); stroke-width: 2; } svg .picked { stroke: var(--mark); stroke-width: 5; stroke-linecap: round; }
svg .dim { opacity: .15; } svg text { fill: var(--soft); font-size: 14px; }
svg .axis { fill: none; stroke: var(--soft); stroke-width: 1.2; } svg .zero { fill: none; stroke: var(--accent); stroke-width: 2; }
.key svg { display: inline; width: 3.2rem; height: .8rem; vertical-align: middle; }
@media (min-width: 40rem) { .views { grid-template-columns: repeat(2, minmax(0, 1fr)); } }
@media screen and (min-width: 62rem) { .views:not(.one) { grid-template-columns: none; grid-auto-flow: column;
  grid-auto-columns: minmax(0, 1fr); } .views.of-2:not(.one) { grid-template-rows: repeat(2, auto); } }
@media screen and (max-width: 40rem) { .figures { font-size: .85rem; } .figures td, .figures th { padding: .2rem .3rem; }
  .listed, .listed tbody, .listed tr, .listed td { display: block; } .listed thead { position: absolute; width: 1px;
  height: 1px; overflow: hidden; clip-path: inset(50%); } .listed tr { border-bottom: 2px solid var(--line); padding: .3rem 0; }
  .listed td, .listed td.long { border: 0; width: auto; min-width: 0; padding: .1rem 0 .1rem 7.5rem; text-indent: -7.5rem; } .listed td > * { text-indent: 0; }
  .listed td::before { content: attr(data-label); display: inline-block; width: 7.5rem; text-indent: 0; color: var(--soft); }
  td code { min-width: 0; max-width: 100%; } }
@media print { :root { color-scheme: light; --ink: #15181b; --soft: #4a5157; --back: #ffffff; --line: #8a9299; --band: #eef3f7;
  --accent: #0b4a7d; --stop: #9c1c10; --mark: #b3400a; }
  body { max-width: none; padding: 0; font-size: 10pt; } table { font-size: 8.5pt; } td.long { min-width: 9rem; }
  td code { min-width: 0; } nav, .tools, button { display: none; } details { border: 0; padding: 0; }
  h2, h3, h2 + p, .note, .key { break-after: avoid; } h2 { margin-top: 1.2rem; } .views { padding-right: 1px; }
  pre { white-space: pre-wrap; overflow-wrap: anywhere; } }
"""


def style(paper: str) -> str:
    """The style sheet for ``a4`` or ``letter``."""
    return STYLE.replace("@PAPER@", PAPERS[paper])
