"""What the link does to the readings: loses, repeats, delays, bunches them. Also effects on a scene."""

from tests.trials.falling.effects import Readings, Scene


def drops(scene: Scene, readings: Readings) -> Readings:
    """5 to 30 in a hundred never arrive."""
    share = scene.random.uniform(0.05, 0.3)
    return [r for r in readings if scene.random.random() >= share]


def late_stamps(scene: Scene, readings: Readings) -> Readings:
    """Times are those of the arrival, up to a third of a period after the measurement."""
    return [r._replace(time_s=r.time_s + scene.random.uniform(0.0, 0.3) * scene.period_s) for r in readings]


def bunches(scene: Scene, readings: Readings) -> Readings:
    """Readings wait in a buffer and arrive two to four at once, with the time of the arrival."""
    arrived: Readings = []
    rest = list(readings)
    while rest:
        size = scene.random.choice((1, 1, 2, 3, 4))
        bunch, rest = rest[:size], rest[size:]
        arrived += [r._replace(time_s=bunch[-1].time_s + 0.001 * i) for i, r in enumerate(bunch)]
    return arrived


def repeats(scene: Scene, readings: Readings) -> Readings:
    """Packets come twice: at once, a few ms later, or after a newer one."""
    random, share = scene.random, scene.random.uniform(0.05, 0.4)
    arrived: Readings = []
    for shown in readings:
        arrived.append(shown)
        if random.random() < share:
            older = arrived[-2] if len(arrived) > 1 else shown
            soon = shown._replace(time_s=shown.time_s + random.uniform(0.001, 0.005))
            arrived.append(random.choice((shown, soon, older)))
    return arrived
