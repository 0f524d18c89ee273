"""Whether the instrument that answers is the one that is meant; units and ranges may be another's."""

from meterlog.reading import Identity, WrongMeter


class AnotherMeter(WrongMeter):
    """`found` answers where `known` did before; the bench file would take either."""

    def __init__(self, found: Identity, known: Identity) -> None:
        super().__init__(
            f'another meter answers: "{found.text}"; it was "{known.text}": plug that one in again'
        )
        self.found = found


def insist_on(found: Identity, wanted: str, known: Identity | None) -> None:
    """WrongMeter unless `found` holds what the bench file wants in it; AnotherMeter unless it is who was
    `known` before."""
    if wanted not in found.text:
        raise WrongMeter(f'another meter answers: "{found.text}"; the bench file wants "{wanted}" in it')
    if known is not None and _lasting(found) != _lasting(known):
        raise AnotherMeter(found, known)


def _lasting(identity: Identity) -> tuple[str, ...]:
    """What stays when an instrument gets new firmware; its whole text where it says nothing finer."""
    finer = (identity.maker, identity.model, identity.serial_number)
    return finer if any(finer) else (identity.text,)
