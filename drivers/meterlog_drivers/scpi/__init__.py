"""Bench meters and sources that speak SCPI. The driver is `driver`; answers, framing and dialect are pure."""
