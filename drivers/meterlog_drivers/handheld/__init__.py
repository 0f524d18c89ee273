"""Hand-held meters: one module for each format of frames, one meter that listens for them."""
