"""The one root of meterlog's own errors.

    MeterlogError
    ├── quantity.QuantityError      a text is no quantity, or a level lacks its reference
    ├── reading.WireError           the line to an instrument failed (see meterlog.reading.driver)
    ├── procedure.ProcedureError    a procedure file cannot be used; lists file, line, field
    ├── bench.BenchError            the bench file cannot be used, or an address is no address
    ├── checking.CheckError         a points file cannot be used, or the bench for it
    ├── records.RecordsError        the data folder cannot be used
    └── daemon.DaemonError          the daemon cannot start, or does not answer

Every message says what is wrong, where, and what to do about it: a command prints it as it stands.
"""


class MeterlogError(Exception):
    """Something the person can act on; the text is for them."""
