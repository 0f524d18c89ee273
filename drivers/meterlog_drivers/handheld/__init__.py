"""Hand-held meters: a module for each format; two meters, one listens and one asks."""
