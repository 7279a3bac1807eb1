"""One call of the API as plain values: what a list of jobs holds, and what a process pool is sent."""

from __future__ import annotations

import inspect
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib import import_module
from typing import Any

from guidegen.errors import bad_input, did_you_mean

_ROOMS = {
    "guidegen.api.sheets": ("sheet", "letter", "alphabet", "trial", "handout", "compare", "planner", "specimen"),
    "guidegen.api.texts": ("worksheet", "write"),
    "guidegen.api.swatches": ("swatch",),
    "guidegen.api.packets": ("packet",),
    "guidegen.api.plans": ("plan", "cards"),
    "guidegen.api.fonts": ("font",),
    "guidegen.api.files": ("ink", "inspect_file"),
    "guidegen.api.nouns": ("right_size",),
}
MAKERS = {name: room for room, names in _ROOMS.items() for name in names}
"""The functions of the API that make something, and where they live."""


@dataclass(frozen=True, slots=True)
class Job:
    """A call of a function of the API: text, numbers, truth values, None and lists of them, nothing else.

    So it can be written in a file and sent to another process or machine; :meth:`run` gives there what it gives here.
    """

    make: str
    values: Mapping[str, Any] = field(default_factory=dict)

    def run(self) -> Any:
        """Return what the function returns.

        Raises:
            GuidegenError: no such function, a value it does not take, or its own errors.
        """
        if self.make not in MAKERS:
            raise bad_input("`make`", "", self.make, "one of " + ", ".join(MAKERS), did_you_mean(self.make, MAKERS))
        function = getattr(import_module(MAKERS[self.make]), self.make)
        takes = inspect.signature(function).parameters
        for name in self.values:
            if name not in takes:
                raise bad_input(self.make, "", name, "a value it takes: " + ", ".join(takes), did_you_mean(name, takes))
        return function(**self.values)
