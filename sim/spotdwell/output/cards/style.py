"""Style of the card's HTML: one sheet of A4 a section, in black on white, as the PDF has it."""

from __future__ import annotations

STYLE = """\
:root { color: #1a1a1a; background: #ffffff; font: 9.5pt/1.28 "DejaVu Sans", Verdana, Arial, sans-serif; }
body { margin: 0; }
p { margin: 0; }
b { margin-right: 0.35em; }
small { display: block; font-size: 7.2pt; font-weight: normal; line-height: 1.1; }
svg { vertical-align: middle; }
.sheet { box-sizing: border-box; width: 210mm; margin: 0 auto; padding: 9mm 10mm 6mm; }
.sheet + .sheet { break-before: page; }
header { display: flex; justify-content: space-between; align-items: baseline; gap: 6mm; }
h1 { font-size: 17pt; line-height: 1.15; margin: 0 0 2mm; }
header { position: relative; }
header small { position: absolute; right: 0; top: -4mm; }
h2 { font-size: 10pt; margin: 2.2mm 0 1mm; break-after: avoid; }
.who { white-space: nowrap; }
.who span { display: inline-block; width: 24mm; border-bottom: 0.25mm solid; margin-right: 2mm; }
.cautions { border: 0.9mm solid; padding: 1.2mm 3mm 1.6mm; }
.cautions h2 { font-size: 13pt; margin: 0 0 1mm; }
.setup { display: flex; justify-content: space-between; gap: 6mm; margin: 2mm 0; }
.setup p { margin-bottom: 0.5mm; }
figure { margin: 0; text-align: right; }
figcaption { font-size: 7.5pt; white-space: nowrap; }
table { border-collapse: collapse; width: 100%; table-layout: fixed; border: 0.5mm solid; }
td, th { text-align: center; padding: 0; border-bottom: 0.15mm solid; white-space: nowrap; line-height: 1.1; }
thead th { font-size: 7.5pt; font-weight: normal; line-height: 1.15; padding: 0.4mm 0; border: 0; }
thead tr:first-child th { font-size: 9.5pt; font-weight: bold; }
thead tr:last-child td, thead tr:last-child th { border-bottom: 0.4mm solid; }
tr { break-inside: avoid; }
.shots tbody tr { height: 8.5mm; }
.shots tr.group { height: 5.8mm; break-after: avoid; }
.shots .parts th:nth-child(n+2) { border-left: 0.5mm solid; }
.group th { text-align: left; padding-left: 2mm; background: #e6e6e6; print-color-adjust: exact; }
.group th { white-space: pre-wrap; }
.key td { text-align: left; font-size: 7.5pt; padding: 0.6mm 2mm; border-top: 0.5mm solid; }
.key span { margin-right: 3mm; }
.key i { float: right; font-style: normal; line-height: 4mm; }
.number { font-size: 12pt; font-weight: bold; }
.place { font-size: 10.5pt; font-weight: bold; }
.changed { font-weight: bold; }
.mark, .mark + td + td + td + td { border-left: 0.5mm solid; }
.failed + td { border-left: 0.5mm solid; }
.blank { border-left: 0.15mm solid; }
.mark svg { print-color-adjust: exact; }
.shots td:nth-child(9) { font-weight: bold; font-size: 8.8pt; letter-spacing: -0.01em; }
.compared { font-size: 8.5pt; }
.compared th { white-space: normal; overflow-wrap: anywhere; }
.compared td:last-child { font-size: 7.8pt; }
.compared td { height: 4.6mm; line-height: 1.1; white-space: nowrap; }
.compared td:first-child { text-align: left; padding-left: 1.5mm; }
.compared td:nth-child(3) { font-weight: bold; }
.notes { font-size: 7.5pt; margin-top: 1.5mm; }
footer { font-size: 7.5pt; margin-top: 2mm; color: #4a4a4a; }
@page { size: A4; margin: 0; }
"""
