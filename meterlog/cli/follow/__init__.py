"""The session in a terminal: the same API, the same work, over SSH too."""
