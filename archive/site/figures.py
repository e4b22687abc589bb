"""How numbers and lists are said: lengths, pairs, wraps, angles.

Plain text for people; nothing of HTML. A figure that is an estimate says so.
"""

from __future__ import annotations

from collections.abc import Sequence

from archive.records import Gimps, Measured, PairCount, PairEstimate, Pairs, Source, Thread

LEAST_SPREAD_DEG = 0.1
"""Below this the spread of an angle would be written as nothing at all."""
NBSP = "\u00a0"


def number(value: float, *, places: int = 1) -> str:
    """A number without needless zeros: 12.0 is 12, 3.25 is 3.3."""
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def millimetres(value: float | None) -> str:
    """A length with its unit; empty where it is not known."""
    return "" if value is None else f"{number(value)}{NBSP}mm"


def counted(count: int, one: str, many: str | None = None) -> str:
    """A count with its noun: 1 pair, 2 pairs."""
    return f"{count}{NBSP}{one if count == 1 else many or one + 's'}"


def listed(words: Sequence[str]) -> str:
    """Words as a sentence lists them: a, b and c."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def sentence(words: str) -> str:
    """Words as a sentence begins with them."""
    return words[:1].upper() + words[1:]


def span(low: float, high: float) -> str:
    """A range of two whole numbers, or the one where both are the same."""
    return f"{low:.0f}" if round(low) == round(high) else f"{low:.0f}–{high:.0f}"


def pair_count(count: PairCount | None) -> str:
    """A stated or counted number of pairs in words; empty where there is none."""
    if count is None:
        return ""
    about = "about " if count.about else ""
    parts = []
    if count.start is not None and count.most is not None and count.start != count.most:
        parts.append(f"{about}{counted(count.start, 'pair')} at the start, {count.most} at most")
    elif count.needed is not None:
        parts.append(f"{about}{counted(count.needed, 'pair')}")
    if count.corner_extra:
        parts.append(f"{count.corner_extra} more for the corner")
    said = ", ".join(parts)
    if count.words and count.words != said:
        return f"{said} (“{count.words}”)" if said else f"“{count.words}”"
    return said


def pair_estimate(estimate: PairEstimate | None) -> str:
    """An estimate of the pairs with its range; empty where there is none."""
    if estimate is None:
        return ""
    spread = f", between {estimate.low} and {estimate.high}" if estimate.low < estimate.high else ""
    return f"about {counted(estimate.value, 'pair')}{spread} (estimate)"


def pairs_needed(pairs: Pairs) -> str:
    """The most trustworthy number of pairs, shortly; empty where nothing is known."""
    if pairs.best is None:
        return ""
    if pairs.how == "estimated":
        return f"about {counted(pairs.best, 'pair')} (estimate)"
    source = pairs.counted if pairs.how == "counted" else pairs.stated
    about = "about " if source is not None and source.about else ""
    return f"{about}{counted(pairs.best, 'pair')}"


def gimps(found: Gimps | None) -> str:
    """The gimps in words; empty where nobody has said."""
    if found is None:
        return ""
    if not found.any:
        return "no gimp"
    parts = []
    if found.singles:
        parts.append(counted(found.singles, "gimp"))
    if found.pairs:
        parts.append(counted(found.pairs, "pair of gimps", "pairs of gimps"))
    return listed(parts)


def thread(found: Thread) -> str:
    """A thread as printed, with what is known of it."""
    known = []
    if found.fibre and found.fibre.casefold() not in found.label.casefold():
        known.append(found.fibre)
    if found.use:
        known.append(f"for the {found.use}")
    if found.wraps_per_cm:
        known.append(f"{number(found.wraps_per_cm)}{NBSP}wraps per cm")
    return f"{found.label} ({', '.join(known)})" if known else found.label


def angle(measured: Measured) -> str:
    """The ground angle with its spread; empty where no ground was found."""
    if measured.ground_angle_deg is None:
        return ""
    sd = measured.ground_angle_sd_deg
    if sd is None:
        spread = ""
    elif sd < LEAST_SPREAD_DEG:
        spread = f", give or take less than {number(LEAST_SPREAD_DEG)}°"
    else:
        spread = f" ±{NBSP}{number(sd)}°"
    return f"{number(measured.ground_angle_deg)}° from the footside{spread}"


def headside(scallops: int, pins: int) -> str:
    """The shape of the headside in one repeat, and its pins outside the ground."""
    outside = f"{counted(pins, 'pin') if pins else 'no pins'} outside the ground"
    if scallops:
        return f"{counted(scallops, 'scallop')} in each repeat, with {outside}"
    return f"straight, {outside}{' in each repeat' if pins else ''}"


def source(printed: Source) -> str:
    """Where a pattern was printed; empty where nobody has said."""
    parts = (
        printed.title,
        printed.edition,
        f"issue {printed.issue}" if printed.issue else "",
        f"p. {printed.page}" if printed.page else "",
    )
    return ", ".join(part for part in parts if part)
