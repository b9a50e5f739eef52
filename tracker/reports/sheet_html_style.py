"""How the printed setup sheet looks: black on white, one accent, read at arm's length with gloves on. Data only.

The accent only repeats what words, frames and weight already say, so a black printer loses nothing. ``@page`` takes
the paper's size; a browser that knows boxes in the margin of a page (most print engines) numbers the pages there.
"""

PAPERS = {"a4": "A4", "letter": "letter"}
"""Names in shop.toml and as a style sheet calls them."""

STYLE = """
@page { size: @PAPER@ portrait; margin: 9mm 10mm 12mm 12mm;
  @bottom-right { content: "page " counter(page) " of " counter(pages); font: 9pt Arial, Helvetica, sans-serif; } }
* { box-sizing: border-box; }
html { -webkit-print-color-adjust: exact; print-color-adjust: exact; }
body { margin: 0 auto; max-width: 188mm; color: #000; background: #fff;
  font: 10pt/1.3 Arial, Helvetica, "Liberation Sans", sans-serif; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; vertical-align: top; padding: 1mm 1.5mm; overflow-wrap: anywhere; }
.grid th { overflow-wrap: normal; }
tr { break-inside: avoid; }
thead { display: table-header-group; }
tfoot { display: table-footer-group; }
.page, .tools { table-layout: fixed; }
.page > thead > tr > td { padding: 0 0 2mm; }
.page > tbody > tr { break-inside: auto; }
.page > tbody > tr > td { padding: 0; }
.page > tfoot > tr > td { padding: 1.5mm 0 0; font-size: 8.5pt; border-top: 0.4mm solid #000; }
.strip { display: flex; justify-content: space-between; border-bottom: 0.8mm solid #0b4a7d; padding-bottom: 1mm;
  gap: 4mm; font-size: 10pt; font-weight: bold; }
.head { display: flex; justify-content: space-between; align-items: stretch; gap: 4mm; margin-bottom: 2mm; }
h1 { font-size: 21pt; line-height: 1.05; margin: 0; overflow-wrap: anywhere; }
h1 small { display: block; font-size: 12.5pt; font-weight: normal; margin-top: 1mm; }
.id { border: 0.9mm solid #0b4a7d; padding: 1mm 3mm 1.2mm; text-align: center; white-space: nowrap; }
.id b { display: block; font: bold 25pt/1.1 "Courier New", "Liberation Mono", monospace; letter-spacing: 0.6mm; }
.id span { font-size: 8.5pt; }
.standing { border: 0.5mm solid #000; padding: 1.2mm 2.5mm; margin-bottom: 2mm; break-inside: avoid; }
.standing b { font-size: 12.5pt; }
.standing.stop { border: 1.4mm double #000; }
.programs td { padding-top: 0.5mm; padding-bottom: 0.5mm; }
.standing p { margin: 0.6mm 0 0; }
h2 { font-size: 11pt; margin: 2.2mm 0 0.8mm; color: #0b4a7d; break-after: avoid; }
.facts { display: grid; grid-template-columns: 1fr 1fr; gap: 0.5mm 4mm; margin: 0; }
.facts .wide { grid-column: 1 / -1; }
.facts div { display: flex; }
.facts dt { flex: 0 0 24mm; color: #333; }
.facts dd { margin: 0; }
.grid { border: 0.3mm solid #000; }
.grid th { font-size: 8pt; font-weight: bold; border-bottom: 0.5mm solid #000; background: #eef3f7;
  padding: 0.7mm 1.2mm; }
.grid td { border-bottom: 0.2mm solid #777; }
.mono { font-family: "Courier New", "Liberation Mono", monospace; font-weight: bold; white-space: nowrap; }
.big { font-size: 15.5pt; line-height: 1.1; font-weight: bold; white-space: nowrap; }
.mid { font-size: 12pt; line-height: 1.3; white-space: nowrap; }
.name { font-size: 12pt; line-height: 1.3; }
.tools th:nth-child(1) { width: 8mm; }
.mill th:nth-child(2) { width: 16mm; }
.mill th:nth-child(3), .mill th:nth-child(4) { width: 12.5mm; }
.mill th:nth-child(6), .mill th:nth-child(10) { width: 15mm; }
.mill th:nth-child(7), .mill th:nth-child(8), .mill th:nth-child(9) { width: 17.5mm; }
.lathe th:nth-child(2) { width: 25mm; }
.lathe th:nth-child(3) { width: 14mm; }
.lathe th:nth-child(5) { width: 16mm; }
.lathe th:nth-child(6), .lathe th:nth-child(7), .lathe th:nth-child(8) { width: 19mm; }
.grid .longer { font-size: 12pt; }
.grid .longest { font-size: 8.5pt; }
.grid .long { font-size: 9pt; }
.tools td { padding-top: 0.7mm; padding-bottom: 0.7mm; }
.tools .big, .tools .mid { line-height: 5.6mm; }
.tools .what { padding-top: 1.5mm; line-height: 1.2; }
.tools .what > b { font-size: 9.8pt; }
.grid .num { text-align: right; white-space: nowrap; }
.bound { display: block; font-size: 8pt; font-weight: normal; }
.loud { display: inline-block; border: 0.5mm solid #000; padding: 0 1mm; font-size: 8.5pt; font-weight: bold; }
.small { font-size: 8.5pt; }
.box { display: inline-block; width: 5mm; height: 5mm; border: 0.4mm solid #000; vertical-align: middle; }
.tick { display: inline-block; white-space: nowrap; margin: 0.6mm 4mm 0 0; font-weight: bold; }
.tick .box { width: 4.2mm; height: 4.2mm; margin-right: 1mm; }
.blank { display: block; border-bottom: 0.3mm solid #000; width: 24mm; height: 4mm; }
.offsets .fill { width: 22mm; }
.fill { border-left: 0.2mm solid #777; }
.steps td { padding: 0.7mm 1.5mm; font-size: 9.5pt; line-height: 1.22; }
.grid td:first-child:has(> .box) { width: 9mm; }
.steps .key { font-size: 12.5pt; font-weight: bold; white-space: nowrap; }
.steps .answer { width: 35mm; font-size: 8.5pt; border-left: 0.2mm solid #777; }
.steps .initials { width: 14mm; border-left: 0.2mm solid #777; }
ul { margin: 0.5mm 0 0; padding-left: 5mm; }
.cautions { border: 0.5mm solid #000; border-left: 2.5mm solid #0b4a7d; padding: 1.2mm 2.5mm; margin-top: 3mm;
  break-inside: avoid; }
.cautions p { margin: 0 0 0.8mm; }
.cautions p:last-child { margin: 0; }
.cautions p:first-child { font-weight: bold; }
.traveller { margin-top: 3mm; break-inside: avoid; }
.traveller td { height: 9mm; border: 0.2mm solid #777; width: 25%; font-size: 8.5pt; }
@media screen { body { padding: 6mm; max-width: 200mm; } }
"""


def style(paper: str) -> str:
    """The style sheet for ``a4`` or ``letter``."""
    return STYLE.replace("@PAPER@", PAPERS[paper])
