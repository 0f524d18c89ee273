"""Units that can be put on the simulated bench."""
