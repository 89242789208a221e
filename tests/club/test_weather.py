"""The tests of weather in the ledger, on a server."""

from tests.club.again import again

globals().update(again("tests.unit.test_weather_ledger", without=("ledger",)))
