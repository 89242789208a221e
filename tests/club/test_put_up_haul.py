"""The tests of the evening's kitchen, on a server."""

from tests.club.again import again

globals().update(again("tests.unit.test_put_up_haul"))
