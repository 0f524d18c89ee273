"""A clock that exists only in a test: it moves when someone waits, so every delay is exact and none lasts."""


class FakeClock:
    """Both what a driver takes for `monotonic_ns` and what a link takes for its clock.

    utc_offset_ns may be changed to step the wall clock.
    """

    def __init__(self) -> None:
        self.now_ns = 1_000_000_000
        self.utc_offset_ns = 1_700_000_000_000_000_000

    def __call__(self) -> int:
        return self.now_ns

    def monotonic_ns(self) -> int:
        return self.now_ns

    def utc_ns(self) -> int:
        return self.now_ns + self.utc_offset_ns

    def pass_s(self, seconds: float) -> None:
        self.now_ns += round(seconds * 1e9)
