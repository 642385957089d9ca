"""True surface to sizes, drawing and files.

evaluate.py      a survey and its photos' solutions -> results
features/        what each kind of measure makes of chart points
elevation/       results -> drawing -> sheets of paper
export/          sheets -> SVG, DXF, PDF, CSV, PNG
charts/          plots
cli.py           the command line
workbench/       the page in the browser

Imports from ``shared`` and ``rectify``.
"""
