"""Which displays of a meter channels may want: one that would never give a reading is refused at once."""

from collections.abc import Sequence


def insist_on_main(displays: Sequence[int]) -> None:
    """ValueError: the main one is not among them. It is what the meter is set up by."""
    if 1 not in displays:
        raise ValueError(
            f"a channel wants display {displays[0]} of this meter and none its main one: add a [[channel]] "
            "without display, for what the main display is to show, or leave display out if that was meant"
        )


def refuse_third(displays: Sequence[int]) -> None:
    """ValueError: one is neither the main nor the second display."""
    if unread := [display for display in displays if display > 2]:
        raise ValueError(f"a channel wants display {unread[0]}; this driver reads displays 1 and 2")
