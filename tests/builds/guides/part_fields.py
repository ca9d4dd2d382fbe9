"""A part, or a fault, as the editor's form posts it."""

import tomllib

from builds.guides.editor.part_detail import to_fields

TABLES = ("ends", "limits", "model", "windings", "alternatives")


def posted(detail: str = "", **columns) -> dict:
    """The fields of a part whose other keys `detail` writes as a guide file does."""
    row = columns | tomllib.loads(detail)
    fields = to_fields(row)
    plain = {name: value for name, value in fields.items() if name not in TABLES and value not in ("", None, False)}
    tables = {name: cell for table in TABLES for name, cell in rows_of(table, fields[table]).items()}
    return columns | {name: "on" if value is True else value for name, value in plain.items()} | tables


def rows_of(name: str, rows: list[dict]) -> dict:
    return {f"{name}-{n}-{column}": cell for n, row in enumerate(rows) for column, cell in row.items()}
