"""The household's own record: one SQLite file, one module per family of tables."""
