"""Rows, not rules: SQLAlchemy tables, engine and migrations. Only orders, notices, cli enter."""
