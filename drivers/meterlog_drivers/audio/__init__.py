"""A sound device as level meter and tone source. Levels, loops and intervals are pure."""
