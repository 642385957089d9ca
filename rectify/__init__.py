"""Photo to true surface: camera, surfaces, adjustment, straightening.

Imports from ``shared`` only. Start reading at ``rectify/frames.py``.
"""
