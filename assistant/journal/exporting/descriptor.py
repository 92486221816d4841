"""The schema of an export as a Data Package descriptor, whose tables are described by Table Schema. Pure.

Data Package and Table Schema, version 2.0 (Frictionless Data, datapackage.org): the open standard for tables
in text files. `unit` and `sheet` are properties of our own, which the standard allows.
"""

from collections.abc import Sequence
from typing import Any

from assistant import __version__
from assistant.journal.exporting.columns import Column, Table
from assistant.journal.exporting.tables import TABLES

MEDIA = {"csv": "text/csv", "jsonl": "application/jsonl"}
"""Format -> its media type: RFC 4180, section 3; that of JSON Lines is not registered."""


def table_schema(table: Table) -> dict[str, Any]:
    """Table Schema of a table."""
    found: dict[str, Any] = {
        "$schema": "https://datapackage.org/profiles/2.0/tableschema.json",
        "fields": [_field(one) for one in table.columns],
        "primaryKey": list(table.key),
        "missingValues": [""],
    }
    foreign = [
        {"fields": [one.name], "reference": {"resource": one.refers[0], "fields": [one.refers[1]]}}
        for one in table.columns
        if one.refers
    ]
    return found | ({"foreignKeys": foreign} if foreign else {})


def descriptor(form: str = "csv", tables: Sequence[Table] = tuple(TABLES.values())) -> dict[str, Any]:
    """Descriptor of an export of these tables; `form`: csv or jsonl."""
    resources = [
        {
            "name": one.name,
            "description": one.what,
            "path": f"{one.name}.{form}",
            "format": form,
            "mediatype": MEDIA[form],
            "encoding": "utf-8",
            "schema": table_schema(one),
        }
        for one in tables
    ]
    return {
        "$schema": "https://datapackage.org/profiles/2.0/datapackage.json",
        "name": "crumbcall-journal",
        "version": __version__,
        "resources": resources,
    }


def schema_markdown() -> str:
    """All tables and columns, for the documentation."""
    lines: list[str] = []
    for table in TABLES.values():
        keys = ", ".join(f"`{name}`" for name in table.key)
        lines += [f"### {table.name}", "", f"{table.what} Key: {keys}.", ""]
        lines += ["| column | type | unit | what |", "|---|---|---|---|"]
        for one in table.columns:
            allowed = f": {', '.join(one.allowed)}" if one.allowed else ""
            lines.append(f"| `{one.name}` | {one.kind} | {one.unit} | {one.what}{allowed} |")
        lines.append("")
    return "\n".join(lines).strip()


def _field(column: Column) -> dict[str, Any]:
    constraints: dict[str, Any] = {"required": True} if column.always else {}
    if column.allowed:
        constraints["enum"] = list(column.allowed)
    found: dict[str, Any] = {"name": column.name, "type": column.kind, "description": column.what}
    if column.unit:
        found["unit"] = column.unit
    return found | ({"constraints": constraints} if constraints else {})
