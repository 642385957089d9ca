"""How good the program is: invented buildings, disturbed picks, the real pipeline.

invented.py   buildings and cameras drawn by chance, with a projection of their own
trials.py     many of them measured, errors against their ±
report.py     tables and graphs
"""
