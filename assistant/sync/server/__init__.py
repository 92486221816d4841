"""The server's side of a group's memory: its tables, its checks and its roles, as steps of Alembic."""
