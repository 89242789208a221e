"""An invented valley with an invented season: every place, person, tree and day in it is made up.

It writes the same kinds of file a household would load, so that the demo and the tests run the
whole job on input that looks like the real thing. The coordinates are arbitrary.
"""
