"""The example is a project of its own: its tests run where it is installed."""

collect_ignore = ["example"]
