"""The drivers of this repository among those that are installed here."""

from meterlog.bench import installed_drivers

OURS = [name for name, entry in installed_drivers().items() if entry.value.startswith("meterlog_drivers.")]
