"""Handouts: sheets that are made from a booklet's chapters, as HTML for print."""
