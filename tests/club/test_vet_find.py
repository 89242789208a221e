"""The tests of vetting finds, on a server."""

from tests.club.again import again

globals().update(again("tests.unit.test_vet_find"))
