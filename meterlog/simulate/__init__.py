"""The simulated bench: a program of its own that behaves like equipment.

Nothing in meterlog imports it, and it knows nothing of meterlog's core: the only way between the two
is the wire, as with real meters.

    unit (scenarios/)  ──> bench ──> meter models ──> handheld (pseudo-terminal), bench meter (TCP)
         ^ trimmers and controls
         └── control (HTTP): the page with trimmers, the technician's hands, faults for tests
"""
