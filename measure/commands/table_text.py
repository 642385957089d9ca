"""Tables for the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from rich import box
from rich.console import Console
from rich.table import Table


def make_console() -> Console:
    """Console for tables: colours only where a terminal shows them."""
    return Console(highlight=False, soft_wrap=False)


def print_table(
    console: Console, title: str, columns: Sequence[str], rows: Sequence[Sequence[str]]
) -> None:
    """Print one table; columns whose name starts with '>' are set to the right."""
    table = Table(title=title, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for name in columns:
        table.add_column(
            name.lstrip(">"), justify="right" if name.startswith(">") else "left", overflow="fold"
        )
    for row in rows:
        table.add_row(*row)
    if console.is_terminal:
        console.print(table)
    else:
        wide = Console(width=200, highlight=False)
        wide.print(table)
