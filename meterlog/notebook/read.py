"""What a notebook asks the record for. Every function opens it, reads, and closes it again."""

from pathlib import Path

import polars as pl

from meterlog.export.tables import readings_table, settled_table
from meterlog.notebook.frame import frame, sessions_frame
from meterlog.notebook.opened import opened
from meterlog.records import list_sessions
from meterlog.report import open_session

Folder = Path | str | None


def sessions(folder: Folder = None) -> pl.DataFrame:
    """All sessions, the newest first.

    session      its number, for the other functions
    began ended  UTC; ended is null while it runs, and if it was left
    verdict      "pass", "conditional pass", "conditional fail", "fail", "not judged"; null as above
    software     version of meterlog that recorded it

    and unit_model, unit_serial, operator, procedure, batch as text.

    RecordsError: there is no record in the folder, or it cannot be used.
    """
    with opened(folder) as engine:
        return sessions_frame(list_sessions(engine))


def settled(folder: Folder, session: int) -> pl.DataFrame:
    """Every settled value of a session, in the order of capture, also those that were taken back: the ones
    that count have counts "yes".

    value target low high    in `unit`, the base unit (V, not dBu), to the last bit of the record
    standard_uncertainty expanded_uncertainty  in `unit`; coverage_factor and degrees_of_freedom with them,
                             the last null where infinite
    shown_value              in `shown_unit`; null for a level of nothing
    shown_uncertainty_down shown_uncertainty_up  expanded, in `uncertainty_unit`: how far the interval reaches
                             to either side, in dB for a level and then further down; null where to nothing
    verdict                  as in `sessions`, by `decision_rule`
    passes_from passes_to    in `unit`: within what it passes, where a guard band makes that other than low
                             and high; else null, also where the guard band leaves nothing that passes
    about                    number of the value that its limits lie about: its uncertainty is then that of
                             the two compared
    correction_db            what was taken out of the readings for the meter's own frequency response; null
                             where nothing was
    replaces attempt reason  the value redone, which attempt this is, why it was taken back
    time                     of capture, UTC
    budget                   where its uncertainty comes from: see `budget`
    temperature humidity     degC and per cent, as told by then; null where nobody had

    and session, unit_model, unit_serial, number, step, title, pass, role, condition, round, channel,
    readings (how many it rests on), unit_condition, left_alone.

    RecordsError: no such session, or no record that can be used. ProcedureError: this version refuses
    the procedure of the session.
    """
    with opened(folder) as engine:
        return frame(settled_table(open_session(engine, session)))


def budget(folder: Folder, session: int) -> pl.DataFrame:
    """Where the uncertainty of each settled value comes from, a row for each source, the largest first.

    number                of the settled value, as in `settled`
    unit                  of that value, and of `contribution`
    source distribution   its name; "normal", "rectangular", "triangular" or "arcsine"
    standard_uncertainty  of the source, in its own unit
    degrees_of_freedom    null where infinite
    sensitivity           contribution over standard_uncertainty
    contribution          standard uncertainty that it causes in the value

    and session. A value that an earlier version recorded has no rows. Errors as for `settled`.
    """
    values = settled(folder, session).select("session", "number", "unit", "budget")
    return values.filter(pl.col("budget").list.len() > 0).explode("budget").unnest("budget")


def readings(folder: Folder, session: int, channel: str | None = None) -> pl.DataFrame:
    """Every raw reading of a session in order, or those of one channel; no rows if it gave none.

    seconds           since the session began, by a clock that nobody sets
    time              UTC
    value             in `unit`, the base unit; null where there was no number: `state` says why ("overload")
    shown_value       in `shown_unit`; null for a level of nothing too
    resolution range  in `unit`; null where the meter does not say
    flags raw         what else the display showed; the bytes it came in, as text

    and session, channel, state, coupling, function. Errors as for `settled`.
    """
    with opened(folder) as engine:
        return frame(readings_table(open_session(engine, session), channel))
