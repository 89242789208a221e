"""The tests of the review, on a server."""

from tests.club.again import again

globals().update(again("tests.unit.test_review_desk"))
