"""The command line: parse, call the desk, print. No rules live here."""
