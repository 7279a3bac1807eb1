"""Write guidegen/lettering/size_curves.json: the right sizes of the hands that ship, each hand's one curve.

Run it when a hand's sample letter has changed: python tests/lettering/make_size_curves.py makes the curves that are
missing, and with --all every one, as after a change of the code that inks and measures (a minute a hand). The search
runs at 100 mm, where its tolerances are the least share of a letter.
"""

from __future__ import annotations

import json
import sys

from guidegen.hands.library import hand_names, load_hand
from guidegen.lettering.size_curve import KEPT, MOST_SHARE, TIPS, digest, fitted
from guidegen.lettering.sizing import x_heights_for
from guidegen.profiles.markers import LARGEST_WIDTH_MM, SMALLEST_WIDTH_MM, Marker

DOWNSTROKE_MM = LARGEST_WIDTH_MM
LEAST_SHARE = SMALLEST_WIDTH_MM / LARGEST_WIDTH_MM


def searched(hand, tip, share, ratios):
    """The x-heights that the search finds, in downstrokes."""
    marker = Marker("some", "Some", tip, DOWNSTROKE_MM, share * DOWNSTROKE_MM)
    return [x / DOWNSTROKE_MM for x in x_heights_for(hand, marker, ratios)]


def made(hand, ratios):
    """The curves of a hand, mostly one: ends are cut by tip, but seldom those of the sample letter."""
    curves = []
    for tip in [tip for tip in TIPS if tip in hand.tips]:
        tried = [searched(hand, tip, share, ratios) for share in (0.1, 0.6)]
        same = next((curve for curve, others in curves if others == tried), None)
        if same is not None:
            same["digests"].append(digest(hand, tip))
            continue
        curve = fitted(lambda share: searched(hand, tip, share, ratios), ratios, LEAST_SHARE, MOST_SHARE)  # noqa: B023
        print(hand.name, tip, len(curve.shares), "points")
        entry = {
            "digests": [digest(hand, tip)],
            "ratios": ratios,
            "shares": [round(share, 9) for share in curve.shares],
            "heights": [[round(height, 6) for height in heights] for heights in curve.heights],
        }
        curves.append((entry, tried))
    return [entry for entry, _ in curves]


def main():
    known = {} if "--all" in sys.argv else json.loads(KEPT.read_text())
    found = {}
    for hand in map(load_hand, hand_names()):
        if hand.size.rule != "counter":
            continue
        rule, mine = hand.size, known.get(hand.name, [])
        wanted = {digest(hand, tip) for tip in TIPS if tip in hand.tips}
        whole = wanted <= {key for entry in mine for key in entry["digests"]}
        found[hand.name] = mine if whole else made(hand, (rule.value, rule.smallest, rule.largest))
    lines = ",\n".join(f"{json.dumps(name)}: {json.dumps(entries)}" for name, entries in sorted(found.items()))
    KEPT.write_text(f"{{\n{lines}\n}}\n")


if __name__ == "__main__":
    main()
