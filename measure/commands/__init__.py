"""What each command of the command line does; ``measure/cli.py`` declares them.

Imported only when their command runs, so that ``--help`` stays quick.
"""
