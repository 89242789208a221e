"""The tests of visits read season by season, on a server."""

from tests.club.again import again

globals().update(again("tests.unit.test_ledger_seasons"))
