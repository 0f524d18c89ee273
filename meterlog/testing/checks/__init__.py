"""What every driver must hold, in words. Each takes a `Specimen`; AssertionError says what is not."""

from collections.abc import Callable, Mapping

from meterlog.testing.checks import asked, frames, identity, line, links, resources, settings
from meterlog.testing.specimen import Specimen

Check = Callable[[Specimen], None]

CHECKS: Mapping[str, Check] = {
    "says what it is": identity.says_what_it_is,
    "reads every row": frames.reads_every_row,
    "reads the same however the bytes are cut": frames.reads_the_same_however_cut,
    "dates a reading by its beginning": frames.dates_by_the_beginning,
    "bears noise between frames": frames.bears_noise_between,
    "bears noise inside a frame": frames.bears_noise_inside,
    "begins in the middle of a frame, if it talks by itself": frames.begins_in_the_middle,
    "bears any bytes": frames.bears_any_bytes,
    "takes silence for no reading": line.takes_silence_for_no_reading,
    "is not connected while nobody answers": line.is_not_connected_in_silence,
    "is not connected to anything": line.is_not_connected_to_anything,
    "ends every call while the line babbles": line.ends_in_time_under_babble,
    "ends every call under a flood": line.ends_in_time_under_a_flood,
    "says that the wire is lost, whenever it is": line.says_that_the_wire_is_lost,
    "never takes a late answer for the next, if it is asked": asked.never_takes_a_late_answer,
    "never takes a cut answer for a number, if it is asked": asked.never_takes_a_cut_answer,
    "is asked no faster than it measures, if it is asked": asked.asks_no_faster_than_it_measures,
    "knows another instrument": identity.knows_another,
    "refuses an identity that the bench file does not mean": identity.refuses_the_wrong_identity,
    "refuses settings by ValueError alone": settings.refuses_by_value_error_alone,
    "opens nothing and starts nothing": resources.opens_nothing,
    "leaves nothing behind": resources.leaves_nothing_behind,
    "keeps no more than it needs": resources.keeps_no_more_than_it_needs,
    "comes back when it is plugged in again": links.comes_back,
    "stops in time while the far end hangs": links.stops_in_time,
}
