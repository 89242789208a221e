"""The tests of bought mushrooms, on a server."""

from tests.club.again import again

globals().update(again("tests.unit.test_bought"))
