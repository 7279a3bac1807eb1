"""What the templates ask: an address, the letter and a result as words, lengths and links."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlencode

from guidegen import __version__
from guidegen.hands.library import DEFAULT_HANDS, hand_names, list_markers, list_papers, load_hand, load_paper
from guidegen.profiles.markers import LARGEST_WIDTH_MM, SMALLEST_WIDTH_MM, TIPS, Marker
from guidegen.profiles.papers import Paper
from guidegen.sheets.parts.figures import mm_text, times_texts, width_text
from guidegen.sheets.parts.phrases import Phrases
from guidegen.web.address import Address, marker_pairs, number_text, token_of
from guidegen.web.found import Judged, Made, Planned, Sample
from guidegen.web.kinds import KINDS, Choice, Kind
from guidegen.web.strokes import WidthPicture, stroke_picture

PAPERS = ("a4", "letter", "a5", "a3", "legal", "a6", "half-letter", "tabloid", "dl", "c6", "card")
"""Papers that are offered; the address takes any."""
_FIELD = re.compile(r"`([a-z]+(?:_[a-z]+)*)`")
_FIELDS = {
    "x_height_mm": "x",
    "downstroke_mm": "down",
    "hairline_mm": "hair",
    "nib_angle_deg": "angle",
    "file_format": "format",
}
_COMMANDS = {
    "swatch --letters": "kinds.written",
    "swatch": "kinds.swatch",
    "measure": "which.photo",
    "check": "check.fold",
}
"""What stands on the page for a command that a message speaks of."""
_ALIKE = 0.1
"""White and downstroke of a written letter that differ by less are as good as alike, as ``check`` has it."""
_JUDGED = {
    "too small": ("large.too_small", "check.write_larger"),
    "right": ("large.is_right", "check.write_alike"),
    "too large": ("large.too_large", "check.write_smaller"),
}
_RESULTS = {"cut": "take.result_cut", "screen": "take.result_screen"}
_MANY_MARKERS = 12
"""With more, what is below them scrolls away: the letter stays in view beside them."""
_SLIDE_FROM, _SLIDE_TO = 0.5, 1.6
"""The slider begins at half the smallest size of the band and ends at 1.6 times its largest."""


def in_fields(message: str, say: Phrases) -> str:
    """Return a message of the library with the names of its parameters replaced by those of the fields of the page."""

    def named(match: re.Match[str]) -> str:
        try:
            return say("field." + _FIELDS.get(match[1], match[1]))
        except KeyError:
            return match[1].replace("_", " ")

    told = _FIELD.sub(named, message)
    for command, key in _COMMANDS.items():
        told = told.replace(f"`guidegen {command}`", say("web.quoted", words=say(key)))
    for parameter, key in _FIELDS.items():
        told = told.replace(parameter, say(f"field.{key}"))
    start = told if told.startswith("x-height") else told[:1].upper() + told[1:]
    return start + ("" if told.endswith(".") else ".")


def markers_of(folders: Sequence[Path]) -> list[Marker]:
    """Return the markers in ``folders`` and those that ship, thinnest first; a file that is none is left out."""
    found, _ = list_markers(folders)
    return [entry.marker for entry in found]


@dataclass(frozen=True)
class View:
    """What one answer shows."""

    address: Address
    sample: Sample
    made: Made | None
    problem: str
    known: Sequence[Marker]
    say: Phrases
    build: str
    public: bool
    judged: Judged | None = None
    refused: Mapping[str, str] = field(default_factory=dict)

    tips = TIPS
    kinds = KINDS
    narrowest_mm, broadest_mm = SMALLEST_WIDTH_MM, LARGEST_WIDTH_MM

    @staticmethod
    def link(address: Address) -> str:
        """Return what stands behind the question mark in a link to the page."""
        return address.query() + "&" + urlencode({"version": __version__})

    @property
    def marker(self) -> Marker:
        return self.address.marker

    @property
    def kind(self) -> Kind | None:
        return self.address.kind

    @property
    def query(self) -> str:
        """What stands behind the question mark for pictures and files: the address and this very program."""
        return self.address.query() + "&build=" + self.build

    @property
    def marker_query(self) -> str:
        """The same of the marker alone, its size and its hand."""
        plain = self.address.but(need="", choices={}, also=(), paper="a4", landscape=False)
        return plain.query() + "&build=" + self.build

    @property
    def marker_pairs(self) -> list[tuple[str, str]]:
        return marker_pairs(self.marker)

    @property
    def kinds_shown(self) -> list[Kind]:
        return [kind for kind in KINDS.values() if not kind.folded]

    @property
    def kinds_folded(self) -> list[Kind]:
        return [kind for kind in KINDS.values() if kind.folded]

    @property
    def has_many_markers(self) -> bool:
        return len(self.known) > _MANY_MARKERS

    @property
    def is_known(self) -> bool:
        return self.marker in self.known

    @property
    def hands(self) -> list[tuple[str, str, bool]]:
        """Return name, label and whether it is written, of each hand that the tip writes."""
        now = self.address.hand or DEFAULT_HANDS[self.marker.tip]
        fitting = [(name, load_hand(name)) for name in hand_names() if self.marker.tip in load_hand(name).tips]
        return [(name, hand.label, name == now) for name, hand in fitting]

    @property
    def papers(self) -> list[Paper]:
        known = list_papers()
        offered = [known[name] for name in PAPERS if name in known]
        now = load_paper(self.address.paper)
        return offered if now in offered else [now, *offered]

    @property
    def paper_name(self) -> str:
        return self.address.paper

    @property
    def paper_label(self) -> str:
        return load_paper(self.address.paper).label

    @property
    def others(self) -> list[tuple[Marker, str, bool]]:
        """Return further markers to choose: marker, its value in the address, whether it is chosen."""
        chosen = {marker.name: marker for marker in self.address.also}
        offered = {marker.name: marker for marker in self.known if marker.name != self.marker.name} | chosen
        return [(marker, token_of(marker), name in chosen) for name, marker in offered.items()]

    def picture(self, marker: Marker) -> WidthPicture:
        """Return a marker's own two strokes."""
        return stroke_picture(marker)

    def widths(self, marker: Marker) -> str:
        """Return a marker's widths in words."""
        both = marker.downstroke_mm, marker.hairline_mm
        thick, thin = (self.say.number(width_text(width)).removesuffix(" mm") for width in both)
        return self.say("which.stroke" if marker.tip == "round" else "which.strokes", thick=thick, thin=thin)

    @staticmethod
    def number(value: float | None) -> str:
        """Return a number for a field."""
        return "" if value is None else number_text(round(value, 3))

    def mm(self, value: float) -> str:
        """Return a length in mm, as the language writes it."""
        return self.say.number(mm_text(value))

    @property
    def heights(self) -> list[tuple[str, str, str]]:
        """Return name, mm and inches of the four heights."""
        found = self.sample
        rows = [
            ("large.ascender", found.ascender_mm),
            ("large.x", found.x_height_mm),
            ("large.descender", found.descender_mm),
            ("large.row", found.row_mm),
        ]
        x_height = found.x_height_mm  # as on the pages: figures that stand side by side agree
        return [(self.say(key), *times_texts(value / x_height, x_height, self.say)) for key, value in rows]

    @property
    def why(self) -> str:
        """Return in a sentence what decides the size."""
        found, down = self.sample, self.marker.downstroke_mm
        if found.rule == "nib widths":
            return self.say("large.nibs", count=f"{found.x_height_mm / down:.3g}")
        if found.rule == "line height":
            return self.say("large.lines", count=f"{found.x_height_mm / down:.3g}")
        if found.counter_mm is None or found.downstroke_mm is None:
            return self.say("large.closed")
        ratio = found.counter_mm / found.downstroke_mm
        key = "counter" if abs(ratio - 1) < 0.01 else "narrow" if ratio < 1 else "wide"
        return self.say(f"large.{key}", white=self.mm(found.counter_mm), black=self.mm(found.downstroke_mm))

    @property
    def verdict(self) -> str:
        keys = {"too small": "large.too_small", "right": "large.is_right", "too large": "large.too_large"}
        return self.say(keys[self.sample.verdict])

    @property
    def is_right(self) -> bool:
        """Return whether it is shown at the right size itself, not elsewhere in the band."""
        return abs(self.sample.x_height_mm - self.sample.right_mm) < 0.05

    @property
    def band(self) -> dict[str, float]:
        """Return the slider's ends and marks, in mm, and where the marks lie, in per cent."""
        found = self.sample
        low = max(0.2, round(_SLIDE_FROM * found.smallest_mm, 1))
        high = round(_SLIDE_TO * found.largest_mm, 1)

        def place(value: float) -> float:
            return round(100 * min(1.0, max(0.0, (value - low) / (high - low))), 2)

        return {
            "low": low,
            "high": high,
            "smallest": place(found.smallest_mm),
            "right": place(found.right_mm),
            "largest": place(found.largest_mm),
            "now": place(found.x_height_mm),
        }

    @property
    def paper_index(self) -> int:
        """Return which of the offered papers is chosen."""
        return self.papers.index(load_paper(self.address.paper))

    @property
    def problem_of_size(self) -> str:
        """Return why no size is right."""
        return in_fields(self.sample.problem, self.say)

    @property
    def judged_words(self) -> tuple[str, str]:
        """Return the verdict on written letters, and in a sentence or two why and what to do."""
        found = self.judged
        assert found is not None, "asked only where there is one"
        size = self.mm(found.size_to_write_mm)
        if found.verdict is None:
            return self.say("check.open"), self.say("check.open_why")
        if found.ratio is None:
            return self.say("check.closed"), self.say("check.closed_why", size=size)
        low, high = found.ratio_95 or (found.ratio, found.ratio)
        ratios = {"ratio": self._share(found.ratio), "low": self._share(low), "high": self._share(high)}
        verdict, advice = _JUDGED[found.verdict]
        if found.verdict == "right" and abs(found.ratio - 1) < _ALIKE:
            advice = "check.go_on"
        return self.say(verdict), self.say("check.why", **ratios) + " " + self.say(advice, size=size)

    @property
    def judged_sizes(self) -> str:
        """Return how many letters were measured, and how tall they are."""
        found = self.judged
        assert found is not None, "asked only where there is one"
        if found.x_height_mm is None:
            return self.say("check.letters", count=found.letters)
        return self.say("check.sizes", count=found.letters, size=self.mm(found.x_height_mm))

    @property
    def judged_picture(self) -> str:
        """Return the letters as they were measured, as the address of a picture that holds it itself."""
        found = self.judged
        assert found is not None, "asked only where there is one"
        return "data:image/jpeg;base64," + b64encode(found.picture).decode("ascii")

    def _share(self, value: float) -> str:
        return self.say.number(f"{value:.2f}")

    @property
    def plan_rows(self) -> list[tuple[str, str]]:
        """Return what a plan found, a name and a value each."""
        found = self.made.plan if self.made else None
        if found is None:
            return []
        rows = [("plan.block", self._sides(found.width_mm, found.height_mm))]
        if found.fits:
            rows.append(("plan.white", self._sides(*found.white_mm)))
        rows.append(("plan.paper", self._paper_that_holds(found)))
        rows.append(("plan.marker", found.largest_marker or self.say("plan.no_marker")))
        if found.fitting_x_height_mm is not None:
            rows.append(("plan.size", self.mm(found.fitting_x_height_mm)))
        return [(self.say(key), value) for key, value in rows]

    def _sides(self, width_mm: float, height_mm: float) -> str:
        return f"{width_mm:.0f} × {height_mm:.0f} mm"

    def _paper_that_holds(self, found: Planned) -> str:
        if not found.smallest_paper:
            return self.say("plan.no_paper")
        return self.say("plan.lying", paper=found.smallest_paper) if found.smallest_lies else found.smallest_paper

    def told(self, note: str) -> str:
        """Return a note of the library as a sentence of the page."""
        return in_fields(note, self.say)

    @property
    def result_words(self) -> str:
        """Return the key of what stands over the pages."""
        kind = self.kind
        if kind is not None and kind.finish in _RESULTS:
            return _RESULTS[kind.finish]
        return "take.result_font" if self.made is not None and self.made.true_size_pt else "take.result"

    @property
    def folded(self) -> list[Choice]:
        """Return the choices that are shown when they are asked for."""
        return [choice for choice in self.kind.choices if choice.folded] if self.kind else []

    @property
    def folded_open(self) -> bool:
        """Return whether any of them is chosen otherwise than usual."""
        return any(choice.name in self.address.choices for choice in self.folded)

    def chosen(self, name: str) -> str:
        """Return what was chosen, as the field shows it."""
        kind = self.kind
        return self.address.choices.get(name) or (kind.choice(name).usual if kind else "")
