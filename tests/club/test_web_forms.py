"""The tests of the web forms, on a server."""

from tests.club.again import again

globals().update(again("tests.unit.test_web_forms"))
