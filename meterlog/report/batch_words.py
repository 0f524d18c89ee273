"""A batch in sentences and in the words of its tables, for the terminal and for paper."""

from meterlog.report.batch import BatchReport, StepLine


def sentences(report: BatchReport) -> list[str]:
    total, done = len(report.units), report.done
    lines = [f"{done} of {total} units are done, {report.passed} passed, {report.first_time} the first time."]
    if report.conditional:
        lines.append(f"{report.conditional} passed conditionally: inside by less than the uncertainty.")
    if done:
        lines.append(f"First-time yield {100 * report.first_time / done:.0f} %.")
    if report.next_serial:
        lines.append(f"Next: {report.next_serial}.")
    lines += [f"Pair: {one} with {other}, {apart} apart." for one, other, apart in report.pairs]
    return lines


def over_all(step: StepLine) -> tuple[str, ...]:
    """Step, number of units, median, standard deviation, Cpk, the one that lies apart."""
    spread = "" if step.spread is None else f"{step.spread:.3g}"
    cpk = "" if step.cpk is None else f"{step.cpk:.2f}"
    apart = "" if step.apart is None else f"{step.apart[0]} ({step.apart[1]})"
    return f"{step.title}, {step.unit}", str(step.count), step.median, spread, cpk, apart
