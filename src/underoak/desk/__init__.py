"""Use cases, named by what a person asks for: open the ledger, call the stages, hand back one record."""
