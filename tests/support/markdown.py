"""Tables in Markdown, read back."""

from __future__ import annotations


def table_rows(text: str) -> dict[str, list[str]]:
    """Cells by the first one, of every row of every table; heads of columns are rows as well."""
    rows = [line.strip("| ").split(" | ") for line in text.splitlines() if line.startswith("| ")]
    return {row[0]: row[1:] for row in rows}
