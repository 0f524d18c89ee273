"""The kinds of trial. `draw(kind, seed)` gives the same trial every time. Invented data with known truth."""

from tests.trials.falling import curves, effects, meters, packets, turns
from tests.trials.falling.scene import Recipe, build
from tests.trials.falling.trial import Trial

HANDS = {
    "even turning": Recipe(turns.even),
    "accelerating": Recipe(turns.accelerating),
    "small steps": Recipe(turns.stepwise),
    "flank of a bell": Recipe(turns.even, curves.flank),
    "over the peak": Recipe(turns.over_the_peak, curves.flank),
    "slowing down": Recipe(turns.slowing),
    "quick, then at rest": Recipe(turns.quick),
    "trembling": Recipe(turns.trembling),
    "hesitating": Recipe(turns.hesitating),
    "stops around": Recipe(turns.around),
    "rise from a dip": Recipe(rises=1.0),
}

METERS = {
    "slow meter": Recipe(meter=meters.slow),
    "averaging": Recipe(meter=meters.lagging),
    "averaging, untold": Recipe(meter=meters.lag_untold),
    "coarse display": Recipe(meter=meters.coarse),
    "fast, remembers": Recipe(meter=meters.fast, effects=(effects.correlated(0.03, 0.12),)),
    "asked too often": Recipe(meter=meters.over_asked),
    "irregular, lossy": Recipe(meter=meters.irregular, effects=(packets.drops, packets.late_stamps)),
    "packets twice": Recipe(effects=(packets.repeats,)),
    "bunches": Recipe(meter=meters.streaming, effects=(packets.bunches,)),
    "range change": Recipe(effects=(effects.autorange,)),
    "overloads": Recipe(effects=(effects.overloads,)),
}

DISTURBED = {
    "noisy": Recipe(noise=effects.white(0.03, 0.25)),
    "noise remembers": Recipe(effects=(effects.correlated(0.03, 0.15),)),
    "glitches": Recipe(effects=(effects.glitches,)),
    "hum": Recipe(effects=(effects.hum,)),
    "noisy, averaging, glitches": Recipe(
        meter=meters.lagging, noise=effects.white(0.01, 0.1), effects=(effects.glitches,)
    ),
    "hum, coarse, overloads": Recipe(meter=meters.coarse, effects=(effects.hum, effects.overloads)),
    "noise remembers, glitches, lossy": Recipe(
        meter=meters.irregular,
        effects=(effects.correlated(0.02, 0.1), effects.glitches, packets.drops, packets.repeats),
    ),
    "trembling, range change, bunches": Recipe(
        turns.trembling,
        meter=meters.streaming,
        effects=(effects.autorange, packets.bunches),
        noise=effects.white(0.01, 0.08),
    ),
}

NOT_REACHED = {
    "turns back": Recipe(turns.turns_back, curves.in_volts),
    "turns back, noisy": Recipe(turns.turns_back, curves.in_volts, noise=effects.white(0.02, 0.15)),
    "stays short": Recipe(turns.stays_short, curves.in_volts, noise=effects.white(0.005, 0.1)),
    "back and forth": Recipe(turns.back_and_forth, curves.in_volts, meter=meters.lagging),
    "noise at the peak": Recipe(turns.still, curves.in_volts, noise=effects.white(0.05, 0.25)),
    "hum at the peak": Recipe(
        turns.still, curves.in_volts, noise=effects.white(0.01, 0.1), effects=(effects.hum,)
    ),
    "drift": Recipe(turns.drifting, curves.in_volts, noise=effects.white(0.01, 0.15)),
    "storm of glitches": Recipe(turns.still, curves.in_volts, effects=(effects.storm,)),
    "short, glitches": Recipe(
        turns.any_short, curves.in_volts, effects=(effects.correlated(0.02, 0.08), effects.glitches)
    ),
    "short, everything": Recipe(
        turns.any_short,
        curves.in_volts,
        meter=meters.irregular,
        effects=(effects.autorange, effects.glitches, effects.overloads, packets.drops, packets.repeats),
        noise=effects.white(0.01, 0.1),
    ),
}

KINDS: dict[str, Recipe] = HANDS | METERS | DISTURBED | NOT_REACHED


def draw(kind: str, seed: int) -> Trial:
    """Raises KeyError for a kind there is none of."""
    return build(kind, seed, KINDS[kind])
