"""Where, for what, on which day: the chance that a prime flush stands at a spot.

Read in this order: `season` (the calendar of one season), `season_prior` (when, from the book),
`memory` (whether, from the years before), `looks` (what visits saw), `flush_model` (the hidden states),
`forecast` (all of it together). `fit` learns from the household's own visits, `backtest` judges it.
"""
