"""Meters described in a file: lines of text, pictures of a display. See docs/dialects.md."""
