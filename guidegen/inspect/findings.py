"""The nouns of a preflight: rules and what they find."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, Literal

from guidegen.readers.contents import Contents

Status = Literal["pass", "warn", "fail"]
MAX_PLACES = 3


@dataclass(frozen=True, slots=True)
class Finding:
    """What one rule says of a file. ``found`` is empty when the rule is kept."""

    rule: str
    status: Status
    asks: str
    found: str = ""

    def figures(self) -> dict[str, Any]:
        """Return the finding as ``--json`` tells it."""
        return {"rule": self.rule, "status": self.status, "asks": self.asks, "found": self.found}


@dataclass(frozen=True, slots=True)
class Check:
    """One rule: its name, what it asks for, a function that returns what is wrong (each a few words).

    ``on_miss`` is ``warn`` for what is advice and no defect; ``formats`` are those it applies to.
    """

    rule: str
    asks: str
    problems: Callable[[Contents], Iterable[str]]
    formats: tuple[str, ...]
    on_miss: Status = "fail"

    def run(self, contents: Contents) -> Finding | None:
        """Return the finding; None where the rule does not apply to the format."""
        if contents.format not in self.formats:
            return None
        wrong = list(dict.fromkeys(self.problems(contents)))
        more = f", and {len(wrong) - MAX_PLACES} more" if len(wrong) > MAX_PLACES else ""
        return Finding(self.rule, self.on_miss if wrong else "pass", self.asks, "; ".join(wrong[:MAX_PLACES]) + more)


def places(what: str, spots: list[complex], page: int = 1) -> list[str]:
    """Return a description of each spot that something was found at."""
    sheet = f" on page {page}" if page > 1 else ""
    return [f"{what} at {z.real:.2f}, {z.imag:.2f} mm{sheet}" for z in spots]
