"""The setup sheet: a frozen tree of what is printed in, one PDF or HTML file out.

Takes: `SheetData`, made from a planned job. Gives: the bytes of a sheet, and its pictures one by one. Relies on:
`drawing` for lines and text, the catalogue for words, jinja2 and (for PDF only, loaded when one is made) weasyprint.
Computes nothing of the bend: what cannot be computed is printed as such.
"""
