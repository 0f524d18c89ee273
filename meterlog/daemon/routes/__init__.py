"""The API, one file for each thing it is about."""
