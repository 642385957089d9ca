"""Graphs made with matplotlib: how good the sizes are, where courses lie.

Each function returns a figure of its own and touches no global state, so that graphs can be
drawn beside a running workbench.
"""
