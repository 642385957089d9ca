"""What each kind of measure makes of chart points: one file a kind.

Every file has a ``sizes`` function: chart points in, named numbers out. It is fed
with jets to get values and ±, and with thousands of samples to check them.
"""
