"""What lies about a click: straight edges fitted to the pixels, each with its own ±.

patch.py         the pixels about the click, grey and noise
profiles.py      grey across an edge -> where the edge is, to a part of a pixel
edges.py         profiles along an edge -> a line with ±
neighbours.py    how far across an edge to look, and what a second one close by does to it
lines.py         rough straight edges: which lines explain where brightness changes
"""
