"""The tests of ground, visits and reports, on a server."""

from tests.club.again import again

globals().update(again("tests.unit.test_ledger_ground", without=("ledger",)))
