"""Several addresses at once: a silent port takes its time, and the others need not wait for it."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor

from meterlog.bench.find.finding import Finder, Finding
from meterlog.bench.find.held import Held, held_finding, holding, resolved

_AT_ONCE = 8


def find_all(
    finder: Finder, addresses: Sequence[str], held: Sequence[Held], progress: Callable[[str], None]
) -> list[Finding]:
    """One finding for each line, in order; a line under two names once, one that is held not touched.

    `progress` is called from several threads. An interrupt ends all of them soon.
    """
    once = list({resolved(address): address for address in reversed(addresses)}.values())[::-1]

    def find(address: str) -> Finding:
        held_one = holding(held, address)
        return held_finding(address, held_one) if held_one else finder.find(address, progress)

    with ThreadPoolExecutor(max_workers=_AT_ONCE) as pool:
        waiting = [pool.submit(find, address) for address in once]
        try:
            return [one.result() for one in waiting]
        except BaseException:
            finder.stop.set()
            raise
