"""True surface to sizes, drawing, files: measures, elevation, exports, command line, workbench.

Imports from ``shared`` and ``rectify``.
"""
