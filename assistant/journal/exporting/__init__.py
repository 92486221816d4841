"""The journal as plain tables for other programs: CSV, JSON Lines, a workbook, each with its schema."""
