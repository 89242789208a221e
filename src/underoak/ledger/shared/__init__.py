"""The ledger of a club: the same records in a PostgreSQL database, reached as if it were a file."""
