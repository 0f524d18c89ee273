"""Checks of the meters themselves against references: a points file, a run on the bench, their history."""
