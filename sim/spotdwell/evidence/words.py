"""What the credibility report says between its numbers."""

from __future__ import annotations

DANGER = (
    "Lasers burn and blind. These numbers come from a model that measurements contradict in places, "
    "as this report shows. They decide on no treatment."
)

USE = (
    (
        "question",
        "What does a shot of given power, spot and time do to a target: how deep does it remove, "
        "how much is left charred, dried and coagulated?",
    ),
    (
        "use",
        "Research, teaching, and choosing settings to try on a bench target. Comparison of settings "
        "with one another is safer than a single number.",
    ),
    (
        "weight of the model",
        "It proposes what to try. A trial on the bench, and whoever is licensed to fire, decide.",
    ),
    (
        "if it is wrong",
        "Time and specimens are lost; used for a patient, harm could follow. That use is excluded.",
    ),
    (
        "quantities of interest",
        "Crater depth and width; thickness of char, dried and coagulated layers; energy per removed "
        "volume; the verdict that follows from them.",
    ),
)

FINDINGS = (
    "Goals, and what was found. A goal that is not met stays in the table: it tells how far to "
    "trust the numbers."
)

CODE = (
    "The tool's own path, from scenario file to measures, runs problems whose exact solution is "
    "known. Each error stands beside its tolerance and the reason for it. Where the problem is "
    "smooth, cells and steps are halved and the order at which the error falls is observed: 2 is "
    "what the scheme promises. Letters such as A1 are equations of THEORY.md. Values are SI."
)

CHECK_HEADINGS = (
    "quantity",
    "claimed",
    "computed",
    "error",
    "",
    "tolerance",
    "order",
    "why the tolerance",
)

SOLUTION = (
    "An exact solution exists only for simple problems. For a real shot, the same scenario is "
    "solved with cells and steps twice as large as the tool chooses, as it chooses, and half as "
    "large."
)

GENTLE = (
    "The same spot with so little power that nothing boils: a smooth problem, in which the order of "
    "the scheme should appear."
)

CUTTING = (
    "Fronts move in steps of cells here, so values need not settle from one side, nor at an even "
    "rate; where they do not, no order is given and the band is wide."
)
METHOD = (
    "The index is a band around the finest value (grid convergence index; Roache 1994, 1998): "
    "{trusted:g} times the error that the observed order (at most 2) implies, or {distrusted:g} "
    "times the last change where no order is seen."
)

GRID_HEADINGS = ("quantity", "unit", "coarse", "chosen", "fine", "last change [%]", "order", "index [%]")

LEDGERS = (
    "Every joule sent must be found again: reflected, stored, carried off, lost. What is missing is "
    "round-off."
)

VALIDATION = (
    "Published measurements, each with the run that computes the same quantity. The band is the "
    "scatter that the source states, or what its missing details leave open. Where material values "
    "were fitted to such rows, the material files say so (basis: calibrated): a fitted row shows "
    "consistency, not prediction."
)

SCANNED = (
    "Published measurements beside beams that move, with the slice across the lines that computes the "
    "same quantity. No value was fitted to them and no interval rests on them: how far they miss says how "
    "far a scan is to be trusted. Spots and dwells that the sources leave out were assumed."
)

MISSES = "the others are shown as they are."

PICTURE = (
    "Computed (dots) over measured values (upright strokes), with the bands of the measurements. A "
    "full dot lies within its band, a hollow one outside. The scale is logarithmic."
)

ROW_HEADINGS = ("row", "quantity", "measured", "band", "computed", "ratio", "")

SETTINGS = "What was run for each row, why the band is what it is, and the source:"

SETTING_HEADINGS = ("row", "run", "band", "source")

RUPTURE = (
    "The temperature at which superheated water throws a material out, with the saturation pressure there "
    "(IAPWS-95): what the strength of hot, loosened tissue would have to hold."
)

INTERVALS = (
    "The cutting shot again, {count} times, each with other values for the {unknowns} material values "
    "that have a range (seed {seed}): those that published rows saw drawn together from their posterior, the "
    "others each from its range, most likely at the stated value."
)
INTERVAL_HEADINGS = ("quantity", "unit", "nominal", "median", "5 %", "95 %", "samples")
INFLUENCES = (
    "What three of the quantities follow: rank correlation with the sampled values, strongest first, as "
    "far as it exceeds what chance alone exceeds in one case of twenty."
)
INFLUENCE_HEADINGS = ("quantity", "samples", "chance", "follows (rank correlation)")

BEYOND = "Outside of these limits the tool gives numbers that nothing supports, or refuses."

NOT_FOR = (
    "Decisions on the treatment of anybody, and the setting of a laser for a patient.",
    "Eye or skin safety: exposure limits and hazard distances come from IEC 60825-1 and ANSI Z136, "
    "not from here.",
    "Wavelengths that tissue scatters about as much as it absorbs, or more (0.98 and 1.064 µm): the "
    "tool refuses.",
    "Holes deeper than about twice their width: walls reflect and guide light, which is left out.",
    "Pulses that heat faster than vapour forms, such as erbium lasers at 3 µm: superheated water "
    "tears tissue apart with less heat than the model takes, and thresholds come out too high.",
    "Recoil, tearing, splashing, melting, shrinkage, bleeding and anything that flows.",
    "Cell death beyond the coagulated zone: the burn kinetics are five times too fast at 60 °C "
    "and about four times too slow below 50 °C, against burn data recalled from memory.",
    "Airway, drape or endotracheal tube fires, and the plume itself.",
    "Targets and settings far from those above: the fewer rows there are near a setting, the less is known.",
)

REPEAT = "To repeat it: spotdwell selfcheck --full --out FOLDER, with the versions above."
