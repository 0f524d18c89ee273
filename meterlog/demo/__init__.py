"""The demonstration: a simulated bench, the daemon, and a technician who works through the procedure.

Outermost of all rooms: it starts the two programs as a user would and knows them by their public sides
only: the daemon by its API, the bench by its control page.
"""
