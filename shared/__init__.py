"""What both sides speak: errors, units, scales, known sizes, uncertain numbers, the survey.

Knows no camera and no drawing. Imports nothing from ``rectify`` or ``measure``.
"""
