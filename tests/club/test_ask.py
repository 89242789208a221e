"""The tests of asking an expert, on a server."""

from tests.club.again import again

globals().update(again("tests.unit.test_ask"))
